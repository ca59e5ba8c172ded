"""What battery, wiring, protection and controller must agree on."""

import itertools
import math

from armsim.scenario import dimensions as d
from armsim.scenario.battery_agreement import BY_CHEMISTRY, battery_faults, starting_voltage, voltage_points
from armsim.scenario.battery_keys import Battery
from armsim.scenario.benches import bench_faults
from armsim.scenario.dimensions import understood
from armsim.scenario.faults import Faults
from armsim.scenario.numbers import shown
from armsim.scenario.problems import Misreading
from armsim.scenario.schema import Protection, Supply
from armsim.scenario.tables import OWN_CURVE, trip_families
from armsim.scenario.validate import Path


def supply_faults(supply: Supply) -> Faults:
    """Battery, wiring and protection, each whole; the controller's reset below the battery's voltage."""
    if supply.battery is not None and supply.bench is not None:
        yield (
            ("supply", "bench"),
            Misreading("SCN122", "a battery and a bench supply both feed the motor", "keep one of the two"),
        )
    if supply.battery is None and supply.bench is None:
        text = f"write battery: {BY_CHEMISTRY}, battery: {Battery.example} or bench: {{voltage: 24 V}}"
        yield ("supply",), Misreading("SCN122", "says nothing of what gives the voltage", text)
    if supply.battery is not None:
        yield from battery_faults(supply.battery)
    if supply.bench is not None:
        yield from bench_faults(supply.bench, supply.other_loads)
    for k, device in enumerate(supply.protection):
        yield from _protection_faults(device, ("supply", "protection", k))
    yield from _range_faults(supply)


def highest_voltage(supply: Supply) -> float | None:
    """Voltage of the full source, None where the keys do not tell. [V]"""
    if supply.bench is not None:
        return supply.bench.voltage
    points = () if supply.battery is None else voltage_points(supply.battery)
    return max((volts for _, volts in points), default=None)


def _range_faults(supply: Supply) -> Faults:
    """The source within the controller's voltages: full below the upper, as charged at the start above the lower."""
    highest = highest_voltage(supply)
    if highest is None:
        return
    if supply.overvoltage is not None and supply.overvoltage <= highest:
        source = understood(highest, d.VOLTAGE)
        yield (
            ("supply", "overvoltage"),
            Misreading("SCN121", f"is not above the source's {source}", "the controller would never start"),
        )
    starts = highest if supply.battery is None or supply.bench is not None else starting_voltage(supply.battery)
    if supply.undervoltage is not None and starts is not None and supply.undervoltage >= starts:
        battery = understood(starts, d.VOLTAGE)
        yield (
            ("supply", "undervoltage"),
            Misreading(
                "SCN121",
                f"{understood(supply.undervoltage, d.VOLTAGE)} is not below the source's {battery}",
                "the controller would never start",
            ),
        )


def _protection_faults(device: Protection, path: Path) -> Faults:
    families = trip_families()
    if device.kind == OWN_CURVE:
        if device.curve is None:
            yield (
                (*path, "curve"),
                Misreading(
                    "SCN103", "is missing", "rows of [multiple of the rating, earliest, latest], such as [2, 4 s, 20 s]"
                ),
            )
        else:
            yield from _curve_faults(device.curve, (*path, "curve"))
    elif device.kind not in families:
        yield (
            (*path, "kind"),
            Misreading("SCN115", f"unknown kind '{device.kind}'", f"one of {', '.join([*families, OWN_CURVE])}"),
        )
    elif device.curve is not None:
        yield (
            (*path, "curve"),
            Misreading("SCN122", f"'{device.kind}' has a curve of its own", f"write kind: {OWN_CURVE} to use yours"),
        )
    elif device.resets is not None and families[device.kind].resets == "replace":
        yield (
            (*path, "resets"),
            Misreading("SCN121", f"a {device.kind} does not reset, it is replaced", "leave this out"),
        )


def _curve_faults(curve: tuple[tuple[float, ...], ...], path: Path) -> Faults:
    for multiple, earliest, latest in curve:
        if latest < earliest:
            yield (
                path,
                Misreading(
                    "SCN121",
                    f"at {shown(multiple)} times the rating the latest time is below the earliest",
                    "a row is [multiple, earliest, latest]",
                ),
            )
            return
    if not any(math.isfinite(latest) for _, _, latest in curve):
        yield path, Misreading("SCN121", "no row has a time by which it has opened for sure")
    for before, after in itertools.pairwise(curve):
        if after[0] <= before[0] or after[1] > before[1] or after[2] > before[2]:
            yield (
                path,
                Misreading(
                    "SCN121", "multiples must rise row by row, and times must not", "more current opens it sooner"
                ),
            )
            return
