"""Working points of the motor against the textbook's closed forms and a balance by hand."""

import math
from dataclasses import replace

import pytest

from armsim.checks.lifting import LiftTask
from armsim.checks.operating import no_load_speed, operating_points, steady_speed
from armsim.parts.arm import Friction
from armsim.parts.battery import constant_source

from .machines import GRAVITY, MOTOR, TC, B, K, machine, stage

BARE = {"battery": constant_source(12.0, 0.0), "wiring": (), "other_loads": 0.0}
TASK = LiftTask(start=-0.5, to=1.0, duty=1.0)


def named(m, task=TASK):
    return {one.name: one for one in operating_points(m, task)}


def test_no_load_and_stall_are_the_catalogue_row() -> None:
    """12 V, 5000 rpm, 2.5 A, 120 A: the row that the constants were made of."""
    m = machine(**BARE, controller=replace(machine().controller, resistance=0.0))
    found = named(m)
    assert found["no load"].speed == pytest.approx(5000.0 * math.pi / 30.0, rel=1e-5)
    assert found["no load"].current == pytest.approx(2.5, rel=1e-5)
    assert found["no load"].efficiency == pytest.approx(0.0, abs=1e-9)
    assert found["stall"].current == pytest.approx(120.0, rel=1e-9)
    assert found["stall"].torque == pytest.approx(K * 120.0 - TC, rel=1e-9)


def test_best_efficiency_lies_at_the_root_of_no_load_times_stall_current() -> None:
    """With drag that does not change with speed."""
    drag = K * 2.5
    motor = replace(MOTOR, coulomb_torque=drag, breakaway_torque=drag, viscous_drag=0.0)
    m = machine(**BARE, motor=motor, controller=replace(machine().controller, resistance=0.0))
    found = named(m)["best efficiency"]
    assert found.current == pytest.approx(math.sqrt(2.5 * 120.0), rel=1e-4)
    share = math.sqrt(2.5 / 120.0)
    assert found.efficiency == pytest.approx((1.0 - share) ** 2, rel=1e-4)


def test_most_power_lies_at_half_the_no_load_speed() -> None:
    m = machine(**BARE)
    assert named(m)["most power"].speed == pytest.approx(0.5 * no_load_speed(m), rel=1e-4)


def test_the_load_sits_where_the_motor_balances_it() -> None:
    m = machine(arm=replace(machine().arm, friction=Friction()))
    load = named(m)["this load, lifted at the worst angle"]
    torque = 6.0 * GRAVITY * 0.45 / (120.0 * 0.70)  # level arm, through the train
    assert load.torque == pytest.approx(torque, rel=1e-6)
    assert load.current == pytest.approx((torque + TC + B * load.speed) / K, rel=1e-6)
    volts = 12.56 - 0.024 * 2.0 - (0.104 + 0.024) * load.current
    assert load.speed == pytest.approx(volts / K, rel=1e-6)


def test_two_motors_share_load_and_source() -> None:
    pair = machine(motor=replace(MOTOR, count=2))
    load = named(pair)["this load, lifted at the worst angle"]
    assert load.torque == pytest.approx(0.5 * 6.0 * GRAVITY * 0.45 / (120.0 * 0.70), rel=1e-6)
    assert named(pair)["stall"].current == pytest.approx((12.56 - 0.048) / (0.104 + 2 * 0.024), rel=1e-9)


def test_a_load_beyond_the_motor_has_no_point_and_nothing_to_lift_none() -> None:
    assert steady_speed(machine(stages=(stage(6.0, 0.7),)), TASK) is None
    assert [one.name for one in operating_points(machine(), None)] == [
        "no load",
        "best efficiency",
        "most power",
        "stall",
    ]
