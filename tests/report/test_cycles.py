"""Many cycles: the table, the file, the figure and the sentence that says where temperatures go."""

import csv
import io
import itertools
import math
from dataclasses import replace

import numpy as np
import pytest

from armsim.dynamics.run import Kind, Settling
from armsim.report.contract import as_json
from armsim.report.cycles import cycle_rows, cycles_csv, cycles_section, settling_text
from armsim.report.cycles_figure import cycles
from armsim.report.drawing import house_style
from armsim.report.figures import pictures
from armsim.report.series import series
from armsim.report.write import write_report
from tests.report import sample

ROW = (
    "number begun_s duration_s stepped lift_time_s motor_peak_a supply_peak_a bus_voltage_min_v winding_peak_c "
    "housing_peak_c protection_heat_peak energy_taken_wh"
)


@pytest.fixture(scope="module")
def case():
    return sample.repeated()


@pytest.fixture(scope="module")
def told(case):
    return as_json(*case)


def runs_away(run):
    return replace(run, settling=Settling(winding=None, housing=None, settled=False))


def gives_up(run):
    return replace(run, events=(*run.events, replace(run.events[-1], kind=Kind.GIVEN_UP)))


def without_heat(run):
    machine = replace(run.machine, motor=replace(run.machine.motor, heat=None))
    return replace(run, machine=machine, settling=None)


def test_the_table_has_every_cycle_in_order_and_without_a_gap(told):
    part = told["cycles"]
    table = part["table"]
    assert (part["count"], part["completed"]) == (200, 200)
    assert [row["number"] for row in table] == list(range(1, 201))
    assert all(list(row) == ROW.split() for row in table)
    for one, following in itertools.pairwise(table):
        assert one["begun_s"] + one["duration_s"] == pytest.approx(following["begun_s"], rel=1e-4)
    assert part["stepped"] == sum(row["stepped"] for row in table) < 25
    assert sum(row["energy_taken_wh"] for row in table) == pytest.approx(told["supply"]["energy_taken_wh"], rel=1e-7)
    # each takes what the other loads of 1 A at 25 V take, and more
    assert all(row["energy_taken_wh"] > 25.0 * row["duration_s"] / 3600.0 for row in table)


def test_temperatures_settle_above_the_last_cycle_and_where_the_mean_loss_puts_them(told, case):
    part, run = told["cycles"], case[1].run
    last = part["table"][-1]
    assert part["settled"] is False
    assert part["settles_at_winding_c"] > last["winding_peak_c"] > 70.0
    assert part["settles_at_housing_c"] > last["housing_peak_c"]
    # winding heat through 3.5 K/W from the housing to air at 25 degC: more than in the mean of the run, and less than
    # copper makes of the same currents that is 0.393 % more resistive for each kelvin above 25 degC
    mean = run.energy.losses["copper"] / run.time[-1]
    warmer = 1.0 + 0.00393 * (part["settles_at_winding_c"] - 25.0)
    assert 25.0 + 3.5 * mean < part["settles_at_housing_c"] < 25.0 + 3.5 * mean * warmer


def test_a_single_cycle_is_one_row_and_settles_nowhere():
    part = as_json(*sample.lifting())["cycles"]
    assert (part["count"], part["completed"], part["stepped"], len(part["table"])) == (1, 1, 1, 1)
    assert [part[key] for key in ("settled", "settles_at_winding_c", "settles_at_housing_c")] == [None] * 3


def test_a_check_knows_only_how_many_are_asked_for():
    part = as_json(*sample.checked())["cycles"]
    assert part.pop("count") == 1
    assert part.pop("table") == []
    assert part == dict.fromkeys(part)


def test_a_cycle_given_up_is_begun_and_not_completed(case):
    scenario, assessment = case
    part = as_json(scenario, replace(assessment, run=gives_up(assessment.run)))["cycles"]
    assert (part["completed"], len(part["table"]), part["settled"]) == (199, 200, None)
    (row,) = cycle_rows(gives_up(assessment.run))
    assert row.value == "given up in cycle 200"
    stalled, lost = sample.stalling()
    assert as_json(stalled, lost)["cycles"]["completed"] == 0


def test_temperatures_are_not_known_without_heat_data(case):
    scenario, assessment = case
    cold = without_heat(assessment.run)
    (first, *_) = as_json(scenario, replace(assessment, run=cold))["cycles"]["table"]
    assert first["winding_peak_c"] is first["housing_peak_c"] is None
    assert "degC" not in cycles_csv(cold)
    assert cycle_rows(cold)[0].value == "200 completed"
    with house_style():
        picture = cycles(cold)
    assert len(picture.figure.axes) == 1
    assert "emperature" not in picture.text


def test_the_summary_says_where_the_winding_goes(case):
    run = case[1].run
    settled = Settling(winding=96.2, housing=80.0, settled=True)
    assert cycle_rows(run)[0].value == "200 completed, winding at 73.9 degC and still rising, settles at 80.3 degC"
    assert cycle_rows(replace(run, settling=settled))[0].value == (
        "200 completed, winding settles at 96.2 degC (now 73.9 degC)"
    )
    assert cycle_rows(runs_away(run))[0].value.endswith("still rising: it does not settle")
    assert cycle_rows(sample.lifting()[1].run) == cycle_rows(None) == []


def test_the_sentence_on_settling_names_a_limit_that_will_be_passed(case):
    run = case[1].run
    assert "above the winding's limit" not in settling_text(run)
    hot = replace(run, settling=Settling(winding=131.0, housing=90.0, settled=False))
    assert settling_text(hot).endswith("That is above the winding's limit of 130 degC.")
    assert "do not settle: the losses grow faster than the motor sheds heat" in settling_text(runs_away(run))


def test_the_section_tells_how_many_were_stepped_and_shows_first_middle_and_last(case):
    scenario, assessment = case
    picture, how, settling, table, _ = cycles_section(scenario, assessment.run, "(the figure)")
    assert picture == "(the figure)"
    stepped = sum(c.stepped for c in assessment.run.cycles)
    assert f"200 of 200 cycles completed. {stepped} were stepped exactly, {200 - stepped} reached from those." in how
    assert "winding at 80.3 °C" in settling
    head, _, *rows = ([cell.strip() for cell in line.split("|")[1:-1]] for line in table.splitlines())
    assert [row[0] for row in rows] == ["1", "2", "50", "100", "150", "200"]
    assert {len(row) for row in rows} == {len(head)}
    assert cycles_section(sample.lifting()[0], sample.lifting()[1].run, "") == []
    assert cycles_section(scenario, None, "") == []


def test_the_figure_has_a_line_through_all_and_dots_where_stepped(case):
    run = case[1].run
    with house_style():
        picture = cycles(run)
    lines = {line.get_gid(): line for axes in picture.figure.axes for line in axes.lines}
    for name, pick in (("winding", "winding"), ("housing", "housing"), ("lift", "lift_time")):
        x, y = lines["lift-times" if name == "lift" else f"{name}-peaks"].get_data()
        assert list(x) == list(range(1, 201))
        dots = lines[f"{name}-stepped"]
        assert list(dots.get_xdata()) == [c.number for c in run.cycles if c.stepped]
        assert np.interp(dots.get_xdata(), x, y) == pytest.approx(dots.get_ydata())
        assert y[-1] == getattr(run.cycles[-1], pick)
        assert dots.get_linestyle() == "None"
    assert set(lines["winding-limit"].get_ydata()) == {130.0}
    assert set(lines["settling"].get_ydata()) == {run.settling.winding}
    labels = [text.get_text() for axes in picture.figure.axes for text in axes.texts]
    assert {"winding settles at 80.3 °C", "winding limit 130 °C", "slowest lift"} <= set(labels)
    assert f"Dots are the {sum(c.stepped for c in run.cycles)} cycles stepped exactly" in picture.text
    with house_style():
        hotter = cycles(runs_away(run))
    assert "settling" not in [line.get_gid() for axes in hotter.figure.axes for line in axes.lines]


def test_only_runs_of_more_than_three_cycles_have_the_figure(case):
    with house_style():
        assert "cycles" in [picture.name for picture in pictures(case[1])]
    few = replace(case[1], run=replace(case[1].run, cycles=case[1].run.cycles[:3]))
    with house_style():
        assert "cycles" not in [picture.name for picture in pictures(few)]


def test_lifts_that_do_not_arrive_leave_a_gap(case):
    run = case[1].run
    never = replace(run, cycles=tuple(replace(c, lift_time=None) for c in run.cycles))
    with house_style():
        picture = cycles(never)
    (line,) = (part for part in picture.figure.axes[1].lines if part.get_gid() == "lift-times")
    assert np.isnan(line.get_ydata()).all()
    assert "No lift arrives in cycle 200." in picture.text
    assert "does not arrive" in cycles_section(case[0], never, "")[3]
    assert list(csv.DictReader(io.StringIO(cycles_csv(never))))[7]["slowest lift (s)"] == ""


def test_the_files_read_back(case, tmp_path):
    paths = write_report(*case, tmp_path / "many")
    assert {"cycles.csv", "cycles.png", "cycles.svg"} <= {path.name for path in paths}
    run = case[1].run
    with (tmp_path / "many" / "cycles.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [int(row["cycle (1)"]) for row in rows] == list(range(1, 201))
    assert all(name.endswith(")") for name in rows[0])
    taken = math.fsum(float(row["energy taken (W*h)"]) for row in rows)
    assert taken == pytest.approx(run.energy.supplied / 3600.0, rel=1e-7)
    with (tmp_path / "many" / "series.csv").open(encoding="utf-8", newline="") as file:
        kept = {row["cycle (1)"] for row in csv.DictReader(file)}
    assert kept == {"1", "2", "200"}
    assert "cycle" not in series(sample.lifting()[1].run).splitlines()[0]
