"""Answers from columns read chunk by chunk are those of the whole columns in memory, by NumPy or pair by pair."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from armsim.studies.engine import Store
from armsim.studies.engine.collect import best, counts, non_dominated, quantiles, unbeaten
from tests.studies.engine.work import plan

GENERATOR = np.random.default_rng(7)
NORMAL = GENERATOR.normal(size=1000)
SHARES = [0.0, 0.05, 0.25, 0.5, 0.951, 1.0]


class Kept(Store):
    """A store of columns in memory, in chunks of 7 rows."""

    def __init__(self, **columns):
        self.columns = {name: np.asarray(column) for name, column in columns.items()}
        count = len(next(iter(self.columns.values())))
        super().__init__(None, plan(count=count, chunk=7))
        self.finished = set(range(self.plan.chunks))

    def chunks(self, names=None):
        for chunk in sorted(self.finished):
            start, stop = self.plan.span(chunk)
            yield {name: self.columns[name][start:stop] for name in names or self.columns}


COLUMNS = {
    "normal": NORMAL,
    "all the same": np.full(100, -2.5),
    "few values": GENERATOR.integers(-2, 3, size=501).astype(float),
    "nearly alike": 1.0 + np.arange(300) * 2.0**-52,
    "with infinities": np.concatenate([NORMAL[:50], [np.inf, -np.inf, 0.0, -0.0]]),
    "one": np.array([3.0]),
    "true or false": NORMAL > 0.3,
}


@pytest.mark.parametrize("name", COLUMNS)
def test_quantiles_are_exact(name):
    found = quantiles(Kept(x=COLUMNS[name]), "x", SHARES[1:-1] if "inf" in name else SHARES)
    expected = np.quantile(COLUMNS[name].astype(float), SHARES[1:-1] if "inf" in name else SHARES)
    np.testing.assert_allclose(found, expected, rtol=4e-16)


@given(arrays(float, st.integers(1, 40), elements=st.floats(-1e300, 1e300)), st.floats(0, 1))
def test_quantiles_are_exact_of_any_column(column, share):
    assert quantiles(Kept(x=column), "x", [share])[0] == pytest.approx(
        np.quantile(column, share), rel=1e-12, abs=1e-300
    )


def test_what_is_not_known_does_not_count():
    column = np.where(np.arange(1000) % 3 == 0, np.nan, NORMAL)
    assert quantiles(Kept(x=column), "x", SHARES) == pytest.approx(np.nanquantile(column, SHARES))
    assert np.isnan(quantiles(Kept(x=[np.nan, np.nan]), "x", [0.5])[0])
    assert counts(Kept(x=[1.0, np.nan, 1.0, 0.0]), "x") == {1.0: 2, 0.0: 1}
    rows, columns = best(Kept(x=[np.nan, 2.0, np.nan, 1.0]), "x", 3)
    assert (list(rows), list(columns["x"])) == ([3, 1], [1.0, 2.0])


def test_values_are_counted_over_all_chunks():
    assert counts(Kept(x=np.arange(100) % 3 == 0), "x") == {0.0: 66, 1.0: 34}


@pytest.mark.parametrize("largest", [False, True])
def test_best_rows_come_with_all_their_columns(largest):
    rows, columns = best(Kept(x=NORMAL, y=NORMAL**2), "x", 20, largest=largest)
    expected = np.argsort(-NORMAL if largest else NORMAL)[:20]
    np.testing.assert_array_equal(rows, expected)
    np.testing.assert_array_equal(columns["y"], NORMAL[expected] ** 2)


def test_of_equally_good_rows_the_first_are_kept():
    rows, _ = best(Kept(x=np.zeros(30)), "x", 3)
    assert list(rows) == [0, 1, 2]


def beats(a, b):
    return bool((a <= b).all() and (a < b).any())


@given(arrays(float, st.tuples(st.integers(1, 30), st.integers(1, 3)), elements=st.sampled_from([0.0, 1.0, 2.0, 3.0])))
def test_a_row_stays_when_no_other_beats_it(costs):
    assert list(unbeaten(costs)) == [not any(beats(other, cost) for other in costs) for cost in costs]


def test_the_unbeaten_of_all_chunks_are_the_unbeaten_of_the_whole():
    time, mass = GENERATOR.normal(size=(2, 1000))
    time[5] = np.nan
    met = NORMAL > 0.0
    rows, columns = non_dominated(Kept(time=time, mass=mass, met=met), ["time"], ["mass"], among="met")
    costs = np.column_stack([time, -mass])
    usable = np.flatnonzero(met & ~np.isnan(time))
    expected = [k for k in usable if not any(beats(costs[other], costs[k]) for other in usable)]
    assert list(rows) == expected
    np.testing.assert_array_equal(columns["mass"], mass[expected])
