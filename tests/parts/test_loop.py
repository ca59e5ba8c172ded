"""Loops round two wheels against the same path drawn with many short strokes."""

import math

import numpy as np
import pytest
from scipy.spatial import ConvexHull

from armsim.parts.loop import (
    centre_distance_of,
    crossed_step,
    excess_sag,
    loop_length,
    open_step,
    sag_excess,
    straight_run,
)

WHEELS = [
    (0.0323, 0.0910, 0.410),
    (0.0910, 0.0323, 0.410),
    (0.030, 0.030, 0.3),
    (0.0222, 0.1314, 0.23),
    (0.01, 0.2, 0.2101),
]


def arc(radius, at, first, last, points=40000):
    angles = np.linspace(first, last, points)
    return np.column_stack([at + radius * np.cos(angles), radius * np.sin(angles)])


def circle(radius, at):
    return arc(radius, at, 0.0, math.tau)[:-1]


def strokes(path):
    return float(np.sum(np.hypot(*np.diff(path, axis=0).T)))


@pytest.mark.parametrize(("radius", "other", "centre"), WHEELS)
def test_an_open_loop_is_as_long_as_a_string_drawn_tight_round_both(radius, other, centre):
    points = np.vstack([circle(radius, 0.0), circle(other, centre)])
    hull = points[ConvexHull(points).vertices]
    drawn = strokes(np.vstack([hull, hull[:1]]))
    assert loop_length(radius + other, open_step(radius, other), centre) == pytest.approx(drawn, rel=1e-8)


@pytest.mark.parametrize(
    ("radius", "other", "centre"), [(0.0115, 0.0335, 0.15), (0.04, 0.04, 0.0801), (0.05, 0.02, 0.6)]
)
def test_a_crossed_loop_is_as_long_as_its_arcs_and_the_lines_that_touch_them(radius, other, centre):
    def leans(angle):  # of a line from one circle to the far side of the other, against the radius where it leaves
        out = np.array([math.cos(angle), math.sin(angle)])
        return float((np.array([centre, 0.0]) - other * out - radius * out) @ out)

    low, high = 0.0, math.pi / 2.0
    for _ in range(100):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if leans(middle) > 0.0 else (low, middle)
    near = arc(radius, 0.0, low, math.tau - low)  # from the upper line behind the wheel to the lower one,
    far = arc(other, centre, math.pi - low, low - math.pi)  # which comes up at the far wheel, and round it back
    drawn = strokes(np.vstack([near, far, near[:1]]))
    assert loop_length(radius + other, crossed_step(radius, other), centre) == pytest.approx(drawn, rel=1e-8)


@pytest.mark.parametrize(("radius", "other", "centre"), WHEELS)
@pytest.mark.parametrize("step_of", [open_step, crossed_step])
def test_the_centre_distance_of_a_length_gives_that_length_back(radius, other, centre, step_of):
    step = step_of(radius, other)
    length = loop_length(radius + other, step, centre)
    assert centre_distance_of(radius + other, step, length) == pytest.approx(centre, rel=1e-9)


def test_a_straight_run_is_the_leg_of_a_right_triangle():
    assert straight_run(0.3, 0.5) == pytest.approx(0.4, rel=1e-12)


@pytest.mark.parametrize(("radius", "other"), [(0.05, 0.05), (0.05, 0.2)])
def test_a_loop_that_does_not_go_round_is_refused(radius, other):
    with pytest.raises(ValueError, match="too short"):
        centre_distance_of(radius + other, open_step(radius, other), math.pi * (radius + other) - 1e-6)


def test_a_sagging_strand_is_as_long_as_its_parabola():
    span, sag = 0.3, 0.006
    x = np.linspace(-span / 2.0, span / 2.0, 20001)
    drawn = strokes(np.column_stack([x, 4.0 * sag * (x / span) ** 2])) - span
    assert sag_excess(span, sag) == pytest.approx(drawn, rel=2e-3)  # the law drops terms of (sag/span)^4
    assert sag_excess(span, sag) * 1e3 == pytest.approx(0.32, abs=5e-7)
    assert excess_sag(span, sag_excess(span, sag)) == pytest.approx(sag, rel=1e-12)
