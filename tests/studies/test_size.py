"""The window of reductions of a motor, against the roots of its line of torque and speed under a constant load."""

import math
from pathlib import Path

import pytest

from armsim.checks.lifting import LiftTask
from armsim.dynamics.plan import Plan, Travel
from armsim.parts.arm import Friction
from armsim.parts.battery import constant_source
from armsim.parts.bridge import Controller
from armsim.scenario import ScenarioError, loads
from armsim.scenario.stock import loads_stock
from armsim.scenario.tasks import load_task, loads_task, with_motor
from armsim.studies.demand import demand_of
from armsim.studies.size import SizeError, efficiency_for, fit, size
from armsim.studies.trial import arm_line, geared
from tests.machines import arm, frictionless_motor, machine
from tests.scenario.texts import scenario_text

VOLTS, OHMS, CONSTANT = 24.0, 0.5, 0.07
DRAG, EFFICIENCY, WAY = 20.0, 0.8, 1.5
LIFT = LiftTask(start=0.0, to=WAY, duty=1.0)
PLAN = Plan(start=0.0, moves=(Travel(to=WAY),))


def bare(**more):
    """A motor without drag or inertia on a firm source, and an arm that only rubs."""
    rubbing = arm(moment=0.0, inertia=2e-5, payload_mass=0.0, friction=Friction(coulomb=DRAG, breakaway=DRAG))
    parts = {
        "motor": frictionless_motor(rotor_inertia=1e-9, inductance=1e-6),
        "battery": constant_source(VOLTS, 0.0),
        "wiring": (),
        "other_loads": 0.0,
        "controller": Controller(),
        "stages": (),
        "arm": rubbing,
    }
    return machine(**{**parts, **more})


def roots(time):
    """Reductions n with which (V/k - R T/(k^2 eta n))/n makes the way in the time."""
    a, b, c = WAY / time, -VOLTS / CONSTANT, OHMS * DRAG / (CONSTANT**2 * EFFICIENCY)
    spread = math.sqrt(b * b - 4.0 * a * c)
    return (-b - spread) / (2.0 * a), (-b + spread) / (2.0 * a)


def test_the_window_ends_at_the_roots_of_the_motors_line():
    found = fit("m", bare(), PLAN, demand_of(bare().arm, LIFT, 1.0), EFFICIENCY, 1.0)
    assert found.window == pytest.approx(roots(1.0), rel=2e-3)
    assert found.lacking == ""


def test_the_quickest_lift_is_at_half_the_stalled_torque():
    found = fit("m", bare(), PLAN, demand_of(bare().arm, LIFT, 1.0), EFFICIENCY, 1.0)
    stalled = VOLTS / OHMS * CONSTANT
    assert found.quickest.reduction == pytest.approx(2.0 * DRAG / (stalled * EFFICIENCY), rel=0.02)
    assert found.quickest.time == pytest.approx(4.0 * WAY * DRAG / (EFFICIENCY * stalled * VOLTS / CONSTANT), rel=2e-3)
    assert found.quickest.static_margin == pytest.approx(2.0, rel=0.02)


def test_a_margin_asked_for_raises_the_least_reduction():
    found = fit("m", bare(), PLAN, demand_of(bare().arm, LIFT, 1.0), EFFICIENCY, 1.8)
    assert found.window[0] == pytest.approx(1.8 * DRAG / (VOLTS / OHMS * CONSTANT * EFFICIENCY), rel=1e-3)


def test_a_time_that_power_does_not_allow_is_told_with_how_much_it_takes():
    best = 4.0 * WAY * DRAG / (EFFICIENCY * VOLTS**2 / OHMS)  # the motor's most power is V^2/(4 R)
    found = fit("m", bare(), PLAN, demand_of(bare().arm, LIFT, best / 1.5), EFFICIENCY, 1.0)
    assert found.window is None
    assert found.coolest is None
    assert found.lacking == "at its quickest it takes 1.5 times as long"
    assert found.greatest_power == pytest.approx(VOLTS**2 / (4.0 * OHMS))


def test_too_weak_at_any_reduction_that_is_quick_enough_is_told_by_torque():
    best = 4.0 * WAY * DRAG / (EFFICIENCY * VOLTS**2 / OHMS)
    # half the time that lets the motor run idle with the torque it needs just to hold
    found = fit("m", bare(), PLAN, demand_of(bare().arm, LIFT, best / 8.0), EFFICIENCY, 1.0)
    assert found.window is None
    assert found.lacking.startswith("geared to be quick enough without load")
    assert "it has 50 % of the torque" in found.lacking


def test_the_line_at_the_arm_runs_from_stalled_torque_to_idle_speed():
    torques, speeds = arm_line(geared(bare(), 30.0, EFFICIENCY))
    assert torques[0] == pytest.approx(VOLTS / OHMS * CONSTANT * 30.0 * EFFICIENCY)
    assert (torques[-1], speeds[-1]) == (pytest.approx(0.0, abs=1e-9), pytest.approx(VOLTS / CONSTANT / 30.0))


def test_a_reduction_stands_before_a_carriages_last_stage():
    carriage = loads(
        scenario_text(
            arm="",
            carriage="{mass: 5 kg}",
            transmission="[{drum: {diameter: 60 mm, rope_diameter: 3 mm}}]",
            start="0 mm",
            moves="[{lift: {to: 400 mm}}]",
        )
    ).machine
    found = geared(carriage, 12.0, 0.9)
    assert [stage.kind for stage in found.stages[-2:]] == ["gears", "drum"]
    assert found.reduction == pytest.approx(12.0 * carriage.reduction)


# ---------------------------------------------------------------------------------------------------- files

TASK = """
title: Lid
arm: {length: 0.8 m, mass: 6 kg, payload: {mass: 2 kg}}
start: 0 deg
moves: [{lift: {to: 80 deg}}]
"""
SHELF = """
title: Shelf
motors:
  - {name: one, price: 5, nominal_voltage: 24 V, torque_constant: 0.07 N*m/A, resistance: 0.5 ohm}
  - {name: voltless, torque_constant: 0.07 N*m/A, resistance: 0.5 ohm}
"""


def test_a_task_may_lack_motor_supply_and_transmission():
    task = loads_task(TASK)
    assert task.scenario is None
    with pytest.raises(ScenarioError) as caught:
        loads(TASK)
    assert {problem.key for problem in caught.value.problems} == {"motor", "supply"}


def test_everything_else_of_a_task_is_checked():
    with pytest.raises(ScenarioError) as caught:
        loads_task(TASK.replace("mass: 6 kg", "mass: 6").replace("80 deg", "80 kg"))
    assert {problem.code for problem in caught.value.problems} == {"SCN110", "SCN111"}


def test_a_motor_without_a_supply_runs_on_its_own_voltage_and_one_without_a_voltage_is_refused():
    task, (one, voltless) = loads_task(TASK), loads_stock(SHELF).motors
    built = with_motor(task, one.given)
    assert (built.highest_voltage, built.source_resistance) == (24.0, 0.0)
    with pytest.raises(ValueError, match="voltage is not known"):
        with_motor(task, voltless.given)


def test_sizing_a_task_from_a_shelf():
    sizing = size(loads_task(TASK), loads_stock(SHELF), time=2.0)
    assert [fit.name for fit in sizing.fits] == ["one"]
    assert [name for name, _ in sizing.refused] == ["voltless"]
    low, high = sizing.fits[0].window
    stalled = 24.0 / 0.5 * 0.07 * 0.75
    assert low >= (6.0 * 0.4 + 2.0 * 0.8) * 9.80665 / stalled * 0.999
    assert high < 24.0 / 0.07 * 2.0 / math.radians(80.0)
    assert (sizing.efficiency, sizing.efficiency_from) == (0.75, "assumed")


def test_a_task_needs_a_lift_and_a_time():
    with pytest.raises(SizeError, match="--time"):
        size(loads_task(TASK))
    with pytest.raises(SizeError, match="no lift"):
        size(loads_task(TASK.replace("lift: {to: 80 deg}", "rest: {for: 2 s}")), time=1.0)


def test_the_files_own_train_tells_the_efficiency():
    path = Path(__file__).resolve().parents[2] / "scenarios" / "crate-tipper.yaml"
    share, origin = efficiency_for(load_task(path), None)
    assert share == pytest.approx(0.97 * 0.97 * 0.96, rel=1e-3)
    assert origin.startswith("that of the file's transmission")
    assert efficiency_for(load_task(path), 0.8) == (0.8, "given")
