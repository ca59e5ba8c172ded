"""Rules of belt drives, on either side of each edge."""

import math

import pytest

from armsim.checks.fit.belts import belt_fit, flat_belt_fit, matched
from armsim.checks.judged_parts import Fit
from armsim.parts.belt import BeltDrive, Pulley, belt_stage
from armsim.parts.flat_belt import FlatBeltDrive, flat_belt_stage
from armsim.scenario.tables import belt_profiles

PROFILES = belt_profiles()


def rows(profile="5M", driver=18, driven=60, **others):
    wheels = [wheel if isinstance(wheel, Pulley) else Pulley(teeth=wheel) for wheel in (driver, driven)]
    drive = BeltDrive(profile=PROFILES[profile], driver=wheels[0], driven=wheels[1], **others)
    stage = belt_stage(drive, efficiency=0.96, reverse=None, density=2700.0, name="belt")
    return {row.rule: row for row in belt_fit(stage, drive)}


def flat(**others):
    drive = FlatBeltDrive(**{"driver": 40e-3, "driven": 120e-3, **others})
    stage = flat_belt_stage(drive, efficiency=0.95, reverse=None, name="belt")
    return {row.rule: row for row in flat_belt_fit(stage, drive)}


@pytest.mark.parametrize(
    ("belt", "pulley", "expected"),
    [
        ("XL", "XL", Fit.FITS),
        ("XL", "5M", Fit.NEAR_MISS),
        ("XL", "T5", Fit.NEAR_MISS),
        ("AT5", "XL", Fit.NEAR_MISS),
        ("MXL", "2M", Fit.NEAR_MISS),
        ("T5", "AT5", Fit.NEAR_MISS),
        ("T10", "L", Fit.NEAR_MISS),
        ("3M", "T2.5", Fit.WRONG),
        ("8M", "5M", Fit.WRONG),
    ],
)
def test_belts_on_pulleys_of_other_profiles(belt, pulley, expected):
    assert matched(PROFILES[belt], PROFILES[pulley])[0] is expected


def test_a_near_miss_says_how_far_it_creeps():
    assert matched(PROFILES["XL"], PROFILES["5M"], 8)[1] == "Pitch is off by 1.6 %, 0.64 mm over 8 teeth."
    assert "0.288 mm over 9 teeth" in matched(PROFILES["MXL"], PROFILES["2M"], 9)[1]
    row = rows("XL", Pulley(teeth=14, profile=PROFILES["T5"]), 42)["profile of the driver"]
    assert (row.fit, row.mend) == (Fit.NEAR_MISS, "take a pulley for XL")


def test_a_whole_belt_wants_its_centre_distance():
    # near 204.766 mm both straight runs make nearly twice the move; a belt of 610 mm gives 0.61 mm
    assert rows(belt_teeth=122, centre_distance=0.204766)["belt length"].fit is Fit.FITS
    assert rows(belt_teeth=122, centre_distance=0.20506)["belt length"].fit is Fit.FITS
    short = rows(belt_teeth=122, centre_distance=0.20509)["belt length"]
    assert (short.fit, short.mend) == (Fit.WRONG, "set the shafts 204.77 mm apart")
    assert "too short" in short.text
    assert "too long" in rows(belt_teeth=122, centre_distance=0.2044)["belt length"].text


def test_without_a_belt_both_whole_ones_are_named():
    row = rows("XL", 14, 42, centre_distance=0.150)["belt length"]
    assert row.fit is Fit.UNKNOWN
    assert "88 teeth at 150.7 mm" in row.wanted
    assert rows("XL", 14, 42, centre_distance=0.1507)["belt length"].fit is Fit.FITS
    assert rows()["belt length"].mend == "give centre_distance or belt_teeth"
    assert rows(driven=Pulley(teeth=30, outside=True))["belt length"].mend == ""


def test_six_teeth_in_mesh_carry_the_whole_rating():
    # equal pulleys have half their teeth in mesh
    assert rows(driver=14, driven=14, belt_teeth=100)["teeth in mesh"].fit is Fit.FITS
    assert rows("XL", 12, 12, belt_teeth=60)["teeth in mesh"].fit is Fit.FITS
    five = rows("XL", 11, 11, belt_teeth=60)["teeth in mesh"]
    assert five.fit is Fit.DOUBTFUL
    assert "0.80 of its rated tension" in five.text


@pytest.mark.parametrize(("teeth", "expected"), [(14, Fit.FITS), (13, Fit.DOUBTFUL)])
def test_a_small_pulley_bends_the_cords_too_tightly(teeth, expected):
    assert rows(driver=teeth)["teeth of the smaller pulley"].fit is expected
    assert rows("XH")["teeth of the smaller pulley"].fit is Fit.UNKNOWN


@pytest.mark.parametrize(("driven", "expected"), [(112, Fit.FITS), (113, Fit.DOUBTFUL)])
def test_ratios_end_at_eight(driven, expected):
    assert rows(driver=14, driven=driven)["ratio"].fit is expected


def test_a_bore_stays_inside_the_pulley():
    grooves, outside = 18 * 5e-3 / math.pi - 1.144e-3 - 2 * 2.06e-3, 18 * 5e-3 / math.pi
    for profile, edge in (("5M", grooves), ("AT5", outside)):
        assert rows(profile, driver=Pulley(teeth=18, bore=edge - 1e-5))["bore of the driver"].fit is Fit.FITS
        assert rows(profile, driver=Pulley(teeth=18, bore=edge + 1e-5))["bore of the driver"].fit is Fit.WRONG


def test_what_no_standard_rates_is_asked_for():
    row = rows()["allowable tension"]
    assert (row.fit, row.mend) == (Fit.UNKNOWN, "give allowable_tension of the belt's maker")
    assert rows(allowable_tension=200.0)["allowable tension"].fit is Fit.FITS
    assert rows("MXL", width=6.35e-3)["allowable tension"].given == "23.4 N"
    assert "3.05 mm, 4.83 mm, 6.35 mm" in rows("MXL", width=5.5e-3)["allowable tension"].mend


def test_a_flat_belt_wants_a_third_of_a_turn():
    # step of 40 mm: 120 deg of wrap at 80 mm, where open pulleys just touch; so 30 and 120 mm, step 45, at 90 mm
    assert flat(driver=30e-3, centre_distance=0.0901)["wrap"].fit is Fit.FITS
    assert flat(driver=30e-3, centre_distance=0.0899)["wrap"].fit is Fit.DOUBTFUL
    assert flat(driver=30e-3, centre_distance=0.0899, crossed=True)["wrap"].fit is Fit.FITS


def test_slip_is_not_judged_without_three_figures():
    row = flat(centre_distance=0.3, tension=80.0)["slip"]
    assert (row.fit, row.mend) == (Fit.UNKNOWN, "give friction")
    assert "slip" not in flat(centre_distance=0.3, tension=80.0, friction=0.3)
