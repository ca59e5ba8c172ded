"""Bench supplies and the controller's keys for them, from their text to the parts."""

import math

import pytest

from armsim.parts.outlet import Outlet
from tests.scenario.texts import read, refused


def fed(bench, **more):
    return read(supply=f"{{bench: {bench}}}", **more)


def test_a_bench_supply_is_a_stiff_source_that_takes_nothing_back():
    scenario = fed("{voltage: 24 V}")
    machine = scenario.machine
    assert machine.battery.voltage_points == (24.0,)
    assert machine.battery.resistance == pytest.approx(0.01)
    assert machine.outlet == Outlet(capacitance=1e-3)
    assert math.isinf(machine.outlet.current_limit)
    told = {a.key for a in scenario.assumptions}
    assert {"supply.bench.internal_resistance", "supply.bench.can_sink", "controller.input_capacitance"} <= told


def test_limits_foldback_and_capacitance_arrive():
    bench = "{voltage: 24 V, current_limit: 10 A, short_circuit_current: 3000 mA, internal_resistance: 5 mohm}"
    outlet = fed(bench, controller="{input_capacitance: 4700 uF}").machine.outlet
    assert outlet == Outlet(current_limit=10.0, short_circuit_current=3.0, capacitance=pytest.approx(4.7e-3))


def test_one_that_sinks_and_has_no_limit_is_just_a_voltage():
    machine = fed("{voltage: 24 V, can_sink: yes, internal_resistance: 20 mohm}").machine
    assert machine.outlet is None
    assert machine.source_resistance == pytest.approx(0.02)


def test_the_controllers_limits_arrive():
    controller = "{supply_current_limit: 15 A, minimum_duty: 4 %}"
    supply = "{bench: {voltage: 24 V}, undervoltage: 18 V, overvoltage: 30 V}"
    built = read(supply=supply, controller=controller).machine.controller
    assert (built.supply_current_limit, built.minimum_duty) == (15.0, pytest.approx(0.04))
    assert (built.undervoltage, built.overvoltage) == (18.0, 30.0)


@pytest.mark.parametrize(
    ("supply", "key", "says"),
    [
        ("{other_loads: 1 A}", "supply", "says nothing of what gives the voltage"),
        (
            "{bench: {voltage: 24 V}, battery: {open_circuit_voltage: 24 V, internal_resistance: 0.1 ohm}}",
            "supply.bench",
            "a battery and a bench supply both",
        ),
        ("{bench: {voltage: 24 V, short_circuit_current: 3 A}}", "supply.bench.short_circuit_current", "needs"),
        (
            "{bench: {voltage: 24 V, current_limit: 3 A, short_circuit_current: 9 A}}",
            "supply.bench.short_circuit_current",
            "above current_limit, 3 A",
        ),
        ("{bench: {voltage: 24 V, current_limit: 2 A}, other_loads: 2 A}", "supply.other_loads", "take all"),
        ("{bench: {voltage: 24 V, internal_resistance: 0 ohm}}", "supply.bench.internal_resistance", "nothing"),
        ("{bench: {voltage: 24 V}, undervoltage: 24 V}", "supply.undervoltage", "not below the source's 24 V"),
        ("{bench: {voltage: 24 V}, overvoltage: 23 V}", "supply.overvoltage", "not above the source's 24 V"),
    ],
)
def test_what_cannot_be_is_refused_where_it_stands(supply, key, says):
    (problem,) = refused(supply=supply)
    assert problem.key == key
    assert says in problem.text
