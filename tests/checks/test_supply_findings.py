"""Findings about limits of supply and controller, each on either side of its edge."""

import math
from dataclasses import replace

import pytest

from armsim.checks.assessment import Level
from armsim.dynamics.plan import Plan, PowerCut, Travel
from armsim.parts.battery import constant_source
from armsim.parts.bridge import Controller
from armsim.parts.outlet import Outlet
from armsim.studies.single import assess_machine, check_machine

from .machines import BREAKER, LIFT, machine, stage

GUARDED = machine(protection=(BREAKER,))
DOWN = Plan(start=math.radians(50.0), moves=(Travel(to=math.radians(-30.0), duty=-0.05),), power_cut=PowerCut())
BENCH = replace(GUARDED, battery=constant_source(12.0, 0.01))


def found(assessment, code):
    return next((item for item in assessment.findings if item.code == code), None)


def needed_current(m):
    """Current that just raises the arm at the horizontal, by hand: 6 kg at 0.45 m over 120:1 at 0.7."""
    torque = 6.0 * 9.80665 * 0.45 / (m.reduction * 0.7) + m.motor.breakaway_torque
    return torque / m.motor.torque_constant


def single():
    return replace(GUARDED, stages=(stage(120.0, 0.7),))


@pytest.mark.parametrize(("share", "blocks"), [(0.98, True), (1.02, False)])
def test_a_supplys_limit_that_stops_the_lift(share, blocks):
    m = replace(single(), battery=constant_source(12.0, 0.01), wiring=(), other_loads=0.0)
    limit = share * needed_current(m)
    m = replace(m, outlet=Outlet(current_limit=limit, capacitance=1e-3))
    # at full duty the supply gives the motor's own current
    assert (found(check_machine(m, LIFT), "supply-limit-blocks") is not None) == blocks


@pytest.mark.parametrize(("share", "blocks"), [(0.98, True), (1.02, False)])
def test_a_motor_side_limit_that_stops_the_lift(share, blocks):
    m = single()
    m = replace(m, controller=Controller(current_limit=share * needed_current(m)))
    assert (found(check_machine(m, LIFT), "current-limit-blocks") is not None) == blocks


@pytest.mark.parametrize(("share", "blocks"), [(0.98, True), (1.02, False)])
def test_a_supply_side_limit_that_stops_the_lift(share, blocks):
    m = replace(single(), battery=constant_source(12.0, 0.0), wiring=(), other_loads=0.0)
    resistance = m.motor.resistance + m.controller.resistance
    # stalled, V I_s = R i^2
    ration = resistance * (share * needed_current(m)) ** 2 / 12.0
    m = replace(m, controller=replace(m.controller, supply_current_limit=ration))
    checked = check_machine(m, LIFT)
    assert (found(checked, "current-limit-blocks") is not None) == blocks
    told = found(checked, "supply-side-limit")
    assert told is not None
    assert told.level is Level.WARNING


def test_a_supply_at_its_limit_in_the_run_is_told():
    m = replace(BENCH, outlet=Outlet(current_limit=30.0, capacitance=1e-3))
    told = found(assess_machine(m, LIFT), "supply-limits")
    assert told is not None
    assert "30.0 A" in told.text
    assert found(assess_machine(replace(m, outlet=Outlet(capacitance=1e-3)), LIFT), "supply-limits") is None


def test_a_bus_that_rises_is_told_with_the_capacitance_that_would_do():
    m = replace(BENCH, outlet=Outlet(capacitance=1e-3), other_loads=0.0)
    risen = assess_machine(m, DOWN)
    told = found(risen, "bus-rises")
    assert told is not None
    peak = risen.run.peaks.bus_highest.value
    assert told.level is (Level.ERROR if peak > 1.2 * 12.0 else Level.WARNING)
    assert found(risen, "returns-energy") is None
    sinking = assess_machine(replace(m, outlet=Outlet(capacitance=1e-3, can_sink=True)), DOWN)
    assert found(sinking, "bus-rises") is None
    assert found(sinking, "returns-energy") is not None


def test_a_duty_that_the_output_does_not_switch_at():
    m = replace(GUARDED, controller=Controller(minimum_duty=0.1))
    low = Plan(start=LIFT.start, moves=(Travel(to=0.5, duty=0.08),), power_cut=PowerCut())
    told = found(assess_machine(m, low), "duty-below-minimum")
    assert told is not None
    assert told.level is Level.ERROR
    enough = Plan(start=LIFT.start, moves=(Travel(to=0.5, duty=0.5),), power_cut=PowerCut())
    assert found(assess_machine(m, enough), "duty-below-minimum") is None


@pytest.mark.parametrize(
    ("magnet", "ambient", "at_risk"), [("ferrite", -11.0, True), ("ferrite", -9.0, False), ("neodymium", -20.0, False)]
)
def test_ferrite_is_at_risk_in_the_cold(magnet, ambient, at_risk):
    m = replace(GUARDED, ambient=ambient, motor=replace(GUARDED.motor, magnet=magnet))
    assert (found(check_machine(m, LIFT), "magnets-at-risk") is not None) == at_risk
