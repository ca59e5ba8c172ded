"""Friction of lubricated teeth against a worked answer and its own limits."""

import math
from dataclasses import replace

import pytest

from armsim.parts.gear_mesh import Gear, Material, mesh_efficiency
from armsim.parts.mesh_friction import Lubrication, lubricated_friction
from tests.parts.rounded import six_digits

STEEL = Material(name="steel", density=7850.0)
PINION, WHEEL = (Gear(teeth=z, module=1.5e-3, material=STEEL) for z in (18, 47))
OIL = Lubrication(viscosity=60e-3, roughness=0.8e-6)
SPEED = 900.0 * math.pi / 30.0


def friction(lubrication=OIL, pinion=PINION, wheel=WHEEL, pinion_speed=SPEED, **more):
    return lubricated_friction(pinion, wheel, lubrication, pinion_speed=pinion_speed, **more)


def test_teeth_of_a_small_pair_in_oil():
    """Module 1.5 mm, 18 and 47 teeth, 900 rpm, 60 mPa*s, Ra 0.8 um, less than 150 N/mm: 0.0814091, so 98.6079 %."""
    assert friction() == six_digits(0.0814091)
    assert mesh_efficiency(PINION, WHEEL, friction()) == six_digits(0.986079)


def test_the_same_by_hand():
    # v_t 1.27235 m/s, rho 3.33864 mm, v_S 2 v_t sin(20 deg)
    v_s = 2.0 * 1.27235 * math.sin(math.radians(20.0))
    by_hand = 0.048 * (400.0 / (v_s * 3.33864)) ** 0.2 * 60.0**-0.05 * 0.8**0.25
    assert friction(line_load=400e3) == pytest.approx(by_hand, rel=2e-6)


def test_load_counts_from_150_newtons_a_millimetre_and_speed_up_to_50_metres_a_second():
    assert friction(line_load=155.556 / 12e-3) == friction()
    assert friction(line_load=149.9e3) == friction() < friction(line_load=150.1e3)
    edge = SPEED * 50.0 / (2.0 * 1.2723450 * math.sin(math.radians(20.0)))
    assert friction(pinion_speed=0.99 * edge) > friction(pinion_speed=1.01 * edge) == friction(pinion_speed=2.0 * edge)


@pytest.mark.parametrize(
    ("changed", "factor"),
    [
        (replace(OIL, viscosity=120e-3), 2.0**-0.05),
        (replace(OIL, roughness=1.6e-6), 2.0**0.25),
        (replace(OIL, oil=0.75), 0.75),
    ],
)
def test_oil_and_roughness_count_by_their_powers(changed, factor):
    assert friction(changed) / friction() == pytest.approx(factor)


def test_a_ring_rolls_more_gently_than_a_wheel_of_its_size():
    # curvatures 1/9 - 1/23.5 against 1/9 + 1/23.5
    ratio = ((47 - 18) / (47 + 18)) ** 0.2
    assert friction(wheel=replace(WHEEL, internal=True)) / friction() == pytest.approx(ratio)


def test_teeth_of_unknown_size_and_pairs_that_do_not_run_tell_nothing():
    assert friction(pinion=replace(PINION, module=None)) is None
    assert friction(centre=40e-3) is None
