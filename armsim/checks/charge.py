"""What the battery can give, how many cycles one charge lasts, and whether it may take back what the arm returns."""

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from armsim.checks.assessment import Assessment, BatteryResult, Finding, Level
from armsim.checks.codes import finding
from armsim.checks.lifting import first_lift
from armsim.checks.phrases import number, percent, rounded_down
from armsim.checks.search import narrowed
from armsim.checks.selectivity import fault_current
from armsim.checks.stalls import travel_outcomes
from armsim.drivetrain.circuit import drive_point
from armsim.drivetrain.machine import Machine
from armsim.dynamics.plan import Plan
from armsim.dynamics.run import Kind, Run
from armsim.parts.battery import (
    brownout_current,
    constant_power_voltage,
    interpolated,
    maximum_power,
    open_circuit_voltage,
    peukert_capacity,
)

TRICKLE = 0.01  #: current into the battery below which nothing is said [A]
BLADE_FUSE_BREAKS = 1000.0  #: breaking capacity of ordinary blade fuses at low voltage [A]


def judge_battery(machine: Machine, run: Run | None) -> BatteryResult | None:
    """The battery at the charge of the start, and what a work cycle takes from it; None for a bench supply."""
    if machine.outlet is not None:
        return None
    battery = machine.battery
    volts, settled = open_circuit_voltage(battery, 0.0), battery.resistance + battery.relaxation_resistance
    power = None if run is None else float(np.nanmax(run.bus_voltage * run.supply_current, initial=0.0))
    per_cycle, mean = (None, None) if run is None else cycle_charge(run)
    usable = None if mean is None else usable_charge(machine, mean)
    lowest = None
    if power is not None and battery.capacity is not None:
        at_rest = interpolated(battery.charge_points, battery.voltage_points, battery.lowest_charge)
        lowest = constant_power_voltage(at_rest, machine.settled_source_resistance, power)
    return BatteryResult(
        open_circuit=volts,
        resistance=battery.resistance,
        settled_resistance=settled,
        greatest_power=_known(maximum_power(volts, settled)),
        fault_current=_known(fault_current(machine)),
        capacity=battery.capacity,
        lowest_charge=battery.lowest_charge,
        charge_per_cycle=per_cycle,
        mean_current=mean,
        usable_charge=usable,
        cycles=None if usable is None or not per_cycle or per_cycle < 0.0 else int(usable / per_cycle),
        hardest_power=power,
        lowest_bus_voltage=lowest,
    )


def _known(value: float) -> float | None:
    return value if math.isfinite(value) else None


def cycle_charge(run: Run) -> tuple[float | None, float | None]:
    """Charge [A*s] and mean current [A] of a work cycle that goes through, the mean of several; else None."""
    whole = all(outcome.reached for outcome in travel_outcomes(run)) and run.first(Kind.GIVEN_UP) is None
    duration = float(run.time[-1])
    if not whole or duration <= 0.0:
        return None, None
    drawn = float(run.charge_drawn[-1])
    return drawn / max(1, len(run.cycles)), drawn / duration


def usable_charge(machine: Machine, current: float) -> float | None:
    """Charge from the start's down to the lowest, at a mean current [A]; None without a capacity. [A*s]

    Less than the rated current never gets out more than is rated.
    """
    battery = machine.battery
    if battery.capacity is None:
        return None
    capacity = battery.capacity
    if current > 0.0:
        exponent = battery.peukert_exponent
        capacity = min(capacity, peukert_capacity(capacity, current, battery.rated_hours, exponent))
    return capacity * max(0.0, battery.state_of_charge - battery.lowest_charge)


def battery_findings(machine: Machine, plan: Plan, assessment: Assessment) -> Iterator[Finding]:
    """Too weak for a stall or for the run, charged when too cold, and what a short circuit draws."""
    result, run = assessment.battery, assessment.run
    if result is None:
        return
    yield from _weakness(machine, plan, result, run)
    battery = machine.battery
    if run is not None and battery.capacity is not None:
        left = battery.state_of_charge - float(run.charge_drawn[-1]) / battery.capacity
        if left < battery.lowest_charge:
            text = f"At the end of the run {percent(max(left, 0.0))} of the charge is left, below the "
            text += f"{percent(battery.lowest_charge)} down to which it is to be drawn."
            text += " The run took more than there was." if left < 0.0 else ""
            mend = "more capacity, fewer cycles, or a fuller battery at the start"
            yield finding(Level.WARNING, "charge-spent", "supply.battery", text, mend)
    back = 0.0 if run is None else -run.peaks.supply_current_back.value
    if run is not None and back > TRICKLE and battery.temperature < battery.coldest_charging:
        text = f"Up to {number(back)} A flow back into the battery at {number(battery.temperature)} degC (t = "
        text += f"{number(run.peaks.supply_current_back.time)} s). Charging below {number(battery.coldest_charging)} "
        text += "degC harms its cells, and most protection boards refuse it: the bus voltage rises instead."
        mend = "keep the battery warm, or burn the current in a resistor"
        yield finding(Level.WARNING, "cold-charging", "supply.battery.temperature", text, mend)
    if result.fault_current is not None and result.fault_current > BLADE_FUSE_BREAKS:
        text = f"Into a short circuit at the controller {number(result.fault_current)} A flow, more than the "
        text += f"{number(BLADE_FUSE_BREAKS)} A that ordinary blade fuses can break."
        mend = "a fuse or breaker at the battery whose breaking capacity on direct current is above that"
        yield finding(Level.NOTE, "short-circuit", "supply.protection", text, mend)


def _weakness(machine: Machine, plan: Plan, result: BatteryResult, run: Run | None) -> Iterator[Finding]:
    """Of the battery by itself: what wires add is told of elsewhere."""
    level, task = machine.controller.undervoltage or 0.0, first_lift(plan)
    lowest, duty = max(level, 0.5 * result.open_circuit), task.duty if task else 1.0
    stalled = drive_point(machine, duty).supply_current
    gives = brownout_current(result.open_circuit, result.settled_resistance, lowest)
    peak = None if run is None else run.peaks.supply_current
    if stalled > gives:
        begin, mend = f"Stalled, {number(stalled)} A are drawn", _strong_enough(machine, duty, lowest)
    elif peak is not None and peak.value > brownout_current(result.open_circuit, result.resistance, lowest):
        gives = brownout_current(result.open_circuit, result.resistance, lowest)
        begin, mend = f"In the run {number(peak.value)} A are drawn (t = {number(peak.time)} s)", "a stronger battery"
    else:
        return
    why = "at which the controller resets" if level == lowest else f"{percent(0.5)} of its voltage"
    text = f"{begin}; without falling below {number(lowest)} V, {why}, the battery gives {number(gives)} A. Thicker "
    text += "wires do not change that."
    yield finding(Level.WARNING, "battery-too-weak", "supply.battery", text, f"{mend}, or a lower current limit")


def _strong_enough(machine: Machine, duty: float, lowest: float) -> str:
    """The battery that would bear the stall, found by asking the machine again."""
    battery = machine.battery

    def bears(share: float) -> bool:
        weaker = replace(
            battery,
            resistance=share * battery.resistance,
            relaxation_resistance=share * battery.relaxation_resistance,
        )
        changed = replace(machine, battery=weaker)
        point = drive_point(changed, duty)
        return point.bus + machine.wiring_resistance * point.supply_current >= lowest

    share, _ = narrowed(bears, 0.0, 1.0, 1e-4)
    needed = 1000.0 * share * (battery.resistance + battery.relaxation_resistance)
    return f"a battery of {number(rounded_down(needed))} mohm or less, as alike ones in parallel are"
