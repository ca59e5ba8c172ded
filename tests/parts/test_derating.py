"""Ratings in the cold and in the heat: the bimetal law against its worked answer and the shipped table."""

import pytest
from scipy.optimize import minimize_scalar

from armsim.parts.derating import BIMETAL_TRIPS, heat_law, table_factor
from armsim.scenario.tables import ambient_factor

PUBLISHED = [(-30, 0.76), (-20, 0.80), (-10, 0.84), (0, 0.92), (23, 1.0), (40, 1.08), (50, 1.16), (60, 1.24)]


def test_the_bimetal_law_is_the_least_squares_fit_to_the_published_factors():
    def misfit(trips_at):
        return sum((heat_law(ambient, trips_at) - factor) ** 2 for ambient, factor in PUBLISHED)

    found = minimize_scalar(misfit, bounds=(70.0, 400.0), method="bounded", options={"xatol": 1e-9}).x
    assert found == pytest.approx(122.581, abs=1e-3)
    assert pytest.approx(found, abs=0.005) == BIMETAL_TRIPS
    worst = max(abs(heat_law(ambient, found) / factor - 1.0) for ambient, factor in PUBLISHED)
    assert 100.0 * worst == pytest.approx(6.29775, rel=5e-6)


def test_a_device_of_40_amperes_at_60_degrees_carries_the_worked_answer():
    assert heat_law(60.0, 122.581) == pytest.approx(1.26144, rel=1e-5)
    assert 40.0 / heat_law(60.0, 122.581) == pytest.approx(31.7097, rel=1e-5)


@pytest.mark.parametrize(("ambient", "factor"), PUBLISHED)
def test_the_shipped_table_of_thermal_devices_is_the_published_one(ambient, factor):
    assert ambient_factor("thermal", ambient) == pytest.approx(factor)


def test_between_its_points_a_table_runs_straight_and_beyond_them_as_the_law_does():
    points = [(0.0, 0.9), (20.0, 1.0), (60.0, 1.2)]
    assert table_factor(points, 10.0) == pytest.approx(0.95)
    assert table_factor(points, 80.0) == pytest.approx(1.2 * ((122.58 - 60.0) / (122.58 - 80.0)) ** 0.5)
    assert table_factor(points, -20.0) == pytest.approx(0.9 * (122.58 / 142.58) ** 0.5)


def test_bands_hold_as_printed_from_23_to_25_degrees():
    for effect in ("thermal", "thermal-magnetic", "fuse", "none"):
        assert ambient_factor(effect, 23.0) == ambient_factor(effect, 25.0) == 1.0


def test_thermal_magnetic_devices_have_their_own_factors_fuses_lose_little_and_oil_nothing():
    assert ambient_factor("thermal-magnetic", 60.0) == pytest.approx(1.29)
    assert ambient_factor("thermal-magnetic", 30.0) == pytest.approx(1.04)
    assert 1.03 < ambient_factor("fuse", 60.0) < 1.08
    assert 0.93 < ambient_factor("fuse", -20.0) < 0.97
    assert ambient_factor("none", 60.0) == 1.0
