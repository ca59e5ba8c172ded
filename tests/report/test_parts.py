"""Fit, strength and play as they are told, from rows made by hand."""

from dataclasses import replace

import pytest

from armsim.checks.judged_parts import Fit, FitRow, PlayResult, PlayRow, StrengthRow
from armsim.report import parts

FITS = FitRow(stage="gears", rule="module", given="1 mm", wanted="1 mm", fit=Fit.FITS)
NEAR = replace(
    FITS, rule="pitch", given="0.8 mm", wanted="32 per inch", fit=Fit.NEAR_MISS, text="Off by 0.8 %.", mend="m"
)
OPEN = replace(FITS, rule="width", given="not given", wanted="10 mm", fit=Fit.UNKNOWN)
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


def test_of_each_check_the_hardest_case_is_told_weakest_first() -> None:
    _, *rows = parts.strength_cells([SAFE, TOOTH, WEAK])
    assert [row[-1] for row in rows] == ["0.75", "2"]
    assert rows[0][4:6] == ("1200 N", "900 N")
    assert rows[1][4:6] == ("60 MPa", "120 MPa")
    assert "safety 0.75" in parts.weakest_text([SAFE, TOOTH, WEAK])
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
