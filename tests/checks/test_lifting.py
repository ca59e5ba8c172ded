"""Static margins worked out by hand, and how the travels of a run are told."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from armsim.checks.lifting import (
    available_torque,
    first_lift,
    hold_angles,
    lift_at_rest,
    lift_of_run,
    static_margin,
    torque_curves,
    travel_range,
)
from armsim.checks.stalls import travel_outcomes
from armsim.drivetrain.machine import loaded
from armsim.dynamics.plan import Hold, Plan, Rest, Travel
from armsim.dynamics.trajectory import simulate
from armsim.parts.arm import Friction
from armsim.parts.battery import constant_source
from armsim.parts.bridge import Controller

from .machines import ARM, GRAVITY, LIFT, TC, K, machine, stage

DEG = math.pi / 180.0
STALL = (12.56 - 0.024 * 2.0) / (0.104 + 0.024)  # current of the example machine stalled [A]


def plan(start, to, **more):
    return Plan(start=start * DEG, moves=(Travel(to=to * DEG, **more),))


def test_margin_is_stall_torque_through_the_train_over_gravity_at_the_horizontal():
    expected = (K * STALL - TC) * 120.0 * 0.70 / (6.0 * GRAVITY * 0.45)
    margin = static_margin(machine(), first_lift(LIFT))
    assert margin.value == pytest.approx(expected, rel=1e-9)
    assert margin.angle == 0.0


def test_margin_counts_stage_drag_where_it_acts_and_pivot_breakaway_as_needed():
    train = (stage(4.0, 0.95, drag=0.006), stage(30.0, 0.80, drag=0.05))
    stuck = replace(ARM, friction=Friction(coulomb=0.6, breakaway=0.9))
    expected = (((K * STALL - TC - 0.006) * 4.0 * 0.95 - 0.05) * 30.0 * 0.80) / (6.0 * GRAVITY * 0.45 + 0.9)
    assert static_margin(machine(stages=train, arm=stuck), first_lift(LIFT)).value == pytest.approx(expected, rel=1e-9)


def test_worst_angle_is_the_end_nearest_the_horizontal_when_the_lift_does_not_pass_it():
    task = first_lift(plan(20.0, 80.0))
    assert static_margin(machine(), task).angle == pytest.approx(20.0 * DEG)
    full = static_margin(machine(), first_lift(LIFT)).value
    assert static_margin(machine(), task).value == pytest.approx(full / math.cos(20.0 * DEG), rel=1e-12)


def test_beyond_the_vertical_nothing_needs_lifting():
    assert static_margin(machine(), first_lift(plan(95.0, 99.0))) is None
    assert static_margin(machine(arm=replace(ARM, gravity=0.0)), first_lift(LIFT)) is None


def test_a_partial_duty_gives_less_at_stall():
    half = (0.5 * (12.56 - 0.048)) / (0.104 + 0.25 * 0.024)
    assert available_torque(machine(), 0.5) == pytest.approx((K * half - TC) * 84.0, rel=1e-9)


def test_a_current_limit_caps_the_margin():
    limited = machine(controller=Controller(resistance=0.004, current_limit=30.0))
    assert available_torque(limited, 1.0) == pytest.approx((K * 30.0 - TC) * 84.0, rel=1e-12)


@given(st.floats(0.1, 40.0), st.floats(1.01, 3.0))
def test_more_payload_never_raises_the_margin(mass, times):
    task = first_lift(LIFT)
    light, heavy = (static_margin(loaded(machine(), m), task).value for m in (mass, mass * times))
    assert heavy < light
    assert heavy * times == pytest.approx(light, rel=1e-9)


def test_plan_is_followed_from_move_to_move():
    moves = (
        Travel(to=-0.2, duty=-0.5),
        Travel(to=0.8),
        Hold(duration=2.0),
        Travel(to=0.1, duty=-0.5),
        Rest(duration=1.0),
    )
    cycle = Plan(start=0.3, moves=moves)
    task = first_lift(cycle)
    assert (task.start, task.to) == (-0.2, 0.8)
    assert travel_range(cycle) == (-0.2, 0.8)
    assert hold_angles(cycle) == (0.8,)
    assert first_lift(Plan(start=0.3, moves=moves[:1])) is None


def test_curves_cover_the_lift_and_cap_what_a_locking_stage_holds():
    curves = torque_curves(machine(), LIFT)
    assert curves.angle[0] == pytest.approx(-30.0 * DEG)
    assert curves.angle[-1] == pytest.approx(60.0 * DEG)
    np.testing.assert_allclose(curves.gravity, 6.0 * GRAVITY * 0.45 * np.cos(curves.angle), rtol=1e-12)
    assert curves.gravity.max() == 6.0 * GRAVITY * 0.45
    assert curves.holdable[0] == pytest.approx(TC * 120.0 / (2.0 - 1.0 / 0.7))
    locking = torque_curves(machine(stages=(stage(120.0, 0.4),)), LIFT)
    assert np.isfinite(locking.holdable).all()
    assert (locking.holdable >= locking.gravity).all()


def outcome_of(m, p):
    return travel_outcomes(simulate(m, p))[0]


def test_a_lift_that_arrives_tells_its_time_from_switching_on():
    delayed = Plan(start=-30.0 * DEG, moves=(Rest(duration=1.0), Travel(to=60.0 * DEG)))
    held = replace(ARM, lower_stop=-30.0 * DEG)
    plain = lift_of_run(machine(arm=held), LIFT, simulate(machine(arm=held), LIFT))
    later = lift_of_run(machine(arm=held), delayed, simulate(machine(arm=held), delayed))
    assert plain.reached
    assert later.time == pytest.approx(plain.time, rel=1e-6)
    assert later.final_angle == pytest.approx(60.0 * DEG)


def test_every_lift_of_a_cycle_must_arrive():
    # 68 % of the torque needed at the horizontal: enough above 47 deg, and no swing carries it there from below
    short = machine(stages=(stage(12.0, 0.70),))
    cycle = Plan(
        start=50.0 * DEG, moves=(Travel(to=60.0 * DEG), Travel(to=-5.0 * DEG, duty=-1.0), Travel(to=60.0 * DEG))
    )
    run = simulate(short, cycle)
    lift = lift_of_run(short, cycle, run)
    assert [outcome.reached for outcome in travel_outcomes(run)] == [True, True, False]
    assert lift.reached is False
    assert lift.time is None
    assert lift.stalled


def test_stalled_arm_stands_where_its_torque_no_longer_suffices():
    # starting just below the angle where needed = available, at rest it never gets past it
    short = machine(stages=(stage(16.0, 0.70),))
    edge = math.acos(available_torque(short, 1.0) / (6.0 * GRAVITY * 0.45))
    stuck = lift_at_rest(short, Plan(start=-edge + 0.001, moves=(Travel(to=0.5),)))
    free = lift_at_rest(short, Plan(start=-edge - 0.001, moves=(Travel(to=0.5),)))
    assert stuck.reached is False
    assert free.reached is None
    assert not outcome_of(short, Plan(start=-edge + 0.001, moves=(Travel(to=0.5),))).reached


def test_a_stiffer_source_turns_a_short_margin_into_a_lift():
    short, strong = machine(stages=(stage(16.0, 0.70),)), constant_source(16.0, 0.014)
    assert static_margin(short, first_lift(LIFT)).value < 1.0
    assert lift_of_run(replace(short, battery=strong), LIFT, simulate(replace(short, battery=strong), LIFT)).reached


def test_of_two_lifts_the_slower_is_told_with_its_own_target():
    short, long = Travel(to=10.0 * DEG), Travel(to=60.0 * DEG)
    cycle = Plan(start=-30.0 * DEG, moves=(long, Travel(to=0.0, duty=-0.3), short))
    swapped = Plan(start=-30.0 * DEG, moves=(short, long))
    for order in (cycle, swapped):
        run = simulate(machine(), order)
        lift = lift_of_run(machine(), order, run)
        times = {
            move.to: outcome.duration
            for move, outcome in zip(
                [move for move in order.moves if move.duty > 0],
                [o for o in travel_outcomes(run) if o.name == "lift"],
                strict=True,
            )
        }
        assert lift.target == max(times, key=times.get)
        assert lift.time == max(times.values())
