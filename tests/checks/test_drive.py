"""What the drive gives at a speed, and how long a stalled winding lasts, against worked answers."""

import math
from dataclasses import replace

import pytest

from armsim.checks.drive import time_to_limit
from armsim.drivetrain.circuit import drive_point
from armsim.parts.battery import constant_source
from armsim.parts.bridge import Controller
from armsim.parts.motor import Heat

from .machines import HEAT, MOTOR, machine

SAGGING = machine(battery=constant_source(12.70, 0.018), wiring=())


@pytest.mark.parametrize(
    ("duty", "speed", "motor", "supply", "bus"),
    [(1.0, 300.0, 48.6209, 48.6209, 11.7888), (0.5, 100.0, 37.6766, 18.8383, 12.3249)],
)
def test_source_resistance_reaches_the_motor_by_the_square_of_the_duty(duty, speed, motor, supply, bus):
    point = drive_point(SAGGING, duty, speed)
    assert point.current == pytest.approx(motor, rel=1e-5)
    assert point.supply_current - 2.0 == pytest.approx(supply, rel=1e-5)
    assert point.bus == pytest.approx(bus, rel=1e-5)


def test_a_limited_stall_draws_far_less_from_the_supply_than_from_the_motor():
    stiff = machine(
        battery=constant_source(11.8, 0.0),
        wiring=(),
        other_loads=0.0,
        controller=Controller(current_limit=40.0, resistance=0.004),
    )
    point = drive_point(stiff, 1.0)
    assert point.limited
    assert point.current == 40.0
    assert point.duty == pytest.approx(0.352542, rel=1e-5)
    assert point.supply_current == pytest.approx(14.1017, rel=1e-5)


def test_two_motors_sag_the_source_together():
    # E = R_s (2 i + 2) + (R + R_br) i
    pair = replace(SAGGING, motor=replace(MOTOR, count=2))
    point = drive_point(pair, 1.0)
    assert point.current == pytest.approx((12.70 - 0.018 * 2.0) / (0.104 + 2.0 * 0.018))
    assert point.supply_current == pytest.approx(2.0 * point.current + 2.0)
    assert point.torque == pytest.approx(2.0 * MOTOR.torque_constant * point.current)


ADIABATIC = Heat(
    winding_to_housing=1e9, housing_to_air=1e9, winding_capacity=62.0, housing_capacity=1e9, winding_limit=155.0
)


def bare(volts, series, limit=None):
    return machine(
        motor=replace(MOTOR, heat=ADIABATIC),
        battery=constant_source(volts, series),
        wiring=(),
        other_loads=0.0,
        controller=Controller(current_limit=limit),
    )


@pytest.mark.parametrize(
    ("stalled", "seconds"),
    [
        (bare(12.0, 0.0), 6.99922),  # constant voltage
        (bare(12.0, 0.030), 10.7659),  # behind 30 mohm
        (bare(24.0, 0.0, limit=80.0), 10.2092),  # constant current
    ],
)
def test_adiabatic_time_to_the_winding_limit(stalled, seconds):
    # the last step of about a kelvin is crossed by a straight line
    assert time_to_limit(stalled, 1.0) == pytest.approx(seconds, rel=1e-4)


def test_heat_that_flows_off_delays_the_limit_and_can_prevent_it():
    warm = replace(bare(12.0, 0.0), motor=replace(MOTOR, heat=replace(HEAT, winding_limit=155.0)))
    delayed = time_to_limit(warm, 1.0)
    assert delayed is not None
    assert delayed > 6.99922
    weak = replace(warm, controller=Controller(current_limit=10.0))
    # 10 A: 10 W and a little more through 5 K/W
    assert time_to_limit(weak, 1.0) is None
    assert time_to_limit(replace(warm, motor=MOTOR), 1.0) is None


def test_steady_temperature_of_a_long_stall_decides_whether_the_limit_is_met():
    # at the end T - 25 = i^2 R(T) (R_wh + R_ha); the limit is set just below and just above that, read after an hour
    heat = replace(HEAT, housing_capacity=20.0)
    gain = 12.0**2 * 0.1 * 5.0
    final = (25.0 + gain * 234.5 / 259.5) / (1.0 - gain / 259.5)
    for limit, met in ((final - 0.5, True), (final + 0.5, False)):
        stalled = replace(bare(24.0, 0.0, limit=12.0), motor=replace(MOTOR, heat=replace(heat, winding_limit=limit)))
        assert (time_to_limit(stalled, 1.0) is not None) == met
    assert math.isfinite(final)


def test_a_warm_motor_has_less_time_by_the_integral_of_its_warming():
    """With the housing held back by its size and no heat given off, dt = C dT/(i^2 R(T)), integrated apart."""
    from scipy.integrate import quad

    sealed = Heat(
        winding_to_housing=1e9, housing_to_air=1e9, winding_capacity=62.0, housing_capacity=1e9, winding_limit=130.0
    )
    m = machine(motor=replace(MOTOR, heat=sealed))

    def slowness(temperature: float) -> float:
        resistance = 0.1 * (234.5 + temperature) / (234.5 + 25.0)
        current = (12.56 - 0.048) / (resistance + 0.004 + 0.024)
        return 62.0 / (current**2 * resistance)

    for start in (25.0, 80.0):
        expected = quad(slowness, start, 130.0)[0]
        assert time_to_limit(m, 1.0, (start, 25.0)) == pytest.approx(expected, rel=1e-4)
    assert time_to_limit(m, 1.0, (131.0, 60.0)) == 0.0
