"""Machines of other values: what a lever makes of a built machine is what the file would have made."""

import numpy as np
import pytest

from armsim.scenario import changed
from armsim.studies.varied import Variation
from tests.scenario import texts

SUPPLY = """
battery:
  open_circuit_voltage: [[0, 23 V], [0.5, 24.5 V], [1, 26 V]]
  capacity: 12 A*h
  internal_resistance: 40 mohm
  state_of_charge: 80 %
other_loads: 1 A
"""
ALL = """
payload: 10 %
charge: 20 %
supply.other_loads: 50 %
temperature: 20 K
efficiency: 5 %
motor_constant: 10 %
motor_resistance: 10 %
arm.length: 5 %
"""


def varied(uncertainty=ALL, **sections):
    scenario = texts.read(**{"supply": SUPPLY, "uncertainty": uncertainty, **sections})
    return Variation(scenario=scenario, inputs=scenario.uncertainty)


def test_a_row_of_values_makes_the_machine_that_its_file_makes():
    variation = varied()
    row = [8.4, 0.71, 1.25, 11.0, 0.97, 1.06, 0.93, 0.59]
    (machine,) = variation.machines(np.array([row]))
    assert machine is not None
    written = changed(variation.scenario, {**variation.texts(row), "uncertainty": None}).machine
    for get in (
        lambda m: m.arm.first_moment,
        lambda m: m.arm.inertia,
        lambda m: m.battery.state_of_charge,
        lambda m: m.other_loads,
        lambda m: m.ambient,
        lambda m: m.stages[-1].law.forward,
        lambda m: m.stages[-1].law.reverse,
        lambda m: m.motor.back_emf_constant,
        lambda m: m.motor.resistance,
        lambda m: m.arm.length,
    ):
        assert get(machine) == pytest.approx(get(written), rel=1e-12)
        assert get(machine) != get(variation.scenario.machine)


def test_a_machine_off_its_sheets_stays_so_at_another_value():
    variation = varied(
        "{arm.pivot_friction.viscous: 20 %}",
        as_built="{friction: 150 %}",
        arm="{length: 0.6 m, mass: 5 kg, pivot_friction: {coulomb: 0.5 N*m, viscous: 0.05 N*m*s/rad}}",
    )
    (machine,) = variation.machines(np.array([[0.04]]))
    assert machine is not None
    assert machine.arm.friction.viscous == pytest.approx(1.5 * 0.04, rel=1e-12)


def test_the_charge_of_a_battery_by_chemistry_changes_its_resistance_too():
    supply = "{battery: {chemistry: lead-acid, cells: 12, capacity: 12 A*h, state_of_charge: 80 %}}"
    variation = varied("{charge: 40 %}", supply=supply)
    full, empty = variation.machines(np.array([[1.0], [0.45]]))
    assert empty.battery.resistance > 1.05 * full.battery.resistance


def test_values_that_disagree_are_no_machine_and_others_go_on():
    arm = "{length: 0.6 m, mass: 5 kg, payload: {mass: 8 kg}, pivot_friction: {coulomb: 0.6 N*m, breakaway: 0.9 N*m}}"
    variation = varied("{arm.pivot_friction.breakaway: 60 %, payload: 5 %}", arm=arm)
    table = np.array([[0.7, 8.0], [0.5, 8.1], [0.8, 8.2]])
    good, bad, third = variation.machines(table)
    assert bad is None
    assert (good.arm.friction.breakaway, third.arm.payload_mass) == (0.7, 8.2)
    designs = variation.designs(table)
    assert designs.made.tolist() == [0, 2]
    assert designs.machine.arm.payload_mass.tolist() == [8.0, 8.2]


def test_factors_of_the_file_and_of_the_sample_multiply():
    variation = varied("{efficiency: 5 %}", as_built="{efficiency: 95 %}")
    (machine,) = variation.machines(np.array([[0.9]]))
    assert machine.stages[-1].law.forward == pytest.approx(0.8 * 0.95 * 0.9)
    assert variation.texts([0.9]) == {"as_built.efficiency": f"{100.0 * 0.9 * 0.95!r} %"}


PLAIN = SUPPLY.replace("other_loads: 1 A\n", "")
BREAKER = "protection: [{kind: thermal-auto-reset, rating: 30 A%s}]\n"


@pytest.mark.parametrize(
    ("supply", "built"),
    [
        (PLAIN, False),
        (PLAIN + BREAKER % ", ambient: 40 degC", False),
        (PLAIN + BREAKER % "", True),
        (PLAIN + BREAKER % ", ambient_effect: none", False),
        ("{battery: {chemistry: lead-acid, cells: 12, capacity: 12 A*h}}", True),
        ("{battery: {chemistry: lead-acid, cells: 12, capacity: 12 A*h, temperature: 10 degC}}", False),
    ],
    ids=["table", "breaker elsewhere", "breaker", "warmth does nothing", "chemistry", "battery kept warm"],
)
def test_temperature_is_set_where_nothing_hangs_on_it_and_either_way_as_its_file_does(supply, built):
    variation = varied("{temperature: {uniform: [-15 degC, 45 degC]}}", supply=supply)
    assert variation.builds is built
    table = np.array([[-15.0], [3.0], [25.0], [45.0]])
    for row, machine in zip(table, variation.machines(table), strict=True):
        written = changed(variation.scenario, {**variation.texts(row.tolist()), "uncertainty": None}).machine
        assert machine == written
    assert variation.designs(table).machine.ambient.tolist() == [-15.0, 3.0, 25.0, 45.0]


def test_the_charge_of_a_table_is_set_and_that_of_a_chemistry_built():
    supply = "{battery: {chemistry: lead-acid, cells: 12, capacity: 12 A*h, state_of_charge: 80 %}}"
    variation = varied("{charge: 20 %}")
    assert not variation.builds
    assert varied("{charge: 20 %}", supply=supply).builds
    (machine,) = variation.machines(np.array([[0.61]]))
    assert machine == changed(variation.scenario, {"supply.battery.state_of_charge": "61 %"}).machine
