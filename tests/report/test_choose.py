import csv
import io
import json
import re
from dataclasses import replace
from pathlib import Path

import pytest

from armsim.report import choose_words as words
from armsim.report.choose_contract import choose_csv, choose_json
from armsim.report.choose_terminal import choose_summary
from armsim.report.choose_write import choose_report, write_choose
from armsim.report.write import WriteError
from armsim.scenario import load
from armsim.scenario.stock import Stock, load_stock
from armsim.scenario.tasks import Task, load_task
from armsim.scenario.variants import Document, read_document
from armsim.studies.choice import Choosing, Order
from armsim.studies.choose import choose
from armsim.studies.single import assess
from tests.studies.stocks import TASK, written


@pytest.fixture(scope="module")
def given(tmp_path_factory: pytest.TempPathFactory) -> tuple[Task, Document, Stock, Choosing]:
    task, stock = written(tmp_path_factory.mktemp("choose"))
    read = load_task(task), read_document(task), load_stock(stock)
    return *read, choose(*read, Order.CHEAPEST, stages=2, top=3)


def test_every_scenario_written_is_what_was_ranked(
    given: tuple[Task, Document, Stock, Choosing], tmp_path: Path
) -> None:
    found = given[3]
    write_choose(*given, tmp_path / "out")
    files = sorted((tmp_path / "out" / "scenarios").glob("0*.yaml"))
    assert len(files) == len(found.top) == 3
    for file, one in zip(files, found.top, strict=True):
        scenario = load(file)
        assessment = assess(scenario)
        assert assessment.verdict == "pass"
        assert assessment.lift.time == pytest.approx(one.lift_time, rel=1e-9)
        parts = sum((row.unit_price or 0.0) * row.quantity for row in scenario.parts_list)
        assert parts == pytest.approx(one.price)


def test_a_task_that_varies_another_is_written_whole(tmp_path: Path) -> None:
    base, stock = written(tmp_path)
    variant = tmp_path / "variant.yaml"
    variant.write_text("variant_of: task.yaml\ntitle: 'Hatch: the heavy door'\narm: {payload: {mass: 5 kg}}\n")
    task, document = load_task(variant), read_document(variant)
    found = choose(task, document, load_stock(stock), Order.SIMPLEST, stages=1, top=1)
    write_choose(task, document, load_stock(stock), found, tmp_path / "out")
    (file,) = (tmp_path / "out" / "scenarios").glob("01*.yaml")
    assert load(file).machine.arm.payload_mass == 5.0
    assert load(base.parent / "out" / "scenarios" / file.name).title.startswith("Hatch: the heavy door: ")


def test_a_file_with_drives_of_its_own_gets_none_of_them(tmp_path: Path) -> None:
    own = (
        "motor: {nominal_voltage: 24 V, no_load_speed: 2800 rpm, no_load_current: 1.4 A, stall_torque: 2 N*m, "
        "stall_current: 28 A, inductance: 9 mH, thermal: {winding_to_housing: 1 K/W, housing_to_air: 3 K/W, "
        "winding_capacity: 50 J/K, housing_capacity: 600 J/K}}\n"
        "transmission: [{gears: {driver: 14, driven: 70}}, {gearbox: {reduction: 12, "
        "efficiency: 0.75}}]\nside_loads: [{shaft: 1, torque: 0.01 N*m}]\n"
    )
    path, stock = written(tmp_path, TASK + own)
    task, document = load_task(path), read_document(path)
    found = choose(task, document, load_stock(stock), Order.SIMPLEST, stages=1, top=1)
    write_choose(task, document, load_stock(stock), found, tmp_path / "out")
    (file,) = (tmp_path / "out" / "scenarios").glob("01*.yaml")
    machine = load(file).machine
    assert machine.side_loads == ()
    assert len([stage for stage in machine.stages if stage.kind != "rotor loss"]) == 1
    assert machine.motor.heat is None
    assert machine.motor.inductance != 9e-3


def test_the_report_begins_with_the_answer_and_leads_to_what_it_wrote(
    given: tuple[Task, Document, Stock, Choosing], tmp_path: Path
) -> None:
    write_choose(*given, tmp_path / "out", html=True)
    text = (tmp_path / "out" / "report.md").read_text()
    assert text.splitlines()[2].startswith("**Of 2,964 combinations the cheapest that meets every requirement: ")
    links = re.findall(r"\]\(([^)]+)\)", text)
    assert len(links) == 3 + 2
    assert all((tmp_path / "out" / link).is_file() for link in links)
    assert (tmp_path / "out" / "report.html").is_file()
    assert json.loads((tmp_path / "out" / "result.json").read_text())["for"] == "cheapest"


def test_older_scenarios_go_with_an_older_report(given: tuple[Task, Document, Stock, Choosing], tmp_path: Path) -> None:
    write_choose(*given, tmp_path / "out")
    mine = tmp_path / "out" / "scenarios" / "mine.yaml"
    mine.write_text("title: mine\n")
    with pytest.raises(WriteError, match="exists"):
        write_choose(*given, tmp_path / "out")
    fewer = replace(given[3], top=given[3].top[:1])
    write_choose(*given[:3], fewer, tmp_path / "out", overwrite=True)
    assert len(list((tmp_path / "out" / "scenarios").glob("0*.yaml"))) == 1
    assert mine.read_text() == "title: mine\n"


def test_the_json_and_the_csv_tell_the_same(given: tuple[Task, Document, Stock, Choosing]) -> None:
    task, _, stock, found = given
    record = json.loads(json.dumps(choose_json(task, stock, found), allow_nan=False))
    rows = list(csv.DictReader(io.StringIO(choose_csv(found))))
    assert [row["place"] for row in rows] == ["1", "2", "3"]
    for row, one in zip(rows, record["best"], strict=True):
        assert float(row["lift_time_s"]) == pytest.approx(one["lift_time_s"], rel=1e-5)
        assert float(row["price"]) == pytest.approx(one["price"], rel=1e-5)
        assert row["motor"] == one["motor"]
    counts = record["combinations"]
    assert counts["considered"] == sum(counts["stopped"].values()) + counts["left"]
    assert record["proven"] is True


def test_the_terminal_has_every_table_and_what_was_looked_at(given: tuple[Task, Document, Stock, Choosing]) -> None:
    task, _, _, found = given
    text = choose_summary(task, found)
    assert text.isascii()
    for title in ("The best,", "by more and by fewer stages", "Of all simulated,", "What became of all combinations"):
        assert title in text
    for one in found.top:
        assert one.name in text
    assert re.search(r"wheels that do not run together +\d", text)


def test_without_an_answer_it_says_why(given: tuple[Task, Document, Stock, Choosing]) -> None:
    task, _, stock, found = given
    near = replace(found.top[0], passes=False, stands_against="misses lift_time")
    none = replace(found, top=(), unbeaten=(), ladder=(), nearest=near, nearest_misses="lift_time")
    text = words.conclusion(none)
    assert "none meets every requirement" in text
    rules = {rule: n for rule, n in found.counts.stopped.items() if rule not in words.OF_THE_PARTS}
    worst = max(rules, key=lambda rule: rules[rule])
    assert f"Of those that fit together most are stopped by: {worst} ({rules[worst]:,})." in text
    assert f"Nearest comes {near.name}: it lifts in " in text
    assert text.endswith("and misses lift time.")
    assert "none meets" in choose_report(task, stock, none)
    assert "none meets" in choose_summary(task, none)
    assert choose_json(task, stock, none)["nearest"]["name"] == near.name


def test_what_was_not_proven_is_not_called_so(given: tuple[Task, Document, Stock, Choosing]) -> None:
    found = replace(given[3], counts=replace(given[3].counts, complete=False))
    assert "the cheapest so far" in words.conclusion(found)
    assert any("given up" in note for note in words.notes(found))
    cut = replace(found, interrupted=True)
    assert words.notes(cut)[0].startswith("Interrupted")
