"""The battery: what it gives and how far one charge goes, as lines and as part of the result."""

from typing import Any

from armsim.checks.assessment import BatteryResult
from armsim.report.numbers import in_display, show
from armsim.report.rows import Row


def battery_json(b: BatteryResult | None) -> dict[str, Any]:
    """Keys of the supply; all null for a bench supply."""
    return {
        "open_circuit_v": b.open_circuit if b else None,
        "resistance_at_once_ohm": b.resistance if b else None,
        "resistance_settled_ohm": b.settled_resistance if b else None,
        "power_max_w": b.greatest_power if b else None,
        "short_circuit_a": b.fault_current if b else None,
        "capacity_ah": _ampere_hours(b.capacity) if b else None,
        "charge_per_cycle_ah": _ampere_hours(b.charge_per_cycle) if b else None,
        "cycle_mean_a": b.mean_current if b else None,
        "usable_charge_ah": _ampere_hours(b.usable_charge) if b else None,
        "lowest_charge": b.lowest_charge if b else None,
        "cycles_per_charge": b.cycles if b else None,
        "bus_voltage_at_lowest_charge_v": b.lowest_bus_voltage if b else None,
    }


def _ampere_hours(charge: float | None) -> float | None:
    return None if charge is None else in_display(charge, "charge")


def charge_rows(b: BatteryResult | None) -> list[Row]:
    """How many cycles one charge lasts, on one line; none where that is not known."""
    if b is None or b.cycles is None:
        return []
    text = f"{b.cycles} cycles of {show(b.charge_per_cycle, 'charge', 3)}, down to {show(b.lowest_charge, 'share', 3)}"
    return [Row("one charge lasts", text)]


def battery_rows(b: BatteryResult) -> list[Row]:
    """Everything about the battery, for the report."""
    slow = b.settled_resistance - b.resistance
    resistance = show(b.resistance, "resistance", 3)
    resistance += f" at once, {show(b.settled_resistance, 'resistance', 3)} after seconds" if slow > 0.0 else ""
    rows = [
        Row("open-circuit voltage at the start", show(b.open_circuit, "voltage")),
        Row("inner resistance", resistance),
    ]
    if b.greatest_power is not None:
        rows.append(Row("most power it gives, at half its voltage", show(b.greatest_power, "power", 3)))
    if b.fault_current is not None:
        rows.append(Row("into a short circuit at the controller", show(b.fault_current, "current", 3)))
    if b.capacity is not None:
        rows.append(Row("capacity", show(b.capacity, "charge", 3)))
    if b.charge_per_cycle is not None:
        mean = f"{show(b.charge_per_cycle, 'charge', 3)}, {show(b.mean_current, 'current', 3)} on the mean"
        rows.append(Row("a work cycle takes", mean))
    if b.usable_charge is not None:
        down = f"{show(b.usable_charge, 'charge', 3)} at that current, down to {show(b.lowest_charge, 'share', 3)}"
        rows.append(Row("usable charge", down))
    if b.capacity is not None and b.hardest_power is not None:
        left = "cannot be given: the voltage collapses"
        if b.lowest_bus_voltage is not None:
            left = f"leaves {show(b.lowest_bus_voltage, 'voltage', 3)} at the controller"
        hardest = (
            f"the run's {show(b.hardest_power, 'power', 3)} at most, at {show(b.lowest_charge, 'share', 3)} of charge"
        )
        rows.append(Row(hardest, left))
    return [*rows, *charge_rows(b)]
