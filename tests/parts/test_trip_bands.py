"""The shipped trip bands, family by family: at the rows of their tables, and under currents that change.

Changing currents are followed by integrating the equations of the thermal states numerically.
"""

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from armsim.parts.protection import Edge, fit_errors, heating, trip_time
from armsim.scenario.tables import trip_families
from tests.parts.test_tables import FAMILIES

FALLS = 1e-4  #: of the final answer to a step, by which it may fall on its way
SIDES = ("earliest", "latest")


def shipped(kind):
    family = trip_families()[kind]
    return family.earliest, family.latest


def edge_of(kind, side):
    return shipped(kind)[SIDES.index(side)]


def rows_of(kind, side):
    column = 1 + SIDES.index(side)
    return [(row[0], row[column]) for row in FAMILIES[kind]["points"] if math.isfinite(row[2])]


ALL = [(kind, side) for kind in FAMILIES for side in SIDES]


@pytest.mark.parametrize(("kind", "side"), ALL)
def test_a_cold_device_takes_what_its_table_says(kind, side):
    assert list(fit_errors(edge_of(kind, side), rows_of(kind, side))) == pytest.approx([1.0] * len(rows_of(kind, side)))


@pytest.mark.parametrize(("kind", "side"), ALL)
def test_a_device_below_its_table_never_opens_and_more_current_always_heats_more(kind, side):
    edge = edge_of(kind, side)
    held = [row[0] for row in FAMILIES[kind]["points"] if not math.isfinite(row[1 + SIDES.index(side)])]
    assert all(trip_time(edge, multiple) == math.inf for multiple in held)
    heats = [heating(edge, multiple) for multiple in np.geomspace(0.1, 40.0, 2000)]
    assert np.all(np.diff(heats) > 0.0)


def followed(edge, levels, start=0.0):
    """Time at which an edge trips under current multiples held for some times in turn, by integration; inf if never."""
    weights, taus = np.array(edge.weights), np.array(edge.time_constants)
    states, begun = np.full(len(taus), float(start)), 0.0

    def reached(_, y):
        return edge.trip_level - weights @ y

    reached.terminal = True
    for multiple, seconds in levels:
        heat = heating(edge, multiple)
        found = solve_ivp(
            lambda _, y, heat=heat: (heat - y) / taus,
            (0.0, seconds),
            states,
            method="Radau",
            events=reached,
            rtol=1e-10,
            atol=1e-12,
        )
        if found.t_events[0].size:
            return begun + float(found.t_events[0][0])
        states, begun = found.y[:, -1], begun + seconds
    return math.inf


@pytest.mark.parametrize(("kind", "side"), ALL)
def test_a_steady_current_from_cold_and_from_warm_agrees_with_integration(kind, side):
    edge = edge_of(kind, side)
    for multiple, start in ((1.6, 0.0), (3.0, 0.0), (3.0, 0.64 * edge.trip_level)):
        expected = trip_time(edge, multiple, start)
        assert followed(edge, [(multiple, 3.0 * expected)], start) == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize("kind", FAMILIES)
def test_two_levels_trip_sooner_than_the_second_alone_and_by_its_time_at_the_latest(kind):
    """The first level, 1.2 times what it bears for good, for half its time to trip; then thrice."""
    for edge in shipped(kind):
        low, high = 1.2 * edge.ultimate_multiple, 3.0 * edge.ultimate_multiple
        half, alone = 0.5 * trip_time(edge, low), trip_time(edge, high)
        after = followed(edge, [(low, half), (high, 2.0 * alone)]) - half
        assert 0.0 < after < alone


@pytest.mark.parametrize("kind", FAMILIES)
def test_a_device_sure_to_trip_under_pulses_may_have_tripped_before(kind):
    earliest, latest = shipped(kind)
    scale = rows_of(kind, "latest")[len(rows_of(kind, "latest")) // 2]
    for share, pause, multiple in ((0.3, 0.3, 1.0), (0.6, 0.2, 1.5), (0.9, 1.0, 1.2), (1.2, 0.1, 1.0)):
        pulses = [(multiple * scale[0], share * scale[1]), (0.3, pause * scale[1])] * 6
        assert followed(earliest, pulses) <= followed(latest, pulses)


@pytest.mark.parametrize("kind", FAMILIES)
def test_a_pulse_that_a_latest_edge_has_borne_does_not_trip_it_afterwards(kind):
    """Heat left by a pulse, at any time after its end, over that at its end: a tenth more at most."""
    edge, rows = edge_of(kind, "latest"), rows_of(kind, "latest")
    weights, taus = np.array(edge.weights), np.array(edge.time_constants)

    def heat(times):
        return (1.0 - np.exp(-np.maximum(times, 0.0)[..., None] / taus)) @ weights

    times = np.geomspace(0.3 * rows[-1][1], 5.0 * rows[0][1], 500)
    for length in np.geomspace(0.5 * rows[-1][1], rows[0][1], 50):
        assert np.max(heat(times) - heat(times - length)) <= 1.1 * heat(np.array(length))


@pytest.mark.parametrize(("kind", "side"), ALL)
def test_more_current_never_cools(kind, side):
    """The answer to a step rises all the way, to a ten-thousandth of it: a thermal state is monotone in the current."""
    edge = edge_of(kind, side)
    weights, taus = np.array(edge.weights), np.array(edge.time_constants)
    times = np.geomspace(1e-3 * taus.min(), 30.0 * taus.max(), 3000)
    steps = -np.diff(np.exp(-times[:, None] / taus) @ weights)
    assert -steps[steps < 0.0].sum() < FALLS


def test_a_medium_blade_fuse_at_two_and_a_half_times_its_rating():
    """Straight in logarithms 0.0885523 s and 1.9963 s; at six times 450 A2s and 2250 A2s for 25 A."""
    earliest, latest = shipped("blade-fuse")
    assert trip_time(earliest, 2.5) == pytest.approx(0.0885523, rel=1e-3)
    assert trip_time(latest, 2.5) == pytest.approx(1.9963, rel=1e-3)
    square = (6.0 * 25.0) ** 2
    assert 450.0 / 1.1 <= square * trip_time(earliest, 6.0) <= 450.0
    assert 2250.0 <= square * trip_time(latest, 6.0) <= 1.1 * 2250.0


def test_a_stall_that_recloses_keeps_its_duty():
    """One pole, tau 40 s, ultimate 1.25, 2.2 times the rating, closing at 0.6 of the trip level: worked answers."""
    device = Edge(weights=(1.0,), time_constants=(40.0,), ultimate_multiple=1.25)
    level, square = device.trip_level, 2.2**2
    cooling = solve_ivp(lambda _, y: -y / 40.0, (0.0, 60.0), [level], rtol=1e-11, atol=1e-12, dense_output=True)
    times = np.linspace(0.0, 60.0, 600_001)
    off = float(np.interp(-0.6 * level, -cooling.sol(times)[0], times))
    on = trip_time(device, 2.2, 0.6 * level)
    assert off == pytest.approx(20.433, rel=1e-4)
    assert on == pytest.approx(6.98146, rel=1e-6)
    assert on / (on + off) == pytest.approx(0.254663, rel=1e-4)
    assert math.sqrt(square * on / (on + off)) == pytest.approx(1.11021, rel=1e-4)
