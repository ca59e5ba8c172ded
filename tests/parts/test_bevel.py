"""Bevel gears against worked answers."""

import math
from dataclasses import replace

import pytest

from armsim.parts.bevel import (
    OTHER_SIDE,
    SAME_SIDE,
    BevelPair,
    bevel_stage,
    cone_angles,
    cone_distance,
    mean_radius,
    virtual_pair,
)
from armsim.parts.gear_mesh import Gear, Material
from armsim.parts.gears import ToothSeries
from tests.parts.rounded import six_digits

STEEL = Material(name="steel", density=7850.0)
SERIES = ToothSeries(modules=(), second=(), pitches=(), title="none")


def pair(first=18, second=43, angle=90.0, **more):
    gears = [Gear(teeth=z, material=STEEL, **more) for z in (first, second)]
    return BevelPair(driver=gears[0], driven=gears[1], shaft_angle=math.radians(angle), series=SERIES)


def test_cones_and_virtual_teeth():
    angles = cone_angles(18, 43, math.pi / 2.0)
    assert [math.degrees(a) for a in angles] == [six_digits(22.7144), six_digits(67.2856)]
    assert [gear.teeth for gear in virtual_pair(pair())] == [six_digits(19.5134), six_digits(111.359)]


def test_mitre_gears_share_the_angle():
    assert cone_angles(20, 20, math.radians(60.0)) == pytest.approx((math.pi / 6.0, math.pi / 6.0))


def test_the_force_acts_half_way_along_the_teeth():
    made = pair(module=2e-3, face_width=10e-3)
    distance = math.hypot(18.0, 43.0) * 1e-3  # both outer pitch radii at right angles
    assert cone_distance(made) == pytest.approx(distance)
    assert mean_radius(made) == pytest.approx(18e-3 - 5e-3 * 18e-3 / distance)


def test_reduction_and_reverse():
    made = bevel_stage(pair=pair(), efficiency=0.96, reverse=None, name="bevel")
    assert made.reduction == 43.0 / 18.0
    assert made.law.reverse == pytest.approx(2.0 - 1.0 / 0.96)


@pytest.mark.parametrize(
    ("placement", "sense", "corner"), [(None, None, 70.0), (SAME_SIDE, 1, 70.0), (OTHER_SIDE, -1, 110.0)]
)
def test_the_side_of_the_driven_gear_tells_its_sense(placement, sense, corner):
    crossing = replace(pair(angle=110.0), placement=placement)
    made = bevel_stage(pair=crossing, efficiency=0.96, reverse=None, name="bevel")
    assert made.sense == sense
    assert math.degrees(made.corner) == pytest.approx(corner)  # between the driver's way to the apex and the viewer


def test_a_crown_gear_is_refused():
    with pytest.raises(ValueError, match="crown"):
        bevel_stage(pair=pair(angle=130.0), efficiency=0.96, reverse=None, name="bevel")
