"""Open-circuit voltage over charge."""

import pytest

from armsim.parts.battery import Battery, constant_source, open_circuit_voltage
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
