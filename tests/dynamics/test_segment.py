"""Watching a step: no dip of a margin goes unseen."""

from armsim.dynamics.segment import dips


def margins(function) -> tuple[list[float], list[float], list[float]]:
    return [function(0.0)], [function(0.5)], [function(1.0)]


def test_a_margin_that_dips_between_the_looks_is_seen() -> None:
    assert dips(*margins(lambda x: (x - 0.25) ** 2 - 0.01))
    assert dips(*margins(lambda x: (x - 0.8) ** 2 - 0.001))


def test_a_margin_that_stays_above_zero_is_left_alone() -> None:
    assert not dips(*margins(lambda x: (x - 0.25) ** 2 + 0.01))
    assert not dips(*margins(lambda x: 1.0 - 0.9 * x))
    assert not dips(*margins(lambda x: 0.3 + x * (1.0 - x)))
