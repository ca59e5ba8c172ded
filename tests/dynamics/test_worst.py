"""The most harmful power cut against a dense scan of the whole cycle."""

import math
from dataclasses import replace

import numpy as np
import pytest

from armsim.dynamics.plan import Exchange, Follow, Hold, Limits, Plan, PowerCut, Rest, Travel
from armsim.dynamics.state import ANGLE, SPEED
from armsim.dynamics.trajectory import fall, fall_from
from armsim.dynamics.voyage import Situation
from armsim.dynamics.worst import between, harm, recorded, worst_falls
from tests.machines import arm, machine, stage

LOW, HIGH = math.radians(-30.0), math.radians(70.0)
BRISK = Limits(speed=2.0, acceleration=6.0)
PLANS = {
    "duty": Plan(start=LOW, moves=(Travel(to=HIGH), Travel(to=LOW, duty=-0.3), Rest(duration=0.5))),
    "profile": Plan(
        start=LOW,
        moves=(Follow(to=HIGH, limits=BRISK), Hold(duration=0.3), Follow(to=LOW, limits=BRISK, name="lower")),
    ),
    "handover": Plan(
        start=LOW,
        moves=(
            Follow(to=0.5, limits=BRISK),
            Exchange(payload=0.0, name="put down"),
            Follow(to=HIGH, limits=BRISK),
            Follow(to=LOW, limits=BRISK, name="lower"),
        ),
    ),
}


@pytest.mark.parametrize("shorted", [False, True], ids=["open", "shorted"])
@pytest.mark.parametrize("name", PLANS)
def test_the_worst_cut_is_that_of_a_dense_scan(name: str, shorted: bool) -> None:
    m, plan = machine(), PLANS[name]
    moments = list(recorded(m, plan))
    dense = max(
        harm(
            fall_from(
                here.machine, Situation(time=here.sample.time, state=here.sample.state, mode=here.mode), shorted=shorted
            )
        )
        for here in moments[:: max(1, len(moments) // 250)]
    )
    run = worst_falls(m, plan)[shorted]
    # just before it: the worst instant may be that in which the arm meets a stop
    again = fall(m, plan, PowerCut(time=float(run.time[0]) - 1e-6), shorted=shorted)
    assert again is not None
    assert harm(again) == pytest.approx(harm(run), rel=1e-3)
    assert harm(run) >= dense * (1.0 - 1e-3)
    assert dense > 1.0


def test_a_state_between_two_recorded_ones_is_that_of_the_run() -> None:
    m, plan = machine(), PLANS["duty"]
    moments = list(recorded(m, plan))
    times = [moment.sample.time for moment in moments]
    for time in np.linspace(0.01, times[-1] - 0.01, 15).tolist():
        k = int(np.searchsorted(times, time, side="right")) - 1
        _, guess = between(moments, k, time)
        exact = fall(m, plan, PowerCut(time=time), shorted=False)
        assert exact is not None
        assert guess.state[ANGLE] == pytest.approx(exact.angle[0], abs=1e-4)
        assert guess.state[SPEED] == pytest.approx(exact.speed[0], abs=2e-3)


def test_where_nothing_falls_the_harm_is_how_far_the_arm_runs_on() -> None:
    locked = machine(stages=(stage(60.0, 0.42, -0.6),), arm=replace(arm(moment=2.0), upper_stop=3.0))
    plan = PLANS["duty"]
    run = worst_falls(locked, plan)[0]
    assert harm(run) < 1e-8
