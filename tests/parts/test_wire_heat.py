"""One metre of wire against its worked answer, a numerical integration, and the table it is cooled by."""

import math

import pytest
from scipy.integrate import solve_ivp

from armsim.parts.wire_heat import (
    WireNode,
    bearable,
    heat_capacity,
    node_of,
    settled,
    step,
    thermal_resistance,
)
from armsim.parts.wiring import Run, gauge_area, resistance_per_length, round_trip_resistance
from armsim.scenario.tables import ampacity
from tests.parts.rounded import six_digits

AREA = gauge_area(12)
WORKED = WireNode(resistance=resistance_per_length(AREA), cooling=5.32805, capacity=28.4153, ambient=30.0)


def test_cooling_follows_from_the_ampacity():
    assert thermal_resistance(AREA, ampacity()) == six_digits(5.32805)


def test_a_metre_of_insulated_12_gauge_takes_the_worked_heat():
    assert heat_capacity(AREA) == pytest.approx(28.4153, rel=1e-3)


def test_twice_the_ampacity_for_half_a_minute_is_the_worked_answer():
    factor, summand = step(WORKED, 90.0**2, 30.0)
    assert factor * 30.0 + summand == six_digits(75.7825)


def test_without_current_it_cools_with_its_time_constant():
    factor, summand = step(WORKED, 0.0, 60.0)
    assert WORKED.cooling * WORKED.capacity == six_digits(151.398)
    assert factor * 105.0 + summand == pytest.approx(30.0 + 75.0 * math.exp(-60.0 / 151.398), rel=1e-6)


@pytest.mark.parametrize("amperes", [20.0, 45.0, 90.0, 103.2, 200.0])
def test_a_step_agrees_with_an_integration(amperes):
    def slope(_, y):
        heat = amperes**2 * WORKED.resistance * (1.0 + 0.00393 * (y[0] - 20.0))
        return [(heat - (y[0] - 30.0) / WORKED.cooling) / WORKED.capacity]

    found = solve_ivp(slope, (0.0, 40.0), [35.0], rtol=1e-10, atol=1e-10).y[0, -1]
    factor, summand = step(WORKED, amperes**2, 40.0)
    assert factor * 35.0 + summand == pytest.approx(found, rel=1e-7)


def test_the_table_current_settles_at_the_tables_limit_and_too_much_runs_away():
    node = node_of(Run(resistance=round_trip_resistance(AREA, 2.0), area=AREA, length=2.0, ampacity=ampacity()), 30.0)
    assert settled(node, 45.0) == pytest.approx(105.0, rel=1e-9)
    assert bearable(node, 105.0) == pytest.approx(45.0, rel=1e-9)
    away = 1.0 / math.sqrt(5.32805 * 5.21069e-3 * 0.00393)  # I^2 R' alpha R_th' = 1
    assert settled(node, 1.001 * away) == math.inf
    assert settled(node, 0.99 * away) < math.inf


def test_hotter_air_takes_from_the_ampacity_by_the_root_of_what_is_left():
    run = Run(resistance=round_trip_resistance(AREA, 2.0), area=AREA, length=2.0, ampacity=ampacity())
    node = node_of(run, 60.0)
    assert bearable(node, 105.0) == pytest.approx(45.0 * math.sqrt(45.0 / 75.0), rel=1e-9)
    assert bearable(node, 60.0) == 0.0


def test_a_run_of_unknown_size_or_length_has_no_node():
    assert node_of(Run(resistance=0.01), 25.0) is None
    assert node_of(Run(resistance=0.01, area=AREA, ampacity=ampacity()), 25.0) is None
