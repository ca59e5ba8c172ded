"""Trip verdicts and trip times in a stall."""

from dataclasses import replace

import pytest

from armsim.checks.assessment import Trips
from armsim.checks.protection import judge_protection, verdict
from armsim.dynamics.plan import Plan, Travel
from armsim.dynamics.run import TripTimes
from armsim.dynamics.trajectory import simulate
from armsim.parts.battery import constant_source

from .machines import BREAKER, LIFT, machine, stage


@pytest.mark.parametrize(
    ("earliest", "latest", "trips"),
    [(None, None, Trips.NO), (2.0, None, Trips.POSSIBLE), (2.0, 8.0, Trips.CERTAIN)],
)
def test_a_band_has_three_answers(earliest, latest, trips):
    assert verdict(TripTimes(earliest=earliest, latest=latest, heat_peak=1.0)) is trips


def test_stalled_trip_time_from_cold():
    # source and loop chosen to pass 80 A through a 40 A device: 19.8129 s by its latest edge
    m = machine(
        protection=(BREAKER,), battery=constant_source(80.0 * 0.104, 0.0), wiring_resistance=0.0, other_loads=0.0
    )
    (result,) = judge_protection(m, 1.0, None)
    assert result.stall_current == pytest.approx(80.0)
    assert result.stall_latest == pytest.approx(19.8129, rel=1e-5)
    assert result.trips is None
    assert result.heat_peak is None


def test_a_current_below_the_ultimate_multiple_never_trips():
    m = machine(
        protection=(BREAKER,), battery=constant_source(50.0 * 0.104, 0.0), wiring_resistance=0.0, other_loads=0.0
    )
    (result,) = judge_protection(m, 1.0, None)
    assert result.stall_earliest is None
    assert result.stall_latest is None


def test_a_run_tells_possible_from_certain():
    stuck = machine(stages=(stage(6.0, 0.70),), protection=(BREAKER,))
    plans = {
        patience: Plan(start=LIFT.start, moves=(Travel(to=1.0, patience=patience),)) for patience in (1.0, 5.0, 20.0)
    }
    found = [judge_protection(stuck, 1.0, simulate(stuck, plan))[0] for plan in plans.values()]
    assert [result.trips for result in found] == [Trips.NO, Trips.POSSIBLE, Trips.CERTAIN]
    # stalled from the first moment, the run must agree with the time at constant current but for the current's rise
    assert found[2].earliest == pytest.approx(found[2].stall_earliest, rel=1e-3)
    assert found[2].latest == pytest.approx(found[2].stall_latest, rel=1e-3)


def test_devices_keep_their_order():
    two = machine(protection=(BREAKER, replace(BREAKER, kind="blade-fuse", rating=60.0)))
    assert [result.rating for result in judge_protection(two, 1.0, None)] == [40.0, 60.0]
