"""Shares with their intervals, against the exact binomial law and against studies repeated."""

import numpy as np
import pytest
from scipy import stats

from armsim.studies.sampling import points
from armsim.studies.shares import chance, interval


@pytest.mark.parametrize(("met", "count"), [(0, 20), (7, 20), (19, 20), (20, 20), (1000, 1024)])
def test_the_interval_is_that_of_the_exact_binomial_test(met, count):
    exact = stats.binomtest(met, count).proportion_ci(0.95, method="exact")
    assert interval(met, count) == pytest.approx((exact.low, exact.high))


def test_none_of_hundred_that_fail_are_no_certainty():
    low, high = interval(100, 100)
    assert high == 1.0
    assert low == pytest.approx(0.025 ** (1 / 100))  # of so many with no failure, p^100 = 2.5 %


def test_what_is_not_judged_has_no_share():
    assert np.isnan(chance("tip_speed", 0, 0).share)
    assert (chance("tip_speed", 0, 0).low, chance("tip_speed", 0, 0).high) == (0.0, 1.0)


@pytest.mark.parametrize("share", [0.02, 0.3, 0.97])
def test_the_interval_holds_the_true_share_in_at_least_its_part_of_200_repeated_studies(share):
    # of three even inputs, those whose sum of two lies below an edge: the true share by hand, (1 - (1 - s)^2 ...)
    edge = np.sqrt(2.0 * share) if share <= 0.5 else 2.0 - np.sqrt(2.0 * (1.0 - share))
    held = 0
    for seed in range(200):
        cube = points(3, seed=seed, first=0, count=256)
        low, high = interval(int(np.count_nonzero(cube[:, 0] + cube[:, 1] < edge)), 256)
        held += low <= share <= high
    # 95 % of 200 less three standard deviations of that count
    assert held >= 190 - 3 * np.sqrt(200 * 0.95 * 0.05)
