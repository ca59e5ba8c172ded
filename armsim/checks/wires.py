"""Does the protection protect the wire: a device's latest trip time against what the conductor stands.

For every fault current up to that of a short circuit at the far end of a run, within the five seconds for which a
conductor may be taken to keep its heat (IEC 60364-5-54): the quickest device must have opened by (k S/I)^2. All devices
are taken to stand at the source, ahead of every run.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from armsim.checks.assessment import Finding, Level
from armsim.checks.codes import finding
from armsim.checks.phrases import number, percent, rounded_up
from armsim.checks.search import narrowed
from armsim.checks.wire_heat import WireResult, supply_places
from armsim.drivetrain.machine import Machine
from armsim.parts.battery import open_circuit_voltage
from armsim.parts.protection import trip_time
from armsim.parts.wiring import adiabatic_constant, adiabatic_time, fault_limit

LONGEST = 5.0  #: for which heat given off may be left out [s]
POINTS = 200  #: of the currents looked at
MOST = 1e5  #: of the currents looked at where nothing bounds a fault [A]
LARGE_DROP = 0.05  #: share of the source's voltage at the peak current from which on a drop is worth a word


class WireFault(NamedTuple):
    """The current at which the wire is worst off."""

    current: float  #: [A]
    opens: float  #: by when a device has opened for certain [s]
    stands: float  #: how long the wire stands it [s]


def largest_fault(machine: Machine, k: int) -> float:
    """Current into a short circuit at the far end of a run, from a fresh source; inf without any resistance. [A]"""
    source = machine.battery.resistance + sum(run.resistance for run in machine.wiring[: k + 1])
    return open_circuit_voltage(machine.battery, 0.0) / source if source > 0.0 else math.inf


def worst_fault(machine: Machine, k: int = 0) -> WireFault | None:
    """The fault current at which opening takes most of the time that a run stands; None where not known.

    Not known: no run, no device, no cross-section, or no current for which five seconds are not enough.
    """
    devices = machine.protection
    run = machine.wiring[k] if k < len(machine.wiring) else None
    if run is None or run.area is None or not devices:
        return None
    constant = adiabatic_constant(run.insulation_limit, fault_limit(run.insulation_limit))
    most, least = min(largest_fault(machine, k), MOST), constant * run.area / math.sqrt(LONGEST)
    if most <= least:
        return None
    faults = []
    for current in np.geomspace(least, most, POINTS).tolist():
        opens = min(trip_time(device.latest, current / device.in_force) for device in devices)
        faults.append(WireFault(current, opens, adiabatic_time(run.area, current, constant)))
    return max(faults, key=lambda fault: fault.opens / fault.stands)


def with_area(machine: Machine, k: int, area: float) -> Machine:
    """The machine with a run of another cross-section [m2], its resistance left as it is."""
    runs = list(machine.wiring)
    runs[k] = replace(runs[k], area=area)
    return replace(machine, wiring=tuple(runs))


def protected(machine: Machine, k: int, area: float) -> bool:
    """Whether a conductor of an area [m2] in a run's place stands every fault until a device has opened."""
    worst = worst_fault(with_area(machine, k, area), k)
    return worst is None or worst.opens <= worst.stands


def least_area(machine: Machine, k: int, area: float) -> float | None:
    """Smallest area above one that is too thin that would be protected; None up to a hundred times of it. [m2]"""
    plenty = 100.0 * area
    if not protected(machine, k, plenty):
        return None
    return narrowed(lambda size: protected(machine, k, size), plenty, area, 1e-4)[0]


def wire_findings(machine: Machine) -> Iterator[Finding]:
    """A warning for each run that would be damaged before its protection has opened."""
    for k, (run, where) in enumerate(supply_places(machine)):
        worst, area = worst_fault(machine, k), run.area
        if worst is None or area is None or worst.opens <= worst.stands:
            continue
        text = f"At a fault of {number(worst.current)} A the wire stands {number(worst.stands)} s and "
        text += "no device is sure to open" if math.isinf(worst.opens) else f"a device may take {number(worst.opens)} s"
        needed, mend = least_area(machine, k, area), "a device that opens sooner"
        if needed is not None:
            now = f"(now {number(1e6 * area)} mm2)"
            mend = f"a wire of {number(rounded_up(1e6 * needed))} mm2 or more {now}, or {mend}"
        yield finding(Level.WARNING, "wire-unprotected", where, f"{text}.", mend)


def warm_findings(wiring: Sequence[WireResult]) -> Iterator[Finding]:
    """Wires beyond their insulation's limit: in the run, or once its cycle has repeated for ever."""
    for wire in wiring:
        if not wire.too_hot or wire.limit is None or wire.hottest is None or wire.settles is None:
            continue
        in_run = wire.hottest > wire.limit
        text = f"The wire comes to {number(wire.hottest)} degC in the run"
        text += f", at t = {number(wire.hottest_at or 0.0)} s" if in_run else ""
        text += "; repeated for ever, the cycle would bring it "
        text += "beyond any bound" if math.isinf(wire.settles) else f"to {number(wire.settles)} degC"
        text += f". Its insulation bears {number(wire.limit)} degC."
        mend = "less current or longer rests"
        if wire.remedy is not None:
            mend = f"{wire.remedy.name}, the next size that stays within it, or {mend}"
        yield finding(Level.ERROR if in_run else Level.WARNING, "wire-too-hot", wire.where, text, mend)


def drop_findings(wiring: Sequence[WireResult]) -> Iterator[Finding]:
    """A note on a large drop, over all runs to the controller together and over the leads behind it."""
    sides = ([wire for wire in wiring if wire.where != "motor.leads"], [w for w in wiring if w.where == "motor.leads"])
    for side, where in zip(sides, ("supply.wiring", "motor.leads"), strict=True):
        share = sum(wire.peak_drop_share or 0.0 for wire in side)
        if share > LARGE_DROP:
            lost, peak = sum(wire.peak_drop or 0.0 for wire in side), side[0].peak or 0.0
            text = f"At the peak of {number(peak)} A the wire loses {number(lost)} V, {percent(share)} of the source."
            yield finding(Level.NOTE, "wire-drop-large", where, text, "thicker or shorter wires, or fewer joints")
