"""Two hundred random machines: every run ends, and every joule is found."""

from dataclasses import replace

import numpy as np
import pytest

from armsim.dynamics.events import check_crowd
from armsim.dynamics.field import look
from armsim.dynamics.journal import Journal
from armsim.dynamics.modes import Mode
from armsim.dynamics.plan import PowerCut
from armsim.dynamics.run import Kind
from armsim.dynamics.segment import Sample, SolverError, Tolerances
from armsim.dynamics.state import initial_state
from armsim.dynamics.trajectory import fall, simulate
from tests.dynamics.randoms import random_machine, random_plan

CHUNK = 20


def drawn(seed: int):
    rng = np.random.default_rng(seed)
    return random_machine(rng), random_plan(rng)


@pytest.mark.parametrize("first", range(0, 200, CHUNK))
def test_energy_balances_in_every_run_and_every_fall(first: int) -> None:
    for seed in range(first, first + CHUNK):
        m, plan = drawn(seed)
        runs = [simulate(m, plan), *(fall(m, plan, PowerCut(), shorted=shorted) for shorted in (False, True))]
        for run in runs:
            assert run is not None
            assert abs(run.energy.residual) <= 1e-6 * run.energy.throughput, seed
            assert all(loss >= -1e-9 * run.energy.throughput for loss in run.energy.losses.values()), seed
            assert run.events[-1].kind is Kind.END
            assert np.all(np.isfinite(run.motor_current)), seed


@pytest.mark.parametrize("first", range(0, 60, CHUNK))
def test_energy_balances_where_friction_falls_with_speed(first: int) -> None:
    for seed in range(first, first + CHUNK):
        m, plan = drawn(seed)
        friction = replace(m.arm.friction, stribeck_speed=float(np.random.default_rng(seed).uniform(0.01, 0.3)))
        m = replace(m, arm=replace(m.arm, friction=friction))
        for run in (simulate(m, plan), fall(m, plan, PowerCut(), shorted=False)):
            assert run is not None
            assert abs(run.energy.residual) <= 1e-6 * run.energy.throughput, seed
            assert run.events[-1].kind is Kind.END


@pytest.mark.parametrize("first", range(0, 60, CHUNK))
def test_tighter_tolerances_do_not_move_the_lift_time(first: int) -> None:
    for seed in range(first, first + CHUNK):
        m, plan = drawn(seed)
        usual = simulate(m, plan).first(Kind.REACHED)
        tight = simulate(m, plan, Tolerances(relative=1e-9, absolute=1e-11)).first(Kind.REACHED)
        assert (usual is None) == (tight is None), seed
        if usual is not None and tight is not None:
            assert usual.time == pytest.approx(tight.time, rel=1e-6), seed


@pytest.mark.parametrize("seed", [21, 31, 90, 131])
def test_a_winding_so_quick_that_torques_vanish_within_1e_15_s_of_an_event_is_followed(seed: int) -> None:
    rng = np.random.default_rng(seed)
    m, plan = random_machine(rng), random_plan(rng)
    quick = replace(m, motor=replace(m.motor, inductance=1e-6 * m.motor.resistance))
    run = simulate(quick, plan)
    assert abs(run.energy.residual) <= 1e-6 * run.energy.throughput


def test_steps_are_no_changes_of_mode() -> None:
    # 400 s into a run, 60 steps of one mode within 4e-7 s are no fault; 51 modes are
    m, _ = drawn(3)
    state = initial_state(m, 0.0)
    mode = Mode(sense=0)
    sample = Sample(400.0, state, look(m, mode, 400.0, state.tolist()))
    steps = Journal(m, state, samples=[(sample, mode)] * 60, ends=[float(t) for t in range(100)])
    check_crowd(steps, 400.0)
    modes = Journal(m, state, samples=[(sample, mode)] * 60, ends=[400.0] * 51)
    with pytest.raises(SolverError, match="more than 50 changes of mode"):
        check_crowd(modes, 400.0)
