"""Duty classes on either side of each rule's edge, and the pattern that a run really has."""

import math
from dataclasses import replace

import numpy as np
import pytest

from armsim.checks.cycle_series import last_cycle
from armsim.checks.duty import Pattern, duty_of, longest, name_duty
from armsim.dynamics.plan import Exchange, Follow, Hold, Limits, Plan, Rest, Travel
from armsim.dynamics.trajectory import simulate
from armsim.parts.bridge import Controller
from armsim.parts.motor import Heat
from tests.machines import MOTOR, arm, frictionless_motor, machine, stage

S3 = Pattern(
    cycle_time=30.0,
    on_time=10.0,
    still_time=0.0,
    light_time=0.0,
    longest_rest=20.0,
    starting_share=0.02,
    braking_share=0.02,
    unevenness=1.2,
    rms=5.0,
    repeats=True,
    broken="",
    equilibrium_time=5000.0,
    cooling_time=7000.0,
)
FULL = replace(S3, on_time=30.0, longest_rest=0.0)
ONCE = replace(S3, repeats=False)
LOW, HIGH = math.radians(-30.0), math.radians(70.0)
HEAT = Heat(
    winding_to_housing=1.2, housing_to_air=3.5, winding_capacity=40.0, housing_capacity=600.0, winding_limit=130.0
)


@pytest.mark.parametrize(
    ("pattern", "kind"),
    [
        (S3, "S3"),
        (replace(S3, starting_share=0.0999), "S3"),
        (replace(S3, starting_share=0.1), "S4"),
        (replace(S3, braking_share=0.0999), "S3"),
        (replace(S3, braking_share=0.1), "S5"),
        (replace(S3, starting_share=0.3, braking_share=0.1), "S5"),
        (replace(S3, cycle_time=7010.0, longest_rest=6999.0), "S3"),
        (replace(S3, cycle_time=7010.0, longest_rest=7000.0), "S2"),
        (replace(S3, cooling_time=5.0, longest_rest=9.9), "S3"),  # a rest shorter than the load does not cool
        (replace(S3, cycle_time=9000.0, on_time=4999.0, longest_rest=4001.0), "S3"),
        (replace(S3, cycle_time=9000.0, on_time=5000.0, longest_rest=4000.0), None),
        (replace(S3, on_time=28.4, longest_rest=1.6), "S3"),
        (replace(FULL, on_time=28.5, unevenness=1.1), "S1"),
        (replace(FULL, unevenness=1.1), "S1"),
        (replace(FULL, unevenness=1.11), "S8"),
        (replace(FULL, light_time=1.49), "S8"),
        (replace(FULL, light_time=1.5), "S6"),
        (replace(FULL, light_time=1.5, braking_share=0.1), "S7"),
        (ONCE, "S2"),
        (replace(ONCE, cycle_time=5000.0, on_time=4999.0, unevenness=1.0), "S2"),
        (replace(ONCE, cycle_time=5000.0, on_time=5000.0, unevenness=1.0), "S1"),
        (replace(ONCE, cycle_time=5000.0, on_time=5000.0, unevenness=1.2), None),
        (replace(ONCE, equilibrium_time=None, cooling_time=None), "S2"),
        (replace(S3, broken="a move is given up in it"), None),
        (replace(S3, on_time=0.0), None),
    ],
)
def test_each_class_begins_where_its_rule_says(pattern, kind):
    found, reason = name_duty(pattern)
    assert found == kind
    assert reason.endswith(".")


def test_a_hold_on_current_is_on_and_is_said():
    _, reason = name_duty(replace(S3, still_time=4.0))
    assert "Current for 10.0 s (of it 4.00 s standing still on current) of each 30.0 s (33 %)" in reason


def test_a_rest_goes_on_over_the_seam_of_two_cycles():
    off, step = np.array([True, False, True, True]), np.array([1.0, 2.0, 3.0, 4.0])
    assert longest(off, step, joined=True) == 8.0
    assert longest(off, step, joined=False) == 7.0
    assert longest(np.array([True, True]), np.array([1.0, 2.0]), joined=True) == 3.0


def test_a_level_arm_held_still_is_on_with_the_current_of_its_weight():
    """Without friction 3 kg*m ask for 3 g N*m at 0 deg, through 60:1 and 0.07 N*m/A."""
    lossless = machine(
        motor=frictionless_motor(heat=HEAT), arm=arm(moment=3.0, inertia=2.0), stages=(stage(60.0, 1.0, 1.0),)
    )
    gentle = Limits(speed=1.0, acceleration=3.0)
    moves = (Follow(to=0.0, limits=gentle), Hold(duration=10.0), Follow(to=LOW, limits=gentle, name="lower"))
    plan = Plan(start=LOW, moves=moves)
    run = simulate(lossless, plan)
    found = duty_of(run, plan)
    assert found.pattern.still_time == pytest.approx(10.0, abs=0.5)
    assert found.pattern.rms == pytest.approx(3.0 * 9.80665 / 60.0 / 0.07, rel=0.05)
    assert "standing still on current" in found.reason


def one_lift(**more):
    m = machine(motor=replace(MOTOR, heat=HEAT), **more)
    plan = Plan(start=LOW, moves=(Travel(to=HIGH), Travel(to=LOW, duty=-0.1), Rest(duration=20.0)), repeat=3)
    return m, plan, simulate(m, plan)


def test_rms_of_the_last_cycle_is_that_of_the_run_where_cycles_are_alike():
    _, plan, run = one_lift()
    assert duty_of(run, plan).pattern.rms == pytest.approx(run.motor_current_rms, rel=0.01)


def test_times_on_and_off_make_the_cycle_and_the_rest_is_the_asked_one():
    _, plan, run = one_lift()
    found = duty_of(run, plan).pattern
    driven = sum(b.time - a.time for a, b in drives(run))
    assert found.on_time == pytest.approx(driven, abs=1.0)  # the shorted arm creeps on current for a moment longer
    assert found.longest_rest == pytest.approx(20.0, abs=1.0)
    assert found.cycle_time == pytest.approx(run.cycles[-1].duration, rel=1e-9)


def drives(run):
    begun = run.cycles[-1].begun
    events = [event for event in run.events if event.time >= begun]
    starts = [event for event in events if event.kind == "drive_on"]
    ends = [event for event in events if event.kind == "reached"]
    return list(zip(starts, ends, strict=True))


def test_starting_heat_is_none_where_nothing_has_inertia_to_speak_of_and_most_where_it_has_much():
    light = one_lift(arm=arm(moment=6.0, inertia=0.01), stages=(stage(60.0),))
    heavy = one_lift(arm=arm(moment=0.5, inertia=30.0))
    shares = [duty_of(run, plan).pattern.starting_share for _, plan, run in (light, heavy)]
    assert shares[0] < shares[1]
    assert shares[1] > 0.3
    assert duty_of(heavy[2], heavy[1]).kind in ("S4", "S5")


def test_the_payload_of_each_sample_is_the_one_carried_then():
    gentle = Limits(speed=1.0, acceleration=2.0)
    moves = (
        Follow(to=HIGH, limits=gentle),
        Exchange(payload=1.0, name="put down"),
        Follow(to=LOW, limits=gentle, name="lower"),
        Rest(duration=5.0),
        Exchange(payload=5.0),
    )
    plan = Plan(start=LOW, moves=moves, repeat=2)
    m = machine(motor=replace(MOTOR, heat=HEAT), arm=arm(moment=4.0, inertia=2.5), controller=Controller())
    cycle = last_cycle(simulate(m, plan), plan)
    up = int(np.argmax(cycle.angle))
    assert cycle.time[0] == 0.0
    assert set(cycle.payload[: up - 1]) == {5.0}
    assert cycle.payload[-3] == 1.0


def test_a_move_given_up_is_no_duty():
    weak = machine(motor=replace(MOTOR, heat=HEAT), arm=arm(moment=20.0, inertia=9.0))
    plan = Plan(start=LOW, moves=(Travel(to=HIGH, patience=1.0),))
    found = duty_of(simulate(weak, plan), plan)
    assert (found.kind, found.reason) == (None, "The cycle is not one to be rated: a move is given up in it.")
