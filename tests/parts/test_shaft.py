"""Torsion of round bars and hexagons, keys, set screws and hubs against worked answers."""

import math

import pytest

from armsim.parts.shaft import Key, Shaft, hub_torque, in_series, key_torques, screw_torque
from tests.parts.rounded import six_digits


def bar(**size):
    return Shaft(shear_modulus=79.3e9, shear_stress=72e6, **size)


def test_a_round_bar_of_10_mm():
    shaft = bar(diameter=10e-3, length=0.3)
    assert shaft.stress(28.0) / 1e6 == six_digits(142.603)
    assert shaft.stiffness == six_digits(259.509)
    assert math.degrees(28.0 / shaft.stiffness) == six_digits(6.18200)


def test_hexagons():
    assert bar(hexagon=12.7e-3).stress(28.0) / 1e6 == six_digits(72.8436)
    assert bar(hexagon=12.7e-3).rigidity == six_digits(237.344)
    assert bar(hexagon=8e-3).stress(12.0) / 1e6 == six_digits(124.898)
    assert bar(hexagon=8e-3).radius == pytest.approx(4e-3 / math.cos(math.radians(30.0)))
    assert bar(hexagon=8e-3).stiffness is None


def test_a_key_a_set_screw_and_a_hub():
    key = Key(width=5e-3, height=5e-3, length=18e-3, shear_stress=60e6, bearing_stress=100e6)
    assert key_torques(key, 14e-3) == (six_digits(37.8), six_digits(31.5))
    assert screw_torque(1000 * 4.4482216152605, 14e-3) == six_digits(31.1376)
    assert screw_torque(400 * 4.4482216152605, 14e-3) == six_digits(12.4550)
    assert hub_torque(60e6, 10e-3, 12.7e-3) == pytest.approx(0.5 * 60e6 * 10e-3 * 12.7e-3**2 / 4.0)


def test_springs_in_series_give_way_together():
    assert in_series(300.0, 600.0) == pytest.approx(200.0)
    assert in_series(None, 600.0) == 600.0
    assert in_series(None, None) is None
