"""Values of uncertain inputs against the laws they are drawn by."""

import numpy as np
import pytest
from scipy import stats

from armsim.scenario.records import Spread
from armsim.studies.sampling import below, cut_off, points, power_of_two, quantile

UNIFORM = Spread(law="uniform", low=2.0, high=6.0)
TRIANGULAR = Spread(law="triangular", low=1.0, high=5.0, centre=2.0)
NORMAL = Spread(law="normal", centre=10.0, deviation=2.0)
LAWS = [
    (UNIFORM, stats.uniform(2.0, 4.0)),
    (TRIANGULAR, stats.triang(0.25, 1.0, 4.0)),
    (NORMAL, stats.norm(10.0, 2.0)),
]


@pytest.mark.parametrize(("spread", "law"), LAWS, ids=lambda one: getattr(one, "law", ""))
def test_values_follow_their_law(spread, law):
    shares = np.linspace(0.001, 0.999, 57)
    assert quantile(spread, shares) == pytest.approx(law.ppf(shares))
    for value in law.ppf(shares):
        assert below(spread, value) == pytest.approx(law.cdf(value))


def test_a_law_beyond_what_can_be_is_cut_and_what_is_left_keeps_its_shape():
    cut = Spread(law="normal", centre=10.0, deviation=2.0, most=11.0)
    shares = np.linspace(0.01, 0.99, 23)
    assert quantile(cut, shares) == pytest.approx(stats.truncnorm(-np.inf, 0.5, 10.0, 2.0).ppf(shares))
    assert cut_off(cut) == pytest.approx(stats.norm.sf(0.5))
    assert cut_off(UNIFORM) == 0.0


def test_no_point_makes_an_infinite_value():
    assert np.isfinite(quantile(NORMAL, np.array([0.0, 1.0]))).all()


@pytest.mark.parametrize("size", [1, 7, 16, 64])
def test_points_are_the_same_in_whatever_portions(size):
    whole = points(5, seed=3, first=0, count=128)
    parts = [points(5, seed=3, first=first, count=min(size, 128 - first)) for first in range(0, 128, size)]
    assert (np.concatenate(parts) == whole).all()
    assert (points(5, seed=4, first=0, count=128) != whole).any()


def test_every_power_of_two_of_points_fills_each_axis_evenly():
    # a net of Sobol's sequence has one point in each of n slices of every axis
    for column in points(6, seed=1, first=0, count=256).T:
        assert sorted((column * 256).astype(int)) == list(range(256))


@pytest.mark.parametrize(("asked", "taken"), [(1, 1), (2, 2), (1000, 1024), (1024, 1024), (1025, 2048)])
def test_counts_are_rounded_up_to_powers_of_two(asked, taken):
    assert power_of_two(asked) == taken
