"""Shares of variance against a function whose shares are known in closed form."""

import numpy as np
import pytest
from scipy.stats import sobol_indices

from armsim.studies.sampling import points
from armsim.studies.sensitivity import influences, shares, standard_errors


def mixtures(function, inputs, count):
    """Values of a function of the unit cube at both samples and at the mixtures."""
    both = points(inputs, seed=2, first=0, count=count)
    own, other = both[:, :inputs], both[:, inputs:]
    rows = [function(own), function(other)]
    for k in range(inputs):
        mixed = own.copy()
        mixed[:, k] = other[:, k]
        rows.append(function(mixed))
    return np.array(rows)


def ishigami(cube, a=7.0, b=0.1):
    x = np.pi * (2.0 * cube - 1.0)
    return np.sin(x[:, 0]) + a * np.sin(x[:, 1]) ** 2 + b * x[:, 2] ** 4 * np.sin(x[:, 0])


def test_the_function_of_ishigami_and_homma():
    # Ishigami and Homma 1990: V1 = (1 + b pi^4/5)^2/2, V2 = a^2/8, V13 = 8 b^2 pi^8/225
    a, b = 7.0, 0.1
    alone = np.array([0.5 * (1.0 + b * np.pi**4 / 5.0) ** 2, a**2 / 8.0, 0.0])
    pair = b**2 * np.pi**8 * 8.0 / 225.0
    whole = alone.sum() + pair
    first, total = shares(mixtures(ishigami, 3, 8192))
    assert first == pytest.approx(alone / whole, abs=0.01)
    assert total == pytest.approx((alone + np.array([pair, 0.0, pair])) / whole, abs=0.01)


def test_scipy_finds_the_same_shares():
    rows = mixtures(ishigami, 3, 256)
    theirs = sobol_indices(func={"f_A": rows[:1], "f_B": rows[1:2], "f_AB": rows[2:, None, :]}, n=256)
    first, total = shares(rows)
    assert first == pytest.approx(theirs.first_order.ravel())
    assert total == pytest.approx(theirs.total_order.ravel())


def test_standard_errors_are_the_scatter_of_repeated_studies():
    chooser = np.random.default_rng(5)
    totals, errors = [], []
    for _ in range(200):
        own, other = chooser.random((2, 256, 2))
        mixed = [np.column_stack([other[:, 0], own[:, 1]]), np.column_stack([own[:, 0], other[:, 1]])]
        rows = np.array([3.0 * x[:, 0] + x[:, 1] ** 2 for x in (own, other, *mixed)])
        totals.append(shares(rows)[1])
        errors.append(standard_errors(rows, totals[-1]))
    # of 200 the scatter itself is known to 5 %, so 3 of these
    assert np.mean(errors, axis=0) == pytest.approx(np.std(totals, axis=0), rel=0.15)


def columns(rows, **more):
    """Blocks as a study has them, with one measure."""
    none = np.full(rows.shape[1], np.nan)
    plain = dict.fromkeys(("supply_current", "motor_current", "winding", "static_margin"), none)
    reached = np.isfinite(rows)
    return [
        {**plain, "lift_time": row, "reached": arrived.astype(float), "failed": np.zeros(row.size), **more}
        for row, arrived in zip(rows, reached, strict=True)
    ]


def test_a_sum_shares_by_the_squares_of_its_factors():
    rows = mixtures(lambda cube: 5.0 + 3.0 * cube[:, 0] + 1.0 * cube[:, 1], 2, 1024)
    (found,) = influences(columns(rows))
    assert found.name == "lift_time"
    assert found.first == pytest.approx((0.9, 0.1), abs=0.02)
    assert found.total == pytest.approx((0.9, 0.1), abs=0.02)
    assert max(found.error) < 0.05


def test_lifts_that_never_arrive_count_as_endlessly_slow():
    def late(cube):
        times = 1.0 + cube[:, 0]
        return np.where(cube[:, 1] < 0.2, np.nan, times)

    (found,) = influences(columns(mixtures(late, 2, 4096)))
    assert found.name == "lift_rate"
    # one over the time: mean m and mean square q of 1/(1 + x) over x in 0..1 are ln 2 and 1/2, times 0.8 arrive
    m, q, p = np.log(2.0), 0.5, 0.8
    whole = p * q - (p * m) ** 2
    assert found.first == pytest.approx((p**2 * (q - m**2) / whole, p * (1 - p) * m**2 / whole), abs=0.02)


def test_what_does_not_move_is_left_out():
    assert influences(columns(np.full((4, 64), 2.0))) == ()
