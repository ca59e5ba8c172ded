"""What the keys of a battery must agree on, and the voltage that they tell."""

import itertools

from armsim.parts.battery import interpolated
from armsim.scenario import dimensions as d
from armsim.scenario.battery_keys import Battery
from armsim.scenario.cells import likely_acid_cells
from armsim.scenario.dimensions import understood
from armsim.scenario.faults import Faults, given
from armsim.scenario.numbers import shown
from armsim.scenario.problems import Misreading
from armsim.scenario.tables import Chemistry, chemistries
from armsim.scenario.validate import Path

OLDEST = 0.5  #: state of health below which nothing is known [-]
_FAR = 20.0  #: times the usual resistance or its part, beyond which a figure is told of
_PATH: Path = ("supply", "battery")
_OF_CHEMISTRY = ("cells", "parallel", "cold_cranking_current", "temperature", "state_of_health")
BY_CHEMISTRY = "{chemistry: lead-acid, cells: 6, capacity: 18 A*h}"


def voltage_points(battery: Battery) -> tuple[tuple[float, ...], ...]:
    """Open-circuit voltage [V] by state of charge; none where the keys do not tell."""
    if battery.open_circuit_voltage is not None:
        return battery.open_circuit_voltage
    if battery.chemistry is None or battery.cells is None:
        return ()
    kind = chemistries()[battery.chemistry]
    return tuple((charge, volts * battery.cells / kind.table_cells) for charge, volts in kind.open_circuit)


def starting_voltage(battery: Battery) -> float | None:
    """Open-circuit voltage at the charge of the start. [V]"""
    points = voltage_points(battery)
    if not points:
        return None
    charges, volts = zip(*points, strict=True)
    return interpolated(charges, volts, 1.0 if battery.state_of_charge is None else battery.state_of_charge)


def usual_resistance(kind: Chemistry, battery: Battery) -> float | None:
    """What one string of a chemistry has at once, new, full and at 25 degC. [ohm]"""
    if battery.cells is None or battery.capacity is None:
        return None
    return kind.resistance_capacity * battery.cells / kind.table_cells / battery.capacity + kind.board


def battery_faults(battery: Battery) -> Faults:
    """One way to tell the voltage, one to tell the resistance, and what each needs."""
    if battery.open_circuit_voltage is not None and battery.chemistry is not None:
        text = "open_circuit_voltage is given too, and the chemistry tells it"
        yield (*_PATH, "chemistry"), Misreading("SCN122", text, "keep one of the two")
    elif battery.open_circuit_voltage is not None:
        yield from _voltage_faults(battery, battery.open_circuit_voltage)
    elif battery.chemistry is not None:
        yield from _chemistry_faults(battery, battery.chemistry)
    else:
        text = "says nothing of its voltage"
        yield _PATH, Misreading("SCN122", text, f"write {Battery.example} or {BY_CHEMISTRY}")
    yield from _resistance_faults(battery)


def _voltage_faults(battery: Battery, points: tuple[tuple[float, ...], ...]) -> Faults:
    for key in given(battery, _OF_CHEMISTRY):
        yield (
            (*_PATH, key),
            Misreading("SCN122", "belongs to a chemistry", "leave it out, or give chemistry for the voltage"),
        )
    if battery.internal_resistance is None:
        yield (*_PATH, "internal_resistance"), Misreading("SCN103", "is missing", f"such as {Battery.example}")
    if len(points) == 1:
        return
    for (low, low_volts), (high, high_volts) in itertools.pairwise(points):
        if high <= low or high_volts < low_volts:
            yield (
                (*_PATH, "open_circuit_voltage"),
                Misreading(
                    "SCN121",
                    "states of charge must rise, and voltages must not fall",
                    "write [[0, 11.6 V], [0.5, 12.2 V], [1, 12.7 V]]",
                ),
            )
            break
    if battery.state_of_charge is None:
        yield (
            (*_PATH, "state_of_charge"),
            Misreading("SCN103", "is missing", "a table of voltages needs it, such as state_of_charge: 0.8"),
        )


def _chemistry_faults(battery: Battery, chemistry: str) -> Faults:
    for key in ("cells", "capacity"):
        if getattr(battery, key) is None:
            yield (*_PATH, key), Misreading("SCN103", "is missing", f"such as {BY_CHEMISTRY}")
    acid, cells = chemistry == "lead-acid", battery.cells
    if acid and cells is not None and not likely_acid_cells(cells):
        text = f"{cells} lead-acid cells make {2 * cells} V, which no battery has"
        yield (*_PATH, "cells"), Misreading("SCN121", text, "a cell has 2 V: 12 V are 6 cells, 24 V are 12")
    if not acid and battery.cold_cranking_current is not None:
        text = f"is a figure of lead-acid batteries, not of {chemistry}"
        yield (*_PATH, "cold_cranking_current"), Misreading("SCN121", text, "give internal_resistance, or neither")
    if battery.state_of_health is not None and battery.state_of_health < OLDEST:
        health = shown(battery.state_of_health)
        text = f"{health} is out of range, it has to be at least {shown(OLDEST)}"
        yield (*_PATH, "state_of_health"), Misreading("SCN120", text, "1 is new, 0.8 the usual end of life")
    yield from _unusual_resistance(chemistries()[chemistry], battery)


def _unusual_resistance(kind: Chemistry, battery: Battery) -> Faults:
    usual, typed = usual_resistance(kind, battery), battery.internal_resistance
    if usual is None or not typed or 1.0 / _FAR <= typed / usual <= _FAR:
        return
    text = f"{understood(typed, d.RESISTANCE)} is far from the usual for this battery, some "
    text += f"{understood(float(f'{usual:.2g}'), d.RESISTANCE)}; was another unit meant?"
    yield (*_PATH, "internal_resistance"), Misreading("SCN130", text)


def _resistance_faults(battery: Battery) -> Faults:
    if battery.internal_resistance is not None and battery.cold_cranking_current is not None:
        text = "internal_resistance is given too, and this gives one"
        yield (*_PATH, "cold_cranking_current"), Misreading("SCN122", text, "keep one of the two")
    if battery.resistance_method is not None and battery.internal_resistance is None:
        text = "says how internal_resistance was measured, which is not given"
        yield (*_PATH, "resistance_method"), Misreading("SCN122", text, "leave it out, or give internal_resistance")
