"""Bores, keys, screws, and shafts that must stay clear of the next stage's wheels."""

from dataclasses import replace

import pytest

from armsim.checks.fit import fit_findings, judge_fit
from armsim.checks.fit.shafts import judge_shafts
from armsim.checks.judged_parts import Fit
from armsim.parts.shaft import Key, SetScrew, Shaft
from armsim.parts.stage import Footprint
from tests.machines import machine, stage

BAR = Shaft(diameter=10e-3, shear_modulus=79.3e9, shear_stress=72e6)
SCREW = SetScrew(size="1/4", diameter=6.35e-3, holding=1779.0)


def rules(*stages):
    return {row.rule: row for row in judge_shafts(machine(stages=stages))}


@pytest.mark.parametrize(
    ("gap", "fit"),
    [
        (-0.031, Fit.NEAR_MISS),
        (-0.029, Fit.FITS),
        (0.0, Fit.FITS),
        (0.049, Fit.FITS),
        (0.051, Fit.DOUBTFUL),
        (0.149, Fit.DOUBTFUL),
        (0.151, Fit.NEAR_MISS),
        (0.99, Fit.NEAR_MISS),
        (1.01, Fit.WRONG),
        (-1.01, Fit.WRONG),
    ],
)
def test_a_bore_is_that_of_its_shaft(gap, fit):
    one = stage(4.0, output_shaft=replace(BAR, bore=10e-3 + gap * 1e-3))
    assert rules(one)["bore on the output shaft"].fit is fit


def test_a_half_inch_wheel_on_a_12_mm_shaft_is_a_near_miss_with_a_finding():
    one = stage(4.0, name="gears", output_shaft=replace(BAR, diameter=12e-3, bore=12.7e-3))
    (found,) = fit_findings(judge_fit(machine(stages=(one,))))
    assert found.code == "parts-near-miss"
    assert "12.7 mm; wanted 12 mm. 0.7 mm too wide" in found.text
    assert rules(stage(4.0, output_shaft=BAR))["bore on the output shaft"].fit is Fit.UNKNOWN


@pytest.mark.parametrize(("width", "fit"), [(1.9, Fit.DOUBTFUL), (2.0, Fit.FITS), (4.2, Fit.FITS), (4.3, Fit.DOUBTFUL)])
def test_a_key_is_a_quarter_to_two_fifths_of_its_shaft(width, fit):
    key = Key(width=width * 1e-3, height=3e-3, length=18e-3, shear_stress=60e6, bearing_stress=100e6)
    assert rules(stage(4.0, output_shaft=replace(BAR, key=key)))["key of the output shaft"].fit is fit


@pytest.mark.parametrize(("diameter", "fit"), [(12.6, Fit.DOUBTFUL), (12.7, Fit.FITS)])
def test_a_set_screw_is_at_most_half_of_its_shaft(diameter, fit):
    shaft = replace(BAR, diameter=diameter * 1e-3, set_screw=SCREW)
    assert rules(stage(4.0, input_shaft=shaft))["set screw of the input shaft"].fit is fit


def pair(centres, driver, driven, **more):
    """A stage of given room [mm]."""
    room = Footprint(centre_distance=centres * 1e-3, driver_tip=driver * 1e-3, driven_tip=driven * 1e-3)
    return stage(4.0, footprint=room, **more)


def test_the_output_shaft_passes_beside_the_driven_wheel_before_it():
    # the first stage's wheel reaches 41 mm; an output shaft of 10 mm at 45.9 mm cuts through it, at 46.1 mm it does not
    first = pair(48.0, 8.0, 41.0, name="first", output_shaft=BAR)
    for centres, fit in ((45.9, Fit.WRONG), (46.1, Fit.FITS)):
        second = pair(centres, 8.0, 39.0, name="second", output_shaft=BAR)
        assert rules(first, second)["output shaft of second beside the driven wheel"].fit is fit
    bare = pair(46.1, 8.0, 39.0, name="second")
    assert rules(first, bare)["output shaft of second beside the driven wheel"].fit is Fit.UNKNOWN
    bare = pair(40.9, 8.0, 34.0, name="second")
    assert rules(first, bare)["output shaft of second beside the driven wheel"].fit is Fit.WRONG


def test_an_input_shaft_passes_beside_the_next_driver_unless_it_is_the_motors_and_ends_before():
    first = pair(30.0, 8.0, 24.0, name="first", output_shaft=BAR)
    middle = pair(31.0, 8.0, 25.0, name="middle", output_shaft=BAR)
    for tip, motors, inner in ((24.9, Fit.FITS, Fit.FITS), (26.1, Fit.DOUBTFUL, Fit.WRONG)):
        last = pair(60.0, tip, 40.0, name="last", output_shaft=BAR)
        at_motor = rules(pair(31.0, 8.0, 25.0, name="first", input_shaft=BAR, output_shaft=BAR), last)
        assert at_motor["input shaft of first beside the driver"].fit is motors
        assert rules(first, middle, last)["input shaft of middle beside the driver"].fit is inner


@pytest.mark.parametrize(
    # outer shafts 5 mm thick in radius, 45 mm wheel: 50 mm apart; swung they are |a - b| to a + b apart
    ("a", "b", "fit", "words"),
    [
        (100.0, 49.9, Fit.FITS, ""),
        (40.0, 40.0, Fit.FITS, "at least 77.4 deg"),  # 2 asin(25/40)
        (30.0, 30.0, Fit.DOUBTFUL, "at least 113 deg"),  # 2 asin(25/30)
        (24.9, 25.0, Fit.WRONG, "Even in one line"),
    ],
)
def test_centre_lines_may_be_swung_until_the_outer_shafts_are_clear(a, b, fit, words):
    first = pair(a, 8.0, 12.0, name="first", input_shaft=BAR, output_shaft=BAR)
    row = rules(first, pair(b, 8.0, 45.0, name="second", output_shaft=BAR))["angle between the centre lines"]
    assert row.fit is fit
    assert words in row.text


def test_without_room_known_nothing_is_said():
    assert rules(stage(4.0), pair(40.0, 8.0, 34.0), stage(3.0)) == {}
