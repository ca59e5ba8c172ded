"""Trip times and fitted trip bands against worked answers, and the shipped bands against their own tables."""

import math

import numpy as np
import pytest
from scipy.optimize import least_squares

from armsim.parts.protection import Edge, fit_errors, trip_time
from armsim.parts.trip_fit import fit_band
from tests.parts.rounded import six_digits

DEVICE = Edge(weights=(1.0,), time_constants=(40.0,), ultimate_multiple=1.25)
EARLIEST = [(1.35, 20.0), (1.5, 10.0), (2.0, 4.0), (3.0, 1.5), (4.0, 0.8), (6.0, 0.35), (10.0, 0.12)]
LATEST = [(1.35, 3600.0), (1.5, 300.0), (2.0, 60.0), (3.0, 12.0), (4.0, 5.0), (6.0, 2.0), (10.0, 0.8)]


@pytest.mark.parametrize(("amperes", "seconds"), [(60.0, 47.4249), (80.0, 19.8129), (160.0, 4.11039)])
def test_a_cold_device_of_40_amperes_trips_in_its_time(amperes, seconds):
    assert trip_time(DEVICE, amperes / 40.0) == six_digits(seconds)


def test_a_warm_device_trips_sooner_and_one_at_its_ultimate_multiple_never():
    assert trip_time(DEVICE, 2.0, start=0.8**2) == six_digits(12.8387)
    assert trip_time(DEVICE, 4.0, start=1.0) == six_digits(1.52885)
    assert trip_time(DEVICE, 1.25) == math.inf


def after(multiple, seconds, start=0.0):
    """Thermal state after a time at one multiple."""
    return multiple**2 + (start - multiple**2) * math.exp(-seconds / 40.0)


def test_the_thermal_state_carries_over_from_one_current_to_the_next():
    warm = after(1.8, 10.0)
    assert warm == six_digits(0.716685)
    assert trip_time(DEVICE, 2.5, start=warm) == six_digits(6.6355)
    assert trip_time(DEVICE, 2.5, start=after(1.0, 8.0, warm)) == six_digits(6.26252)
    assert trip_time(DEVICE, 4.0, start=after(1.3, 60.0)) == six_digits(0.685595)


def test_a_device_that_recloses_warm_trips_again_in_half_the_time():
    assert trip_time(DEVICE, 2.2) == six_digits(15.5934)
    assert trip_time(DEVICE, 2.2, start=0.6 * DEVICE.trip_level) == six_digits(6.98146)


def test_several_states_trip_where_their_sum_reaches_the_level():
    edge = Edge(weights=(0.7, 0.3), time_constants=(5.0, 400.0), ultimate_multiple=1.2)
    for multiple in (1.21, 1.5, 3.0, 12.0):
        t = trip_time(edge, multiple, start=0.3)
        left = 0.7 * math.exp(-t / 5.0) + 0.3 * math.exp(-t / 400.0)
        assert multiple**2 - (multiple**2 - 0.3) * left == pytest.approx(1.44, rel=1e-9)
    assert trip_time(edge, 1.2) == math.inf


def fitted(points, poles, ultimate=None):
    """Poles by least squares on ln t, on both sides of the points."""

    def edge(x):
        shares = np.exp(np.append(x[: poles - 1], 0.0))
        return Edge(
            weights=tuple(shares / shares.sum()),
            time_constants=tuple(np.exp(x[poles - 1 : 2 * poles - 1])),
            ultimate_multiple=x[-1] if ultimate is None else ultimate,
        )

    start = [*([1.0] * (poles - 1)), *np.log(np.geomspace(30.0, 3000.0, poles) if poles > 1 else [30.0])]
    start += [1.3] if ultimate is None else []
    most = [np.inf] * len(start)
    if ultimate is None:
        most[-1] = 1.3499  # below the lowest point
    found = least_squares(
        lambda x: np.log(fit_errors(edge(x), points)),
        start,
        bounds=([-np.inf] * len(start), most),
        xtol=1e-14,
        ftol=1e-14,
    )
    return edge(found.x)


def test_one_state_follows_the_earliest_edge():
    edge = fitted(EARLIEST, 1)
    assert edge.time_constants[0] == pytest.approx(7.0685, rel=1e-5)
    assert edge.ultimate_multiple == pytest.approx(1.30922, rel=1e-5)
    worked = (0.997247, 1.01408, 0.988728, 0.995606, 1.00118, 0.985213, 1.0184)
    assert fit_errors(edge, EARLIEST) == pytest.approx(worked, rel=1e-5)


def test_one_state_cannot_follow_the_latest_edge():
    edge = fitted(LATEST, 1)
    assert edge.ultimate_multiple == pytest.approx(1.3499, abs=1e-6)  # as far up as it may
    assert edge.time_constants[0] == pytest.approx(82.8301, rel=1e-4)
    worked = (0.202872, 0.458354, 0.839336, 1.5616, 2.00306, 2.15124, 1.9041)
    assert fit_errors(edge, LATEST) == pytest.approx(worked, rel=1e-3)


def test_two_states_follow_it_better():
    edge = fitted(LATEST, 2, ultimate=1.3)
    assert edge.weights[0] == pytest.approx(0.721103, abs=1e-5)
    assert edge.time_constants == pytest.approx((38.8621, 2650.13), rel=1e-4)
    worked = (0.989728, 1.01568, 0.563435, 0.969489, 1.22291, 1.30015, 1.14538)
    assert fit_errors(edge, LATEST) == pytest.approx(worked, rel=1e-4)


def test_a_band_never_promises_more_than_its_table():
    rows = [(1.0, 3600.0, math.inf)]
    rows += [(m, t, latest) for (m, t), (_, latest) in zip(EARLIEST, LATEST, strict=True)]
    earliest, latest = fit_band(rows)
    assert trip_time(earliest, 1.0) == math.inf  # it holds its rating
    assert trip_time(earliest, 1.2) < 200.0  # it may open above its rating; 154 s straight in logarithms
    assert trip_time(latest, 1.34) == math.inf  # below the lowest must-trip nothing is certain
    assert max(fit_errors(earliest, EARLIEST)) <= 1.0 + 1e-9
    assert min(fit_errors(latest, LATEST)) >= 1.0 - 1e-9
    assert min(fit_errors(earliest, EARLIEST)) > 0.9
    assert max(fit_errors(latest, LATEST)) < 1.12


def rises(edge):
    """Whether the answer to a step of current rises all the way, to a ten-thousandth of it."""
    times = np.geomspace(1e-4 * min(edge.time_constants), 30.0 * max(edge.time_constants), 2000)
    left = np.exp(-times[:, None] / np.array(edge.time_constants)) @ np.array(edge.weights)
    steps = -np.diff(left)
    return bool(-steps[steps < 0.0].sum() < 1e-4)


TABLES = [
    [(1.5, 1.0, 2.0), (2.25, 0.667, 1.333)],
    [(1.5, 1.0, 2.0), (3.0, 0.5, 1.0)],
    [(1.35, 20.0, 3600.0), (2.0, 4.0, 60.0), (6.0, 0.35, 2.0)],
    [(1.2, 100.0, 1000.0), (1.8, 40.0, 400.0), (2.5, 20.0, 200.0), (4.0, 8.0, 80.0), (8.0, 1.0, 10.0)],
]  #: shallow ones fall slower than heat alone would


@pytest.mark.parametrize("rows", TABLES)
@pytest.mark.parametrize("holds", [True, False])
def test_any_fitted_band_encloses_its_table(rows, holds):
    table = [(1.0, 3600.0, math.inf), *rows] if holds else rows
    earliest, latest = fit_band(table)
    assert max(fit_errors(earliest, [(m, t) for m, t, _ in rows])) <= 1.0 + 1e-9
    assert min(fit_errors(latest, [(m, t) for m, _, t in rows])) >= 1.0 - 1e-9
    assert sum(earliest.weights) == pytest.approx(1.0)
    assert rises(earliest)
    assert rises(latest)


@pytest.mark.parametrize(
    ("rows", "complaint"),
    [
        ([(1.0, 3600.0, math.inf)], "latest time at one"),
        ([(2.0, 5.0, 4.0)], "earliest first"),
        ([(2.0, 0.0, 4.0)], "above 0"),
        ([(2.0, 1.0, 4.0), (2.0, 0.5, 2.0)], "must not rise"),
        ([(2.0, 1.0, 4.0), (3.0, 0.5, 5.0)], "must not rise"),
    ],
)
def test_tables_that_no_device_follows_are_refused(rows, complaint):
    with pytest.raises(ValueError, match=complaint):
        fit_band(rows)
