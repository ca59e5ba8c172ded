"""How long a person waits. Compare the groups' ratios, never seconds: other machines are other machines.

Run with: python -m pytest -n 0 --benchmark-enable tests/benchmarks
"""

import subprocess
import sys
from pathlib import Path

import pytest

from armsim.drivetrain.train import cone
from armsim.dynamics.plan import Plan
from armsim.dynamics.trajectory import simulate
from armsim.scenario import load
from armsim.studies.compare import compare
from armsim.studies.single import assess, check

ROOT = Path(__file__).resolve().parents[2]
TIPPER = ROOT / "scenarios" / "crate-tipper.yaml"

PROCESSES = {
    "bare Python": ["-c", "pass"],
    "armsim --help": ["-m", "armsim", "--help"],
    "armsim check": ["-m", "armsim", "check", TIPPER],
    "armsim run --json": ["-m", "armsim", "run", TIPPER, "--json"],
    "armsim run --output": ["-m", "armsim", "run", TIPPER, "--overwrite", "--output"],
}


@pytest.mark.benchmark(group="whole processes")
@pytest.mark.parametrize("name", PROCESSES)
def test_process(benchmark, name, tmp_path):
    words = PROCESSES[name] + ([tmp_path / "report"] if name.endswith("--output") else [])
    done = benchmark.pedantic(
        subprocess.run,
        args=([sys.executable, *words],),
        kwargs={"capture_output": True, "cwd": ROOT, "check": True},
        rounds=5,
        warmup_rounds=1,
    )
    assert done.stderr == b"" or b"warning" in done.stderr


@pytest.mark.benchmark(group="inside one process")
def test_load(benchmark):
    assert benchmark.pedantic(load, args=(TIPPER,), rounds=20, warmup_rounds=1).title


@pytest.mark.benchmark(group="inside one process")
def test_check(benchmark):
    scenario = load(TIPPER)
    assert benchmark.pedantic(check, args=(scenario,), rounds=20, warmup_rounds=1).run is None


@pytest.mark.benchmark(group="inside one process")
def test_simulate_one_lift(benchmark):
    scenario = load(TIPPER)
    lift = Plan(start=scenario.plan.start, moves=scenario.plan.moves[:1])
    assert benchmark.pedantic(simulate, args=(scenario.machine, lift), rounds=10, warmup_rounds=1).costs.evaluations


@pytest.mark.benchmark(group="inside one process")
def test_simulate_the_work_cycle(benchmark):
    scenario = load(TIPPER)
    run = benchmark.pedantic(simulate, args=(scenario.machine, scenario.plan), rounds=5, warmup_rounds=1)
    assert abs(run.energy.residual) < 1e-6 * run.energy.throughput


@pytest.mark.benchmark(group="inside one process")
def test_assess(benchmark):
    scenario = load(TIPPER)
    assert benchmark.pedantic(assess, args=(scenario,), rounds=5, warmup_rounds=1).lift.reached


@pytest.mark.benchmark(group="inside one process")
def test_friction_cone(benchmark):
    machine = load(TIPPER).machine
    assert benchmark(cone, machine, 0.3).rise > 0


def proposals(folder, count):
    """So many variants of the tipper."""
    (folder / "tipper.yaml").write_bytes(TIPPER.read_bytes())
    paths = [folder / f"proposal-{k:02}.yaml" for k in range(count)]
    for k, path in enumerate(paths):
        path.write_text(f"variant_of: tipper.yaml\narm: {{payload: {{mass: {10 + 0.1 * k:.1f} kg}}}}\n")
    return paths


@pytest.mark.benchmark(group="comparing 50 scenarios")
@pytest.mark.parametrize("workers", [1, 2])
def test_compare(benchmark, workers, tmp_path):
    """Two workers are to take 0.6 of the time of one, with nothing else on two cores."""
    paths = proposals(tmp_path, 50 if benchmark.enabled else 2)
    compared = benchmark.pedantic(compare, args=(paths,), kwargs={"workers": workers}, rounds=1)
    assert len(compared.proposals) == len(paths)
