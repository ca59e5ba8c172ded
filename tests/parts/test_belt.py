"""Toothed belts against worked answers."""

import math

import pytest

from armsim.parts.belt import (
    BeltDrive,
    Pulley,
    belt_centre_distance,
    belt_loop,
    belt_pitch_diameter,
    belt_stage,
    mesh_factor,
    rated_tension,
)
from armsim.parts.stage import disc_inertia
from armsim.scenario.tables import belt_profiles
from tests.parts.rounded import six_digits

PROFILES = belt_profiles()
ALUMINIUM = 2700.0


def drive(profile="5M", driver=18, driven=60, **others):
    return BeltDrive(profile=PROFILES[profile], driver=Pulley(teeth=driver), driven=Pulley(teeth=driven), **others)


BELTS = [
    ("5M", 18, 60, 0.205, 610.461, 122, 204.766, 8.06060),
    ("3M", 15, 44, 0.110, 310.245, 103, 109.372, 6.89391),
    ("XL", 14, 42, 0.150, 445.663, 88, 150.696, 6.32801),
    ("MXL", 20, 50, 0.070, 212.467, 105, 70.4509, 9.12049),
]


@pytest.mark.parametrize(("profile", "small", "large", "centre", "length", "teeth", "exact", "in_mesh"), BELTS)
def test_a_belt_has_its_length_and_a_whole_belt_its_centre_distance(
    profile, small, large, centre, length, teeth, exact, in_mesh
):
    pitch = PROFILES[profile].pitch
    assert belt_loop(drive(profile, small, large, centre_distance=centre)).taut * pitch * 1e3 == six_digits(length)
    assert belt_centre_distance(pitch, small, large, teeth) * 1e3 == six_digits(exact)
    loop = belt_loop(drive(profile, large, small, belt_teeth=teeth))
    assert loop.teeth_in_mesh == six_digits(in_mesh)
    assert loop.taut == pytest.approx(teeth, rel=1e-12)


def test_the_belt_lies_on_less_than_half_of_the_small_pulley():
    assert math.degrees(belt_loop(drive(belt_teeth=122)).wrap) == six_digits(161.212)


@pytest.mark.parametrize(("width", "torque"), [(3.05e-3, 0.575322), (4.83e-3, 0.957172), (6.35e-3, 1.33902)])
def test_the_smallest_belt_is_rated_by_its_standard(width, torque):
    diameter = 20 * 0.080 / math.pi  # inch
    assert belt_pitch_diameter(PROFILES["MXL"].pitch, 20) / 0.0254 == six_digits(0.509296)
    tension = rated_tension(PROFILES["MXL"], width, 20)
    assert tension / 4.4482216 * diameter / 2.0 == six_digits(torque)
    assert rated_tension(PROFILES["MXL"], 6.35e-3, 20) == pytest.approx(23.3902, rel=1e-5)


def test_no_standard_no_rating():
    assert rated_tension(PROFILES["5M"], 15e-3, 18) is None
    assert rated_tension(PROFILES["MXL"], 5.5e-3, 20) is None
    assert rated_tension(PROFILES["MXL"], None, 20) is None


@pytest.mark.parametrize(
    ("teeth", "factor"),
    [(9.0, 1.0), (6.0, 1.0), (5.99, 0.8), (5.0, 0.8), (4.2, 0.6), (3.1, 0.4), (2.9, 0.2), (1.5, 0.0)],
)
def test_few_teeth_in_mesh_carry_less(teeth, factor):
    assert mesh_factor(teeth) == pytest.approx(factor)


def test_a_belt_stage_turns_alike_and_pulls_at_its_pitch_line():
    stage = belt_stage(
        drive(width=15e-3, belt_teeth=122), efficiency=0.96, reverse=None, density=ALUMINIUM, name="belt"
    )
    assert (stage.reduction, stage.sense) == (60 / 18, 1)
    assert 2.4 / stage.driver_radius == six_digits(167.552)
    assert stage.law.reverse == pytest.approx(2.0 - 1.0 / 0.96)
    assert stage.output_inertia == pytest.approx(disc_inertia(ALUMINIUM, 15e-3, 60 * 5e-3 / math.pi))
    assert float(belt_pitch_diameter(5e-3, 60)) == pytest.approx(95.493e-3, rel=1e-5)


def test_a_pulley_on_the_back_of_a_belt_turns_against():
    back = BeltDrive(profile=PROFILES["5M"], driver=Pulley(teeth=18), driven=Pulley(teeth=30, outside=True))
    assert belt_stage(back, efficiency=0.96, reverse=None, density=ALUMINIUM, name="belt").sense == -1
    assert belt_loop(back) is None


def test_pulleys_that_overlap_and_belts_too_short_are_refused():
    with pytest.raises(ValueError, match="overlap"):
        belt_loop(drive(centre_distance=0.060))
    with pytest.raises(ValueError, match="does not go round"):
        belt_loop(drive(belt_teeth=55))
