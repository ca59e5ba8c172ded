"""How the position loop kept to its references: in the result, in words, in the figure and in the series."""

import csv
import io
import math
from dataclasses import replace

import numpy as np
import pytest

from armsim.report.contract import as_json
from armsim.report.drawing import house_style
from armsim.report.loop import fine, loop_rows, loop_section
from armsim.report.series import series
from armsim.report.time_figures import motion
from tests.report import sample

KEYS = (
    "name begun_s ended_s target_deg reference_ends_s tracking_error_deg overshoot_deg settling_time_s "
    "steady_error_deg limited"
)
WAY, SPEED, RATE = math.radians(80.0), 1.0, 3.0  # from -10 to 70 deg, as the sample asks for
LASTS = WAY / SPEED + SPEED / RATE


def trapezoid(time):
    """The angle asked for so long after the lift begins, by hand. [rad]"""
    early, late = np.minimum(time, LASTS / 2.0), np.maximum(LASTS - np.minimum(time, LASTS), 0.0)
    ramp = SPEED / RATE

    def way(t):
        return np.where(t < ramp, 0.5 * RATE * t * t, SPEED * (t - 0.5 * ramp))

    return math.radians(-10.0) + np.where(time < LASTS / 2.0, way(early), WAY - way(late))


@pytest.fixture(scope="module")
def told():
    return as_json(*sample.looped())["position_loop"]


def test_each_track_carries_every_key_and_there_are_none_without_a_loop(told):
    assert [t["name"] for t in told] == ["hold", "lift", "lower"]
    of_an_arm = set(KEYS.split())
    assert all(of_an_arm <= set(t) for t in told)
    # the rest are lengths, of a carriage alone
    assert all(value is None for t in told for key, value in t.items() if key not in of_an_arm)
    assert as_json(*sample.stalling())["position_loop"] == []
    assert as_json(*sample.checked())["position_loop"] == []


def test_a_lift_is_judged_against_its_profile(told):
    run, lift = sample.looped()[1].run, told[1]
    assert lift["reference_ends_s"] - lift["begun_s"] == pytest.approx(LASTS, rel=1e-8)
    assert lift["target_deg"] == pytest.approx(70.0, abs=1e-9)
    # the hold of 1 s at the same target goes on with the same track
    assert lift["ended_s"] - lift["reference_ends_s"] == pytest.approx(1.0, abs=1e-6)
    since = run.time - lift["begun_s"]
    moving = (since > 0.0) & (since <= LASTS)
    farthest = np.max(np.abs(trapezoid(since[moving]) - run.angle[moving]))
    assert lift["tracking_error_deg"] == pytest.approx(math.degrees(farthest), rel=1e-5)


def test_a_hold_has_no_tracking_error_and_its_overshoot_is_the_farthest_it_goes(told):
    run, hold = sample.looped()[1].run, told[0]
    during = (run.time >= hold["begun_s"]) & (run.time <= hold["ended_s"])
    assert hold["tracking_error_deg"] is None
    assert hold["overshoot_deg"] == pytest.approx(math.degrees(run.angle[during].max()) + 10.0, rel=1e-6)
    assert hold["overshoot_deg"] > 0.5
    assert hold["limited"] is False


def test_what_was_asked_for_is_drawn_over_the_angle_and_only_where_a_loop_is_at_work():
    with house_style():
        picture = motion(sample.looped()[1].run)
        without = motion(sample.stalling()[1].run)
    lines = {line.get_gid(): line for line in picture.figure.axes[0].lines}
    x, y = (np.asarray(part) for part in lines["reference"].get_data())
    begun = sample.looped()[1].run.tracks[1].begun
    # half way in time is half way in angle
    assert np.interp(begun + LASTS / 2.0, x, y) == pytest.approx(30.0, abs=0.01)
    assert np.isnan(y[x < 0.4]).all()
    assert lines["reference"].get_linewidth() < lines["angle"].get_linewidth()
    assert "asked for" in [text.get_text() for text in picture.figure.axes[0].texts]
    worst = max(track.tracking_error or 0.0 for track in sample.looped()[1].run.tracks)
    assert f"off it by {math.degrees(worst):.3g} deg at most" in picture.text
    assert "reference" not in [line.get_gid() for line in without.figure.axes[0].lines]
    assert "dashed" not in without.text


def test_the_worst_of_all_tracks_takes_one_line():
    run = sample.looped()[1].run
    (row,) = loop_rows(run)
    off, past, left = (
        math.degrees(max(abs(pick(track) or 0.0) for track in run.tracks))
        for pick in (lambda t: t.tracking_error, lambda t: t.overshoot, lambda t: t.steady_error)
    )
    assert row.value.startswith(f"up to {off:.3g} deg off on the way, {past:.3g} deg past the target, {left:.3g} deg")
    assert row.value.endswith(" off at the end")
    (row,) = loop_rows(replace(run, tracks=(replace(run.tracks[0], limited=True),)))
    assert row.value.endswith(" off at the end; at its limits")
    assert loop_rows(sample.stalling()[1].run) == loop_rows(None) == []


def test_the_section_is_a_table_with_every_column_told():
    opening, rows, columns = loop_section(sample.looped()[1].run)
    assert "(" not in opening  # nothing left out
    cells = [[cell.strip() for cell in line.split("|")[1:-1]] for line in rows.splitlines()]
    assert [row[1] for row in cells[2:]] == ["hold", "lift", "lower"]
    assert cells[2][2:5] == ["-10 deg", "-", f"{math.degrees(sample.looped()[1].run.tracks[0].overshoot):.3g} deg"]
    for name in cells[0][3:]:
        assert f"- {name.capitalize()}: " in columns
    assert loop_section(sample.stalling()[1].run) == loop_section(None) == []


def test_a_loop_that_does_not_settle_is_told_so():
    run = sample.looped()[1].run
    lost = replace(run, tracks=(replace(run.tracks[1], settling_time=None),))
    assert "| not settled |" in loop_section(lost)[1]


@pytest.mark.parametrize(
    ("degrees", "words"), [(0.0, "0 deg"), (8.7e-5, "under 0.001 deg"), (-9e-4, "under 0.001 deg"), (-1.5, "-1.5 deg")]
)
def test_angles_too_small_to_matter_are_not_spelt_out(degrees, words):
    assert fine(math.radians(degrees)) == words


def test_the_series_has_what_was_asked_for():
    rows = list(csv.DictReader(io.StringIO(series(sample.looped()[1].run))))
    assert rows[0]["angle asked for (deg)"] == ""
    assert float(rows[-1]["angle asked for (deg)"]) == pytest.approx(-30.0, abs=1e-6)
    assert "angle asked for (deg)" not in series(sample.stalling()[1].run).splitlines()[0]
