"""Each rule of gears on either side of its edge, and the pairs that look alike and are not."""

import math

import pytest

from armsim.checks.fit import RULES, fit_findings, judge_fit
from armsim.checks.fit.gears import base_pitch_row, path_rows
from armsim.checks.fit.teeth import gear_rows, stock_row
from armsim.checks.judged_parts import Fit
from armsim.parts.stage import Hardware
from tests.checks.gears import SERIES, by_rule, gear, stage
from tests.checks.machines import machine
from tests.checks.machines import stage as box

INCH = 25.4e-3


def rows(*gears, **more):
    made = stage(*gears, **more)
    return by_rule(path_rows(made, made.hardware))


def inch(teeth, pitch):
    return gear(teeth, INCH / pitch, by_pitch=True)


NEAR = [
    (gear(19, 0.8e-3), inch(61, 32.0), 18.4508),
    (gear(19, 0.4e-3), inch(61, 64.0), 9.22541),
    (gear(19, 1.25e-3), inch(61, 20.0), 59.0426),
    (gear(19, 2.5e-3), inch(61, 10.0), 118.085),
    (gear(19, 1.5e-3), inch(61, 17.0), None),
    (gear(19, 0.5e-3), inch(61, 48.0), None),
    (gear(19, 1e-3), inch(61, 24.0), None),
    (gear(32, 1e-3, 14.5), gear(32, 1e-3, 20.0), None),
]


@pytest.mark.parametrize(("first", "second", "microns"), NEAR)
def test_sizes_that_look_alike(first, second, microns):
    row = base_pitch_row("gears", first, second)
    assert row.fit is Fit.NEAR_MISS
    if microns is not None:
        said = float(row.text.split(", ")[1].split(" um")[0])
        assert said == pytest.approx(microns, rel=5e-3)


@pytest.mark.parametrize(
    ("off", "fit"),
    [(0.0009, Fit.FITS), (0.0011, Fit.NEAR_MISS), (0.069, Fit.NEAR_MISS), (0.071, Fit.WRONG), (-0.0011, Fit.NEAR_MISS)],
)
def test_edges_of_size(off, fit):
    assert base_pitch_row("gears", gear(20, 1e-3 * (1.0 + off)), gear(60)).fit is fit


def test_fourteen_and_a_half_against_twenty_degrees_is_three_percent():
    assert math.cos(math.radians(14.5)) / math.cos(math.radians(20.0)) == pytest.approx(1.03028, rel=1e-5)
    found = rows(gear(32, angle=14.5), gear(32))
    assert "3.03 % more" in found["size of teeth"].text
    assert found["pressure angle"].fit is Fit.NEAR_MISS


def test_other_angles_of_the_same_base_pitch_are_doubtful():
    module = 1e-3 * math.cos(math.radians(14.5)) / math.cos(math.radians(20.0))
    found = rows(gear(32, angle=14.5), gear(32, module))
    assert (found["size of teeth"].fit, found["pressure angle"].fit) == (Fit.FITS, Fit.DOUBTFUL)


def test_sizes_not_given_are_not_known_and_say_what_to_give():
    found = rows(gear(20, None), gear(60, None))
    assert found["size of teeth"].fit is Fit.UNKNOWN
    assert "module" in found["size of teeth"].mend
    assert found["face width, driver"].fit is Fit.UNKNOWN
    assert "centre distance" not in found
    assert found["contact ratio"].fit is Fit.FITS  # it needs no module


def test_helices_of_opposite_hand_side_by_side_and_of_one_hand_in_a_ring():
    right, left = gear(20, helix=15.0, hand=1), gear(60, helix=15.0, hand=-1)
    assert rows(right, left)["helix"].fit is Fit.FITS
    assert rows(right, gear(60, helix=15.0, hand=1))["helix"].fit is Fit.WRONG
    assert rows(right, left, ring=True)["helix"].fit is Fit.WRONG
    assert rows(right, gear(60, helix=15.0, hand=1), ring=True)["helix"].fit is Fit.FITS
    assert rows(right, gear(60))["helix"].fit is Fit.WRONG
    assert rows(right, gear(60, helix=15.04, hand=-1))["helix"].fit is Fit.FITS
    assert rows(right, gear(60, helix=15.06, hand=-1))["helix"].fit is Fit.WRONG
    assert "helix" not in rows(gear(20), gear(60))


def test_centres_of_gears_that_do_not_mesh_are_not_judged():
    assert "centre distance" not in rows(gear(20), gear(60, 1.25e-3), centres=(40e-3,))


@pytest.mark.parametrize(
    ("centre", "fit"),
    [(32.48, Fit.WRONG), (32.495, Fit.FITS), (32.5, Fit.FITS), (32.545, Fit.FITS), (32.555, Fit.DOUBTFUL)],
)
def test_edges_of_the_centre_distance(centre, fit):
    assert rows(gear(18), gear(47), centres=(centre * 1e-3,))["centre distance"].fit is fit


def test_a_stretched_centre_says_its_angle_and_its_backlash():
    row = rows(gear(18), gear(47), centres=(32.65e-3,))["centre distance"]
    assert "20.71 deg" in row.text
    # 2 da tan(a) with the angle it runs at; with 20 degrees it is 0.109 mm
    assert "0.113 mm" in row.text
    assert row.wanted == "32.5 mm"


RING_CENTRES = [(21.44, Fit.DOUBTFUL), (21.46, Fit.FITS), (21.5, Fit.FITS), (21.52, Fit.WRONG)]


@pytest.mark.parametrize(("centre", "fit"), RING_CENTRES)
def test_a_pinion_binds_in_its_ring_when_the_shafts_are_too_far_apart(centre, fit):
    assert rows(gear(20), gear(63), centres=(centre * 1e-3,), ring=True)["centre distance"].fit is fit


def test_a_centre_distance_left_out_is_told():
    row = rows(gear(19, 1.5e-3, helix=18.0, hand=1), gear(67, 1.5e-3, helix=18.0, hand=-1))["centre distance"]
    assert (row.fit, row.wanted) == (Fit.UNKNOWN, "67.819 mm")


def usual_contact_ratio(centre):
    """Of 18 and 47 teeth of module 1 mm, 20 degrees, at a centre distance in mm."""
    r1, r2, angle = 9.0, 23.5, math.radians(20.0)
    b1, b2 = r1 * math.cos(angle), r2 * math.cos(angle)
    tips = math.sqrt((r1 + 1.0) ** 2 - b1**2) + math.sqrt((r2 + 1.0) ** 2 - b2**2)
    return (tips - centre * math.sin(math.acos((b1 + b2) / centre))) / (math.pi * math.cos(angle))


@pytest.mark.parametrize(("edge", "inside", "outside"), [(1.2, Fit.FITS, Fit.DOUBTFUL), (1.0, Fit.DOUBTFUL, Fit.WRONG)])
def test_contact_is_lost_as_the_shafts_part(edge, inside, outside):
    low, high = 32.5, 34.5
    while high - low > 1e-6:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if usual_contact_ratio(middle) > edge else (low, middle)
    for centre, fit in ((low - 1e-3, inside), (high + 1e-3, outside)):
        assert rows(gear(18), gear(47), centres=(centre * 1e-3,))["contact ratio"].fit is fit


def test_overlap_of_helical_teeth_counts():
    pair = (gear(19, 1.5e-3, helix=18.0, hand=1), gear(67, 1.5e-3, helix=18.0, hand=-1))
    wide = [gear(g.teeth, 1.5e-3, helix=18.0, hand=g.hand, face_width=16e-3) for g in pair]
    assert rows(*wide)["contact ratio"].given == "1.56 and 1.05 of overlap"


@pytest.mark.parametrize(("ring", "fit"), [(47, Fit.WRONG), (48, Fit.DOUBTFUL), (49, Fit.DOUBTFUL), (50, Fit.FITS)])
def test_a_ring_needs_more_teeth_than_its_pinion(ring, fit):
    assert rows(gear(40), gear(ring), ring=True)["tip interference"].fit is fit


@pytest.mark.parametrize(("pinion", "fit"), [(20, Fit.DOUBTFUL), (21, Fit.FITS)])
def test_tips_of_a_ring_leave_the_flanks_of_a_large_enough_pinion(pinion, fit):
    # z1/z2 >= 1 - tan(a_a2)/tan(a_w) for a ring of 60: 28.1908 over 29 makes tan(a_a2) 0.24130, so 20.22 teeth
    assert rows(gear(pinion), gear(60), ring=True)["tip interference"].fit is fit


@pytest.mark.parametrize(
    ("teeth", "angle", "helix", "shift", "fit"),
    [
        (13, 20.0, 0.0, 0.0, Fit.DOUBTFUL),  # 5/6 of 17.097 is 14.2
        (14, 20.0, 0.0, 0.0, Fit.FITS),
        (25, 14.5, 0.0, 0.0, Fit.DOUBTFUL),  # of 31.9: 26.6
        (26, 14.5, 0.0, 0.0, Fit.FITS),
        (8, 25.0, 0.0, 0.0, Fit.DOUBTFUL),  # of 11.2: 9.3
        (9, 25.0, 0.0, 0.0, Fit.FITS),
        (11, 20.0, 20.0, 0.0, Fit.DOUBTFUL),  # of 14.4: 12.0055
        (12, 20.0, 20.0, 0.0, Fit.FITS),
        (8, 20.0, 0.0, 0.3, Fit.DOUBTFUL),  # of 0.7 times 17.1: 9.97
        (9, 20.0, 0.0, 0.3, Fit.FITS),
        (10, 20.0, 0.0, 0.42, Fit.FITS),
    ],
)
def test_undercut(teeth, angle, helix, shift, fit):
    found = by_rule(gear_rows("gears", gear(teeth, angle=angle, helix=helix, profile_shift=shift), SERIES, ""))
    assert found["undercut"].fit is fit


def test_a_little_undercut_is_told_and_no_fault():
    none, little = (by_rule(gear_rows("gears", gear(z), SERIES, ""))["undercut"].text for z in (17, 16))
    assert none == ""
    assert "does no harm" in little


def test_undercut_is_mended_by_the_shift_that_ends_it():
    found = by_rule(gear_rows("gears", gear(10), SERIES, ""))["undercut"]
    assert "profile_shift: 0.42 or more" in found.mend
    assert found.wanted == "18 or more"


def test_rings_are_not_undercut():
    assert "undercut" not in by_rule(gear_rows("gears", gear(60, internal=True), SERIES, ""))


@pytest.mark.parametrize(
    ("one", "fit", "wanted"),
    [
        (gear(20), Fit.FITS, "stocked"),
        (gear(20, 1.75e-3), Fit.FITS, "stocked"),
        (gear(20, INCH / 16.0), Fit.FITS, "stocked"),
        (gear(20, 1.05e-3), Fit.DOUBTFUL, "module 1 mm"),
        (inch(20, 32.0), Fit.FITS, "stocked"),
        (inch(20, 30.0), Fit.DOUBTFUL, "32 DP"),
        (inch(20, 25.4), Fit.DOUBTFUL, "32 DP"),
    ],
)
def test_stock(one, fit, wanted):
    row = stock_row("gears", one, SERIES, "")
    assert (row.fit, row.wanted) == (fit, wanted)


@pytest.mark.parametrize(("width", "fit"), [(12.5, Fit.FITS), (12.6, Fit.DOUBTFUL)])
def test_face_width(width, fit):
    found = by_rule(gear_rows("gears", gear(20, face_width=width * 1e-3), SERIES, ""))
    assert found["face width"].fit is fit


def test_common_factors_are_told_and_no_fault():
    told, silent = rows(gear(20), gear(60))["common factor"], rows(gear(19), gear(60))["common factor"]
    assert (told.fit, silent.fit, silent.text) == (Fit.FITS, Fit.FITS, "")
    assert "every 3 turns" in told.text


def test_idlers_have_rules_of_their_own():
    found = rows(gear(20), gear(30), gear(60), centres=(25e-3, 46e-3))
    assert found["centre distance, driver with idler 1"].fit is Fit.FITS
    assert found["centre distance, idler 1 with driven"].fit is Fit.DOUBTFUL
    assert found["undercut, idler 1"].fit is Fit.FITS


def test_a_near_miss_is_an_error_a_doubt_a_warning_and_the_unknown_is_silent():
    found = list(fit_findings(judge_fit(machine(stages=(stage(gear(14), gear(60, INCH / 25.0, by_pitch=True)),)))))
    levels = {(one.code, one.level.value) for one in found}
    assert levels == {("parts-near-miss", "error"), ("parts-doubtful", "warning")}


def test_boxes_and_hardware_without_rules_have_no_rows():
    from dataclasses import replace

    unruled = replace(box(10.0, 0.9), hardware=Hardware())
    assert Hardware not in RULES
    assert judge_fit(machine(stages=(box(10.0, 0.9), unruled))) == ()
