"""Limits of one thing at a time, against the stalled torque of a motor without losses."""

import math
from pathlib import Path

import pytest

from armsim.dynamics.plan import Plan, Travel
from armsim.parts.arm import STANDARD_GRAVITY
from armsim.parts.battery import Battery
from armsim.scenario import load
from armsim.scenario.records import Wish
from armsim.scenario.stock import loads_stock
from armsim.scenario.tasks import loads_task
from armsim.studies.levers import Lever, efficiency_of, levers, stretched, with_efficiency
from armsim.studies.limits import LimitError, asked_limits, limit_of, limits_asked_for, motors_tried
from armsim.studies.single import assess, verdict_of
from tests.machines import arm, frictionless_motor, machine, stage
from tests.scenario.texts import scenario_text

PLAN = Plan(start=0.0, moves=(Travel(to=math.radians(60.0), patience=0.5),))
#: volts less what the other load sags, over all resistances of the loop
STALLED = (25.0 - 1.0 * 0.052) / (0.5 + 0.006 + 0.04 + 0.012) * 0.07 * 60.0


def lossless(**more):
    """It lifts from the level, the worst angle, what its stalled torque holds there: 5 kg at 0.62 m with ease."""
    return machine(
        **{"motor": frictionless_motor(), "stages": (stage(60.0, 1.0, 1.0),), "arm": arm(moment=6.0), **more}
    )


def lever(key, made):
    return next(one for one in levers(made, PLAN) if one.key == key)


def test_the_largest_payload_is_what_the_stalled_torque_holds():
    found = limit_of(lever("arm.payload.mass", lossless()))
    bare = 6.0 - 5.0 * 0.62
    heaviest = (STALLED / STANDARD_GRAVITY - bare) / 0.62
    assert found.passes < heaviest < found.fails
    assert found.fails - found.passes <= 1e-3 * found.fails
    assert found.binding[0].startswith("the lift does not arrive")
    assert found.exceptions == ()


def test_a_limit_that_fails_as_it_is_is_found_inward():
    found = limit_of(lever("arm.payload.mass", lossless(arm=arm(moment=40.0, inertia=30.0, payload_mass=60.0))))
    heaviest = (STALLED / STANDARD_GRAVITY - (40.0 - 60.0 * 0.62)) / 0.62
    assert found.now > found.fails > heaviest > found.passes


def test_the_longest_arm_with_its_masses_kept():
    found = limit_of(lever("arm.length", lossless()))
    longest = 0.62 * STALLED / (6.0 * STANDARD_GRAVITY)
    assert found.passes < longest < found.fails


def test_the_worst_efficiency_just_lifts():
    made = lossless(stages=(stage(6.0, 0.95, 0.9), stage(10.0, 0.9, 0.85)))
    found = limit_of(lever("efficiency", made))
    assert found.now == pytest.approx(0.95 * 0.9)
    assert found.fails < 6.0 * STANDARD_GRAVITY / STALLED < found.passes


def test_a_margin_asked_for_binds_without_a_run_and_is_verified_by_one():
    wish = Wish(name="static_margin", dimension="ratio", sense="min", limit=1.5)
    found = limit_of(lever("arm.payload.mass", lossless()), (wish,))
    heaviest = (STALLED / 1.5 / STANDARD_GRAVITY - (6.0 - 5.0 * 0.62)) / 0.62
    assert found.passes < heaviest < found.fails
    assert found.binding == ("static_margin",)


def test_losses_scaled_alike_make_the_efficiency_asked_for():
    made = lossless(stages=(stage(6.0, 0.95, 0.9), stage(10.0, 0.8, 0.75)))
    assert efficiency_of(with_efficiency(made, 0.5)) == pytest.approx(0.5)
    assert efficiency_of(with_efficiency(made, 1.0)) == 1.0
    losses = [1.0 / s.law.static()[0] - 1.0 for s in with_efficiency(made, 0.5).stages]
    assert losses[0] / losses[1] == pytest.approx((1 / 0.95 - 1.0) / (1 / 0.8 - 1.0))


def test_a_stretched_arm_has_its_moments_further_out():
    far = stretched(arm(moment=6.0, inertia=3.5), 2.0)
    assert (far.length, far.payload_at, far.first_moment, far.inertia) == (1.24, 1.24, 12.0, 14.0)


def test_verdicts_that_change_back_are_told():
    # its tip is too fast without a load, and the load that it cannot lift is far above
    quick = lossless(stages=(stage(30.0, 1.0, 1.0),), arm=arm(moment=3.1, inertia=2.0, payload_mass=3.0))
    bare = run_speed(quick, 0.0)
    wish = Wish(name="tip_speed", dimension="velocity", sense="max", limit=0.97 * bare)
    found = limit_of(lever("arm.payload.mass", quick), (wish,))
    heaviest = (STALLED / 2.0 / STANDARD_GRAVITY - (3.1 - 3.0 * 0.62)) / 0.62
    assert found.passes < heaviest < found.fails
    assert found.binding[0].startswith("the lift does not arrive")
    assert found.exceptions[0] == (0.0, ("tip_speed",))


def run_speed(made, payload):
    """Highest speed of the tip in the run."""
    from armsim.drivetrain.machine import loaded
    from armsim.dynamics.trajectory import simulate

    return simulate(loaded(made, payload), PLAN).peaks.speed.value * made.arm.length


@pytest.mark.parametrize("name", ["crate-tipper", "press-hatch-worm"])
def test_the_verdict_of_a_search_is_that_of_a_run(name):
    scenario = load(Path(__file__).resolve().parents[2] / "scenarios" / f"{name}.yaml")
    verdict, requirements, lift = verdict_of(scenario.machine, scenario.plan, scenario.requirements)
    whole = assess(scenario)
    assert (verdict, requirements, lift.time) == (whole.verdict, whole.requirements, whole.lift.time)


def test_a_flag_of_a_battery_without_capacity_has_no_lowest_charge():
    full = Battery(charge_points=(0.0, 1.0), voltage_points=(20.0, 25.0), resistance=0.04, capacity=3600.0)
    assert "supply.battery.state_of_charge" not in {one.key for one in levers(lossless(), PLAN)}
    charged = levers(lossless(battery=full), PLAN, lambda charge: lossless(battery=full))
    assert "supply.battery.state_of_charge" in {one.key for one in charged}


def test_the_lowest_charge_is_where_the_open_circuit_voltage_still_lifts():
    volts = 25.0 * 6.0 * STANDARD_GRAVITY / STALLED  # about what the stalled motor needs; other loads sag a little more

    def charged(charge):
        table = {"charge_points": (0.0, 1.0), "voltage_points": (0.0, 25.0), "capacity": 3.6e7}
        return lossless(battery=Battery(resistance=0.04, state_of_charge=charge, **table))

    made = charged(1.0)
    lowest = Lever(
        key="charge", what="lowest charge", dimension="share", now=1.0, easiest=1.0, hardest=0.0,
        changed=lambda charge: (charged(charge), PLAN),
    )  # fmt: skip
    found = limit_of(lowest)
    loop = 0.5 + 0.006 + 0.04 + 0.012
    exact = (6.0 * STANDARD_GRAVITY / (0.07 * 60.0) * loop + 0.052) / 25.0
    assert abs(exact - volts / 25.0) < 0.01
    assert found.fails < exact < found.passes
    assert made.battery.state_of_charge == 1.0


# ---------------------------------------------------------------------------------------------------- keys and stock

SHELF = """
title: Shelf
motors:
  - {name: strong, nominal_voltage: 24 V, torque_constant: 0.08 N*m/A, resistance: 0.3 ohm}
  - {name: weak, nominal_voltage: 24 V, torque_constant: 0.02 N*m/A, resistance: 4 ohm}
"""


def test_keys_are_checked_all_at_once_with_the_nearest_and_the_right_option():
    task = loads_task(scenario_text())
    with pytest.raises(LimitError) as caught:
        limits_asked_for(task, None, ("arm.payload.mas",), ("arm.length", "motor"), every=False)
    assert str(caught.value).splitlines() == [
        "--largest arm.payload.mas: no such limit here; did you mean arm.payload.mass? "
        "known: arm.payload.mass, arm.length, efficiency",
        "--least arm.length: ask for it by --largest",
        "--least motor: the smallest motor is one of a stock list: add --stock",
    ]


def test_every_limit_of_a_scenario():
    task = loads_task(scenario_text())
    assert limits_asked_for(task, None, (), (), every=False) == ()
    assert limits_asked_for(task, loads_stock(SHELF), (), (), every=True) == (
        "arm.payload.mass",
        "arm.length",
        "efficiency",
        "motor",
    )


def test_limits_need_a_whole_scenario():
    with pytest.raises(LimitError, match="whole scenario"):
        limits_asked_for(loads_task(scenario_text(supply="")), None, (), (), every=True)


def test_motors_of_a_stock_in_the_machine_smallest_first():
    weak, strong = motors_tried(loads_task(scenario_text()), loads_stock(SHELF))
    assert (weak.name, weak.verdict, strong.name, strong.verdict) == ("weak", "fail", "strong", "pass")
    assert weak.binding[0].startswith("the lift does not arrive")
    assert strong.power == pytest.approx(25.0**2 / (4 * 0.34), rel=0.02)


def test_limits_do_not_hang_on_how_many_processes_seek_them():
    task, shelf = loads_task(scenario_text()), loads_stock(SHELF)
    keys, said = limits_asked_for(task, shelf, (), (), every=True), []
    here = asked_limits(task, shelf, keys, workers=1, told=said.append)
    assert here == asked_limits(task, shelf, keys, workers=2)
    assert [limit.key for limit in here[0]] == ["arm.payload.mass", "arm.length", "efficiency"]
    assert said[0] == "3 runs; sought: largest payload, longest arm, worst efficiency ..."
    assert said[-1].endswith("; sought: nothing more ...")


def test_a_run_that_ends_its_process_counts_as_one_that_cannot_be_computed():
    from concurrent.futures import Future

    from armsim.studies.limits import _answer
    from armsim.studies.processes import LostProcess

    future = Future()
    future.set_exception(LostProcess())
    assert _answer(future).binding == ("the run cannot be computed",)
