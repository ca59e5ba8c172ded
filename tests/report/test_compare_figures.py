"""Figures of a comparison by their structure: who is drawn, how told apart, and what the words beside them say."""

import itertools
import math
import re
from dataclasses import replace

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.colors import to_rgb

from armsim.report.compare_figures import MOST_NAMED, ceiling, pictures, signs_of, span
from armsim.report.drawing import house_style
from armsim.report.write import draw, in_house_style
from armsim.studies.compare import Comparison
from tests.studies.proposals import ANGLE, TIME, A, B, C, D, course, failure, proposal


def drawn(*outcomes):
    with house_style():
        return {picture.name: picture for picture in pictures(Comparison(outcomes=outcomes))}


def lines(picture, stem):
    return {
        line.get_gid().removeprefix(f"{stem}-"): line
        for axes in picture.figure.axes
        for line in axes.lines
        if (line.get_gid() or "").startswith(f"{stem}-")
    }


def texts(picture):
    return [text.get_text() for axes in picture.figure.axes for text in axes.texts]


def test_there_are_three_figures_of_arms_and_one_more_where_carriages_are_among_them():
    assert list(drawn(A, B)) == ["trade-off", "courses", "margins-arm"]
    cart = proposal("cart", lift_time=1.0, supply_current_peak=5.0, load="carriage")
    assert list(drawn(A, cart)) == ["trade-off", "courses", "margins-arm", "margins-carriage"]
    assert drawn(failure("x")) == {}
    assert "trade-off" not in drawn(A, D)  # one lift alone trades nothing


def test_each_curve_is_told_apart_without_colour():
    four = drawn(A, B, C, proposal("e", lift_time=1.5, supply_current_peak=9.0))["courses"]
    for stem in ("angle", "supply"):
        styles = {label: str(line._unscaled_dash_pattern) for label, line in lines(four, stem).items()}
        assert set(styles) == {"a", "b", "c", "e"}
        assert len(set(styles.values())) == 4
    assert {"1 a", "2 b", "3 c", "4 e"} <= set(texts(four))
    for number in "1234":  # beside the curves, in both panels
        assert texts(four).count(number) == 2


def test_a_curve_has_the_same_pen_in_every_figure_and_in_its_key():
    every = drawn(A, B, C)
    for label in "abc":
        seen = [lines(every[name], stem)[label] for name, stem in (("courses", "angle"), ("courses", "supply"))]
        seen += [lines(every["margins-arm"], "margin")[label], lines(every["courses"], "key")[label]]
        assert len({(line.get_color(), str(line._unscaled_dash_pattern)) for line in seen}) == 1


def test_pens_go_to_those_to_choose_from_first_and_the_others_are_pale_and_counted():
    many = [replace(D, label=f"d{k}") for k in range(6)]
    comparison = Comparison(outcomes=(*many, A, B))
    signs = signs_of(comparison)
    assert (signs["a"].pen, signs["b"].pen) == (0, 1)
    assert (signs["a"].number, signs["b"].number) == (7, 8)
    assert sum(sign.pen is not None for sign in signs.values()) == MOST_NAMED
    courses = drawn(*many, A, B)["courses"]
    pale = [line for line in lines(courses, "angle").values() if min(to_rgb(line.get_color())) > 0.6]
    assert len(pale) == 3
    assert courses.text.endswith("3 more are drawn thin and grey.")


def test_the_trade_off_names_each_with_its_price_and_joins_those_that_do_not_fail():
    failed = proposal("weak", "fail", lift_time=0.5, supply_current_peak=5.0, price=10.0)
    picture = drawn(A, B, C, failed)["trade-off"]
    assert {"a, price 90", "b, price 60", "c, price 60", "weak, price 10"} <= set(texts(picture))
    assert lines(picture, "point")["weak"].get_marker() == "x"
    filled = {k for k, line in lines(picture, "point").items() if line.get_markerfacecolor() == "black"}
    assert filled == {"a", "b"}
    (front,) = (line for axes in picture.figure.axes for line in axes.lines if line.get_gid() == "front")
    assert list(map(tuple, front.get_xydata())) == [(1.0, 20.0), (2.0, 20.0), (2.0, 10.0)]
    assert (
        "No other of those that do not fail is as good in both as a or b (filled, joined by the dashed line)."
        in picture.text
    )
    assert "A cross marks one that fails a requirement." in picture.text


def test_what_reads_alike_lies_on_one_line_and_looks_alike():
    near = replace(B, label="near", values=B.values | {"lift_time": 2.5, "supply_current_peak": 10.0 - 1e-9})
    picture = drawn(B, near)["trade-off"]
    assert lines(picture, "point")["near"].get_markerfacecolor() == "white"  # as thirsty as b, and later
    (axes,) = picture.figure.axes
    low, high = axes.get_ylim()
    assert high - low > 0.3
    assert [text for text in texts(picture) if "e-" in text] == []


def test_where_all_fail_no_line_is_drawn():
    both = [replace(one, verdict="fail") for one in (A, B)]
    picture = drawn(*both)["trade-off"]
    assert "filled" not in picture.text
    assert not [line for axes in picture.figure.axes for line in axes.lines if line.get_gid() == "front"]


def test_margins_far_above_leave_the_figure_to_the_others_and_are_told():
    strong = proposal("strong", course=course(margin=(ANGLE, np.full(ANGLE.size, 40.0))))
    picture = drawn(A, B, strong)["margins-arm"]
    assert set(lines(picture, "margin")) == {"a", "b", "one"}
    assert picture.text.endswith("Above the figure all the way: strong.")
    assert "strong 40" in picture.text
    assert ceiling([1.5, 3.0]) == pytest.approx(4.8)
    assert ceiling([0.2, 40.0]) == 2.0


def test_a_long_cycle_is_shown_as_far_as_its_first_lift():
    assert span([A, B]) == (3.0, True)
    long = replace(A, course=course(angle=(TIME * 20, np.minimum(TIME, 1.0))))
    until, whole = span([long, B])
    assert (until, whole) == (2.5, False)  # 1.25 times the longest lift, of 2 s
    assert "the first lift; the rest" in drawn(long, B)["courses"].text
    nothing = replace(
        A, course=course(angle=(np.zeros(1), np.zeros(1)), supply=(np.zeros(1), np.zeros(1)), lift_ends=None)
    )
    assert span([nothing]) == (1.0, True)


def test_ratings_are_drawn_once_each_and_named_when_they_are_one_s_own():
    other = replace(B, course=course(2.0, ratings=(6.0,)))
    assert "rating 10 A" in texts(drawn(A, B)["courses"])
    two = texts(drawn(A, other)["courses"])
    assert {"rating 10 A of a", "rating 6 A of b"} <= set(two)


@pytest.mark.parametrize("count", [2, 5, 9, 25])
def test_no_words_lie_on_one_another_nor_outside(count):
    many = [
        proposal(f"proposal-{k:02}", lift_time=1.0 + 0.07 * k, supply_current_peak=20.0 - 0.6 * k, price=50.0 + k)
        for k in range(count)
    ]
    for picture in drawn(*many).values():
        canvas = FigureCanvasAgg(picture.figure)
        canvas.draw()
        boxes = [
            (text.get_text(), text.get_window_extent(canvas.get_renderer()))
            for axes in picture.figure.axes
            for text in axes.texts
        ]
        width, height = canvas.get_width_height()
        for text, box in boxes:
            assert -1 <= box.x0 < box.x1 <= width + 1, text
            assert -1 <= box.y0 < box.y1 <= height + 1, text
        assert not [(a, b) for (a, one), (b, other) in itertools.combinations(boxes, 2) if hidden(one, other) > 0.2]


def hidden(one, other):
    """How much of the smaller box lies under the other; a corner of its empty margin hides no letter."""
    width = min(one.x1, other.x1) - max(one.x0, other.x0)
    height = min(one.y1, other.y1) - max(one.y0, other.y0)
    smaller = min(box.width * box.height for box in (one, other))
    return max(width, 0.0) * max(height, 0.0) / smaller


def test_the_name_of_a_point_stands_nearest_to_that_point():
    close = [replace(C, label=f"near-{k}", values=C.values | {"supply_current_peak": 11.0 + 0.7 * k}) for k in range(4)]
    picture = drawn(A, B, *close)["trade-off"]
    canvas = FigureCanvasAgg(picture.figure)
    canvas.draw()
    (axes,) = picture.figure.axes
    places = {k: axes.transData.transform(line.get_xydata()[0]) for k, line in lines(picture, "point").items()}
    for text in axes.texts:
        box = text.get_window_extent(canvas.get_renderer())
        gaps = {
            k: math.hypot(max(box.x0 - x, x - box.x1, 0.0), max(box.y0 - y, y - box.y1, 0.0))
            for k, (x, y) in places.items()
        }
        assert min(gaps, key=gaps.get) == text.get_text().split(",")[0]


def test_points_in_a_row_have_names_that_hide_none_and_lines_to_those_farther_off():
    row = [
        replace(B, label=f"p{k}-wheel", values=B.values | {"lift_time": t}) for k, t in enumerate([2, 2.03, 2.04, 2.2])
    ]
    picture = drawn(*row)["trade-off"]
    canvas = FigureCanvasAgg(picture.figure)
    canvas.draw()
    (axes,) = picture.figure.axes
    boxes = [text.get_window_extent(canvas.get_renderer()) for text in axes.texts]
    places = [axes.transData.transform(line.get_xydata()[0]) for line in lines(picture, "point").values()]
    assert len(boxes) == len(places) == 4
    assert not [1 for box in boxes for x, y in places if box.x0 < x < box.x1 and box.y0 < y < box.y1]
    leaders = [line for line in axes.lines if line.get_gid() == "leader"]
    assert leaders
    for line in leaders:  # from a point to a name
        ends = axes.transAxes.transform(line.get_xydata())
        assert min(math.dist(ends[1], place) for place in places) < 1.0
        assert min(math.hypot(max(b.x0 - ends[0][0], 0.0), max(b.y0 - ends[0][1], 0.0)) for b in boxes) < 15.0


def test_the_same_figures_are_the_same_bytes(tmp_path):
    comparison = Comparison(outcomes=(A, B, C, D))
    for name in ("one", "other"):
        (tmp_path / name).mkdir()
        draw(in_house_style(lambda: pictures(comparison)), tmp_path / name)
    files = sorted(path.name for path in (tmp_path / "one").iterdir())
    assert len(files) == 6
    for name in files:
        assert (tmp_path / "one" / name).read_bytes() == (tmp_path / "other" / name).read_bytes()
    svg = (tmp_path / "one" / "courses.svg").read_text()
    assert "<title" in svg
    assert not re.search(r"\b20\d\d-\d\d-\d\d", svg)
