"""What a reader is shown of many cycles: a few whole, else the last alone, and each sample under its own number."""

import math
from dataclasses import replace

import numpy as np
import pytest

from armsim.dynamics.run import Kind
from armsim.dynamics.trajectory import simulate
from armsim.report.drawing import house_style
from armsim.report.motor_figure import motor_curves, thinned
from armsim.report.time_figures import currents, motion, temperatures
from armsim.report.view import first_samples, kept_cycles, numbers, passes_over, view_of
from tests.report import sample


@pytest.fixture(scope="module")
def three():
    return simulate(sample.tipper(), replace(sample.REPEATED, repeat=3))


@pytest.fixture(scope="module")
def many():
    return sample.repeated()[1].run


@pytest.mark.parametrize("which", ["three", "many"])
def test_each_sample_lies_within_the_cycle_whose_number_it_carries(which, request):
    run = request.getfixturevalue(which)
    own = numbers(run)
    begun = np.array([run.cycles[k - 1].begun for k in own])
    lasts = np.array([run.cycles[k - 1].duration for k in own])
    assert np.all(run.time >= begun * (1.0 - 1e-12))
    assert np.all(run.time <= (begun + lasts) * (1.0 + 1e-12))
    assert np.all(np.diff(own) >= 0)
    for number, first in first_samples(run).items():
        # one cycle ends and the next begins in the same instant, with a sample each
        assert own[first] == number
        assert run.time[first] == pytest.approx(run.cycles[number - 1].begun, rel=1e-12)
        assert first == 0 or own[first - 1] < number


def test_three_cycles_are_shown_whole_and_more_are_not(three, many):
    assert set(numbers(three).tolist()) == {1, 2, 3}
    assert set(numbers(many).tolist()) == {1, 2, sample.REPEATS}
    assert kept_cycles(three) == ""
    assert kept_cycles(many) == "cycles 1, 2 and 200"
    assert not passes_over(three)
    assert view_of(three).run is three
    assert view_of(three).x_label == "Time (s)"
    assert passes_over(many)


def test_a_run_without_repeats_and_a_fall_are_shown_whole():
    once = sample.lifting()[1]
    for run in (once.run, once.holding.coasting.run):
        assert view_of(run).run is run
        assert kept_cycles(run) == ""
        assert set(numbers(run).tolist()) == {1}


def test_the_last_cycle_counts_time_from_its_own_beginning(many):
    view, last = view_of(many), many.cycles[-1]
    assert view.run.time[0] == pytest.approx(0.0, abs=1e-9)
    assert view.run.time[-1] == pytest.approx(last.duration, rel=1e-9)
    reached = view.run.first(Kind.REACHED)
    assert reached.time == pytest.approx(last.lift_time, rel=1e-9)
    assert view.run.winding[-1] == many.winding[-1]
    assert view.run.heat_earliest[0].size == view.run.time.size
    peaks = view.run.peaks
    assert peaks.motor_current.value == last.motor_current
    assert np.max(np.abs(view.run.motor_current)) == pytest.approx(last.motor_current, rel=1e-3)
    assert peaks.speed.value == pytest.approx(np.max(np.abs(view.run.speed)), rel=1e-3)
    assert view.x_label == "Time in cycle 200 (s)"


def test_figures_over_time_show_the_last_cycle_and_say_so(many):
    assessment, last = sample.repeated()[1], many.cycles[-1]
    with house_style():
        drawn = [motion(many), currents(many, assessment), temperatures(many, assessment)]
    for picture in drawn:
        axes = [a for a in picture.figure.axes if a.get_gid() != "events"]
        assert axes[0].get_xlim() == pytest.approx((0.0, last.duration), abs=1e-6)
        assert axes[-1].get_xlabel() == "Time in cycle 200 (s)"
        assert picture.heading.endswith(", cycle 200 of 200")
        assert "in cycle 200 of 200, which begins at 4597 s of the run" in picture.text
    assert f"after {last.lift_time:.4g} s" in drawn[0].text
    assert "gets, over all cycles, to" in drawn[1].text
    assert f"gets to {last.winding:.4g} degC" in drawn[2].text


def test_a_cycle_given_up_is_not_told_as_the_last_of_those_asked_for(many):
    lost = replace(many, events=(*many.events, replace(many.events[-1], kind=Kind.GIVEN_UP)))
    assert view_of(lost).title_end == ", cycle 200, the last begun"


def test_a_path_loses_only_points_that_do_not_show():
    across = np.concatenate([np.linspace(0.0, 1.0, 5001), [np.nan], np.linspace(2.0, 3.0, 5001)])
    up = across**2
    fewer, higher = thinned(across, up)
    assert 100 < fewer.size < 1500
    assert np.isnan(fewer).sum() == 1
    assert (fewer[0], higher[0]) == (0.0, 0.0)
    known = np.isfinite(fewer)
    # every point left out lies near one kept
    apart = np.abs(across[:, None] - fewer[None, known]).min(axis=1)
    assert np.nanmax(apart) < 3.0 * 6e-3


def test_the_motor_path_has_no_line_across_cycles_left_out(many, monkeypatch):
    monkeypatch.setattr("armsim.report.motor_figure.thinned", lambda across, up: (across, up))
    with house_style():
        picture = motor_curves(many)
    (path,) = (line for line in picture.figure.axes[0].lines if line.get_gid() == "speed-path")
    own, speed = numbers(many), np.asarray(path.get_ydata())
    assert np.isnan(speed[np.flatnonzero(np.diff(own)) + 1]).all()
    assert "the path of cycles 1, 2 and 200 while" in picture.text
    fastest = math.degrees(max(many.speed)) / 360.0 * 60.0 * many.machine.reduction
    assert np.nanmax(speed) <= fastest * (1.0 + 1e-9)
