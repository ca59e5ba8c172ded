"""Shaft and stage tables against worked answers."""

import math

import pytest

from armsim.checks.transmission import judge_transmission, steady_speed, train_efficiencies
from armsim.parts.bridge import Controller

from .machines import ARM, GRAVITY, LIFT, machine, stage

DEG = math.pi / 180.0


def test_steady_lift_at_the_horizontal():
    result = judge_transmission(machine(), LIFT)
    motor, arm = result.shafts
    assert motor.speed == pytest.approx(463.665, rel=1e-5)
    assert arm.speed / DEG == pytest.approx(221.384, rel=1e-5)
    assert arm.power == pytest.approx(102.308, rel=1e-5)
    assert motor.power - arm.power == pytest.approx(43.8461, rel=1e-5)
    assert result.torque_ratio == pytest.approx(84.0)


def test_a_limited_drive_that_cannot_raise_the_load_has_no_steady_speed():
    weak = machine(controller=Controller(resistance=0.004, current_limit=10.0))
    assert steady_speed(weak, 0.0, 1.0) is None
    result = judge_transmission(weak, LIFT)
    assert result.shafts[0].speed is None
    assert result.shafts[0].power is None
    assert result.shafts[1].torque == pytest.approx(6.0 * GRAVITY * 0.45)


def test_efficiencies_multiply_stage_by_stage_and_not_as_a_lump():
    four = machine(stages=tuple(stage(2.0, eta) for eta in (0.97, 0.965, 0.96, 0.94)))
    assert train_efficiencies(four, 0.0) == pytest.approx((0.844692, 0.837883), rel=1e-5)
    three = machine(stages=(stage(3.0, 0.78),) * 3)
    assert train_efficiencies(three, 0.0) == pytest.approx((0.474552, 0.370067), rel=1e-5)


def test_two_locking_stages_do_not_multiply_to_one_that_turns_back():
    locking = machine(stages=(stage(10.0, 0.38, -0.62), stage(10.0, 0.41, -0.45)))
    result = judge_transmission(locking, LIFT)
    assert result.efficiency_reverse == pytest.approx(-0.45 / 0.38)
    assert result.self_locking
    assert [row.locks for row in result.stages] == [True, True]


def test_senses_are_followed_from_the_arm_and_lost_at_a_corner():
    train = (stage(2.0, 0.9, sense=-1, name="pair"), stage(3.0, 0.9, sense=1, name="chain"))
    result = judge_transmission(machine(stages=train), LIFT)
    assert result.motor.shaft.word == "clockwise"
    assert [shaft.name for shaft in result.shafts] == ["motor", "pair to chain", "arm"]
    assert [shaft.turning.sense for shaft in result.shafts] == [-1, 1, 1]
    assert [shaft.turns_per_arm_turn for shaft in result.shafts] == [6.0, 3.0, 1.0]
    corner = judge_transmission(machine(stages=(stage(30.0, 0.9, sense=None),)), LIFT)
    assert (corner.motor.shaft.word, corner.motor.shaft.hidden_by) == (None, "gears")


def test_contact_force_is_the_driver_torque_at_its_radius():
    # a 16-tooth wheel of 12.7 mm pitch, 9 N*m into it: 278.291 N
    radius = 16 * 0.0127 / (2.0 * math.pi)
    level = ARM.first_moment * GRAVITY
    chain = stage(level / (9.0 * 0.96), 0.96, driver_radius=radius, drag=0.02)
    row = judge_transmission(machine(stages=(chain,)), LIFT).stages[0]
    assert row.contact_force == pytest.approx(278.291, rel=1e-5)
    assert row.output_torque == pytest.approx(level)


def test_inertia_is_seen_at_the_arm():
    result = judge_transmission(machine(), LIFT)
    assert result.reflected_inertia == pytest.approx(6.0 * 0.45**2 + 120.0**2 * 8e-5)
    assert result.rotor_share == pytest.approx(1.152 / (1.152 + 1.215))


def test_direct_drive_is_one_shaft():
    result = judge_transmission(machine(stages=()), LIFT)
    assert [shaft.name for shaft in result.shafts] == ["motor and arm"]
    assert result.reduction == 1.0
    assert not result.self_locking
