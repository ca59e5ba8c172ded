"""Trip verdicts and trip times in a stall."""

from dataclasses import replace

import pytest

from armsim.checks.assessment import Trips
from armsim.checks.protection import judge_protection, steady_findings, trip_rows, verdict
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
    m = machine(protection=(BREAKER,), battery=constant_source(80.0 * 0.104, 0.0), wiring=(), other_loads=0.0)
    (result,) = judge_protection(m, 1.0, None)
    assert result.stall_current == pytest.approx(80.0)
    assert result.stall_latest == pytest.approx(19.8129, rel=1e-5)
    assert result.trips is None
    assert result.heat_peak is None


def test_a_current_below_the_ultimate_multiple_never_trips():
    m = machine(protection=(BREAKER,), battery=constant_source(50.0 * 0.104, 0.0), wiring=(), other_loads=0.0)
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


def test_a_warm_device_trips_like_one_of_less_rating_in_the_run_and_at_rest():
    stuck = machine(stages=(stage(6.0, 0.70),))
    plan = Plan(start=LIFT.start, moves=(Travel(to=1.0, patience=20.0),))
    warm, small = replace(BREAKER, factor=1.25), replace(BREAKER, rating=32.0)
    found = []
    for device in (warm, small):
        m = replace(stuck, protection=(device,))
        found.append(judge_protection(m, 1.0, simulate(m, plan))[0])
    for name in ("earliest", "latest", "heat_peak", "stall_earliest", "stall_latest"):
        assert getattr(found[0], name) == pytest.approx(getattr(found[1], name), rel=1e-9)
    assert (found[0].rating, found[0].in_force, found[1].in_force) == (40.0, 32.0, None)


def test_devices_keep_their_order():
    two = machine(protection=(BREAKER, replace(BREAKER, kind="blade-fuse", rating=60.0)))
    assert [result.rating for result in judge_protection(two, 1.0, None)] == [40.0, 60.0]


def test_trip_times_from_cold_and_warm_are_the_worked_answers():
    """A 40 A device of one pole by its latest edge: 60, 80, 160 A, and 80 A after long running at 32 A."""
    stalled, twice, *_ = trip_rows(BREAKER, 60.0, 32.0)
    assert (stalled.case, stalled.current, stalled.cold_latest) == ("stalled", 60.0, pytest.approx(47.4249, rel=1e-5))
    assert (twice.current, twice.cold_latest) == (80.0, pytest.approx(19.8129, rel=1e-5))
    assert twice.warm_latest == pytest.approx(12.8387, rel=1e-5)
    (fourfold, *_) = trip_rows(BREAKER, 160.0, 40.0)
    assert fourfold.cold_latest == pytest.approx(4.11039, rel=1e-5)
    assert fourfold.warm_latest == pytest.approx(1.52885, rel=1e-5)
    (never, *_) = trip_rows(BREAKER, 50.0, 40.0)
    assert (never.cold_earliest, never.warm_latest) == (None, None)


def test_a_device_run_beyond_what_it_holds_has_opened_before_the_stall():
    assert next(trip_rows(BREAKER, 80.0, 50.0)).warm_earliest == 0.0


def test_warm_means_after_the_runs_rms_or_without_a_run_after_the_rating_in_force():
    m = machine(protection=(replace(BREAKER, factor=1.25),))
    run = simulate(m, LIFT)
    assert judge_protection(m, 1.0, run)[0].warm_current == run.supply_current_rms
    assert judge_protection(m, 1.0, None)[0].warm_current == pytest.approx(32.0)


def test_a_cycle_that_a_device_would_not_bear_for_ever_is_told():
    """It holds 1.25 times its rating; the earliest edge needs longer than the run."""
    run = simulate(machine(), LIFT)
    slow = replace(BREAKER, earliest=replace(BREAKER.earliest, time_constants=(4000.0,)))
    for share, codes in ((0.99, ["trips-when-repeated"]), (1.01, [])):
        device = replace(slow, rating=share * run.supply_current_rms / 1.25)
        m = machine(protection=(device,))
        assert [found.code for found in steady_findings(m, simulate(m, LIFT))] == codes


def test_a_device_whose_number_is_its_trip_current_is_told_of():
    low = replace(BREAKER, earliest=replace(BREAKER.earliest, ultimate_multiple=0.7))
    (found,) = steady_findings(machine(protection=(low, BREAKER)), None)
    assert (found.code, found.where) == ("holds-below-rating", "supply.protection[0]")
    assert "28.0 A" in found.text
