"""A sweep in words, tables, files and figures, from rows made by hand."""

import csv
import json
import math
from io import StringIO

import pytest

from armsim.report.html import page
from armsim.report.sweep_contract import sweep_csv, sweep_json
from armsim.report.sweep_terminal import sweep_text
from armsim.report.sweep_words import conclusion, thinned
from armsim.report.sweep_write import NAMES, check_sweep_target, sweep_report, write_sweep
from armsim.report.write import WriteError
from armsim.scenario.varied import Template
from armsim.studies.sweep import End, Sweep, Window
from armsim.studies.sweep_job import job_of
from armsim.studies.sweep_rows import POSSIBLE, STALL, Row
from armsim.studies.sweep_search import Edge
from tests.studies.sweeps import CAPSTAN, GATE


def made(texts, numbers, *, time=None, amps=10.0, missed=(), heat=0.5, failed=""):
    """A row that lifts in a time, or stalls without one."""
    if failed:
        return Row(texts=texts, numbers=numbers, failed=failed)
    return Row(
        texts=texts, numbers=numbers, reached=time is not None, lift_time=time, final_angle=math.radians(60.0),
        motor_current=amps, supply_current=amps, supply_rms=0.8 * amps, energy=100.0, bus_voltage=11.5, speed=1.0,
        trips="possible" if POSSIBLE in missed else "no", heat_peak=heat, static_margin=1.5,
        verdict="fail" if missed else "pass", margins={POSSIBLE: 1.0 - heat, "breaker_trips": 1.0 - heat},
        missed=frozenset(missed),
    )  # fmt: skip


def grid(template, variations):
    """Texts and numbers of every row."""
    job = job_of(template, variations)
    return job.points(0, job.count)


@pytest.fixture(scope="module")
def template(tmp_path_factory):
    path = tmp_path_factory.mktemp("sweep") / "gate.yaml"
    path.write_text(GATE, encoding="utf-8")
    return Template(path)


@pytest.fixture(scope="module")
def one(template):
    """Stalls below 48:1, may trip below 62:1, too slow above 118:1."""
    variations = template.variations(["reduction=40:120:9"])
    times = (None, 2.5, 2.2, 1.9, 1.86, 1.85, 1.9, 2.4, 3.1)
    missing = {0: (STALL, "lift_time", POSSIBLE, "breaker_trips"), 8: ("lift_time",)}
    missing |= dict.fromkeys((1, 2), (POSSIBLE, "breaker_trips"))
    rows = tuple(
        made(texts, numbers, time=time, amps=26.0 - k, missed=missing.get(k, ()), heat=1.4 - 0.15 * k)
        for k, ((texts, numbers), time) in enumerate(zip(grid(template, variations), times, strict=True))
    )
    fastest = made(("71",), (71.04,), time=1.84, amps=21.0)
    return Sweep(
        scenario=template.base,
        variations=variations,
        rows=rows,
        edges=(
            Edge(condition=STALL, met=48.03, missed=47.99, refined=True),
            Edge(condition=POSSIBLE, met=62.02, missed=61.97, refined=True),
            Edge(condition="breaker_trips", met=62.02, missed=61.97, refined=True),
            Edge(condition="lift_time", met=117.96, missed=118.05, refined=True),
        ),
        windows=(
            Window(
                low=End(number=62.02, binds=(POSSIBLE, "breaker_trips")), high=End(number=117.96, binds=("lift_time",))
            ),
        ),
        fastest=fastest,
        least_current=made(("117.96",), (117.96,), time=2.99, amps=14.0),
    )


@pytest.fixture(scope="module")
def two(template):
    variations = template.variations(["reduction=40:120:5", "arm.payload.mass=2kg:8kg:4"])
    rows = []
    for texts, (ratio, mass) in grid(template, variations):
        stalls = ratio < 12.0 * mass - 20.0
        time = None if stalls else 0.5 + 0.01 * ratio + 20.0 * mass / ratio
        heat = 0.2 * mass * 60.0 / ratio
        missed = [STALL] * stalls + ["lift_time"] * (stalls or (time or 0.0) > 3.0)
        missed += [POSSIBLE, "breaker_trips"] * (heat > 1.0)
        rows.append(made(texts, (ratio, mass), time=time, amps=30.0 * mass / ratio, missed=missed, heat=heat))
    line = tuple((12.0 * mass - 20.0, mass) for mass in (6.0, 8.0))
    return Sweep(scenario=template.base, variations=variations, rows=tuple(rows), stall_line=line)


# --------------------------------------------------------------------------------------------------------------- words


def test_the_conclusion_gives_the_window_the_best_and_what_binds_rounded_to_the_inside(one):
    assert conclusion(one) == (
        "All requirements met from 62.1:1 to 117:1; fastest 1.84 s at 71:1; least current 14 A at 117:1. "
        "Below 62.1:1 the breaker may trip. Above 117:1 the lift time is above 3 s. Below 48:1 it does not lift."
    )


def test_where_nothing_meets_everything_the_nearest_is_told(one):
    from dataclasses import replace

    rows = tuple(row for row in one.rows if not row.feasible)
    none = replace(one, rows=rows, windows=(), fastest=None, least_current=None)
    assert conclusion(none).startswith(
        "Nowhere are all requirements met; nearest comes 120:1: the lift time is above 3 s there."
    )


def test_of_several_keys_rows_are_counted_and_what_is_missed_most(two):
    text = conclusion(two)
    feasible = sum(row.feasible for row in two.rows)
    assert text.startswith(f"All requirements met in {feasible} of 20 rows")
    assert "it does not lift" in text


def test_without_requirements_it_says_what_counts(tmp_path):
    path = tmp_path / "capstan.yaml"
    path.write_text(CAPSTAN, encoding="utf-8")
    template = Template(path)
    variations = template.variations(["transmission.0.gearbox.reduction=10,20"])
    rows = tuple(made(texts, numbers, missed=(STALL,)) for texts, numbers in grid(template, variations))
    found = Sweep(scenario=template.base, variations=variations, rows=rows)
    assert conclusion(found).startswith("Nowhere does it lift without trip or reset")


# --------------------------------------------------------------------------------------------------------------- table


def test_a_long_table_keeps_its_ends_and_the_rows_round_every_change(one):
    from dataclasses import replace

    rows = tuple(
        made((str(k),), (float(k),), time=1.0, missed=() if 137 <= k < 311 else ("lift_time",)) for k in range(500)
    )
    shown = [row.numbers[0] for row in thinned(replace(one, rows=rows))]
    assert len(shown) <= 34
    assert {0.0, 136.0, 137.0, 310.0, 311.0, 499.0} <= set(shown)
    assert shown == sorted(shown)


def test_the_terminal_shows_the_conclusion_first_and_only_ascii(one):
    text = sweep_text(one)
    assert text.startswith("All requirements met from 62.1:1")
    assert text.isascii()
    assert max(map(len, text.splitlines())) < 130
    assert "does not lift" in next(line for line in text.splitlines() if line.startswith("       40:1"))


def test_the_csv_has_every_row_in_order_and_flags_exact_runs(two):
    rows = list(csv.DictReader(StringIO(sweep_csv(two))))
    assert [(float(row["reduction"]), float(row["arm.payload.mass (kg)"])) for row in rows] == [
        row.numbers for row in two.rows
    ]
    assert {row["exact"] for row in rows} == {"yes"}
    assert [row["lift_time_s"] == "" for row in rows] == [row.lift_time is None for row in two.rows]
    assert rows[-1]["missed"].split() == [
        name for name in ("stall", "trip_possible", "breaker_trips", "lift_time") if name in two.rows[-1].missed
    ]


def test_the_json_is_whole_and_has_no_nan(one):
    told = json.loads(json.dumps(sweep_json(one), allow_nan=False))
    assert told["windows"] == [
        {
            "from": {"value": 62.02, "binds": [POSSIBLE, "breaker_trips"]},
            "to": {"value": 117.96, "binds": ["lift_time"]},
        }
    ]
    assert told["varied"] == [
        {"key": "reduction", "unit": None, "spaced": "evenly", "values": [40, 50, 60, 70, 80, 90, 100, 110, 120]}
    ]
    assert told["rows"][0]["lift_time_s"] is None
    assert told["rows"][0]["final_angle_deg"] == pytest.approx(60.0)
    assert len({tuple(row) for row in told["rows"]}) == 1


def test_a_row_that_could_not_be_run_says_why_everywhere(template):
    variations = template.variations(["reduction=40,50"])
    (first, second) = grid(template, variations)
    rows = (made(*first, failed="the step became too small"), made(*second, time=1.0))
    found = Sweep(scenario=template.base, variations=variations, rows=rows)
    assert "1 row could not be run" in conclusion(found)
    assert "not run: the step became too small" in sweep_text(found)
    assert sweep_json(found)["rows"][0]["error"] == "the step became too small"
    assert sweep_json(found)["rows"][0]["meets_all"] is None


# -------------------------------------------------------------------------------------------------------------- report


@pytest.mark.parametrize("which", ["one", "two"])
def test_the_folder_is_written_whole_with_a_figure(which, request, tmp_path):
    found = request.getfixturevalue(which)
    folder = tmp_path / "report"
    written = write_sweep(found, folder, html=True)
    assert sorted(path.name for path in written) == sorted(NAMES)
    text = (folder / "report.md").read_text(encoding="utf-8")
    assert text.startswith("# Gate with a small breaker: sweep of reduction")
    assert text.splitlines()[2].startswith("All requirements met")
    assert "](sweep.png)" in text
    assert found.scenario.sha256 in text


def test_an_older_report_is_kept_unless_told(one, tmp_path):
    (tmp_path / "sweep.csv").write_text("older")
    with pytest.raises(WriteError, match="--overwrite"):
        check_sweep_target(tmp_path)
    check_sweep_target(tmp_path, overwrite=True)


def test_what_a_person_wrote_cannot_be_obeyed(one):
    from dataclasses import replace

    scenario = replace(one.scenario, title="<script>alert(1)</script> | *x*")
    text = sweep_report(replace(one, scenario=scenario), [])
    assert "<script>" not in text
    assert "<script>alert" not in page(text, scenario.title, {})


def test_one_key_shades_where_everything_is_met_and_marks_its_edges(one):
    from armsim.report.drawing import house_style
    from armsim.report.sweep_figures import over_one_key

    with house_style():
        picture = over_one_key(one)
    panels = [axes for axes in picture.figure.axes if axes.get_gid() != "events"]
    for axes in panels:
        (shade,) = [patch for patch in axes.patches if patch.get_gid() == "met-0"]
        box = shade.get_extents().transformed(axes.transData.inverted())
        assert (box.x0, box.x1) == pytest.approx((62.02, 117.96))
    flags = {text.get_text() for axes in picture.figure.axes for text in axes.texts if text.get_gid() == "event-label"}
    assert flags == {"stall 48:1", "trip 62.1:1", "lift time 117:1"}
    labels = {text.get_text() for text in panels[0].texts}
    assert "fastest: 1.84 s at 71:1" in labels
    assert picture.text.startswith(conclusion(one))


def test_two_keys_draw_each_edge_where_it_is_and_name_it(two):
    from armsim.report.drawing import house_style
    from armsim.report.sweep_map import mapped

    with house_style():
        picture = mapped(two)
    (axes,) = picture.figure.axes
    lines = {line.get_gid(): line for line in axes.lines if line.get_gid()}
    for ratio, mass in zip(*lines["edge-breaker_trips"].get_data(), strict=True):
        assert 0.2 * mass * 60.0 / ratio == pytest.approx(1.0, rel=0.1)
    assert {"stall", "trip"} <= {text.get_text() for text in axes.texts}
    assert any(text.get_text().endswith(" s") for text in axes.texts)
    assert any(collection.get_hatch() or getattr(collection, "hatches", None) for collection in axes.collections)


def test_a_key_by_ratio_has_a_logarithmic_axis_with_flags_at_their_numbers(one, template):
    from dataclasses import replace

    from armsim.report.drawing import house_style
    from armsim.report.sweep_figures import over_one_key

    by_ratio = replace(one, variations=template.variations(["reduction=40:120:9:log"]))
    with house_style():
        picture = over_one_key(by_ratio)
    strip, *panels = sorted(picture.figure.axes, key=lambda axes: axes.get_gid() != "events")
    assert {axes.get_xscale() for axes in panels} == {"log"}
    share = math.log(62.02 / 40.0) / math.log(120.0 / 40.0)
    flagged = [line.get_xdata()[0] / strip.get_xlim()[1] for line in strip.lines]
    assert min(abs(at - share) for at in flagged) < 1e-6
    dot = next(line for line in panels[0].lines if line.get_gid() == "fastest")
    (label,) = [text for text in panels[0].texts if text.get_text().startswith("fastest")]
    at = math.log(dot.get_xdata()[0] / 40.0) / math.log(120.0 / 40.0)
    assert abs(label.get_position()[0] - at) < 0.35


def test_a_map_by_ratio_is_logarithmic_both_ways(two, template):
    from dataclasses import replace

    from armsim.report.drawing import house_style
    from armsim.report.sweep_map import mapped

    by_ratio = template.variations(["reduction=40:120:5:log", "arm.payload.mass=2kg:8kg:4"])
    with house_style():
        (axes,) = mapped(replace(two, variations=by_ratio)).figure.axes
    assert (axes.get_xscale(), axes.get_yscale()) == ("log", "linear")


@pytest.mark.parametrize("turned", [False, True])
def test_a_key_of_words_gives_a_line_a_word_over_the_other(template, turned):
    keys = ["controller.when_off=shorted,open", "reduction=40:60:3"]
    variations = template.variations(keys[::-1] if turned else keys)
    rows = []
    for texts, numbers in grid(template, variations):
        number = next(number for number in numbers if number is not None)
        rows.append(made(texts, numbers, time=(0.02 if "open" in texts else 0.03) * number))
    found = Sweep(scenario=template.base, variations=variations, rows=tuple(rows))
    from armsim.report.drawing import house_style
    from armsim.report.sweep_figures import pictures

    with house_style():
        (picture,) = pictures(found)
    panel = picture.figure.axes[0]
    lines = {line.get_gid(): line.get_ydata().tolist() for line in panel.lines}
    assert lines["lift-time-0"] == pytest.approx([1.2, 1.5, 1.8])
    assert lines["lift-time-1"] == pytest.approx([0.8, 1.0, 1.2])
    assert {"shorted", "open"} <= {text.get_text() for text in panel.texts}
    assert "A line for each value of controller.when_off" in picture.text


def test_the_report_says_how_many_rows_were_run_exactly(two):
    from dataclasses import replace

    some = replace(two, rows=(*two.rows[:3], *(replace(row, exact=False) for row in two.rows[3:])))
    assert "run exactly: 3 of 20" in sweep_report(some, [])
    assert "Every row is followed by itself" in sweep_report(two, [])


def test_more_keys_draw_what_is_traded(template):
    variations = template.variations(
        ["reduction=40,50", "arm.payload.mass=2kg,3kg", "controller.when_off=shorted,open"]
    )
    rows = tuple(
        made(texts, numbers, time=1.0 + 0.1 * k, amps=20.0 - k)
        for k, (texts, numbers) in enumerate(grid(template, variations))
    )
    found = Sweep(scenario=template.base, variations=variations, rows=rows)
    from armsim.report.drawing import house_style
    from armsim.report.sweep_figures import pictures

    with house_style():
        (picture,) = pictures(found)
    assert picture.heading == "Time against current"
    assert "the 8 of them that no other betters" in picture.text


def test_what_is_missed_beside_a_stall_is_hatched_up_to_it():
    import numpy as np

    from armsim.report.sweep_map import _filled

    room = np.array([[0.5, -0.1, np.nan, np.nan], [0.6, 0.2, -0.3, np.nan]])
    filled = _filled(room)
    assert (filled[:, :2] == room[:, :2]).all()
    assert (filled[:, 2:] < 0.0).all()
