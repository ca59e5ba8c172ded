"""A carriage's report speaks of millimetres and newtons, and an arm's of none of it."""

import re

import pytest

from armsim.checks.phrases import told_of
from armsim.report.markdown import report
from armsim.report.numbers import of
from armsim.report.sizes import size_cells
from armsim.report.tables import shaft_cells, stage_cells
from armsim.report.terminal import check_summary, summary
from armsim.studies.single import assess, check
from tests.scenario.texts import read

RAILED = read(
    arm="",
    carriage="{mass: 6 kg, payload: {mass: 8 kg}, friction: {coulomb: 5 N}, stops: {lower: 0 mm, upper: 900 mm}}",
    transmission="[{gearbox: {reduction: 14, efficiency: 0.8}}, {rack: {pinion: 19, module: 1.5 mm}}]",
    start="10 mm",
    moves="[{lift: {to: 600 mm}}, {hold: {for: 1 s}}]",
)
TURNING = re.compile(r"\barm\b|\d deg\b|deg/s|angle")


@pytest.fixture(scope="module")
def found():
    return assess(RAILED)


def test_the_summary_of_a_run_knows_no_angle(found) -> None:
    text = summary(RAILED, found)
    assert "reaches 600.0 mm" in text
    assert "a motor turn" in text
    assert TURNING.findall(text) == []


def test_the_summary_of_a_check_knows_no_angle() -> None:
    assessment = check(RAILED)
    text = check_summary(RAILED, assessment)
    assert "Force at the carriage" in text
    assert "142.3 N" in text  # 14 kg and 5 N of the guide
    assert TURNING.findall(text) == []


def test_the_report_knows_no_angle_but_those_of_teeth(found) -> None:
    text = report(RAILED, found, ())
    ours = text.partition("## Parts list")[0]
    left = [line for line in ours.splitlines() if TURNING.search(line)]
    assert [line for line in left if not re.search("pressure angle|backlash angle", line)] == []
    assert "Force needed and available" in ours
    assert "Other sizes of what drives the carriage" in ours


def test_the_last_shaft_and_stage_are_a_travel(found) -> None:
    train = found.transmission
    *_, last = shaft_cells(train.shafts, "carriage")
    assert last[0] == "carriage"
    assert last[3].endswith("m/s")
    assert last[4].endswith(" N")
    *_, rack = stage_cells(train.stages)
    assert rack[1] == "89.54 mm a turn"


def test_the_table_of_sizes_marks_its_own(found) -> None:
    names = [row[0] for row in size_cells(found.sizes)[1:]]
    assert names == ["17 teeth", "18 teeth", "19 teeth (as given)", "20 teeth", "21 teeth"]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("The arm stalls at an angle", "The carriage stalls at a position"),
        ("torque at the arm", "force at the carriage"),
        ("Torque needed and available", "Force needed and available"),
        ("pressure angle 20 deg", "pressure angle 20 deg"),
        ("arm.stops", "carriage.stops"),
        ("armsim", "armsim"),
    ],
)
def test_sentences_of_an_arm_are_said_of_a_carriage(text: str, told: str) -> None:
    assert told_of("carriage", text) == told
    assert told_of("arm", text) == text


def test_dimensions_of_the_load() -> None:
    assert [of("carriage", d) for d in ("angle", "torque", "time")] == ["length", "force", "time"]
    assert of("arm", "angle") == "angle"
