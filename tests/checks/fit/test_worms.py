"""Rules of worm and wheel, on either side of each edge."""

import math
from dataclasses import replace

import pytest

from armsim.checks.fit.worms import judge_worm
from armsim.checks.judged_parts import Fit
from armsim.parts.worm import worm_stage
from armsim.parts.worm_pair import WormPair

DEG = math.pi / 180.0
PAIR = WormPair(
    starts=1,
    wheel=43,
    lead_angle=math.atan(0.0625),
    pressure_angle=20.0 * DEG,
    module=1.25e-3,
    diameter=20e-3,
    static_friction=0.15,
    bending_stress=55e6,
)


def rows(friction=None, **changes):
    pair = replace(PAIR, **changes)
    stage = worm_stage(
        starts=pair.starts,
        wheel=pair.wheel,
        lead_angle=pair.lead_angle,
        pressure_angle=pair.pressure_angle,
        friction=friction,
        static_friction=pair.static_friction,
        diameter=20e-3,
        module=None,
        density=7850.0,
        wheel_density=8800.0,
        hand=pair.hand,
        hardware=pair,
        name="worm",
    )
    return {row.rule: row for row in judge_worm(stage, pair)}


@pytest.mark.parametrize(
    ("hand", "wheel_hand", "fit"),
    [(1, 1, Fit.FITS), (-1, -1, Fit.FITS), (1, -1, Fit.WRONG), (-1, 1, Fit.WRONG), (1, None, Fit.UNKNOWN)],
)
def test_worm_and_wheel_are_of_one_hand(hand, wheel_hand, fit):
    row = rows(hand=hand, wheel_hand=wheel_hand)["hand"]
    assert row.fit is fit
    assert ("right" if hand > 0 else "left") in row.wanted


@pytest.mark.parametrize(
    ("off", "fit"),
    [(0.0, Fit.FITS), (0.24, Fit.FITS), (-0.26, Fit.NEAR_MISS), (1.9, Fit.NEAR_MISS), (2.1, Fit.WRONG)],
)
def test_the_wheels_helix_is_the_lead_angle(off, fit):
    row = rows(wheel_helix=PAIR.lead_angle + off * DEG)["helix of the wheel"]
    assert row.fit is fit
    assert row.wanted == "3.576 deg"


def test_a_spur_gear_is_no_wheel_for_a_steep_worm():
    assert rows(wheel_helix=0.0)["helix of the wheel"].fit is Fit.WRONG
    assert rows()["helix of the wheel"].fit is Fit.UNKNOWN


@pytest.mark.parametrize(
    ("centres", "fit"),
    [
        (36.875, Fit.FITS),
        (36.875 + 0.024, Fit.FITS),
        (36.875 + 0.026, Fit.DOUBTFUL),
        (36.875 - 0.62, Fit.DOUBTFUL),
        (36.875 + 0.63, Fit.WRONG),
        (None, Fit.UNKNOWN),
    ],
)
def test_centres_are_half_of_both_diameters(centres, fit):
    row = rows(centre_distance=None if centres is None else centres * 1e-3)["centre distance"]
    assert row.fit is fit
    assert row.wanted.startswith("36.875 mm")


def test_centres_that_are_off_tell_the_profile_shift_they_need():
    # 0.3 mm off at a module of 1.25 mm
    assert "profile shift of 0.240 modules" in rows(centre_distance=37.175e-3)["centre distance"].text


@pytest.mark.parametrize(("off", "fit"), [(0.009, Fit.FITS), (-0.011, Fit.WRONG)])
def test_the_lead_angle_agrees_with_module_and_diameter(off, fit):
    assert rows(lead_angle=PAIR.lead_angle * (1.0 + off))["lead angle"].fit is fit


@pytest.mark.parametrize(
    ("quotient", "fit"), [(7.9, Fit.DOUBTFUL), (8.0, Fit.FITS), (20.0, Fit.FITS), (20.1, Fit.DOUBTFUL)]
)
def test_a_worm_is_neither_too_slender_nor_too_thick(quotient, fit):
    assert rows(diameter=1.25e-3 * quotient)["diameter quotient"].fit is fit


@pytest.mark.parametrize(("teeth", "fit"), [(16, Fit.DOUBTFUL), (17, Fit.FITS)])
def test_few_teeth_are_undercut(teeth, fit):
    assert rows(wheel=teeth)["teeth of the wheel"].fit is fit


def test_without_a_size_little_is_known():
    found = rows(module=None, diameter=None)
    assert found["worm size"].fit is Fit.UNKNOWN
    assert "lead angle" not in found


@pytest.mark.parametrize(
    # friction 0.15 less 30 % makes 6.3757 deg of friction angle, more 30 % makes 11.7233 deg
    ("lead", "fit", "word"),
    [
        (6.37, Fit.FITS, "It locks"),
        (6.38, Fit.DOUBTFUL, "decides whether it locks"),
        (11.72, Fit.DOUBTFUL, "decides whether it locks"),
        (11.73, Fit.FITS, "does not lock"),
    ],
)
def test_locking_within_the_scatter_of_friction_is_open(lead, fit, word):
    row = rows(lead_angle=lead * DEG)["locking at rest"]
    assert row.fit is fit
    assert word in row.text
    assert "9.069 deg, 6.376 deg to 11.72 deg" in row.given


def test_friction_known_better_leaves_less_open():
    assert rows(lead_angle=6.5 * DEG)["locking at rest"].fit is Fit.DOUBTFUL
    assert rows(lead_angle=6.5 * DEG, friction_spread=0.1)["locking at rest"].fit is Fit.FITS


def test_the_speed_up_to_which_it_locks_has_a_row():
    assert "up to 387 rpm" in rows()["locking in motion"].given
    assert rows(friction=0.15)["locking in motion"].given == "at any speed"
    assert "locking in motion" not in rows(lead_angle=15.0 * DEG)


def test_the_friction_curve_is_of_bronze():
    assert rows(curve_friction=True, wheel_material="plastic")["friction curve"].fit is Fit.DOUBTFUL
    assert "friction curve" not in rows(curve_friction=True, wheel_material="chilled-bronze")
    assert "friction curve" not in rows(curve_friction=False, wheel_material="plastic")
