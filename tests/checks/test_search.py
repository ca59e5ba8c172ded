"""Bisection and thirds against roots and tops known in closed form."""

import math

import pytest

from armsim.checks.search import narrowed, top


@pytest.mark.parametrize(("good", "bad"), [(0.0, 10.0), (10.0, 0.0)])
def test_what_holds_is_parted_from_what_does_not_at_the_root(good: float, bad: float) -> None:
    root = math.sqrt(2.0)
    last, first = narrowed(lambda x: (x < root) == (good < root), good, bad, 1e-12)
    assert last == pytest.approx(root, rel=1e-11)
    assert (last < root) == (good < root)
    assert (first < root) == (bad < root)


def test_the_top_is_where_the_slope_is_nothing() -> None:
    assert top(math.sin, 0.0, 3.0, 1e-7) == pytest.approx(math.pi / 2.0, abs=1e-7)
    assert top(lambda x: x, 0.0, 3.0, 1e-7) == pytest.approx(3.0, abs=1e-7)
