"""Findings on the heat of many cycles, of a stall under brushes, and of a limit that is a class's figure."""

import math
import re
from dataclasses import replace

import pytest

from armsim.checks.assessment import Level
from armsim.dynamics.plan import Plan, Rest, Travel
from armsim.dynamics.trajectory import simulate
from armsim.parts.bridge import Controller
from armsim.parts.motor import Heat
from armsim.studies.single import assess_machine, check_machine
from tests.machines import MOTOR, arm, machine

LOW, HIGH = math.radians(-30.0), math.radians(70.0)
HEAT = Heat(
    winding_to_housing=1.2, housing_to_air=3.5, winding_capacity=20.0, housing_capacity=60.0, winding_limit=70.0
)
MOVES = (Travel(to=HIGH), Travel(to=LOW, duty=-0.1), Rest(duration=20.0))


def told(code, assessment):
    return next((found for found in assessment.findings if found.code == code), None)


def warm(limit):
    return machine(motor=replace(MOTOR, heat=replace(HEAT, winding_limit=limit)))


@pytest.fixture(scope="module")
def passing():
    return assess_machine(warm(70.0), Plan(start=LOW, moves=MOVES, repeat=100))


def test_the_cycle_that_passes_the_limit_is_named_with_where_it_settles(passing):
    found = told("motor-past-limit", passing)
    first = next(cycle.number for cycle in passing.run.cycles if cycle.winding > 70.0)
    assert found.level is Level.ERROR
    assert found.text.startswith(f"In cycle {first} of 100 the winding passes its limit of 70.0 degC; it settles at ")
    settles = float(re.search(r"settles at ([\d.]+) degC", found.text).group(1))
    assert settles == pytest.approx(passing.run.cycles[-1].winding, abs=0.6)
    assert told("winding-too-hot", passing) is None


def test_each_mend_alone_keeps_the_winding_within(passing):
    payload, rest = map(float, re.findall(r"about ([\d.]+)", told("motor-past-limit", passing).mend))
    assert payload == pytest.approx(passing.heat.cycle_payload, abs=0.01)
    lighter = machine(motor=warm(70.0).motor, arm=arm(moment=6.0 - (5.0 - payload) * 0.62, **{"payload_mass": payload}))
    lighter = replace(
        lighter, arm=replace(lighter.arm, inertia=3.5 - (5.0 - payload) * 0.62**2, friction=machine().arm.friction)
    )
    longer = (*MOVES[:2], Rest(duration=20.0 + rest))
    for changed, moves in ((lighter, MOVES), (warm(70.0), longer)):
        run = simulate(changed, Plan(start=LOW, moves=moves, repeat=100))
        assert run.cycles[-1].winding == pytest.approx(70.0, abs=1.0)


def test_a_run_too_short_to_pass_it_is_warned_of_the_cycle_that_would():
    few = Plan(start=LOW, moves=MOVES, repeat=5)
    found = told("motor-past-limit", assess_machine(warm(80.0), few))
    many = simulate(warm(80.0), replace(few, repeat=100))
    true = next(cycle.number for cycle in many.cycles if cycle.winding > 80.0)
    assert found.level is Level.WARNING
    told_of = int(re.search(r"in about cycle (\d+)", found.text).group(1))
    assert told_of == pytest.approx(true, rel=0.1)


def test_cycles_that_stay_within_are_not_spoken_of():
    assert told("motor-past-limit", assess_machine(warm(100.0), Plan(start=LOW, moves=MOVES, repeat=5))) is None


def test_a_stall_is_given_half_its_adiabatic_time():
    stalled = machine(
        motor=replace(MOTOR, heat=HEAT), arm=arm(moment=20.0, inertia=9.0), controller=Controller(current_limit=20.0)
    )
    found = told("stall-heats-locally", assess_machine(stalled, Plan(start=LOW, moves=(Travel(to=HIGH),))))
    # 20 A in 0.5 ohm, hardly warm as the stall begins: C/(a i^2 R) ln(x1/x0), halved
    half = 0.5 * 20.0 * 259.5 / (20.0**2 * 0.5) * math.log(304.5 / 259.5)
    seconds = float(re.search(r"count on ([\d.]+) s", found.text).group(1))
    assert seconds == pytest.approx(half, rel=0.03)
    assert seconds < half


def test_a_limit_that_is_a_class_figure_is_remarked_on_and_another_is_not():
    plan = Plan(start=LOW, moves=MOVES)
    found = told("limit-is-hot-spot", check_machine(warm(155.0), plan))
    assert "thermal class F" in found.text
    assert found.mend.startswith("a limit of 145 degC")
    assert told("limit-is-hot-spot", check_machine(warm(150.0), plan)) is None
