"""Fit, strength and play as they are told, from rows made by hand."""

from dataclasses import replace

import pytest

from armsim.checks.judged_parts import Fit, FitRow, PlayResult, PlayRow, StrengthRow
from armsim.report import parts

FITS = FitRow(stage="gears", rule="module", given="1 mm", wanted="1 mm", fit=Fit.FITS)
NEAR = replace(
    FITS, rule="pitch", given="0.8 mm", wanted="32 per inch", fit=Fit.NEAR_MISS, text="Off by 0.8 %.", mend="m"
)
OPEN = replace(FITS, rule="width", given="not given", wanted="10 mm", fit=Fit.UNKNOWN, mend="give face_width")
BARE = replace(OPEN, rule="length", mend="")
DOUBTFUL = replace(NEAR, fit=Fit.DOUBTFUL)
WEAK = StrengthRow(
    stage="chain",
    part="chain",
    check="tension",
    case="run",
    load=1200.0,
    allowable=900.0,
    dimension="force",
    source="a",
)
SAFE = replace(WEAK, case="stall", load=300.0)
TOOTH = replace(WEAK, stage="gears", part="driver", check="bending", load=60e6, allowable=120e6, dimension="stress")
ROW = PlayRow(
    stage="gears",
    backlash=0.02,
    backlash_at_arm=0.01,
    stiffness=None,
    twist_per_length=None,
    wind_up=None,
    wind_up_stalled=None,
)
PLAY = PlayResult(
    stages=(ROW,),
    arm_length=0.6,
    backlash=0.01,
    likely_backlash=0.01,
    missing=(),
    wind_up=None,
    wind_up_stalled=None,
    rigid=("gears",),
)


def test_what_does_not_fit_comes_first_and_what_fits_in_one_line() -> None:
    _, *rows = parts.fit_cells([FITS, OPEN, NEAR])
    assert [row[0] for row in rows] == ["NEAR MISS", "NOT KNOWN"]
    assert parts.fitting([FITS, OPEN, NEAR]) == ["gears: module"]
    assert parts.fit_remarks([FITS, OPEN, NEAR]) == ["gears, pitch: Off by 0.8 %. To mend: m."]


@pytest.mark.parametrize(
    ("rows", "says"),
    [
        ([FITS], "yes, by 1 rule"),
        ([FITS, FITS, DOUBTFUL, OPEN], "yes, by 2 rules; 1 doubtful; 1 not known"),
        ([FITS, NEAR, OPEN], "NO, by 1 of 3 rules; 1 not known"),
        ([OPEN, OPEN], "2 not known"),  # nothing kept is no yes
    ],
)
def test_rules_are_counted_and_a_near_miss_does_not_fit(rows: list[FitRow], says: str) -> None:
    assert parts.fit_text(rows) == says


def test_what_is_not_known_is_told_by_what_to_give() -> None:
    other = replace(OPEN, stage="rack")
    lacking = parts.wanting([FITS, OPEN, OPEN, other, BARE, NEAR])
    assert lacking == {"give face_width": ["gears", "rack"], "length cannot be judged": ["gears"]}


def test_of_each_check_the_hardest_case_is_told_weakest_first() -> None:
    _, *rows = parts.strength_cells([SAFE, TOOTH, WEAK])
    assert [row[-1] for row in rows] == ["0.75", "2"]
    assert rows[0][4:6] == ("1200 N", "900 N")
    assert rows[1][4:6] == ("60 MPa", "120 MPa")
    assert parts.weakest_text([SAFE, TOOTH, WEAK]) == (
        "The weakest part is the chain of chain: tension in the run, safety 0.75."
    )
    (rest,) = parts.sources([SAFE, TOOTH, WEAK])
    assert rest == "tension of the chain of chain; bending of the driver of gears: a"
    assert "No stage" in parts.weakest_text([])


@pytest.mark.parametrize(("backlash", "says"), [(0.01, "up to 6 mm"), (None, "not known")])
def test_play_is_told_at_the_tip(backlash: float | None, says: str) -> None:
    play = replace(PLAY, backlash=backlash, missing=() if backlash else ("gears",))
    assert says in parts.play_text(play)
    wound = replace(play, wind_up=0.005, wind_up_stalled=0.02)
    assert "winds up by 3 mm" in parts.play_text(wound)
    assert "stalled by 12 mm" in parts.play_text(wound)


def test_the_whole_play_is_told_at_worst_and_likely() -> None:
    rows = parts.play_cells(replace(PLAY, backlash=0.014, likely_backlash=0.01))
    assert [row[:2] for row in rows[2:]] == [("in all, at worst", "0.802 deg"), ("in all, likely", "0.573 deg")]
    assert "Taken as rigid: gears" in parts.play_text(replace(PLAY, wind_up=0.005))
