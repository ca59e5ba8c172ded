"""Many cycles: what is summed agrees with what is stepped, and nothing that happens is passed over."""

import math
from dataclasses import replace

import numpy as np
import pytest

from armsim.dynamics.plan import Exchange, Follow, Hold, Limits, Plan, Rest, Travel
from armsim.dynamics.run import Kind
from armsim.dynamics.segment import Tolerances
from armsim.dynamics.slow import Decay
from armsim.dynamics.state import CURRENT, SPEED, initial_state
from armsim.dynamics.trajectory import simulate
from armsim.parts.battery import Battery
from armsim.parts.motor import Heat
from armsim.parts.protection import Edge, Protection
from tests.machines import MOTOR, arm, machine

LOW, HIGH = math.radians(-30.0), math.radians(70.0)
STEPPED = Tolerances(cycles=0.0)
HEAT = Heat(
    winding_to_housing=1.2, housing_to_air=3.5, winding_capacity=40.0, housing_capacity=600.0, winding_limit=130.0
)
UP_DOWN_REST = (Travel(to=HIGH), Travel(to=LOW, duty=-0.1), Rest(duration=20.0))


def breaker(rating: float) -> Protection:
    early = Edge(weights=(1.0,), time_constants=(60.0,), ultimate_multiple=1.1)
    late = Edge(weights=(0.7, 0.3), time_constants=(90.0, 400.0), ultimate_multiple=1.3)
    return Protection(kind="thermal", rating=rating, earliest=early, latest=late)


def warm(rating: float = 30.0, **more):
    battery = Battery(charge_points=(0.0, 1.0), voltage_points=(23.0, 25.5), resistance=0.04, capacity=72000.0)
    return machine(motor=replace(MOTOR, heat=HEAT), protection=(breaker(rating),), battery=battery, **more)


@pytest.fixture(scope="module")
def pair():
    plan = Plan(start=LOW, moves=UP_DOWN_REST, repeat=100)
    return simulate(warm(), plan), simulate(warm(), plan, STEPPED)


def test_temperatures_and_breakers_follow_those_of_every_cycle_stepped(pair) -> None:
    quick, exact = pair
    assert [c.number for c in quick.cycles] == [c.number for c in exact.cycles] == list(range(1, 101))
    assert sum(c.stepped for c in quick.cycles) < 25
    assert all(c.stepped for c in exact.cycles)
    for a, b in zip(quick.cycles, exact.cycles, strict=True):
        assert a.winding == pytest.approx(b.winding, abs=0.2)
        assert a.housing == pytest.approx(b.housing, abs=0.2)
        assert a.heat[0] == pytest.approx(b.heat[0], abs=1e-3)
        assert a.lift_time == pytest.approx(b.lift_time, rel=1e-3)
        assert a.begun == pytest.approx(b.begun, rel=1e-4)
        assert a.motor_current == pytest.approx(b.motor_current, rel=2e-3)
    assert exact.cycles[-1].winding > exact.cycles[0].winding + 20.0


def test_totals_and_account_are_those_of_all_cycles(pair) -> None:
    quick, exact = pair
    assert quick.energy.supplied == pytest.approx(exact.energy.supplied, rel=1e-3)
    assert quick.charge_drawn[-1] == pytest.approx(exact.charge_drawn[-1], rel=1e-3)
    assert quick.motor_current_rms == pytest.approx(exact.motor_current_rms, rel=1e-3)
    for name, value in exact.energy.losses.items():
        assert quick.energy.losses[name] == pytest.approx(value, abs=1e-3 * exact.energy.throughput)
    for run in pair:
        assert abs(run.energy.residual) < 1e-6 * run.energy.throughput
        assert sum(c.supplied for c in run.cycles) == pytest.approx(run.energy.supplied, rel=1e-9)


def test_the_last_cycle_is_stepped_and_shown(pair) -> None:
    quick, exact = pair
    assert quick.cycles[-1].stepped
    assert quick.time[-1] == pytest.approx(exact.time[-1], rel=1e-4)
    assert quick.peaks.winding.value == pytest.approx(exact.peaks.winding.value, abs=0.2)


def test_where_the_temperatures_settle_is_where_a_long_run_ends() -> None:
    short = simulate(warm(), Plan(start=LOW, moves=UP_DOWN_REST, repeat=60))
    long = simulate(warm(), Plan(start=LOW, moves=UP_DOWN_REST, repeat=900))
    assert not short.settling.settled
    assert long.settling.settled
    assert short.settling.winding == pytest.approx(long.cycles[-1].winding, abs=3.0)
    assert long.settling.winding == pytest.approx(long.cycles[-1].winding, abs=1.0)


def test_steps_do_not_grow_with_the_cycles() -> None:
    few = simulate(warm(), Plan(start=LOW, moves=UP_DOWN_REST, repeat=3))
    many = simulate(warm(), Plan(start=LOW, moves=UP_DOWN_REST, repeat=200))
    per_cycle = [run.costs.steps / 3.0 for run in (few, many)]
    assert per_cycle[1] < 1.1 * per_cycle[0]


@pytest.mark.parametrize("rating", [6.0, 7.5, 9.0])
def test_the_cycle_in_which_a_breaker_trips_is_the_true_one(rating: float) -> None:
    plan = Plan(start=LOW, moves=(Travel(to=HIGH), Travel(to=LOW, duty=-0.1), Rest(duration=0.5)), repeat=60)
    quick, exact = simulate(warm(rating), plan), simulate(warm(rating), plan, STEPPED)
    for which in ("earliest", "latest"):
        here, there = (getattr(run.trips[0], which) for run in (quick, exact))
        assert (here is None) == (there is None)
        if there is not None:
            assert here == pytest.approx(there, abs=0.05)
    assert exact.trips[0].earliest is not None
    assert quick.cycles[-1].number == exact.cycles[-1].number


def test_a_loop_that_holds_across_the_cycle_end_goes_on() -> None:
    gentle = Limits(speed=1.0, acceleration=3.0)
    moves = (Follow(to=HIGH, limits=gentle), Follow(to=LOW, limits=gentle, name="lower"), Hold(duration=4.0))
    plan, light = Plan(start=LOW, moves=moves, repeat=7), warm(arm=arm(moment=2.0, inertia=2.0))
    quick, exact = simulate(light, plan), simulate(light, plan, STEPPED)
    assert sum(c.stepped for c in quick.cycles) < 7
    assert quick.time[-1] == pytest.approx(exact.time[-1], abs=1e-6)
    assert quick.cycles[-1].winding == pytest.approx(exact.cycles[-1].winding, abs=0.1)


def test_payload_comes_back_each_cycle() -> None:
    gentle = Limits(speed=1.0, acceleration=2.0)
    moves = (
        Follow(to=HIGH, limits=gentle),
        Exchange(payload=0.0, name="put down"),
        Follow(to=LOW, limits=gentle, name="lower"),
        Rest(duration=5.0, shorted=True),
        Exchange(payload=5.0),
    )
    run = simulate(warm(), Plan(start=LOW, moves=moves, repeat=5))
    stop = math.radians(-35.0)  # where each rest lets the arm sink to
    ways = math.sin(HIGH) - math.sin(LOW) + 4.0 * (math.sin(HIGH) - math.sin(stop))
    assert run.energy.payload_lifted == pytest.approx(5.0 * 9.80665 * 0.62 * ways, rel=1e-4)
    assert run.first(Kind.GIVEN_UP) is None
    assert abs(run.energy.residual) < 1e-6 * run.energy.throughput


def test_a_cycle_forgets_with_what_current_it_began() -> None:
    """A trace of current at each cycle's end must not be carried on and grow from stride to stride."""
    moves = (Travel(to=HIGH), Travel(to=LOW, duty=-0.1), Rest(duration=20.0, shorted=True))
    run = simulate(warm(), Plan(start=LOW, moves=moves, repeat=1000))
    assert sum(c.stepped for c in run.cycles) < 30
    assert abs(run.motor_current[-1]) < 1e-9
    state = initial_state(warm(), 0.3)
    state[CURRENT], state[SPEED] = 2.0, 0.1
    assert np.array_equal(Decay(warm()).over(30.0, state), initial_state(warm(), 0.0))


def test_the_last_cycle_shown_is_the_one_that_stepping_them_all_arrives_at() -> None:
    """Currents and angles too, where a shorted motor leaves a trace of current at every cycle's end."""
    gentle = Limits(speed=1.0, acceleration=3.0)
    moves = (
        Follow(to=HIGH, limits=gentle),
        Exchange(payload=0.0, name="put down"),
        Follow(to=LOW, limits=gentle, name="lower"),
        Rest(duration=20.0, shorted=True),
        Exchange(payload=5.0),
    )
    plan, light = Plan(start=LOW, moves=moves, repeat=20), warm(arm=arm(moment=4.0, inertia=2.5))
    quick, exact = simulate(light, plan), simulate(light, plan, STEPPED)
    assert sum(c.stepped for c in quick.cycles) < 15
    for run in (quick, exact):
        assert abs(run.motor_current[-1]) < 1e-6
        assert run.speed[-1] == pytest.approx(0.0, abs=1e-12)
    since = [run.time - run.cycles[-1].begun for run in (quick, exact)]
    sought = np.linspace(0.05, exact.cycles[-1].duration - 0.05, 300)
    for part, near in (("motor_current", 0.02), ("angle", 1e-4), ("speed", 1e-3), ("winding", 0.2)):
        here, there = (np.interp(sought, t, getattr(run, part)) for t, run in zip(since, (quick, exact), strict=True))
        assert np.median(np.abs(here - there)) < 0.1 * near
        assert np.percentile(np.abs(here - there), 95.0) < near
    assert quick.cycles[-1].motor_current == pytest.approx(exact.cycles[-1].motor_current, rel=1e-3)
