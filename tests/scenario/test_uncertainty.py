"""The section on what is not known exactly: its forms, its words for keys, and its faults."""

from dataclasses import replace

import pytest

from armsim.scenario import changed, loads
from armsim.scenario.problems import Misreading
from armsim.scenario.uncertainty import CUSTOMARY, bounded, customary, section_of
from armsim.scenario.values import file_text, written

from . import texts

BATTERY = "{battery: {open_circuit_voltage: 25 V, internal_resistance: 40 mohm, state_of_charge: 80 %}}"
TRAIN = "[{gears: {driver: 14, driven: 70, efficiency: 0.95}}, {gearbox: {reduction: 20, efficiency: 0.8}}]"


def read(section, **others):
    scenario = texts.read(supply=BATTERY, transmission=TRAIN, uncertainty=section, **others)
    return {one.name: one for one in scenario.uncertainty}


def refused(section):
    return {p.key: p for p in texts.refused(supply=BATTERY, transmission=TRAIN, uncertainty=section)}


@pytest.mark.parametrize(
    ("typed", "law", "numbers"),
    [
        ("10 %", "uniform", (7.2, 8.8)),
        ("±10 %", "uniform", (7.2, 8.8)),
        ("+/- 500 g", "uniform", (7.5, 8.5)),
        ("{plus_minus: 1 kg}", "uniform", (7.0, 9.0)),
        ("{uniform: [7 kg, 120 %]}", "uniform", (7.0, 9.6)),
        ("{triangular: [6 kg, 9 kg, 10 kg]}", "triangular", (6.0, 10.0)),
    ],
)
def test_a_tolerance_is_a_bound_and_a_list_has_values_of_the_key(typed, law, numbers):
    (payload,) = read(f"{{payload: {typed}}}").values()
    assert (payload.key, payload.nominal) == ("arm.payload.mass", 8.0)
    assert payload.spread.law == law
    assert (payload.spread.low, payload.spread.high) == pytest.approx(numbers)


def test_normal_is_told_by_its_standard_deviation():
    (payload,) = read("{payload: {normal: 2 %}}").values()
    assert (payload.spread.centre, payload.spread.deviation) == pytest.approx((8.0, 0.16))
    assert payload.spread.least == 0.0


def test_a_part_of_one_scatters_in_its_points_and_ends_at_one():
    (charge,) = read("{charge: 15 %}").values()
    assert (charge.spread.low, charge.spread.high, charge.spread.most) == pytest.approx((0.65, 0.95, 1.0))


def test_temperatures_differ_in_kelvins_or_fahrenheit_degrees():
    assert read("{temperature: 18 degF}")["temperature"].spread.low == pytest.approx(25.0 - 10.0)
    assert read("{temperature: 15 K}")["temperature"].spread.high == pytest.approx(40.0)
    assert "per cent of a temperature" in refused("{temperature: 10 %}")["uncertainty.temperature"].text


def test_any_figure_of_the_file_can_be_named_by_its_key_with_or_without_brackets():
    found = read("{arm.length: 2 mm, transmission.0.gears.efficiency: {uniform: [0.9, 0.97]}}")
    assert found["arm.length"].spread.high == pytest.approx(0.602)
    assert found["transmission.0.gears.efficiency"].key == "transmission[0].gears.efficiency"


def test_efficiency_cannot_pass_one():
    (loss,) = read("{efficiency: 20 %}").values()
    assert loss.spread.most == pytest.approx(1.0 / 0.95)


def test_all_faults_are_told_at_once_with_what_is_meant():
    found = refused(
        """
        efficency: 5 %
        payload: 5 kg/m
        friction: 5
        transmission.0.gears.driver: 1
        motor_constant: {normal: 2 %, uniform: [1, 2]}
        charge: {uniform: [90 %, 40 %]}
        motor_resistance: {uniform: [0 %, 40 %]}
        """
    )
    assert len(found) == 7
    assert found["uncertainty.efficency"].hint == "did you mean 'efficiency'?"
    assert "a unit of another kind" in found["uncertainty.payload"].text
    assert found["uncertainty.friction"].hint == "write 5 %"
    assert "exactly one of" in found["uncertainty.motor_constant"].text
    assert "rising" in found["uncertainty.charge"].text
    assert "out of range" in found["uncertainty.motor_resistance"].text


def test_one_key_by_two_names_is_refused():
    assert refused("{payload: 5 %, arm.payload.mass: 5 %}")["uncertainty.arm.payload.mass"].code == "SCN122"


def test_a_factor_on_parts_that_the_machine_has_not_is_refused():
    uncertain = read("{efficiency: 5 %}")["efficiency"]
    machine = texts.read().machine
    with pytest.raises(Misreading, match="no efficiency in this machine"):
        bounded(uncertain, replace(machine, stages=()))
    assert "no friction" in refused("{friction: 5 %}")["uncertainty.friction"].text


def test_usual_tolerances_are_those_that_the_machine_has_and_come_as_a_section_to_paste():
    scenario = texts.read(supply=BATTERY, transmission=TRAIN)
    usual = customary(scenario)
    assert [one.name for one in usual] == [name for name in CUSTOMARY if name != "friction"]
    again = loads(texts.scenario_text(supply=BATTERY, transmission=TRAIN) + section_of(usual)).uncertainty
    assert [(one.name, one.spread) for one in again] == [(one.name, one.spread) for one in usual]


def test_a_value_is_written_so_that_it_is_read_back():
    scenario = texts.read(uncertainty="{payload: 5 %}")
    (mass,) = scenario.uncertainty
    other = changed(scenario, {mass.key: written(7.123456789012345, mass.measure), "ambient": "-3 degC"})
    assert (other.machine.arm.payload_mass, other.machine.ambient) == (7.123456789012345, -3.0)
    assert other.machine.arm.first_moment == pytest.approx(5.0 * 0.3 + 7.123456789012345 * 0.6)


def test_the_file_of_other_values_is_read_as_the_same_machine():
    scenario = texts.read(supply=BATTERY, transmission=TRAIN, uncertainty="{payload: 5 %}")
    changes = {"arm.payload.mass": "7.5 kg", "as_built.efficiency": "96 %", "supply.battery.state_of_charge": "55 %"}
    text = file_text(scenario, changes, "as built")
    assert loads(text).machine == changed(scenario, changes).machine
    assert loads(text).machine.stages[1].law.forward == pytest.approx(0.96 * 0.95)
    assert "uncertainty" not in text


def test_a_machine_cannot_be_built_more_efficient_than_one():
    (problem,) = texts.refused(as_built="{efficiency: 130 %}")
    assert (problem.code, problem.key) == ("SCN120", "as_built.efficiency")
    assert "at most 125 %" in problem.text
