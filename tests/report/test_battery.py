"""The battery as lines of a report and as keys of a result."""

from dataclasses import replace

import pytest

from armsim.checks.assessment import BatteryResult
from armsim.report.battery import battery_json, battery_rows, charge_rows
from armsim.report.contract import as_json
from armsim.report.markdown import report
from armsim.report.terminal import check_summary, summary
from armsim.studies.single import assess_machine
from tests.report import sample

RESULT = BatteryResult(
    open_circuit=12.64,
    resistance=0.011,
    settled_resistance=0.017,
    greatest_power=2350.0,
    fault_current=600.0,
    capacity=18.0 * 3600.0,
    lowest_charge=0.2,
    charge_per_cycle=90.0,
    mean_current=6.0,
    usable_charge=36_000.0,
    cycles=400,
    hardest_power=500.0,
    lowest_bus_voltage=11.1,
)


def test_charges_are_told_in_ampere_hours():
    told = battery_json(RESULT)
    assert (told["capacity_ah"], told["charge_per_cycle_ah"], told["usable_charge_ah"]) == (18.0, 0.025, 10.0)
    assert (told["cycles_per_charge"], told["short_circuit_a"], told["resistance_settled_ohm"]) == (400, 600.0, 0.017)


def test_a_bench_supply_has_every_key_and_no_value():
    assert battery_json(None) == dict.fromkeys(battery_json(RESULT))


def test_one_line_says_how_many_cycles_a_charge_lasts():
    (row,) = charge_rows(RESULT)
    assert tuple(row) == ("one charge lasts", "400 cycles of 0.025 A*h, down to 20 %")
    assert charge_rows(replace(RESULT, cycles=None)) == []
    assert charge_rows(None) == []


def test_the_report_has_a_row_for_all_that_is_known():
    rows = dict(battery_rows(RESULT))
    assert rows["inner resistance"] == "11 mohm at once, 17 mohm after seconds"
    assert rows["a work cycle takes"] == "0.025 A*h, 6 A on the mean"
    assert rows["the run's 500 W at most, at 20 % of charge"] == "leaves 11.1 V at the controller"
    collapsed = dict(battery_rows(replace(RESULT, lowest_bus_voltage=None)))
    assert collapsed["the run's 500 W at most, at 20 % of charge"].startswith("cannot be given")
    bare = replace(
        RESULT, settled_resistance=0.011, greatest_power=None, fault_current=None, capacity=None, usable_charge=None,
        charge_per_cycle=None, cycles=None,
    )  # fmt: skip
    assert [row.value for row in battery_rows(bare)] == ["12.64 V", "11 mohm"]


@pytest.fixture(scope="module")
def on_a_battery():
    wanted, _ = sample.lifting()
    battery = replace(wanted.machine.battery, capacity=12.0 * 3600.0, state_of_charge=0.8)
    wanted = replace(wanted, machine=replace(wanted.machine, battery=battery))
    return wanted, assess_machine(wanted.machine, wanted.plan)


def test_a_summary_tells_of_the_charge_only_where_there_is_a_capacity(on_a_battery):
    assert "one charge lasts" in summary(*on_a_battery)
    assert "one charge lasts" not in summary(*sample.lifting())
    assert "one charge lasts" not in check_summary(*sample.checked())


def test_the_result_counts_cycles_by_the_charge_of_one(on_a_battery):
    supply = as_json(*on_a_battery)["supply"]
    cycle = supply["charge_per_cycle_ah"]
    assert supply["state_of_charge_end"] == pytest.approx(0.8 - cycle / 12.0)
    assert supply["cycles_per_charge"] == int(0.6 * 12.0 / cycle)
    assert as_json(*sample.lifting())["supply"]["cycles_per_charge"] is None


def test_the_report_has_a_section_of_the_battery(on_a_battery):
    text = report(*on_a_battery, [])
    section = text.split("## Battery\n")[1].split("\n## ")[0]
    assert "one charge lasts" in section
    assert "40 mΩ" in section
