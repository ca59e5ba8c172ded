"""Findings made of strength rows: one for each check of a part, the gravest."""

import pytest

from armsim.checks.assessment import Level
from armsim.checks.judged_parts import StrengthRow
from armsim.checks.strength import strength_findings


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
