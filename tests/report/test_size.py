"""What a sizing prints and writes: the answer first, every motor once, the same numbers everywhere."""

import csv
import io
import json
import math
from functools import cache

import pytest

from armsim.cli import main
from armsim.commands.status import Status
from armsim.report.size_contract import fits_csv, size_json
from armsim.report.size_figures import chosen, size_pictures
from armsim.report.size_tables import LIMIT_HEAD, conclusion, fit_cells, fit_notes, limit_cells, limit_notes
from armsim.report.size_terminal import size_summary
from armsim.report.size_write import size_report
from armsim.scenario.stock import loads_stock
from armsim.scenario.tasks import loads_task
from armsim.studies.limits import Limit
from armsim.studies.size import size

TASK = """
title: Lid of the press
arm: {length: 0.8 m, mass: 6 kg, payload: {mass: 2 kg}}
supply: {bench: {voltage: 24 V}}
start: 0 deg
moves: [{lift: {to: 80 deg}}]
requirements: {lift_time: {max: 2 s}}
"""
SHELF = """
title: Shelf
motors:
  - {name: fair, price: 5, nominal_voltage: 24 V, torque_constant: 0.07 N*m/A, resistance: 0.5 ohm}
  - {name: tiny, price: 1, nominal_voltage: 24 V, torque_constant: 0.02 N*m/A, resistance: 12 ohm}
  - {name: forced, price: 2, nominal_voltage: 12 V, torque_constant: 0.03 N*m/A, resistance: 0.3 ohm}
"""


@cache
def sized():
    return size(loads_task(TASK), loads_stock(SHELF))


def test_the_answer_names_the_cheapest_motor_that_does_within_its_voltage():
    assert conclusion(sized()).startswith(
        "2 of 3 motors lift within 2 s, 1 of them above the voltage of their figures; the cheapest of the others, fair,"
    )


def test_every_motor_has_its_row_and_what_it_lacks_its_note():
    heads, *rows = fit_cells(sized())
    assert [row[0] for row in rows] == ["fair", "tiny", "forced"]
    assert all(len(row) == len(heads) for row in rows)
    assert rows[1][2] == "-"
    tiny, forced = fit_notes(sized())
    assert tiny.startswith("tiny: ")
    assert "times as long (it gives" in tiny
    assert "short of a mean of 19.3 W" in tiny
    assert forced == "forced: its figures hold at 12 V, the source has 24 V"


def test_json_and_csv_say_the_same():
    told = size_json(loads_task(TASK), None, sized(), None, None)
    json.dumps(told, allow_nan=False)
    assert told["demand"]["work_j"] == pytest.approx(
        (6 * 0.4 + 2 * 0.8) * 9.80665 * math.sin(math.radians(80)), rel=1e-4
    )
    assert told["demand"]["thirds"]["speed_peak_deg_per_s"] == pytest.approx(1.5 * 80.0 / 2.0)
    rows = list(csv.DictReader(io.StringIO(fits_csv(sized()))))
    for row, motor in zip(rows, told["motors"], strict=True):
        assert row["name"] == motor["name"]
        assert (row["reduction_min"] or None) == (
            None if motor["reduction_min"] is None else str(motor["reduction_min"])
        )
        assert float(row["quickest_time_s"]) == motor["quickest"]["time_s"]


def test_the_terminal_gives_the_answer_first():
    lines = size_summary(loads_task(TASK), sized()).splitlines()
    assert lines[0] == conclusion(sized())
    assert lines[1] == "Lid of the press"


def test_figures_show_each_motor_once_those_that_do_first():
    assert [fit.name for fit in chosen(sized())] == ["fair", "tiny", "forced"]
    demand, plane = size_pictures(sized())
    assert (demand.name, plane.name) == ("demand", "plane")
    labels = [text.get_text() for text in plane.figure.axes[0].texts]
    assert any(label.startswith("fair, ") for label in labels)


def test_the_report_has_its_sections_in_order():
    text = size_report(loads_task(TASK), loads_stock(SHELF), sized(), None, None)
    heads = [line for line in text.splitlines() if line.startswith("#")]
    assert heads == [
        "# Lid of the press: sizing the drive",
        "## What the lift asks at the arm",
        "## Motors",
        "## Cautions",
        "## How to reproduce",
    ]


def limit(**more):
    given = {"key": "arm.payload.mass", "what": "largest payload", "dimension": "mass", "now": 12.0, "passes": 16.0}
    given |= {"fails": 16.01, "binding": ("static_margin",), "exceptions": (), "runs": 10}
    return Limit(**{**given, **more})


def test_a_limit_is_a_row_with_what_binds():
    assert limit_cells([limit()]) == [
        LIMIT_HEAD,
        ("largest payload", "arm.payload.mass", "static margin", "12 kg", "16 kg", "16.01 kg"),
    ]
    assert limit_notes([limit()]) == []


def test_what_a_limit_does_not_say_is_said_beside_it():
    assert limit_notes([limit(passes=None)]) == [
        "largest payload: no value was found with which everything asked for holds"
    ]
    assert limit_notes([limit(fails=None)]) == [
        "largest payload: everything still holds at 16 kg, the end of the search"
    ]
    both = limit_notes([limit(exceptions=((0.0, ("tip_speed",)), (20.0, ())))])
    assert both == [
        "largest payload: 0 kg does not do either (tip speed): the limit is not the only one",
        "largest payload: 20 kg does again: the limit is not the only one",
    ]


# ---------------------------------------------------------------------------------------------------- command


@pytest.fixture
def files(tmp_path):
    task, shelf = tmp_path / "lid.yaml", tmp_path / "shelf.yaml"
    task.write_text(TASK, encoding="utf-8")
    shelf.write_text("\n".join(SHELF.splitlines()[:4]), encoding="utf-8")
    return task, shelf


def test_the_command_writes_a_report_once(files, tmp_path, capsys):
    task, shelf = files
    words = ["size", str(task), "--stock", str(shelf), "--output", str(tmp_path / "out"), "--json"]
    words += ["--csv", str(tmp_path / "motors.csv")]
    assert main(words) == Status.DONE
    told = json.loads(capsys.readouterr().out)
    assert [motor["name"] for motor in told["motors"]] == ["fair"]
    written = {path.name for path in (tmp_path / "out").iterdir()}
    assert written == {"report.md", "result.json", "motors.csv", "demand.png", "demand.svg", "plane.png", "plane.svg"}
    assert json.loads((tmp_path / "out" / "result.json").read_text()) == told
    assert (tmp_path / "out" / "motors.csv").read_text() == (tmp_path / "motors.csv").read_text()
    assert main(words) == Status.CANNOT_WRITE


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--time", "2"], "--time 2: needs a unit"),
        (["--time", "0 s"], "--time 0 s: has to be more than 0 s"),
        (["--efficiency", "80"], "--efficiency 80: 80 % or 80 times?"),
        (["--largest", "arm.payload.mass"], "limits are those of a whole scenario"),
        (["--largest", "arm.payload.mass", "--csv", "x.csv"], "has a row for each motor"),
    ],
)
def test_a_wrong_word_is_answered_without_a_traceback(files, capsys, words, told):
    assert main(["size", str(files[0]), *words]) == Status.WRONG_INPUT
    assert told in capsys.readouterr().err


def test_limits_of_a_whole_scenario_as_json(files, capsys):
    task, _ = files
    motor = "motor: {torque_constant: 0.07 N*m/A, resistance: 0.5 ohm}"
    train = "transmission: [{gearbox: {reduction: 60, efficiency: 0.8}}]"
    task.write_text(f"{TASK}{motor}\n{train}\n", encoding="utf-8")
    assert main(["size", str(task), "--least", "efficiency", "--json"]) == Status.DONE
    told = json.loads(capsys.readouterr().out)
    assert told["motors"] is None
    (found,) = told["limits"]
    assert (found["key"], found["unit"], found["now"]) == ("efficiency", "%", 80.0)
    assert found["fails"] < found["passes"] < 80.0
    assert found["passes"] - found["fails"] <= 1e-3 * found["passes"]
