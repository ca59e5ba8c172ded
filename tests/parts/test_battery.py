"""Open-circuit voltage over charge, and what a battery can give."""

import math

import numpy as np
import pytest

from armsim.parts.battery import (
    Battery,
    brownout_current,
    constant_power_voltage,
    constant_source,
    interpolated,
    maximum_power,
    open_circuit_voltage,
    peukert_capacity,
)
from tests.parts.rounded import six_digits

LEAD_ACID = Battery(
    charge_points=(0.0, 0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 1.0),
    voltage_points=(11.80, 11.84, 11.88, 11.96, 12.06, 12.18, 12.30, 12.42, 12.54, 12.66, 12.76, 12.81, 12.85),
    resistance=0.011,
    capacity=18.0 * 3600.0,
    state_of_charge=0.72,
)


def test_voltage_lies_on_the_straight_line_between_two_rows():
    assert open_circuit_voltage(LEAD_ACID, 0.0) == six_digits(12.564)


def test_voltage_falls_with_the_charge_drawn():
    drawn = 0.22 * 18.0 * 3600.0  # from 0.72 to 0.50
    assert open_circuit_voltage(LEAD_ACID, drawn) == pytest.approx(12.30)
    assert open_circuit_voltage(LEAD_ACID, -0.18 * 18.0 * 3600.0) == pytest.approx(12.76)


def test_voltage_stays_at_the_tables_ends_beyond_them():
    assert open_circuit_voltage(LEAD_ACID, 1e9) == 11.80
    assert open_circuit_voltage(LEAD_ACID, -1e9) == 12.85


def test_a_constant_source_never_falls():
    assert open_circuit_voltage(constant_source(25.2, 0.04), 1e9) == 25.2


def test_a_battery_without_one_voltage_for_each_charge_is_refused():
    with pytest.raises(ValueError, match="one voltage for each"):
        Battery(charge_points=(0.0, 1.0), voltage_points=(12.0,), resistance=0.01)


def test_a_strong_current_gets_less_out_of_a_battery():
    rated = 18.0 * 3600.0
    assert peukert_capacity(rated, 30.0, 20.0, 1.10) / 3600.0 == six_digits(12.6761)
    assert peukert_capacity(rated, 30.0, 20.0, 1.10) / 30.0 / 60.0 == six_digits(25.3521)
    assert peukert_capacity(rated, 30.0, 20.0, 1.25) / 3600.0 == six_digits(7.49122)
    assert peukert_capacity(rated, 30.0, 20.0, 1.25) / 30.0 / 60.0 == six_digits(14.9824)
    assert peukert_capacity(100.0 * 3600.0, 100.0, 20.0, 1.10) / 3600.0 == six_digits(74.1134)


def test_its_rated_current_gets_out_what_is_rated_and_so_does_any_at_exponent_one():
    assert peukert_capacity(3600.0, 0.05, 20.0, 1.3) == pytest.approx(3600.0)
    assert peukert_capacity(3600.0, 7.0, 20.0, 1.0) == pytest.approx(3600.0)


def test_a_source_gives_so_much_before_it_browns_out():
    assert brownout_current(12.56, 0.032, 7.0) == six_digits(173.75)
    assert brownout_current(12.56, 0.0, 7.0) == math.inf


def test_a_load_of_constant_power_settles_at_the_upper_voltage():
    volts = constant_power_voltage(12.56, 0.032, 900.0)
    assert volts == six_digits(9.54166)
    assert 900.0 / volts == six_digits(94.3232)
    assert maximum_power(12.56, 0.032) == six_digits(1232.45)


def test_beyond_the_most_power_the_voltage_collapses():
    most = maximum_power(12.56, 0.032)
    assert constant_power_voltage(12.56, 0.032, 0.999999 * most) == pytest.approx(6.28, rel=2e-3)
    assert constant_power_voltage(12.56, 0.032, 1.000001 * most) is None
    assert constant_power_voltage(12.56, 0.0, 1e9) == 12.56


@pytest.mark.parametrize(("low", "high"), [(0.3, 0.45), (0.1, 0.9), (-0.5, 0.1), (0.8, 1.4), (0.25, 0.5), (1.0, 1.2)])
def test_many_designs_read_the_table_as_one_does(low, high) -> None:
    points, volts = (0.0, 0.25, 0.5, 0.75, 1.0), (23.6, 24.0, 24.6, 25.2, 25.7)
    at = np.linspace(low, high, 17)
    assert interpolated(points, volts, at) == pytest.approx(
        [interpolated(points, volts, float(x)) for x in at], rel=1e-14
    )
