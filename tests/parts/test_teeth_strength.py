"""Strength of teeth against worked answers."""

import math
from itertools import pairwise

import pytest

from armsim.parts.gear_mesh import Gear, Material
from armsim.parts.teeth_strength import barth_factor, flank_pressure, lewis_stress
from armsim.scenario.gear_tables import form_factor, gear_materials, tooth_series
from tests.parts.rounded import six_digits

TWENTY = math.radians(20.0)


def test_bending_of_a_moving_and_a_stalled_tooth():
    force, speed = 6.3 / (21 * 1.5e-3 / 2.0), 240.0 * math.pi / 30.0 * 21 * 1.5e-3 / 2.0
    assert force == six_digits(400.0)
    assert barth_factor(speed) == six_digits(1.06489)
    factor = form_factor(TWENTY, 21)
    assert lewis_stress(force, 14e-3, 1.5e-3, factor, speed) == six_digits(61.8404e6)
    assert lewis_stress(force, 14e-3, 1.5e-3, factor) == six_digits(58.0720e6)
    assert lewis_stress(4.4 / 10e-3, 10e-3, 1.25e-3, form_factor(TWENTY, 16)) == six_digits(118.919e6)


def test_bending_in_inches():
    pound_force, inch = 4.4482216, 0.0254
    force = 55.0 * pound_force * inch / (18.0 / 20.0 * inch / 2.0)
    assert force / pound_force == six_digits(122.222)
    stress = lewis_stress(force, 0.5 * inch, inch / 20.0, form_factor(TWENTY, 18))
    assert stress == six_digits(109.086e6)
    assert stress / (pound_force / inch**2) == six_digits(15821.6)


def test_form_factors_between_rows_and_beyond_them():
    assert form_factor(TWENTY, 23) == pytest.approx(0.334)  # half way between 22 and 24
    assert form_factor(TWENTY, 1000) == 0.480
    assert form_factor(TWENTY, 9.9) is None
    assert form_factor(math.radians(25.0), 18) == 0.349
    assert form_factor(math.radians(17.0), 20) is None
    # the formula gives 0.28211 for 20 teeth; tables run up to 8 % below such formulas
    assert form_factor(math.radians(14.5), 20) == pytest.approx(0.92 * 0.28211, rel=1e-4)


def test_flank_pressure_of_two_equal_steel_discs():
    # F' = 100 N/mm on two 20 mm radii, both steel: p = 0.418 sqrt(F' E/rho) with nu 0.3
    steel = Material(name="steel", density=7850.0, modulus=207e9, poisson=0.3)
    gears = [Gear(teeth=40, module=1e-3, material=steel) for _ in range(2)]
    radius = 20e-3 * math.sin(TWENTY) / 2.0
    force = 1000.0 * math.cos(TWENTY)
    assert flank_pressure(force, 10e-3, *gears) == pytest.approx(0.418 * math.sqrt(1e5 * 207e9 / radius), rel=1e-3)


def test_a_ring_presses_less_than_a_wheel_beside_it_and_unknown_materials_tell_nothing():
    known, unknown = gear_materials()["steel"], Material(name="steel", density=7850.0)
    pinion = Gear(teeth=20, module=1e-3, material=known)
    wheel, ring = (Gear(teeth=60, module=1e-3, material=known, internal=inside) for inside in (False, True))
    # curvatures 1/10 + 1/30 against 1/10 - 1/30: a half
    ratio = flank_pressure(100.0, 1e-2, pinion, ring) / flank_pressure(100.0, 1e-2, pinion, wheel)
    assert ratio == pytest.approx(math.sqrt(0.5))
    assert flank_pressure(100.0, 1e-2, pinion, Gear(teeth=60, module=1e-3, material=unknown)) is None


def test_tables_rise_and_know_every_material_of_a_scenario():
    from armsim.scenario.gear_keys import MATERIALS

    assert set(gear_materials()) == set(MATERIALS)
    factors = [form_factor(TWENTY, z) for z in range(10, 400)]
    assert all(a <= b for a, b in pairwise(factors))
    series = tooth_series()
    assert not set(series.modules) & set(series.second)
