"""Trip times and fitted trip bands against worked answers, and the shipped bands against their own tables."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from armsim.parts.protection import Edge, conservative, fit_band, fit_edge, fit_errors, trip_time
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


def test_one_state_follows_the_earliest_edge():
    edge = fit_edge(EARLIEST)
    assert edge.time_constants[0] == six_digits(7.0685)
    assert edge.ultimate_multiple == six_digits(1.30922)
    assert fit_errors(edge, EARLIEST) == tuple(
        six_digits(x) for x in (0.997247, 1.01408, 0.988728, 0.995606, 1.00118, 0.985213, 1.0184)
    )


def test_one_state_cannot_follow_the_latest_edge():
    edge = fit_edge(LATEST, side="latest")
    assert edge.ultimate_multiple == pytest.approx(1.3499, abs=1e-9)  # as far up as it may
    assert edge.time_constants[0] == six_digits(82.8301)
    assert fit_errors(edge, LATEST) == tuple(
        six_digits(x) for x in (0.202872, 0.458354, 0.839336, 1.5616, 2.00306, 2.15124, 1.9041)
    )


def test_two_states_follow_it_better():
    edge = fit_edge(LATEST, poles=2, side="latest", ultimate_multiple=1.3)
    assert edge.weights[0] == pytest.approx(0.721103, abs=2e-6)
    assert edge.time_constants == (pytest.approx(38.8621, rel=1e-5), pytest.approx(2650.13, rel=1e-5))
    assert fit_errors(edge, LATEST) == tuple(
        pytest.approx(x, rel=1e-5) for x in (0.989728, 1.01568, 0.563435, 0.969489, 1.22291, 1.30015, 1.14538)
    )


def test_an_earliest_edge_holds_where_its_table_does():
    assert fit_edge([(1.2, math.inf), *EARLIEST]).ultimate_multiple >= 1.2
    assert fit_edge([(1.2, math.inf), *EARLIEST], poles=2).ultimate_multiple == 1.2


def test_a_moved_edge_touches_the_table_from_outside():
    early = conservative(fit_edge(EARLIEST), EARLIEST, "earliest")
    assert max(fit_errors(early, EARLIEST)) == pytest.approx(1.0, rel=1e-9)
    late = conservative(fit_edge(LATEST, side="latest"), LATEST, "latest")
    assert min(fit_errors(late, LATEST)) == pytest.approx(1.0, rel=1e-9)
    assert conservative(early, [(1.35, 1e6)], "earliest") is early  # already outside: left alone


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
    assert max(fit_errors(latest, LATEST)) < 2.0


@st.composite
def tables(draw):
    """Trip tables as a sheet might have them: rising multiples, times that fall at least as fast as 1/m."""
    rows, multiple, early, ratio = [], draw(st.floats(1.05, 1.6)), draw(st.floats(1.0, 500.0)), 1.0
    spread = draw(st.floats(1.2, 50.0))
    for _ in range(draw(st.integers(1, 6))):
        rows.append((multiple, early, early * spread))
        ratio = draw(st.floats(1.2, 2.5))
        multiple, early = multiple * ratio, early / ratio ** draw(st.floats(1.0, 4.0))
    return rows


@settings(max_examples=15)
@given(rows=tables(), holds=st.booleans())
def test_any_fitted_band_encloses_its_table(rows, holds):
    table = [(1.0, 3600.0, math.inf), *rows] if holds else rows
    earliest, latest = fit_band(table)
    assert max(fit_errors(earliest, [(m, t) for m, t, _ in rows])) <= 1.0 + 1e-9
    assert min(fit_errors(latest, [(m, t) for m, _, t in rows])) >= 1.0 - 1e-9
    assert sum(earliest.weights) == pytest.approx(1.0)
    assert min(*earliest.weights, *latest.weights) > 0.0


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


def test_an_edge_needs_points():
    with pytest.raises(ValueError, match="2 thermal states need"):
        fit_edge([(2.0, 5.0)], poles=2)
    with pytest.raises(ValueError, match="cannot both hold at 2"):
        fit_edge([(2.0, math.inf), (1.5, 5.0)])
