"""Holding and falling against worked answers, closed forms and energy."""

import math
from dataclasses import replace

import pytest

from armsim.checks.holding import fall_of_run, hold_statically
from armsim.drivetrain.train import cone
from armsim.dynamics.plan import Hold, Plan, PowerCut, Travel
from armsim.dynamics.trajectory import fall
from armsim.parts.arm import Arm

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


def test_arm_thrown_up_by_a_cut_on_the_way_is_not_called_held():
    cut = fall(machine(), LIFT, PowerCut(angle=0.0), shorted=False)
    assert not fall_of_run(cut).holds
