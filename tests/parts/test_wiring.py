"""Gauges and the round trip of a cable against worked answers."""

import math

import pytest

from armsim.parts.wiring import (
    Ampacity,
    adiabatic_constant,
    adiabatic_time,
    fault_limit,
    gauge_area,
    gauge_diameter,
    resistance_per_length,
    round_trip_resistance,
)
from tests.parts.rounded import six_digits

GAUGES = [
    (14, 1.62773, 2.08091, 8.28533),
    (12, 2.05253, 3.30877, 5.21069),
    (10, 2.58819, 5.26115, 3.27704),
    (6, 4.11538, 13.3018, 1.29614),
    (4, 5.1894, 21.1506, 0.815153),
    (-1, 9.26583, 67.4309, 0.255684),  # 2/0
]


@pytest.mark.parametrize(("gauge", "diameter", "area", "milliohm"), GAUGES)
def test_gauges_have_their_diameter_area_and_resistance(gauge, diameter, area, milliohm):
    assert gauge_diameter(gauge) * 1e3 == six_digits(diameter)
    assert gauge_area(gauge) * 1e6 == six_digits(area)
    assert resistance_per_length(gauge_area(gauge)) * 1e3 == six_digits(milliohm)


def test_a_cable_counts_both_ways_its_heat_and_its_joints():
    area = gauge_area(12)
    assert resistance_per_length(area, 70.0) * 1e3 == six_digits(6.23459)
    loop = round_trip_resistance(area, 1.4, temperature=70.0, joints=4 * 0.25e-3 + 1.44e-3)
    assert loop * 1e3 == six_digits(19.8969)
    assert loop * 45.0 == six_digits(0.895359)
    assert loop * 45.0**2 == six_digits(40.2911)


def test_stranding_lengthens_the_path():
    solid = round_trip_resistance(6e-6, 2.0)
    assert round_trip_resistance(6e-6, 2.0, stranding=1.05) == pytest.approx(1.05 * solid, rel=1e-12)


@pytest.mark.parametrize(
    ("start", "end", "k"), [(70.0, 160.0, 114.836), (90.0, 250.0, 142.874), (40.0, 105.0, 104.034)]
)
def test_the_adiabatic_constant_is_the_worked_answer(start, end, k):
    # A*s^0.5/mm2; the answer's resistivity is 17.241e-6 ohm*mm
    assert adiabatic_constant(start, end) * 1e-6 == pytest.approx(k, rel=1e-5)


def test_a_conductor_stands_a_fault_for_the_time_its_heat_takes():
    area = gauge_area(12)
    assert adiabatic_time(area, 500.0, adiabatic_constant()) == pytest.approx(
        (114.836 * area * 1e6 / 500.0) ** 2, rel=1e-4
    )


def test_insulation_bears_in_a_fault_what_its_class_does():
    assert fault_limit(70.0) == 160.0
    assert fault_limit(90.0) == 250.0
    assert fault_limit(80.0) == pytest.approx(205.0)
    assert fault_limit(105.0) == 250.0
    assert fault_limit(60.0) == 160.0
    assert fault_limit(300.0) == 300.0


def test_ampacity_runs_straight_in_logarithms_and_on_beyond_the_ends():
    table = Ampacity(areas=(1e-6, 4e-6, 16e-6), currents=(10.0, 30.0, 60.0), limit=105.0, ambient=30.0)
    assert table.current(4e-6) == pytest.approx(30.0)
    assert table.current(2e-6) == pytest.approx(math.sqrt(10.0 * 30.0))
    assert table.current(64e-6) == pytest.approx(120.0)
    assert table.current(0.25e-6) == pytest.approx(10.0 / 3.0)
