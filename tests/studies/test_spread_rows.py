"""What is read portion by portion is what whole columns tell."""

import numpy as np
import pytest

from armsim.studies.engine.collect import quantiles
from armsim.studies.sensitivity import NEEDED
from armsim.studies.spread import sampling_of
from armsim.studies.spread_rows import Held, Points, kept, mixtures, tally
from tests.scenario import texts

COUNT = 1000


@pytest.fixture(scope="module")
def question():
    read = texts.read(
        uncertainty="{payload: 20 %}", requirements="{static_margin: {min: 1.5}, lift_time: {max: 1.8 s}}"
    )
    return sampling_of(read, count=16).question


@pytest.fixture(scope="module")
def columns(question):
    chooser = np.random.default_rng(3)
    made = {name: chooser.normal(2.0, 1.0, COUNT) for name in question.columns}
    made["reached"] = (chooser.random(COUNT) < 0.9).astype(float)
    made["failed"] = (chooser.random(COUNT) < 0.02).astype(float)
    made["lift_time"] = np.where(made["reached"] > 0.0, made["lift_time"], np.nan)
    made["winding"] = np.full(COUNT, np.inf)
    return made


def points(question, columns, size, lacking=(), count=COUNT):
    starts = [first for first in range(0, COUNT, size) if first not in lacking]
    parts = [(first, {name: column[first : first + size] for name, column in columns.items()}) for first in starts]
    return Points(rows=Held(reversed(parts)), count=count, question=question)


@pytest.mark.parametrize("size", [1000, 333, 7])
def test_counts_and_the_worst_are_those_of_the_whole_columns(question, columns, size):
    found = tally(points(question, columns, size))
    first, second = (columns[name] >= 0.0 for name in question.margins)
    assert found.lifting == columns["reached"].sum()
    assert found.failed == columns["failed"].sum()
    assert list(found.single.values()) == [first.sum(), second.sum()]
    assert found.together == (first & second & (columns["reached"] > 0.0)).sum()
    assert found.known["lift_time"] == columns["reached"].sum()
    assert found.known["winding"] == 0
    lost = np.flatnonzero((columns["reached"] == 0.0) & (columns["failed"] == 0.0))
    assert found.worst == lost[columns["static_margin"][lost].argmin()]


@pytest.mark.parametrize("size", [1000, 7])
def test_quantiles_are_those_of_the_points_that_have_a_value(question, columns, size):
    found = quantiles(points(question, columns, size, count=500), "lift_time", (0.05, 0.5))
    assert found == pytest.approx(np.nanquantile(columns["lift_time"][:500], (0.05, 0.5)))


def test_rows_that_are_missing_count_as_failed(question, columns):
    lacking = points(question, columns, 100, lacking=(0, 500, 900))
    found, whole = tally(lacking), tally(points(question, columns, 100))
    gone = np.r_[0:100, 500:600, 900:1000]
    assert found.failed == 300 + whole.failed - columns["failed"][gone].sum()
    assert found.lifting == whole.lifting - columns["reached"][gone].sum()
    assert sum(len(part["reached"]) for _, part in lacking.numbered()) == COUNT
    assert np.isnan(kept(lacking)["lift_time"][gone]).all()
    assert kept(lacking)["energy"][100:500] == pytest.approx(columns["energy"][100:500], rel=1e-6)


def test_mixtures_are_the_rows_behind_the_points(question, columns):
    for size in (1000, 64, 7):
        blocks = mixtures(points(question, columns, size).rows, count=700, base=75, inputs=3)
        assert len(blocks) == 4
        for name in NEEDED:
            expected = columns[name][700:].reshape(75, 4)
            for k, block in enumerate(blocks):
                np.testing.assert_allclose(block[name], expected[:, k], rtol=1e-6)
