"""The heat of one cycle against whole runs: where it settles, when it passes a limit, what rest and payload help."""

import math
from dataclasses import replace

import numpy as np
import pytest

from armsim.checks.cycle_heat import cycle_heat
from armsim.checks.cycle_series import last_cycle
from armsim.checks.duty import duty_of
from armsim.checks.heat_rating import bearable_current, cycle_payload, growth_of, rate
from armsim.drivetrain.machine import loaded
from armsim.dynamics.plan import Exchange, Follow, Limits, Plan, Rest, Travel
from armsim.dynamics.segment import Tolerances
from armsim.dynamics.trajectory import simulate
from armsim.parts.motor import Heat
from tests.machines import MOTOR, arm, frictionless_motor, machine, stage

LOW, HIGH = math.radians(-30.0), math.radians(70.0)
HEAT = Heat(
    winding_to_housing=1.2, housing_to_air=3.5, winding_capacity=20.0, housing_capacity=60.0, winding_limit=130.0
)
UP_AND_DOWN = (Travel(to=HIGH), Travel(to=LOW, duty=-0.1), Rest(duration=20.0))
GENTLE = Limits(speed=1.0, acceleration=3.0)
CARRIED = (
    Follow(to=HIGH, limits=GENTLE),
    Exchange(payload=0.0, name="put down"),
    Follow(to=LOW, limits=GENTLE, name="lower"),
    Rest(duration=8.0, shorted=True),
    Exchange(payload=5.0),
)


def warm(**more):
    return machine(motor=replace(MOTOR, heat=HEAT), **more)


def plan(moves=UP_AND_DOWN, repeat=200):
    return Plan(start=LOW, moves=moves, repeat=repeat)


@pytest.fixture(scope="module")
def settled():
    return simulate(warm(), plan())


def test_the_map_of_a_cycle_settles_where_the_run_does(settled):
    heat = cycle_heat(warm(), last_cycle(settled, plan()), growth=growth_of(settled, plan()))
    assert heat.settles_at() == pytest.approx(settled.cycles[-1].winding, abs=0.5)
    winding, housing = heat.hottest(heat.settled())
    assert winding == heat.settles_at()
    assert housing < settled.cycles[-1].housing + 0.5


def test_the_cycle_that_passes_a_limit_is_the_one_of_the_run(settled):
    heat = cycle_heat(warm(), last_cycle(settled, plan()), growth=growth_of(settled, plan()))
    peaks = [cycle.winding for cycle in settled.cycles]
    for limit in (0.5 * (peaks[0] + peaks[-1]), peaks[0] + 0.9 * (peaks[-1] - peaks[0])):
        true = next(k + 1 for k, peak in enumerate(peaks) if peak > limit)
        assert heat.passes_in(limit, np.zeros(2)) == pytest.approx(true, abs=max(1, 0.05 * true))
    assert heat.passes_in(peaks[-1] + 2.0, np.zeros(2)) is None


def test_the_rest_found_keeps_a_run_with_that_rest_just_at_the_limit(settled):
    heat = cycle_heat(warm(), last_cycle(settled, plan()), growth=growth_of(settled, plan()))
    limit = settled.cycles[-1].winding - 8.0
    rest = heat.rest_needed(limit)
    moves = (*UP_AND_DOWN[:2], Rest(duration=20.0 + rest))
    assert simulate(warm(), plan(moves)).cycles[-1].winding == pytest.approx(limit, abs=0.5)
    assert heat.rest_needed(settled.cycles[-1].winding + 1.0) == 0.0
    assert heat.rest_needed(26.0) is None  # a single cycle from cold is hotter


@pytest.mark.parametrize(
    ("moves", "more"), [(UP_AND_DOWN, {}), (CARRIED, {"arm": arm(moment=4.0, inertia=2.5)})], ids=["duty", "profile"]
)
@pytest.mark.parametrize("factor", [0.6, 1.25])
def test_the_payload_of_a_cycle_is_that_of_exact_runs_within_three_percent(moves, more, factor):
    """The limit is set where an exact run with another payload settles; the search from the first must find it."""
    m = warm(**more)
    heavier = tuple(replace(x, payload=factor * x.payload) if isinstance(x, Exchange) else x for x in moves)
    other = simulate(loaded(m, factor * 5.0), plan(heavier, 16))
    few = plan(moves, 16)
    run = simulate(m, few)
    found, ends = cycle_payload(m, few, last_cycle(run, few), other.settling.winding, growth_of(run, few))
    assert found == pytest.approx(factor * 5.0, rel=0.03)
    assert ends == "heat"


def test_brushes_and_warm_magnets_have_their_part_in_where_a_cycle_settles():
    fitted = replace(MOTOR, heat=HEAT, brush_drop=1.2, magnet_coefficient=-0.002)
    m = machine(motor=fitted)
    run = simulate(m, plan(repeat=100))
    plain = machine(motor=replace(fitted, brush_drop=0.0))
    tops = [
        cycle_heat(each, last_cycle(run, plan()), growth=growth_of(run, plan())).settles_at() for each in (m, plain)
    ]
    assert tops[0] == pytest.approx(run.cycles[-1].winding, abs=1.0)
    assert tops[1] < tops[0] - 2.0  # without what the brushes give the housing it would be missed


def test_a_cycle_that_heats_faster_than_it_sheds_runs_away():
    hot = replace(HEAT, housing_to_air=60.0)
    m = machine(motor=replace(MOTOR, heat=hot))
    moves = (*UP_AND_DOWN[:2], Rest(duration=0.1))
    heat = cycle_heat(m, last_cycle(simulate(m, plan(moves, 2)), plan(moves, 2)))
    assert heat.settled() is None
    assert heat.settles_at() is None
    assert heat.passes_in(130.0, np.zeros(2)) is not None
    assert heat.rest_needed(130.0) > 0.0


def test_averaged_heating_is_within_a_kelvin_of_five_hundred_cycles_stepped_one_by_one():
    easy = {"relative": 1e-5, "absolute": 1e-7}
    moves = (Travel(to=math.radians(-20.0)), Rest(duration=4.0, shorted=False))
    many = Plan(start=math.radians(-35.0), moves=moves, repeat=500)
    quick, exact = simulate(warm(), many, Tolerances(**easy)), simulate(warm(), many, Tolerances(**easy, cycles=0.0))
    assert all(cycle.stepped for cycle in exact.cycles)
    assert sum(cycle.stepped for cycle in quick.cycles) < 60
    assert quick.peaks.winding.value == pytest.approx(exact.peaks.winding.value, abs=1.0)
    assert exact.peaks.winding.value > exact.cycles[0].winding + 10.0
    heat = cycle_heat(warm(), last_cycle(quick, many))
    assert heat.settles_at() == pytest.approx(exact.cycles[-1].winding, abs=1.0)


# ---------------------------------------------------------------------------------------------------- for ever

LOSSLESS = machine(
    motor=frictionless_motor(heat=HEAT),
    arm=arm(moment=4.0),
    stages=(stage(60.0, 1.0, 1.0),),
)
#: (130 - 25) K over 4.7 K/W and 0.5 ohm at 130 degC
FOR_GOOD = math.sqrt(105.0 / (4.7 * 0.5 * 364.5 / 259.5))


def test_without_friction_both_payloads_for_ever_are_those_of_the_lever():
    rating = rate(LOSSLESS, plan(), None, None)
    assert rating.continuous_current == pytest.approx(FOR_GOOD, rel=1e-12)
    assert bearable_current(LOSSLESS) == rating.continuous_current
    moment = FOR_GOOD * 0.07 * 60.0 / 9.80665  # level, the worst angle of the way
    payload = 5.0 + (moment - 4.0) / 0.62
    assert payload > 0.0
    assert rating.lift_payload == pytest.approx(payload, rel=1e-3)
    assert rating.hold_payload == pytest.approx(payload, rel=1e-3)
    assert rating.settles_at is None


def test_friction_takes_from_the_lift_what_it_gives_to_the_hold():
    drag, pivot = 0.05, 0.9
    m = machine(motor=replace(MOTOR, heat=HEAT), arm=replace(machine().arm, first_moment=4.0))
    rating = rate(m, plan(), None, None)
    raised = (FOR_GOOD * 0.07 - drag) * 60.0 * 0.9 - pivot
    held = (FOR_GOOD * 0.07 + drag) * 60.0 / (2.0 - 1.0 / 0.9) + pivot
    for found, torque in ((rating.lift_payload, raised), (rating.hold_payload, held)):
        assert found == pytest.approx(5.0 + (torque / 9.80665 - 4.0) / 0.62, rel=2e-3)


def test_a_lock_holds_any_payload_and_a_heavy_arm_leaves_none_to_lift():
    locked = machine(motor=replace(MOTOR, heat=HEAT), stages=(stage(60.0, 0.4, -0.5),))
    rating = rate(locked, plan(), None, None)
    assert rating.hold_payload is None
    heavy = machine(motor=replace(MOTOR, heat=HEAT), arm=arm(moment=12.0))
    assert rate(heavy, plan(), None, None).lift_payload == 0.0
    assert rate(machine(), plan(), None, None) is None


def test_a_weak_drive_ends_the_payload_before_heat_does():
    from armsim.parts.bridge import Controller

    weak = replace(LOSSLESS, controller=Controller(current_limit=0.5 * FOR_GOOD))
    weaker = rate(weak, plan(), None, None)
    assert weaker.continuous_current == pytest.approx(FOR_GOOD)
    moment = 0.5 * FOR_GOOD * 0.07 * 60.0 / 9.80665
    assert weaker.lift_payload == pytest.approx(max(5.0 + (moment - 4.0) / 0.62, 0.0), abs=1e-3)


def test_the_payload_of_the_cycle_settles_an_exact_run_at_the_limit(settled):
    found = rate(warm(), plan(), settled, duty_of(settled, plan()))
    assert found.cycle_payload_by == "heat"
    near = [simulate(loaded(warm(), share * found.cycle_payload), plan()) for share in (0.97, 1.03)]
    assert near[0].cycles[-1].winding < 130.0 < near[1].cycles[-1].winding
    assert found.settles_at == pytest.approx(settled.cycles[-1].winding, abs=0.5)
    assert found.overload <= found.overload_rms
    assert found.overload_one_node <= found.overload
    assert found.rms_trusted == (found.overload_rms**2 <= 1.05 * found.overload**2)
