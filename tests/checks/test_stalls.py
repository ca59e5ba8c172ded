"""Each way a travel fails is told from the others, with what it is called and what would mend it."""

import math
from dataclasses import replace

import pytest

from armsim.checks.assessment import StallKind
from armsim.checks.stalls import MENDS, stall_cause, stall_kind, travel_outcomes
from armsim.dynamics.plan import Follow, Limits, Plan, Travel
from armsim.dynamics.trajectory import simulate
from armsim.parts.bridge import Controller
from armsim.studies.single import assess_machine

from .machines import BREAKER, LIFT, machine, stage

DEG = math.pi / 180.0


def up(start: float, to: float, **more) -> Plan:
    return Plan(start=start * DEG, moves=(Travel(to=to * DEG, **more),))


WEAK = (stage(6.0, 0.70),)
SMALL = replace(BREAKER, rating=5.0)
GENTLE = Limits(speed=0.5, acceleration=1.0)
CASES = {
    StallKind.CANNOT_START: (machine(stages=WEAK), LIFT, "the arm cannot start"),
    StallKind.ON_THE_WAY: (machine(stages=(stage(12.0, 0.70),)), up(-59.0, 60.0), "the arm slows to a halt on the way"),
    StallKind.AT_STOP: (machine(), up(-30.0, 120.0), "the arm runs into its upper stop"),
    StallKind.CURRENT_LIMIT: (
        machine(controller=Controller(resistance=0.004, current_limit=10.0)),
        LIFT,
        "the arm cannot start with the current at the controller's limit",
    ),
    StallKind.BREAKER_OPEN: (
        machine(protection=(replace(SMALL, rating=2.0, opens_at_earliest=True),)),
        LIFT,
        "the thermal-manual-reset opens",
    ),
    StallKind.RESETS: (
        machine(controller=Controller(resistance=0.004, undervoltage=11.0)),
        LIFT,
        "the controller resets on undervoltage each time the current rises",
    ),
    StallKind.OUT_OF_TIME: (machine(), up(-30.0, 60.0, time_limit=0.1), "the time for the move runs out at"),
}


@pytest.mark.parametrize("kind", StallKind)
def test_kinds_are_told_apart(kind: StallKind) -> None:
    m, plan, words = CASES[kind]
    (outcome,) = travel_outcomes(simulate(m, plan))
    assert not outcome.reached
    assert stall_kind(m, outcome) is kind
    assert stall_cause(m, outcome).startswith(words)


@pytest.mark.parametrize("kind", StallKind)
def test_each_is_said_with_time_angle_and_a_mend(kind: StallKind) -> None:
    m, plan, words = CASES[kind]
    found = assess_machine(m, plan)
    assert found.lift.stall_kind is kind
    finding = next(one for one in found.findings if one.code == "does-not-lift")
    assert words in finding.text
    assert "fails at t = " in finding.text
    assert " deg: " in finding.text
    assert finding.mend
    assert MENDS.get(kind, "") in finding.mend


def test_the_first_thing_that_ends_the_motion_counts_and_what_follows_is_told() -> None:
    m = machine(stages=WEAK, protection=(SMALL,))
    (outcome,) = travel_outcomes(simulate(m, LIFT))
    assert stall_kind(m, outcome) is StallKind.CANNOT_START
    assert stall_cause(m, outcome) == "the arm cannot start, and the thermal-manual-reset opens"


def test_a_loop_that_cannot_move_the_arm_stalls_like_full_drive() -> None:
    m = machine(stages=WEAK)
    (outcome,) = travel_outcomes(simulate(m, Plan(start=-30 * DEG, moves=(Follow(to=1.0, limits=GENTLE),))))
    assert stall_kind(m, outcome) is StallKind.CANNOT_START


def test_a_travel_that_arrives_has_no_kind() -> None:
    (outcome,) = travel_outcomes(simulate(machine(), LIFT))
    assert stall_kind(machine(), outcome) is None
    assert stall_cause(machine(), outcome) is None
