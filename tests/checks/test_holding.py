"""Holding and falling against worked answers, closed forms and energy."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.integrate import quad

from armsim.checks.holding import fall_of_run, hold_statically
from armsim.drivetrain.train import cone
from armsim.dynamics.plan import Hold, Plan, PowerCut, Travel
from armsim.dynamics.run import Kind
from armsim.dynamics.trajectory import fall
from armsim.parts.arm import Arm, Friction
from armsim.parts.counterbalance import TorsionSpring

from .machines import ARM, GRAVITY, LIFT, MOTOR, TC, K, machine, stage

DEG = math.pi / 180.0
FREE = replace(MOTOR, coulomb_torque=0.0, breakaway_torque=0.0, viscous_drag=0.0)


def loaded(torque):
    """An arm that gravity loads with a torque at the horizontal."""
    return Arm(length=1.0, inertia=0.1, first_moment=torque / GRAVITY)


LEVEL = Plan(start=-0.1, moves=(Travel(to=0.1), Travel(to=0.0, duty=-0.5), Hold(duration=1.0)))


def test_current_band_of_a_hold_at_the_horizontal():
    holding = hold_statically(machine(), LEVEL)
    sink, rise = holding.holding_band
    assert sink == pytest.approx(3.86857, rel=1e-5)
    assert rise == pytest.approx(15.7964, rel=1e-5)
    assert 0.5 * (rise - sink) == pytest.approx(5.96393, rel=1e-5)
    assert holding.holding_current == pytest.approx(0.5 * (sink + rise))
    assert holding.holding_at == 0.0
    assert not holding.unpowered_holds


def test_smallest_load_that_turns_a_train_of_four_stages_back():
    stages = tuple(stage(n, eta) for n, eta in ((118.0, 0.97), (1.0, 0.965), (1.0, 0.96), (1.0, 0.94)))
    motor = replace(MOTOR, breakaway_torque=0.021, coulomb_torque=0.021)
    # the worked answer lumps: the efficiencies of all stages act on the load, the drag on the motor shaft
    falling = loaded(9.4)
    m = machine(stages=stages, motor=motor, arm=falling)
    holding = hold_statically(m, LEVEL)
    # 118 * 0.021 / 0.837883 less the pull that friction at the motor leaves
    assert holding.reverse_torque == pytest.approx(0.021 * 118.0 / 0.837883, rel=1e-5)
    assert cone(m, 0.0).sink == pytest.approx(9.4 * 0.837883 / 118.0 - 0.021 * 1.0 - 0.0, abs=0.0377)
    assert not holding.unpowered_holds
    assert holding.hold_margin == pytest.approx(holding.reverse_torque / 9.4)


def test_worm_at_rest_holds_and_gears_do_not():
    worm = machine(motor=FREE, stages=(stage(43.0, 0.278564, -1.53868),), arm=loaded(9.0))
    held = hold_statically(worm, LEVEL)
    band = [current * K for current in held.holding_band]
    assert band == pytest.approx([-0.322048, 0.751362], rel=2e-5)
    assert held.unpowered_holds
    assert held.holding_current == 0.0
    assert held.reverse_torque is None
    assert held.hold_margin is None

    geared = machine(motor=FREE, stages=(stage(186.0, 0.91, drag=0.004),), arm=loaded(11.2))
    free = hold_statically(geared, LEVEL)
    band = [current * K for current in free.holding_band]
    assert band == pytest.approx([0.0502597, 0.0701704], rel=2e-5)
    assert not free.unpowered_holds


def test_static_edges_of_three_stages():
    stages = (stage(53 / 17, 0.95), stage(61 / 19, 0.945), stage(45 / 16, 0.93))
    held = hold_statically(machine(motor=FREE, stages=stages, arm=loaded(11.7)), LEVEL)
    assert [current * K for current in held.holding_band] == pytest.approx([0.342912, 0.497796], rel=2e-5)


def test_holding_is_judged_over_all_angles_of_the_moves():
    # friction holds 8.25 N*m of 26.5 N*m: only beyond 71.8 deg
    steep = Plan(start=75.0 * DEG, moves=(Travel(to=85.0 * DEG),))
    assert hold_statically(machine(), steep).unpowered_holds
    assert not hold_statically(machine(), LIFT).unpowered_holds
    margin = TC * 120.0 / (2.0 - 1.0 / 0.7) / (6.0 * GRAVITY * 0.45 * math.cos(75.0 * DEG))
    assert hold_statically(machine(), steep).hold_margin == pytest.approx(margin)
    assert hold_statically(machine(), steep).hold_angle == pytest.approx(75.0 * DEG)


def test_without_gravity_nothing_asks_to_be_held():
    still = hold_statically(machine(arm=replace(ARM, gravity=0.0)), LIFT)
    assert still.unpowered_holds
    assert still.hold_margin is None
    assert still.hold_angle is None


def test_frictionless_fall_meets_the_stop_with_the_speed_of_its_energy():
    m = machine(motor=FREE, stages=(stage(20.0, 1.0, 1.0),))
    came = fall_of_run(fall(m, LIFT, PowerCut(), shorted=False))
    inertia = 6.0 * 0.45**2 + 20.0**2 * MOTOR.rotor_inertia
    drop = 6.0 * GRAVITY * 0.45 * (math.sin(60.0 * DEG) - math.sin(-60.0 * DEG))
    assert came.falls
    assert not came.holds
    assert came.at == pytest.approx(60.0 * DEG)
    assert came.impact_speed == pytest.approx(math.sqrt(2.0 * drop / inertia), rel=1e-6)
    assert came.final_angle == pytest.approx(-60.0 * DEG)


def test_shorted_arm_creeps_through_the_horizontal_at_its_terminal_speed():
    m = machine(stages=(stage(120.0, 0.70, 0.65),))
    came = fall_of_run(fall(m, LIFT, PowerCut(), shorted=True))
    # quasi-steady: the arm passes the level with the worked 10.202 deg/s, lagging by its own time constant
    level = abs(came.run.speed[abs(came.run.angle).argmin()])
    assert level / DEG == pytest.approx(10.202, rel=2e-3)
    assert came.falls
    assert came.peak_speed / DEG == pytest.approx(10.202, rel=2e-3)


def test_arm_caught_by_friction_is_held():
    m = machine(stages=(stage(120.0, 0.4),))
    caught = fall_of_run(fall(m, LIFT, PowerCut(), shorted=False))
    assert caught.holds
    assert not caught.falls
    assert caught.fall_time is None
    assert caught.final_angle == pytest.approx(60.0 * DEG)


STRONG = TorsionSpring(rate=60.0, relaxed_at=90.0 * DEG)  # at 60 deg 31.4 N*m against 13.2 of gravity


def test_an_arm_thrown_up_by_its_spring_rises_and_meets_the_stop_with_the_energy_of_both():
    sprung = replace(ARM, counterbalances=(STRONG,), upper_stop=80.0 * DEG)
    came = fall_of_run(
        fall(machine(motor=FREE, stages=(stage(20.0, 1.0, 1.0),), arm=sprung), LIFT, PowerCut(), shorted=False)
    )
    inertia = 6.0 * 0.45**2 + 20.0**2 * MOTOR.rotor_inertia
    given_up = 0.5 * 60.0 * ((30.0 * DEG) ** 2 - (10.0 * DEG) ** 2)
    raised = 6.0 * GRAVITY * 0.45 * (math.sin(80.0 * DEG) - math.sin(60.0 * DEG))
    assert (came.holds, came.falls, came.rises, came.way) == (False, False, True, "rises")
    assert came.impact_speed == pytest.approx(math.sqrt(2.0 * (given_up - raised) / inertia), rel=1e-6)
    assert came.final_angle == pytest.approx(80.0 * DEG)


def test_a_swing_that_ends_as_high_as_it_began_is_a_fall():
    m = machine(motor=FREE, stages=(stage(20.0, 1.0, 1.0),), arm=replace(ARM, lower_stop=-math.inf))
    came = fall_of_run(fall(m, LIFT, PowerCut(), shorted=False))
    assert came.final_angle == pytest.approx(-240.0 * DEG, abs=1e-3)
    assert (came.falls, came.rises) == (True, False)
    assert came.fall_time is None


def test_without_gravity_an_arm_neither_falls_nor_rises():
    level = replace(ARM, gravity=0.0, counterbalances=(STRONG,))
    came = fall_of_run(fall(machine(arm=level), LIFT, PowerCut(), shorted=False))
    assert (came.holds, came.falls, came.rises, came.way) == (False, False, False, "moves")


def test_an_arm_that_strikes_the_upper_stop_first_is_timed_to_the_one_it_falls_to():
    m = machine(motor=FREE, stages=(stage(20.0, 1.0, 1.0),), arm=replace(ARM, upper_stop=61.0 * DEG))
    came = fall_of_run(fall(m, LIFT, PowerCut(angle=58.0 * DEG), shorted=False))
    # at rest on the upper stop, then free from 61 to -60 deg
    inertia = 6.0 * 0.45**2 + 20.0**2 * MOTOR.rotor_inertia
    moment = 6.0 * GRAVITY * 0.45

    def speed(angle):
        return math.sqrt(2.0 * moment * (math.sin(61.0 * DEG) - math.sin(angle)) / inertia)

    assert came.falls
    assert came.impact_speed == pytest.approx(speed(-60.0 * DEG), rel=1e-6)
    # the root of the way from the top takes out the infinite start of the integrand
    last, error = quad(lambda s: 2.0 * s / speed(61.0 * DEG - s * s), 0.0, math.sqrt(121.0 * DEG))
    assert error < 1e-6
    up = next(event for event in came.run.events if event.kind is Kind.STOP_HIT)
    assert came.fall_time == pytest.approx(up.time - came.run.time[0] + last, rel=1e-5)


def test_arm_thrown_up_by_a_cut_on_the_way_is_not_called_held():
    cut = fall(machine(), LIFT, PowerCut(angle=0.0), shorted=False)
    assert not fall_of_run(cut).holds


# ---------------------------------------------------------------------------------------------------- by how much

HELD = TC * 120.0 / (2.0 - 1.0 / 0.7)  # arm torque that the motor's drag holds through the gears: 8.2470 N*m
STEEP = Plan(start=75.0 * DEG, moves=(Travel(to=85.0 * DEG),))


def test_torque_in_hand_is_what_friction_holds_less_what_the_load_asks():
    # V26: friction holds 0.021 * 118 / 0.837883 = 2.957454 N*m of 9.4 N*m
    stages = tuple(stage(n, eta) for n, eta in ((118.0, 0.97), (1.0, 0.965), (1.0, 0.96), (1.0, 0.94)))
    drag = replace(MOTOR, breakaway_torque=0.021, coulomb_torque=0.021)
    short = hold_statically(machine(stages=stages, motor=drag, arm=loaded(9.4)), LEVEL)
    assert short.hold_margin_torque == pytest.approx(2.957454 - 9.4, rel=1e-5)
    steep = hold_statically(machine(), STEEP)
    assert steep.hold_margin_torque == pytest.approx(HELD - 6.0 * GRAVITY * 0.45 * math.cos(75.0 * DEG), rel=1e-9)
    assert hold_statically(machine(stages=(stage(40.0, 0.4, -0.5),)), LIFT).hold_margin_torque is None


def test_payload_that_just_starts_to_sink_by_hand():
    assert hold_statically(machine(), LEVEL).payload_to_sink == pytest.approx(HELD / (GRAVITY * 0.45), rel=1e-9)
    steep = HELD / (GRAVITY * 0.45 * math.cos(75.0 * DEG))
    assert hold_statically(machine(), STEEP).payload_to_sink == pytest.approx(steep, rel=1e-9)
    # the bare arm takes its share, a bearing and the drag of a stage between two others give theirs
    arm = Arm(
        length=0.6, inertia=2.0, first_moment=2.5 * 0.25 + 4.0 * 0.5, payload_mass=4.0, payload_at=0.5,
        friction=Friction(coulomb=0.7, breakaway=0.9),
    )  # fmt: skip
    train = (stage(40.0, 0.9, 0.8), stage(4.0, 0.9, 0.85, drag=0.05))
    # (0.0392715 * 40/0.8 + 0.05) * 4/0.85 + 0.9 = 10.375647 N*m, 1.0580216 kg*m, of which 0.625 are the arm's own
    assert hold_statically(machine(stages=train, arm=arm), LEVEL).payload_to_sink == pytest.approx(0.866043, rel=1e-6)


def test_an_arm_without_a_payload_is_loaded_at_its_tip():
    bare = replace(ARM, first_moment=0.5, payload_mass=0.0, payload_at=0.0, length=0.7)
    held = hold_statically(machine(arm=bare), LEVEL)
    assert held.payload_to_sink == pytest.approx((HELD / GRAVITY - 0.5) / 0.7, rel=1e-9)


def test_beyond_the_vertical_the_arm_sinks_to_the_other_side():
    over = Plan(start=100.0 * DEG, moves=(Travel(to=150.0 * DEG),))
    held = hold_statically(machine(), over)
    payload = HELD / (GRAVITY * 0.45 * abs(math.cos(150.0 * DEG)))
    assert held.payload_to_sink == pytest.approx(payload, rel=1e-9)


def test_no_payload_sinks_a_locked_arm_nor_a_level_one_and_a_sinking_arm_needs_none():
    assert hold_statically(machine(stages=(stage(40.0, 0.4, -0.5),)), LIFT).payload_to_sink is None
    assert hold_statically(machine(stages=(stage(9.0, 0.9), stage(9.0, 0.4, 0.0))), LIFT).payload_to_sink is None
    assert hold_statically(machine(arm=replace(ARM, gravity=0.0)), LIFT).payload_to_sink is None
    heavy = replace(ARM, first_moment=ARM.first_moment + 2.0)
    assert hold_statically(machine(arm=heavy), LEVEL).payload_to_sink == 0.0
    weightless = hold_statically(machine(motor=FREE), LEVEL)  # all of its moment is the payload's, nothing rubs
    assert weightless.payload_to_sink == 0.0


def brute_payload(m, plan):
    """On a fine grid of angles, from the critical load torque: friction's, plus what the springs carry there."""
    arm, friction = m.arm, HELD
    bare = arm.first_moment - arm.payload_mass * arm.payload_at
    angles = np.linspace(plan.start, plan.moves[0].to, 200_001)
    springs = np.zeros_like(angles)
    for spring in arm.counterbalances:
        springs += spring.rate * (spring.relaxed_at - angles)
    least = (friction + springs) / (arm.gravity * np.cos(angles))
    return max(0.0, float(np.min((least - bare) / arm.payload_at)))


@given(
    rate=st.floats(0.5, 30.0),
    relaxed=st.floats(-0.5, 2.5),
    bare=st.floats(0.0, 1.0),
    start=st.floats(-1.4, 0.2),
    way=st.floats(0.3, 1.2),
)
def test_springs_move_the_angle_that_gives_way_first(rate, relaxed, bare, start, way):
    sprung = replace(
        ARM,
        first_moment=ARM.first_moment + bare,
        counterbalances=(TorsionSpring(rate=rate, relaxed_at=relaxed),),
    )
    m, plan = machine(arm=sprung), Plan(start=start, moves=(Travel(to=start + way),))
    assert hold_statically(m, plan).payload_to_sink == pytest.approx(brute_payload(m, plan), rel=1e-6, abs=1e-6)


@given(
    eta=st.floats(0.55, 0.98),
    drag=st.floats(0.0, 0.1),
    pivot=st.floats(0.0, 3.0),
    payload=st.floats(0.1, 20.0),
    start=st.floats(-1.2, 0.5),
)
def test_torque_payload_and_verdict_agree(eta, drag, pivot, payload, start):
    arm = Arm(
        length=0.5, inertia=1.0, first_moment=0.3 + payload * 0.4, payload_mass=payload, payload_at=0.4,
        friction=Friction(breakaway=pivot),
    )  # fmt: skip
    m = machine(stages=(stage(30.0, 0.9), stage(3.0, eta, drag=drag)), arm=arm)
    held = hold_statically(m, Plan(start=start, moves=(Travel(to=start + 0.6),)))
    assume(abs(held.hold_margin_torque) > 1e-6)
    assert (held.hold_margin_torque > 0.0) == held.unpowered_holds == (held.payload_to_sink > payload)
    assert (held.hold_margin > 1.0) == held.unpowered_holds
