"""Labels keep clear of one another and of lines."""

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from armsim.report.placing import GAP, Box, beside_curve, best, rows_of_flags, trace

PANEL = (400.0, 100.0)


def test_a_label_stays_inside_the_panel_though_its_curve_runs_along_the_top():
    curve = trace(np.linspace(0.0, 400.0, 50), np.full(50, 99.0))
    box = best(beside_curve(curve, 60.0, 13.0), panel=PANEL, curves=[curve], verticals=[], taken=[], own=curve)
    assert box.left >= 0.0
    assert box.right <= 400.0
    assert box.bottom >= 0.0
    assert box.top <= 99.0  # below its line, not on it


def test_a_label_goes_where_no_curve_runs_when_there_is_such_a_place():
    x = np.linspace(0.0, 400.0, 200)
    busy = trace(x, np.where(x < 300.0, 50.0 + 40.0 * np.sin(x), 10.0))
    box = best(beside_curve(busy, 60.0, 13.0), panel=PANEL, curves=[busy], verticals=[], taken=[], own=busy)
    inside = (busy[:, 0] > box.left) & (busy[:, 0] < box.right) & (busy[:, 1] > box.bottom) & (busy[:, 1] < box.top)
    assert not inside.any()


def test_two_labels_of_one_curve_do_not_touch():
    curve = trace(np.linspace(0.0, 400.0, 50), np.full(50, 50.0))
    first = best(beside_curve(curve, 60.0, 13.0), panel=PANEL, curves=[curve], verticals=[], taken=[], own=curve)
    second = best(beside_curve(curve, 60.0, 13.0), panel=PANEL, curves=[curve], verticals=[], taken=[first], own=curve)
    assert not first.overlaps(second)


def test_a_trace_follows_a_jump_and_leaves_out_what_is_not_known():
    points = trace(np.array([0.0, 10.0, 10.0, 20.0, 30.0]), np.array([0.0, 0.0, 100.0, 100.0, np.nan]))
    assert points[:, 0].max() == pytest.approx(20.0)
    assert ((points[:, 0] == 10.0) & (points[:, 1] > 40.0) & (points[:, 1] < 60.0)).any()


def touching(positions, widths, flags):
    boxes = [Box(f.left, -f.row, f.left + w, -f.row + 1.0) for f, w in zip(flags, widths, strict=True)]
    return [pair for pair in itertools.combinations(range(len(flags)), 2) if boxes[pair[0]].overlaps(boxes[pair[1]])]


def crossed(positions, widths, flags):
    """Pairs in which the line of the first, which runs down from its label, passes through the second."""
    return [
        (j, k)
        for j, k in itertools.permutations(range(len(flags)), 2)
        if flags[j].row < flags[k].row and flags[k].left < positions[j] < flags[k].left + widths[k]
    ]


@given(st.lists(st.tuples(st.floats(0.0, 500.0), st.floats(20.0, 160.0)), min_size=1, max_size=9))
def test_event_labels_never_touch_nor_leave_the_panel(labels):
    positions, widths = [p for p, _ in labels], [w for _, w in labels]
    flags = rows_of_flags(positions, widths, 500.0)
    assert touching(positions, widths, flags) == []
    assert all(0.0 <= flag.left <= 500.0 - width for flag, width in zip(flags, widths, strict=True))


@given(st.lists(st.floats(0.0, 340.0), min_size=1, max_size=9), st.booleans())
def test_no_line_crosses_a_label_where_all_can_stand_on_one_side(places, mirrored):
    positions = [500.0 - p if mirrored else p for p in places]
    widths = [150.0] * len(positions)
    assert crossed(positions, widths, rows_of_flags(positions, widths, 500.0)) == []


@pytest.mark.parametrize("positions", [[170.0, 334.0, 334.0], [10.0, 480.0], [300.0, 350.0], [5.0, 8.0, 490.0, 495.0]])
def test_no_line_crosses_a_label_in_cases_that_once_did(positions):
    widths = [160.0] * len(positions)
    assert crossed(positions, widths, rows_of_flags(positions, widths, 500.0)) == []


def test_event_labels_that_would_leave_the_panel_stand_left_of_their_line():
    (flag,) = rows_of_flags([480.0], [100.0], 500.0)
    assert flag.left + 100.0 + GAP == pytest.approx(480.0)
