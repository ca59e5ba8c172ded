"""Batteries by chemistry: against figures worked out by hand and ranges of the trade."""

import contextlib
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from armsim.scenario import ScenarioError
from tests.scenario.texts import read, refused, understood

AMPERE_HOUR = 3600.0
MILLI = 1e-3


def scenario(keys, ambient="25 degC", undervoltage=None):
    more = f", undervoltage: {undervoltage}" if undervoltage else ""
    return read(supply=f"{{battery: {{{keys}}}{more}}}", ambient=ambient)


def battery(keys, ambient="25 degC"):
    return scenario(keys, ambient).machine.battery


def settled(found):
    return found.resistance + found.relaxation_resistance


def assumed(found, key):
    return [assumption.text for assumption in found.assumptions if assumption.key == f"supply.battery.{key}"]


ACID = "chemistry: lead-acid, cells: 6, capacity: 18 A*h"
IRON = "chemistry: lifepo4, cells: 4, capacity: 20 A*h"
ION = "chemistry: li-ion, cells: 3, capacity: 5 A*h"


def test_six_lead_acid_cells_have_the_voltages_of_their_table():
    found = battery(ACID)
    assert (found.charge_points[0], found.charge_points[-1]) == (0.0, 1.0)
    assert [found.voltage_points[k] for k in (0, 6, 12)] == pytest.approx([11.80, 12.30, 12.85])


@pytest.mark.parametrize(("charge", "electrochemical"), [(0, 11.773), (6, 12.2915), (12, 12.81)])
def test_that_table_is_near_the_linear_law_of_lead_acid(charge, electrochemical):
    # 6 (2.135 V - 0.58 mV/K 298 K (1 - charge))
    assert battery(ACID).voltage_points[charge] == pytest.approx(electrochemical, abs=0.05)


def test_cells_in_series_add_their_voltages():
    assert battery("chemistry: lead-acid, cells: 12, capacity: 18 A*h").voltage_points[-1] == pytest.approx(25.70)
    assert battery(IRON).voltage_points[6] == pytest.approx(4 * 3.295)
    assert battery(ION).voltage_points[-1] == pytest.approx(12.6)
    assert battery(ION).voltage_points[0] == pytest.approx(9.0)


@pytest.mark.parametrize(
    ("keys", "least", "most"),
    [
        (ACID, 9.0, 18.0),
        ("chemistry: lead-acid, cells: 6, capacity: 100 A*h", 2.0, 4.0),
        ("chemistry: lifepo4, cells: 4, capacity: 100 A*h", 5.0, 10.0),
        ("chemistry: lifepo4, cells: 4, capacity: 20 A*h", 15.0, 40.0),
        ("chemistry: lifepo4, cells: 4, capacity: 10 A*h", 15.0, 40.0),
        ("chemistry: li-ion, cells: 1, capacity: 2.5 A*h", 20.0, 50.0),
    ],
)
def test_a_typical_resistance_lies_in_the_range_of_the_trade(keys, least, most):
    found = scenario(keys)
    assert least * MILLI <= found.machine.battery.resistance <= most * MILLI
    assert "typical of its kind" in assumed(found, "internal_resistance")[0]


def test_the_slow_part_follows_in_its_proportion():
    acid, ion = battery(ACID), battery(ION)
    assert (acid.relaxation_resistance, acid.relaxation_time) == pytest.approx((0.5 * acid.resistance, 0.7))
    assert (ion.relaxation_resistance, ion.relaxation_time) == pytest.approx((0.3 * ion.resistance, 2.0))


def test_a_reading_over_seconds_is_the_sag_that_comes_out():
    found = scenario(f"{ACID}, internal_resistance: 18 mohm")
    assert settled(found.machine.battery) == pytest.approx(18.0 * MILLI)
    assert found.machine.battery.resistance == pytest.approx(12.0 * MILLI)
    assert assumed(found, "relaxation") == [
        "6 mohm of the 18 mohm follow with a time constant of 0.7 s, typical of the kind"
    ]


def test_a_meter_at_a_kilohertz_sees_half_of_it():
    found = scenario(f"{ACID}, internal_resistance: 9 mohm, resistance_method: AC")
    assert settled(found.machine.battery) == pytest.approx(18.0 * MILLI)
    assert "18 mohm over seconds, twice the 9 mohm" in assumed(found, "internal_resistance")[0]
    plain = scenario("open_circuit_voltage: 12.6 V, internal_resistance: 9 mohm, resistance_method: ac")
    assert plain.machine.battery.resistance == pytest.approx(18.0 * MILLI)
    assert "twice the 9 mohm" in assumed(plain, "internal_resistance")[0]


@pytest.mark.parametrize(
    ("keys", "told"), [("", True), (", resistance_method: dc", False), (", resistance_method: ac", False)]
)
def test_how_a_resistance_was_taken_is_assumed_where_it_is_not_said(keys, told):
    found = scenario(f"{ACID}, internal_resistance: 9 mohm{keys}")
    assert bool(assumed(found, "resistance_method")) is told


def test_a_cold_cranking_current_gives_the_resistance():
    # (12.6 V - 7.2 V)/600 A = 9 mohm at -18 degC after 30 s, half of that warm
    keys = "chemistry: lead-acid, cells: 6, capacity: 60 A*h, cold_cranking_current: 600 A"
    assert settled(battery(keys)) == pytest.approx(4.5 * MILLI)
    assert settled(battery(keys, ambient="-18 degC")) == pytest.approx(9.0 * MILLI)


def test_a_relaxation_of_ones_own_stands_beside_the_resistance():
    found = battery(f"{ACID}, internal_resistance: 11 mohm, relaxation: {{resistance: 6 mohm, time: 0.72 s}}")
    assert (found.resistance, found.relaxation_resistance, found.relaxation_time) == (0.011, 0.006, 0.72)
    plain = battery(
        "open_circuit_voltage: 12.6 V, internal_resistance: 11 mohm, relaxation: {resistance: 6 mohm, time: 0.72 s}"
    )
    assert (plain.resistance, plain.relaxation_resistance, plain.relaxation_time) == (0.011, 0.006, 0.72)


def test_a_battery_by_its_voltage_has_no_slow_part_unless_told():
    found = battery("open_circuit_voltage: 12.6 V, internal_resistance: 11 mohm")
    assert (found.resistance, found.relaxation_resistance, found.peukert_exponent) == (0.011, 0.0, 1.0)


@pytest.mark.parametrize(
    ("ambient", "resistance", "capacity"),
    [
        ("25 degC", 1.0, 1.0),
        ("40 degC", 1.0, 1.0),
        ("0 degC", 1.3, 0.85),
        ("-9 degC", 1.65, 0.70),
        ("-18 degC", 2.0, 0.55),
        ("-30 degC", 2.0, 0.55),
    ],
)
def test_cold_makes_lead_acid_weaker_and_smaller(ambient, resistance, capacity):
    found = battery(ACID, ambient)
    assert found.resistance == pytest.approx(resistance * 250.0 / 18.0 * MILLI)
    assert found.capacity == pytest.approx(capacity * 18.0 * AMPERE_HOUR)


def test_cold_makes_lithium_cells_weaker_but_not_their_board():
    warm, cold = battery(IRON), battery(f"{IRON}, temperature: 0 degC")
    board = 4.2 * MILLI
    assert cold.resistance - board == pytest.approx(2.5 * (warm.resistance - board))
    assert cold.capacity == warm.capacity
    assert battery(ION, "-20 degC").resistance == pytest.approx(6.0 * 3 * 17.5 * MILLI)


def test_a_battery_of_its_own_temperature_does_not_ask_the_surroundings():
    assert battery(f"{ACID}, temperature: 25 degC", "-18 degC").resistance == pytest.approx(battery(ACID).resistance)


@pytest.mark.parametrize(("health", "resistance"), [("1", 1.0), ("0.9", 1.5), ("80 %", 2.0)])
def test_age_takes_capacity_and_adds_resistance(health, resistance):
    found = battery(f"{ACID}, state_of_health: {health}")
    assert found.resistance == pytest.approx(resistance * battery(ACID).resistance)
    share = {"1": 1.0, "0.9": 0.9, "80 %": 0.8}[health]
    assert found.capacity == pytest.approx(share * 18.0 * AMPERE_HOUR)


def test_an_empty_lead_acid_battery_is_weaker():
    assert battery(f"{ACID}, state_of_charge: 20 %").resistance == pytest.approx(1.65 * battery(ACID).resistance)
    assert battery(f"{ION}, state_of_charge: 20 %").resistance == battery(ION).resistance


def test_strings_in_parallel_add_capacity_and_share_current():
    one, two = battery(ACID), scenario(f"{ACID}, parallel: 2")
    found = two.machine.battery
    assert found.voltage_points == one.voltage_points
    assert found.capacity == pytest.approx(36.0 * AMPERE_HOUR)
    assert settled(found) == pytest.approx(settled(one) / 2.0)
    assert assumed(two, "capacity") == ["36 A*h in all: 18 A*h times 2 strings"]


def test_what_made_a_resistance_is_told():
    found = scenario(f"{ACID}, state_of_charge: 60 %, state_of_health: 0.8, parallel: 2", "0 degC")
    told = assumed(found, "internal_resistance")[-1]
    for cause in ("1.3 at 0 degC", "1.325 at 60 % charge", "2 for its age", "1/2 for the strings"):
        assert cause in told


@pytest.mark.parametrize(
    ("typed", "name"),
    [
        ("Lead-Acid", "lead-acid"),
        ("lead acid", "lead-acid"),
        ("AGM", "lead-acid"),
        ("sla", "lead-acid"),
        ("LFP", "lifepo4"),
        ("LiFePO4", "lifepo4"),
        ("Li-Po", "li-ion"),
        ("lipo", "li-ion"),
        ("NMC", "li-ion"),
        ("18650", "li-ion"),
        ("lithium ion", "li-ion"),
    ],
)
def test_words_of_the_trade_are_chemistries(typed, name):
    assert understood(scenario(f"chemistry: {typed}, cells: 6, capacity: 5 A*h"), "supply.battery.chemistry") == name


@pytest.mark.parametrize(
    ("typed", "name"), [("lifpo4", "lifepo4"), ("lipho4", "lifepo4"), ("lead-asid", "lead-acid"), ("lio-n", "li-ion")]
)
def test_a_misspelt_chemistry_is_shown_the_right_one(typed, name):
    (problem,) = refused(supply=f"{{battery: {{chemistry: {typed}, cells: 6, capacity: 5 A*h}}}}")
    assert (problem.code, problem.hint) == ("SCN115", f"did you mean {name}?")


def test_cells_may_be_counted_with_an_s():
    assert battery("chemistry: li-ion, cells: 3S, capacity: 5 A*h").voltage_points[-1] == pytest.approx(12.6)


def test_a_controller_may_reset_above_the_voltage_of_an_empty_pack():
    # three cells are 9.0 V empty and 12.6 V full
    found = scenario(ION, undervoltage="9.5 V")
    assert found.machine.controller.undervoltage == 9.5
    (problem,) = refused(supply=f"{{battery: {{{ION}, state_of_charge: 5 %}}, undervoltage: 10.1 V}}")
    assert problem.text == "10.1 V is not below the source's 10.05 V"


def test_twelve_volts_on_a_motor_for_twenty_four_are_told_of():
    assert [warning.code for warning in scenario(ACID).warnings] == ["SCN132"]
    (warning,) = scenario(ACID).warnings
    assert (warning.key, warning.text) == (
        "supply.battery.cells",
        "12.85 V drives a motor whose figures hold at 24 V",
    )


def test_a_resistance_far_from_the_usual_is_told_of():
    warnings = scenario(f"{ACID}, internal_resistance: 12 ohm").warnings
    assert "some 0.014 ohm; was another unit meant?" in next(x.text for x in warnings if x.code == "SCN130")


def test_how_far_it_is_drawn_down_is_assumed_by_chemistry_or_given():
    assert [battery(keys).lowest_charge for keys in (ACID, IRON, ION)] == [0.2, 0.1, 0.1]
    assert battery(f"{ACID}, lowest_charge: 50 %").lowest_charge == 0.5
    assert "20 %" in assumed(scenario(ACID), "lowest_charge")[0]
    assert battery(f"{ACID}, peukert_exponent: 1.25").peukert_exponent == 1.25


def test_lithium_must_not_be_charged_below_freezing():
    assert (battery(IRON, "-3 degC").coldest_charging, battery(IRON, "-3 degC").temperature) == (0.0, -3.0)
    assert battery(ACID).coldest_charging == -math.inf


WAYS = {
    "chemistry": ["agm", "lfp", "nmc"],
    "cells": ["1", "3", "6", "7"],
    "parallel": ["1", "3"],
    "capacity": ["2 A*h", "60 A*h"],
    "open_circuit_voltage": ["24 V", "[[0, 22 V], [1, 25 V]]"],
    "state_of_charge": ["0", "0.2", "100 %"],
    "internal_resistance": ["0 ohm", "12 mohm"],
    "resistance_method": ["ac", "dc"],
    "cold_cranking_current": ["300 A"],
    "relaxation": ["{resistance: 0 ohm, time: 1 s}", "{resistance: 5 mohm, time: 3 s}"],
    "temperature": ["-30 degC", "60 degC"],
    "state_of_health": ["0.3", "0.5", "1"],
    "lowest_charge": ["0", "50 %"],
    "peukert_exponent": ["1", "1.4"],
}


@given(st.fixed_dictionaries({}, optional={key: st.sampled_from(values) for key, values in WAYS.items()}))
def test_any_mixture_of_keys_is_a_possible_battery_or_refused(keys):
    with contextlib.suppress(ScenarioError):
        possible(battery(", ".join(f"{key}: {value}" for key, value in keys.items())))


def possible(found):
    assert found.capacity is None or found.capacity > 0.0
    assert 0.0 <= found.resistance < 10.0
    assert 0.0 <= found.relaxation_resistance < 10.0
    assert found.relaxation_time > 0.0
    assert all(0.0 < volts < 100.0 for volts in found.voltage_points)
