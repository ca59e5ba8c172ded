"""A rope on its drum, on either side of each edge."""

from dataclasses import replace

import pytest

from armsim.checks.fit import fit_findings, judge_fit
from armsim.checks.fit.drums import judge_drums
from armsim.checks.judged_parts import Fit
from armsim.parts.carriage import Carriage
from armsim.parts.rack import drum_stage
from tests.machines import machine

#: 60 mm under a rope of 4 mm: 201.062 mm a turn in the first layer
STAGE = drum_stage(diameter=60e-3, rope_diameter=4e-3, efficiency=0.95, name="drum")


def hoist(travel=0.8, **rope):
    load = Carriage(mass=6.0) if travel is None else Carriage(mass=6.0, lower_stop=0.0, upper_stop=travel)
    return machine(stages=(replace(STAGE, hardware=replace(STAGE.hardware, **rope)),), arm=load)


def rules(travel=0.8, **rope):
    return {row.rule: row for row in judge_drums(hoist(travel, **rope))}


@pytest.mark.parametrize(
    ("diameter", "material", "fit"),
    [
        # 17 d under the rope is 18 d at its middle
        (68.1, "wire", Fit.FITS), (67.9, "wire", Fit.DOUBTFUL), (40.9, "wire", Fit.DOUBTFUL), (40.7, "wire", Fit.WRONG),
        (28.1, "fibre", Fit.FITS), (27.9, "fibre", Fit.DOUBTFUL), (20.1, "fibre", Fit.DOUBTFUL),
        (19.9, "fibre", Fit.WRONG),
    ],
)  # fmt: skip
def test_a_drum_is_many_times_as_thick_as_its_rope(diameter, material, fit):
    row = rules(diameter=diameter * 1e-3, rope_material=material)["drum over rope"]
    assert row.fit is fit
    if fit is not Fit.FITS:
        assert ("a drum of 68 mm" if material == "wire" else "a drum of 28 mm") in row.mend


@pytest.mark.parametrize(
    # 4 turns are 804.248 mm; with two that stay, 6 side by side take 24 mm
    ("travel", "width", "fit"),
    [(0.8042, 24.0, Fit.FITS), (0.8042, 23.9, Fit.WRONG), (0.8043, 24.0, Fit.WRONG), (0.8043, 28.0, Fit.FITS)],
)
def test_a_drum_has_room_for_the_travel_and_two_turns(travel, width, fit):
    assert rules(travel, width=width * 1e-3)["width of the drum"].fit is fit


def test_a_second_layer_halves_the_width_and_a_little_more():
    # (0.8 + 0.402124)/(0.201062 + 0.226195) = 2.81 turns
    assert "12 mm or more: 3 turns side by side in 2 layers" in rules(layers=2)["width of the drum"].wanted


def test_what_is_not_known_is_asked_for():
    assert rules()["width of the drum"].fit is Fit.UNKNOWN
    assert rules()["width of the drum"].mend == "give width"
    assert rules(None, width=30e-3)["width of the drum"].mend == "give both stops of the carriage"
    assert rules()["breaking load of the rope"].fit is Fit.UNKNOWN
    assert rules(rope_breaking_load=9e3)["breaking load of the rope"].fit is Fit.FITS
    assert "length of the rope" not in rules()
    assert "length of the rope" not in rules(None, rope_length=1.0)


@pytest.mark.parametrize(("length", "fit"), [(1.2022, Fit.FITS), (1.2020, Fit.WRONG), (0.5, Fit.WRONG)])
def test_two_turns_stay_on_the_drum(length, fit):
    row = rules(rope_length=length)["length of the rope"]
    assert row.fit is fit
    assert ("shorter than the travel" in row.given) == (length == 0.5)


def test_a_drum_too_narrow_is_told_as_a_finding():
    (tight, narrow) = fit_findings(judge_fit(hoist(width=10e-3)))
    assert (tight.code, narrow.code) == ("parts-doubtful", "parts-do-not-fit")
    assert "drum over rope: 16.0 to 1; wanted 18 or more (ISO 4308-1 for lifting)" in tight.text
    assert "wanted 24 mm or more: 6 turns side by side" in narrow.text
