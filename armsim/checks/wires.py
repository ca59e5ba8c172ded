"""Does the protection protect the wire: a device's latest trip time against what the conductor stands.

For every fault current up to that of a short circuit at the controller, within the five seconds for which a conductor
may be taken to keep its heat (IEC 60364-5-54): the quickest device must have opened by (k S/I)^2.
"""

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from armsim.checks.assessment import Finding, Level
from armsim.checks.codes import finding
from armsim.checks.phrases import number, rounded_up
from armsim.checks.search import narrowed
from armsim.checks.selectivity import fault_current
from armsim.drivetrain.machine import Machine
from armsim.parts.protection import trip_time
from armsim.parts.wiring import adiabatic_constant, adiabatic_time

LONGEST = 5.0  #: for which heat given off may be left out [s]
POINTS = 200  #: of the currents looked at
MOST = 1e5  #: of the currents looked at where nothing bounds a fault [A]


class WireFault(NamedTuple):
    """The current at which the wire is worst off."""

    current: float  #: [A]
    opens: float  #: by when a device has opened for certain [s]
    stands: float  #: how long the wire stands it [s]


def worst_fault(machine: Machine) -> WireFault | None:
    """The fault current at which opening takes most of the time that the wire stands; None where not known.

    Not known: no device, no cross-section, or no current for which five seconds are not enough.
    """
    area, devices = machine.conductor_area, machine.protection
    if area is None or not devices:
        return None
    constant, most = adiabatic_constant(), min(fault_current(machine), MOST)
    least = constant * area / math.sqrt(LONGEST)
    if most <= least:
        return None
    faults = []
    for current in np.geomspace(least, most, POINTS).tolist():
        opens = min(trip_time(device.latest, current / device.rating) for device in devices)
        faults.append(WireFault(current, opens, adiabatic_time(area, current, constant)))
    return max(faults, key=lambda fault: fault.opens / fault.stands)


def protected(machine: Machine, area: float) -> bool:
    """Whether a conductor of an area [m2] in the wire's place stands every fault until a device has opened."""
    worst = worst_fault(replace(machine, conductor_area=area))
    return worst is None or worst.opens <= worst.stands


def least_area(machine: Machine, area: float) -> float | None:
    """Smallest area above one that is too thin that would be protected; None up to a hundred times of it. [m2]"""
    plenty = 100.0 * area
    if not protected(machine, plenty):
        return None
    return narrowed(lambda size: protected(machine, size), plenty, area, 1e-4)[0]


def wire_findings(machine: Machine) -> Iterator[Finding]:
    """A warning where the wire would be damaged before its protection has opened."""
    worst, area = worst_fault(machine), machine.conductor_area
    if worst is None or area is None or worst.opens <= worst.stands:
        return
    text = f"At a fault of {number(worst.current)} A the wire stands {number(worst.stands)} s and "
    text += "no device is sure to open" if math.isinf(worst.opens) else f"a device may take {number(worst.opens)} s"
    needed, mend = least_area(machine, area), "a device that opens sooner"
    if needed is not None:
        now = f"(now {number(1e6 * area)} mm2)"
        mend = f"a wire of {number(rounded_up(1e6 * needed))} mm2 or more {now}, or {mend}"
    yield finding(Level.WARNING, "wire-unprotected", "supply.wiring", f"{text}.", mend)
