"""Figures by their structure: labels, limits, events, and everything inside its axes. No pixels are compared."""

import io
import itertools
import math
import re
from dataclasses import replace

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.colors import rgb_to_hsv, to_hex, to_rgb
from matplotlib.text import Text

from armsim.dynamics.run import Kind
from armsim.parts.motor import steady_point
from armsim.report import figures
from armsim.report.drawing import GREY, PENS, house_style, of_words, thin
from armsim.report.figures import pictures
from armsim.report.layout import stack
from armsim.report.motor_figure import steady_curves
from armsim.report.schematic_parts import INK
from tests.machines import MOTOR
from tests.report import sample
from tests.report.audit import LEAST, contrast


def drawn(case):
    with house_style():
        return {picture.name: picture for picture in pictures(case()[1])}


@pytest.fixture(scope="module")
def lifted():
    return drawn(sample.lifting)


@pytest.fixture(scope="module")
def stalled():
    return drawn(sample.stalling)


@pytest.fixture(scope="module", params=["lifting", "stalling", "looped", "repeated", "checked", "sprung", "thrown"])
def every(request):
    return drawn(getattr(sample, request.param))


def panels(picture):
    return [axes for axes in picture.figure.axes if axes.get_gid() != "events" and axes.axison]


def named(picture, gid):
    return [line for axes in picture.figure.axes for line in axes.lines if line.get_gid() == gid]


def test_a_run_gives_all_nine_figures_and_a_check_only_the_torques(lifted):
    curves = ["motion", "currents", "trips", "temperatures", "torques", "motor"]
    assert list(lifted) == [*curves, "schematic", "energy", "power-loss"]
    assert list(drawn(sample.checked)) == ["torques"]


def test_no_thermal_data_means_no_temperature_figure(stalled):
    assert "temperatures" not in stalled


def test_every_axis_names_its_quantity_and_unit(every):
    for picture in every.values():
        axes = panels(picture)
        if picture.name == "schematic":
            assert not axes  # a drawing with a scale of its own
            continue
        assert re.search(r"\(.+\)$", axes[-1].get_xlabel())
        if picture.name != "energy":
            assert all(re.search(r"\(.+\)$", a.get_ylabel()) for a in axes)


def test_curves_hold_the_series_of_the_run(lifted):
    run = sample.lifting()[1].run
    (line,) = named(lifted["motion"], "angle")
    assert np.interp(0.4, line.get_xdata(), line.get_ydata()) == pytest.approx(
        math.degrees(np.interp(0.4, run.time, run.angle)), abs=0.05
    )
    (line,) = named(lifted["currents"], "motor-current")
    assert np.max(np.abs(line.get_ydata())) == pytest.approx(abs(run.peaks.motor_current.value), rel=1e-3)


def test_the_rating_is_drawn_at_the_rating(stalled):
    (line,) = named(stalled["currents"], "rating-0")
    assert set(line.get_ydata()) == {20.0}
    assert "rating 20 A" in [text.get_text() for axes in panels(stalled["currents"]) for text in axes.texts]


def test_the_undervoltage_limit_is_drawn_at_its_voltage(lifted):
    (line,) = named(lifted["currents"], "undervoltage")
    assert set(line.get_ydata()) == {16.0}


def test_the_trip_state_crosses_its_level_when_the_run_says_a_trip_is_possible(stalled):
    run = sample.stalling()[1].run
    (line,) = named(stalled["currents"], "heat-earliest")
    event = run.first(Kind.TRIP_POSSIBLE)
    x, y = np.asarray(line.get_xdata()), np.asarray(line.get_ydata())
    crossing = x[np.flatnonzero(y >= 100.0)[0]]
    assert crossing == pytest.approx(event.time, abs=0.1)


def test_event_lines_stand_at_event_times_in_every_panel(lifted):
    run = sample.lifting()[1].run
    reached = run.first(Kind.REACHED).time
    for name in ("motion", "currents", "temperatures"):
        for axes in panels(lifted[name]):
            times = [line.get_xdata()[0] for line in axes.lines if line.get_gid() == "event"]
            assert reached in times
        labels = [t.get_text() for t in lifted[name].figure.findobj() if getattr(t, "get_gid", str)() == "event-label"]
        assert sum(label.startswith("reached") for label in labels) == 1


def test_repeated_events_are_named_once_with_their_count(stalled):
    run = sample.stalling()[1].run
    count = sum(event.kind is Kind.BREAKER_OPENS for event in run.events)
    labels = [t.get_text() for t in stalled["motion"].figure.findobj() if getattr(t, "get_gid", str)() == "event-label"]
    opened = [label for label in labels if label.startswith("breaker opens")]
    assert opened == [f"breaker opens 2.57 s, 1st of {count}"]


def test_words_are_as_dark_as_text_must_be(every):
    for picture in every.values():
        texts = [text for text in picture.figure.findobj(Text) if text.get_text().strip()]
        assert texts
        for text in texts:
            assert contrast(to_hex(text.get_color()), "#ffffff") >= LEAST, (picture.name, text.get_text())


def test_a_word_has_the_hue_of_what_it_names_and_is_dark_enough():
    colours = {pen["color"] for pen in PENS} | set(INK.values()) | {GREY}
    for colour in colours:
        assert contrast(of_words(colour), "#ffffff") >= LEAST
        assert rgb_to_hsv(to_rgb(of_words(colour)))[0] == pytest.approx(rgb_to_hsv(to_rgb(colour))[0], abs=0.02)


def boxes(axes, renderer, gid):
    texts = [t for t in axes.texts if t.get_gid() == gid]
    return [(t.get_text(), t.get_window_extent(renderer)) for t in texts]


def test_labels_lie_inside_their_axes_and_apart_from_one_another(every):
    for picture in every.values():
        canvas = FigureCanvasAgg(picture.figure)
        with house_style():
            canvas.draw()
        renderer = canvas.get_renderer()
        for axes in picture.figure.axes:
            frame = axes.get_window_extent(renderer)
            found = boxes(axes, renderer, "label") + boxes(axes, renderer, "event-label")
            for text, box in found:
                assert box.x0 >= frame.x0 - 1, (picture.name, text)
                assert box.x1 <= frame.x1 + 1, (picture.name, text)
                assert box.y0 >= frame.y0 - 1, (picture.name, text)
                assert box.y1 <= frame.y1 + 1, (picture.name, text)
            for (one, a), (other, b) in itertools.combinations(found, 2):
                assert not a.padded(-1).overlaps(b.padded(-1)), (picture.name, one, other)


def test_axis_labels_and_ticks_stay_on_the_page(every):
    for picture in every.values():
        canvas = FigureCanvasAgg(picture.figure)
        with house_style():
            canvas.draw()
        page = picture.figure.bbox
        for axes in picture.figure.axes:
            tight = axes.get_tightbbox(canvas.get_renderer())
            assert tight.x0 >= page.x0 - 1, picture.name
            assert tight.x1 <= page.x1 + 2, picture.name
            assert tight.y0 >= page.y0 - 1, picture.name


def test_the_same_run_gives_the_same_bytes():
    def bytes_of(kind, metadata):
        with house_style():
            out = io.BytesIO()
            figures.motion(sample.lifting()[1].run).figure.savefig(out, format=kind, metadata=metadata)
            return out.getvalue()

    assert bytes_of("svg", {"Date": None}) == bytes_of("svg", {"Date": None})
    assert bytes_of("png", {"Software": None}) == bytes_of("png", {"Software": None})


def test_motor_curves_are_the_steady_points_of_the_motor():
    curves = steady_curves(MOTOR, 24.0)
    for k in (3, 100, 300):
        speed, current = steady_point(MOTOR, 24.0, float(curves.torque[k]))
        assert curves.speed[k] == pytest.approx(speed, rel=1e-9)
        assert curves.current[k] == pytest.approx(current, rel=1e-9)
    # stall by hand: kt V/R - tc
    assert curves.torque[-1] == pytest.approx(0.07 * 24.0 / 0.5 - 0.05, rel=1e-12)


def test_the_path_of_a_slow_lift_lies_on_or_below_the_steady_speed_curve(lifted):
    (steady,), (path,) = named(lifted["motor"], "speed"), named(lifted["motor"], "speed-path")
    x, y = np.asarray(path.get_xdata()), np.asarray(path.get_ydata())
    known = np.isfinite(x) & np.isfinite(y)
    assert known.sum() > 20
    assert np.all(y[known] <= np.interp(x[known], steady.get_xdata(), steady.get_ydata()) + 1.0)


def test_energy_bars_add_up_to_what_was_supplied(lifted):
    account = sample.lifting()[1].energy
    parts = figures.energy_parts(sample.lifting()[1])
    assert sum(value for _, value in parts) == pytest.approx(account.supplied, abs=1e-4 * account.throughput)
    (axes,) = panels(lifted["energy"])
    assert [bar.get_width() for bar in axes.patches] == [value for _, value in parts]


def test_a_locking_stage_is_said_in_words_where_no_curve_could_show_it():
    case = sample.lifting()[1]
    locked = replace(case, holding=replace(case.holding, reverse_torque=None))
    with house_style():
        picture = figures.torques(locked)
    assert not named(picture, "holdable")
    assert any("any load stays up" in t.get_text() for t in picture.figure.axes[0].texts)


def test_gravity_alone_is_drawn_where_springs_carry_of_it():
    picture = drawn(sample.sprung)["torques"]
    (gravity,), (needed,) = named(picture, "gravity"), named(picture, "needed")
    angle = np.radians(np.asarray(gravity.get_xdata()))
    assert gravity.get_ydata() == pytest.approx(6.0 * 9.80665 * np.cos(angle), rel=1e-9)
    carried = 30.0 * (math.radians(110.0) - angle) - 0.9  # less the pivot's breakaway friction
    assert np.subtract(gravity.get_ydata(), needed.get_ydata()) == pytest.approx(carried, rel=1e-9)
    assert named(drawn(sample.checked)["torques"], "gravity") == []


def test_what_a_spring_throws_up_is_said_and_drawn_to_rise():
    picture = drawn(sample.thrown)["power-loss"]
    assert "the arm rises to its stop in " in picture.text
    assert "falls" not in picture.text
    (line,) = named(picture, "upper-stop")
    assert list(line.get_ydata()) == pytest.approx([80.0, 80.0])
    assert "the arm falls to its stop in " in drawn(sample.lifting)["power-loss"].text


def test_thinning_keeps_a_spike_and_both_sides_of_a_jump():
    x = np.linspace(0.0, 10.0, 60_001)
    y = np.where(x < 5.0, 45.0, 0.0)
    y[12_345] = 80.0
    y[40_000:40_100] = np.nan
    few_x, few_y = thin(x, y)
    assert few_x.size < 8_000
    assert np.nanmax(few_y) == 80.0
    assert np.interp(4.99, few_x, few_y) == 45.0
    assert np.interp(5.01, few_x, few_y) == 0.0
    assert np.isnan(few_y).any()


def test_every_sentence_carries_a_number(every):
    assert all(re.search(r"\d", picture.text) for picture in every.values())


def test_an_axis_without_width_is_given_one():
    with house_style():
        _, (panel,) = stack((1.0,), "Time (s)", (2.0, 2.0))
    assert panel.axes.get_xlim() == (2.0, 3.0)
