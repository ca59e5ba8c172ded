"""What a battery gives, how far a charge goes, and what is said of it."""

import math
from dataclasses import replace

import numpy as np
import pytest

from armsim.checks.charge import judge_battery, usable_charge
from armsim.drivetrain.circuit import drive_point
from armsim.dynamics.plan import Plan, Rest, Travel
from armsim.dynamics.trajectory import simulate
from armsim.parts.battery import Battery, constant_source
from armsim.parts.bridge import Controller
from armsim.parts.outlet import Outlet
from armsim.parts.wiring import Run
from armsim.studies.single import assess_machine, check_machine
from tests.checks.machines import BREAKER, LIFT, machine, stage

AMPERE_HOUR = 3600.0
CYCLE = Plan(start=-0.5, moves=(Travel(to=0.9), Travel(to=-0.5, duty=-0.3), Rest(duration=4.0)))
ACID = Battery(
    charge_points=(0.0, 0.5, 1.0),
    voltage_points=(11.80, 12.30, 12.85),
    resistance=0.010,
    relaxation_resistance=0.005,
    relaxation_time=0.7,
    capacity=18.0 * AMPERE_HOUR,
    state_of_charge=0.9,
    peukert_exponent=1.10,
    lowest_charge=0.2,
)


def fed(battery=ACID, **more):
    return machine(**{"battery": battery, "protection": (BREAKER,), **more})


def found(assessment, code):
    return next((item for item in assessment.findings if item.code == code), None)


def test_a_battery_sags_at_once_and_then_slowly():
    # 85 A step on 12.564 V behind 11 mohm, then 6 mohm after 0.72 s
    battery = replace(
        ACID,
        voltage_points=(11.80, 12.30, 12.90),
        state_of_charge=0.72,
        resistance=0.011,
        relaxation_resistance=0.006,
        relaxation_time=0.72,
        capacity=1e7 * AMPERE_HOUR,
    )
    m = machine(battery=battery, wiring=(), other_loads=85.0)
    run = simulate(m, Plan(start=m.arm.lower_stop, moves=(Rest(duration=12.0),)))
    volts = np.interp([1e-6, 2.0, 12.0], run.time, run.bus_voltage)
    assert volts == pytest.approx([11.629, 11.1507, 11.119], abs=6e-4)


def test_a_cycle_takes_the_integral_of_its_current():
    m = fed()
    run = simulate(m, CYCLE)
    result = judge_battery(m, run)
    drawn = np.trapezoid(run.supply_current, run.time)
    assert result.charge_per_cycle == pytest.approx(drawn, rel=1e-3)
    assert result.mean_current == pytest.approx(drawn / run.time[-1], rel=1e-3)


def test_one_charge_lasts_its_usable_part_over_that():
    m = fed()
    result = judge_battery(m, simulate(m, CYCLE))
    rated = 18.0 / 20.0
    usable = 0.7 * 18.0 * AMPERE_HOUR * (rated / result.mean_current) ** 0.10
    assert result.mean_current > rated
    assert result.usable_charge == pytest.approx(usable)
    assert result.cycles == math.floor(usable / result.charge_per_cycle)
    assert result.cycles > 50


def test_of_several_cycles_the_mean_is_told():
    m = fed(stages=(stage(120.0, 0.6, -0.2),))  # stays where it is put down
    once, thrice = (judge_battery(m, simulate(m, replace(CYCLE, repeat=n))) for n in (1, 3))
    assert thrice.charge_per_cycle == pytest.approx(once.charge_per_cycle, rel=0.02)
    assert thrice.mean_current == pytest.approx(once.mean_current, rel=0.02)


def test_a_weak_current_gets_no_more_out_than_is_rated():
    assert usable_charge(fed(), 1e-3) == pytest.approx(0.7 * 18.0 * AMPERE_HOUR)
    assert usable_charge(fed(), -1.0) == pytest.approx(0.7 * 18.0 * AMPERE_HOUR)
    assert usable_charge(fed(replace(ACID, state_of_charge=0.1)), 1.0) == 0.0


def test_without_a_capacity_or_a_cycle_that_goes_through_nothing_is_counted():
    endless = fed(constant_source(12.56, 0.014))
    result = judge_battery(endless, simulate(endless, CYCLE))
    assert (result.cycles, result.usable_charge) == (None, None)
    assert result.charge_per_cycle > 0.0
    stuck = fed(stages=())
    result = judge_battery(stuck, simulate(stuck, LIFT))
    assert (result.charge_per_cycle, result.cycles) == (None, None)
    assert judge_battery(fed(), None).cycles is None


def test_a_bench_supply_is_no_battery():
    bench = fed(outlet=Outlet(capacitance=1e-3))
    assert judge_battery(bench, None) is None
    assert found(check_machine(bench, LIFT), "battery-too-weak") is None


def test_what_a_battery_gives_follows_from_its_settled_resistance():
    result = judge_battery(fed(), None)
    volts = 12.30 + 0.8 * 0.55
    assert result.open_circuit == pytest.approx(volts)
    assert result.greatest_power == pytest.approx(volts**2 / (4.0 * 0.015))
    assert result.fault_current == pytest.approx(volts / 0.020)  # at once, 10 mohm of wire with it
    bare = judge_battery(machine(battery=constant_source(12.0, 0.0), wiring=()), None)
    assert (bare.greatest_power, bare.fault_current) == (None, None)


def test_near_empty_the_hardest_moment_sags_further():
    m = fed()
    run = simulate(m, CYCLE)
    result = judge_battery(m, run)
    power = float(np.max(run.bus_voltage * run.supply_current))
    current = power / result.lowest_bus_voltage
    assert result.lowest_bus_voltage + 0.025 * current == pytest.approx(12.0)  # 12.0 V at 20 %, 25 mohm in all
    weak = fed(replace(ACID, resistance=0.09))
    assert judge_battery(weak, simulate(weak, CYCLE)).lowest_bus_voltage is None


def weak_in_a_stall(**more):
    # 12.56 V behind 120 mohm, stalled loop 104 mohm: it falls below half its voltage
    return fed(constant_source(12.56, 0.120), wiring=(), other_loads=0.0, **more)


def test_a_battery_weaker_than_the_stalled_motor_is_told_with_the_one_that_would_do():
    finding = found(check_machine(weak_in_a_stall(), LIFT), "battery-too-weak")
    assert "Stalled, 56.1 A are drawn" in finding.text  # 12.56/0.224
    assert "below 6.28 V, 50 % of its voltage, the battery gives 52.3 A" in finding.text  # 6.28/0.12
    assert "a battery of 103 mohm or less" in finding.mend  # as much as the loop, 104, rounded down
    strong = replace(weak_in_a_stall(), battery=constant_source(12.56, 0.103))
    assert found(check_machine(strong, LIFT), "battery-too-weak") is None


def test_a_reset_level_asks_for_a_stronger_battery():
    m = fed(
        constant_source(12.56, 0.05),
        wiring=(),
        other_loads=0.0,
        controller=Controller(resistance=0.004, undervoltage=9.0),
    )
    finding = found(check_machine(m, LIFT), "battery-too-weak")
    assert "9.00 V, at which the controller resets, the battery gives 71.2 A" in finding.text  # 3.56/0.05
    # 12.56 0.104/(0.104 + R) = 9: R = 41.1 mohm
    assert "a battery of 41.1 mohm or less" in finding.mend
    mended = replace(m, battery=constant_source(12.56, 0.0411))
    assert drive_point(mended, 1.0).bus == pytest.approx(9.0, abs=0.01)
    assert found(check_machine(mended, LIFT), "battery-too-weak") is None


def test_wires_alone_do_not_make_a_battery_weak():
    m = fed(constant_source(12.56, 0.02), wiring=(Run(resistance=0.2),))
    assert found(check_machine(m, LIFT), "battery-too-weak") is None


def test_a_motor_reversed_at_speed_draws_more_than_its_stall():
    # the stall leaves 55 % of the voltage, the reversal less than half
    m = fed(constant_source(12.56, 0.085), wiring=(), other_loads=0.0)
    assert found(check_machine(m, LIFT), "battery-too-weak") is None
    plan = Plan(start=-0.5, moves=(Travel(to=0.9), Travel(to=-0.5, duty=-1.0)))
    finding = found(assess_machine(m, plan), "battery-too-weak")
    assert "In the run" in finding.text
    assert "the battery gives 73.9 A" in finding.text  # 6.28/0.085


LOWERING = Plan(start=0.9, moves=(Travel(to=-0.5, duty=-0.3),))


@pytest.mark.parametrize(
    ("temperature", "coldest", "said"), [(-5.0, 0.0, True), (5.0, 0.0, False), (-5.0, None, False)]
)
def test_lithium_that_takes_current_back_below_freezing_is_told_of(temperature, coldest, said):
    battery = replace(ACID, temperature=temperature, coldest_charging=-math.inf if coldest is None else coldest)
    assessment = assess_machine(fed(battery, other_loads=0.0), LOWERING)
    assert assessment.run.peaks.supply_current_back.value < -0.1
    finding = found(assessment, "cold-charging")
    assert (finding is not None) is said
    assert not said or "at -5.00 degC" in finding.text


def test_a_cycle_that_returns_nothing_may_run_in_the_cold():
    battery = replace(ACID, temperature=-5.0, coldest_charging=0.0)
    plan = Plan(start=-0.5, moves=(Travel(to=0.9),))
    assessment = assess_machine(fed(battery, other_loads=30.0), plan)
    assert assessment.run.peaks.supply_current_back.value > -0.01
    assert found(assessment, "cold-charging") is None


def test_a_battery_that_breaks_an_ordinary_fuse_is_told_of():
    # 12.6 V behind 4.5 mohm: 2.8 kA
    m = fed(constant_source(12.6, 0.0045), wiring=())
    assert "2800 A flow, more than the 1000 A" in found(check_machine(m, LIFT), "short-circuit").text
    assert found(check_machine(fed(), LIFT), "short-circuit") is None


def test_a_run_on_an_empty_battery_is_told_of():
    drained = assess_machine(fed(replace(ACID, state_of_charge=0.2001)), CYCLE)
    assert "20 % of the charge is left, below the 20 %" in found(drained, "charge-spent").text
    gone = assess_machine(fed(replace(ACID, capacity=0.01 * AMPERE_HOUR, state_of_charge=0.3)), CYCLE)
    assert "took more than there was" in found(gone, "charge-spent").text
    assert found(assess_machine(fed(), CYCLE), "charge-spent") is None
