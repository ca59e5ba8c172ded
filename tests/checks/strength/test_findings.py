"""Findings made of strength rows: one for each check of a part, the gravest."""

import pytest

from armsim.checks.assessment import Level
from armsim.checks.judged_parts import StrengthRow
from armsim.checks.strength import strength_findings, working_safety


def row(case, safety, check="tension"):
    return StrengthRow(
        stage="belt",
        part="belt",
        check=check,
        case=case,
        load=1.0,
        allowable=safety,
        dimension="force",
        source="a sheet",
    )


@pytest.mark.parametrize(
    ("rows", "levels"),
    [
        ([row("steady", 2.0), row("stall", 0.4)], [Level.WARNING]),
        ([row("steady", 0.9), row("stall", 0.4)], [Level.ERROR]),  # a blow does not hide what fails in use
        ([row("stall", 0.4), row("run", 0.9)], [Level.ERROR]),
        ([row("steady", 1.49)], [Level.NOTE]),
        ([row("steady", 1.5)], []),
        ([row("steady", 0.9), row("steady", 1.2, "fatigue")], [Level.ERROR, Level.NOTE]),
    ],
)
def test_each_check_has_its_gravest_finding(rows, levels):
    assert [found.level for found in strength_findings(rows)] == levels


def test_a_stage_is_as_safe_as_its_weakest_check_in_use():
    rows = [row("steady", 2.0), row("run", 1.7), row("cut", 1.6, "fatigue"), row("stall", 0.4), row("impact", 0.2)]
    assert working_safety(rows, "belt") == 1.6
    assert working_safety(rows[3:], "belt") is None
    assert working_safety(rows, "gears") is None
