"""Designs a second: many at once against a loop over the exact run. Compare the ratio, never seconds.

`python -m pytest -n 0 --benchmark-enable tests/benchmarks/test_throughput.py`; what was measured stands in
reports/throughput.md, which `python -m tests.benchmarks.test_throughput` writes anew.
"""

import cProfile
import multiprocessing
import platform
import pstats
import resource
import time
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from threading import Barrier

import numpy as np
import pytest

from armsim.drivetrain.machine import Machine
from armsim.dynamics.ensemble import lift_many, pick
from armsim.dynamics.plan import Plan
from armsim.dynamics.trajectory import simulate
from armsim.scenario import load
from armsim.studies.many import Question
from armsim.studies.settings import setting_for

ROOT = Path(__file__).resolve().parents[2]
COUNT, LOOP, ROUNDS = 16384, 20, 5

LAWS = ("armsim/parts/", "armsim/drivetrain/", "armsim/dynamics/")
PARTS = {
    "the exponential step and its functions": ("dynamics/ensemble/law", "dynamics/ensemble/exponential"),
    "accounts: peaks, integrals, protective devices": ("dynamics/ensemble/accounts",),
    "instants of events and peaks": ("dynamics/ensemble/instants", "dynamics/ensemble/margins"),
    "following, turning, picking": ("dynamics/ensemble/",),
    "the laws of the exact run": LAWS,
}


def designs(count: int = COUNT) -> tuple[Machine, Plan]:
    """The crate tipper with heat, limit, ramp and breaker, payload and other numbers drawn at random."""
    question = Question.of(load(ROOT / "scenarios" / "crate-tipper.yaml"))
    rng, machine = np.random.default_rng(5), question.machine
    ranges = {
        "arm.payload.mass": (4.0, 15.0),
        "motor.rotor_inertia": (1.2e-4, 2e-4),
        "supply.other_loads": (0.0, 2.0),
        "controller.bridge_resistance": (0.004, 0.012),
    }
    for key, (low, high) in ranges.items():
        setting = setting_for(machine, key)
        assert setting is not None
        machine = setting.apply(machine, rng.uniform(low, high, count))
    return machine, question.plan


@pytest.mark.benchmark(group="lifts: many at once, and the exact run in a loop")
def test_many_at_once(benchmark):
    machine, plan = designs()
    found = benchmark.pedantic(lift_many, args=(machine, plan, COUNT), rounds=3, warmup_rounds=1)
    benchmark.extra_info["designs"] = COUNT
    assert found.sure.mean() > 0.99


@pytest.mark.benchmark(group="lifts: many at once, and the exact run in a loop")
def test_one_by_one(benchmark):
    machine, plan = designs(LOOP)
    machines = [pick(machine, k) for k in range(LOOP)]
    runs = benchmark.pedantic(lambda: [simulate(one, plan) for one in machines], rounds=3, warmup_rounds=1)
    benchmark.extra_info["designs"] = LOOP
    assert len(runs) == LOOP


def measured() -> tuple[float, float]:
    """Processor time a design takes, of many at once and one by one; the best of three. [s, s]"""
    machine, plan = designs()
    machines = [pick(machine, k) for k in range(LOOP)]
    lift_many(machine, plan, COUNT)
    many, single = [], []
    for _ in range(3):
        begun = time.process_time()
        lift_many(machine, plan, COUNT)
        between = time.process_time()
        for one in machines:
            simulate(one, plan)
        many.append((between - begun) / COUNT)
        single.append((time.process_time() - between) / LOOP)
    return min(many), min(single)


def rate(barrier: Barrier) -> float:
    """Designs a second by the clock, begun together with others."""
    machine, plan = designs()
    lift_many(machine, plan, COUNT)
    barrier.wait()
    begun = time.perf_counter()
    for _ in range(ROUNDS):
        lift_many(machine, plan, COUNT)
    return ROUNDS * COUNT / (time.perf_counter() - begun)


def together(workers: int) -> float:
    """Designs a second of so many processes at the same time."""
    context = multiprocessing.get_context("spawn")
    with context.Manager() as manager, ProcessPoolExecutor(workers, mp_context=context) as pool:
        return sum(pool.map(rate, [manager.Barrier(workers)] * workers))


def shares() -> dict[str, float]:
    """Where the time of many at once goes, NumPy's own booked to who calls it."""
    machine, plan = designs()
    profile = cProfile.Profile(builtins=False)
    profile.enable()
    lift_many(machine, plan, COUNT)
    profile.disable()
    stats: dict[tuple[str, int, str], tuple[int, int, float, float, object]] = pstats.Stats(profile).stats  # type: ignore[attr-defined]
    spent = dict.fromkeys((*PARTS, "the rest"), 0.0)
    for (file, _, _), (_, _, own, _, _) in stats.items():
        name = next((part for part, files in PARTS.items() if any(one in file for one in files)), "the rest")
        spent[name] += own
    total = sum(spent.values())
    return {name: own / total for name, own in spent.items()}


def report() -> str:
    """The page, with what this machine measures now."""
    many, single = measured()
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    machine, plan = designs(4 * COUNT)
    lift_many(machine, plan, 4 * COUNT)
    grown = (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) / 1024
    rows = "\n".join(f"| {name} | {share:.0%} |" for name, share in shares().items())
    return f"""# Designs a second

The crate tipper's lift with everything: ramp, current limit, sag, losses of every stage, heat, a breaker of several
thermal states. {COUNT} designs that differ in payload, rotor, loads and bridge; one process, in processor time: trust
the ratio. Python {platform.python_version()}, numpy {np.__version__}.

| | a design | designs a second and core |
| --- | ---: | ---: |
| exact run in a loop | {single * 1e3:.1f} ms | {1.0 / single:.0f} |
| many at once | {many * 1e6:.1f} us | {1.0 / many:.0f} |
| ratio | {single / many:.0f} | |

By the clock one process does {together(1):.0f} designs a second, two at the same time {together(2):.0f}.

| where the time of many at once goes | share |
| --- | ---: |
{rows}

Four times as many designs raise the largest memory in use by {grown:.0f} MB, their numbers and columns included: what
is worked on at a time is a batch.

Made by `python -m tests.benchmarks.test_throughput`.
"""


if __name__ == "__main__":
    (ROOT / "reports" / "throughput.md").write_text(report())
