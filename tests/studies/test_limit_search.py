"""Searches against limits that are known: what they find, and how few values they need."""

import math

import pytest

from armsim.studies.levers import Lever
from armsim.studies.limit_search import Search, Verdict, steps


def lever(now=1.0, easiest=0.0, hardest=64.0):
    place = {"now": now, "easiest": easiest, "hardest": hardest}
    return Lever(key="key", what="it", dimension="mass", changed=lambda _: (None, None), **place)


def searched(judged, at_rest=(), strength=None, asked=None, **of_lever):
    """What a search finds, and the values it had judged."""
    search = Search(lever=lever(**of_lever), strength=strength or (lambda _: math.inf), asked=asked, at_rest=at_rest)
    tried, asking = [], search.found()
    try:
        wanted = next(asking)
        while True:
            tried += wanted
            wanted = asking.send({value: judged(value) for value in wanted})
    except StopIteration as ended:
        return ended.value, tried


def unmeasured(limit):
    return lambda value: Verdict(binding=() if value <= limit else ("lost",), margins={})


def measured(margin):
    return lambda value: Verdict(binding=() if margin(value) >= 0.0 else ("slow",), margins={"slow": margin(value)})


@pytest.mark.parametrize("limit", [0.013, 0.3, 0.99, 1.001, 7.7, 63.9])
def test_what_has_no_measure_is_halved(limit):
    found, tried = searched(unmeasured(limit))
    assert found.passes <= limit < found.fails
    assert found.fails - found.passes <= 1e-3 * found.fails
    assert found.exceptions == ()
    assert len(tried) == len(set(tried)) <= 5 + 7 + 17


@pytest.mark.parametrize(
    "margin",
    [lambda v: 1.0 - v / 7.7, lambda v: 1.0 - (v / 7.7) ** 3, lambda v: math.log(7.7 / max(v, 1e-9)),
     lambda v: 0.2 if v < 7.5 else 0.2 - (v - 7.5)],
)  # fmt: skip
def test_what_has_a_measure_takes_few(margin):
    found, tried = searched(measured(margin))
    assert found.passes <= 7.7 < found.fails
    assert found.fails - found.passes <= 1e-3 * found.fails
    assert len(tried) <= 18
    assert len(tried) < len(searched(unmeasured(7.7))[1])


def test_where_rest_tells_the_limit_both_sides_and_samples_are_all():
    found, tried = searched(unmeasured(7.7), at_rest=(lambda value: value < 7.7, lambda value: True))
    assert found.passes == pytest.approx(7.7, rel=1e-3)
    assert found.fails == pytest.approx(7.7, rel=1e-3)
    assert len(tried) == 3 + 5


def test_a_margin_missed_at_rest_takes_no_run_but_that_of_the_limit():
    strength, asked = (lambda value: 10.0 / max(value, 1e-9)), 2.0
    found, tried = searched(unmeasured(50.0), strength=strength, asked=asked, at_rest=(lambda v: strength(v) >= asked,))
    assert found.passes <= 5.0 < found.fails
    assert [value for value in tried if value > 5.0] == [found.fails]


def test_a_sample_that_fails_before_the_limit_begins_the_search_anew():
    def judged(value):
        return Verdict(binding=() if value <= 3.0 or 8.0 <= value <= 20.0 else ("lost",), margins={})

    found, _ = searched(judged, at_rest=(lambda value: value < 20.0,))
    assert found.passes <= 3.0 < found.fails  # the sample at a third of 20 fails
    assert any(not binding and 8.0 <= value <= 20.0 for value, binding in found.exceptions)


def test_steps_go_outward_twice_as_far_each_and_end_at_the_end():
    assert list(steps(4.0, 20.0)) == [5.0, 6.0, 8.0, 12.0, 20.0]
    assert list(steps(1.0, 0.0)) == [0.75, 0.5, 0.0]
    assert list(steps(3.0, 3.0)) == []
