"""Of devices in series, which opens first: by their whole bands from cold, over every current the source can drive.

One is first for certain where its latest edge trips before the earliest edge of the other. Where the bands overlap,
either may be: nothing is promised.
"""

import math
from collections.abc import Iterator
from itertools import combinations

import numpy as np

from armsim.checks.assessment import Finding, Level
from armsim.checks.codes import finding
from armsim.checks.phrases import number
from armsim.drivetrain.machine import Machine
from armsim.parts.battery import open_circuit_voltage
from armsim.parts.protection import Protection, trip_time

POINTS = 400  #: of the currents looked at


def fault_current(machine: Machine) -> float:
    """Current into a short circuit at the controller, from a fresh source; inf without any resistance. [A]"""
    source = machine.source_resistance
    return open_circuit_voltage(machine.battery, 0.0) / source if source > 0.0 else math.inf


def first_to_open(a: Protection, b: Protection, current: float) -> int | None:
    """-1 where `a` opens first for certain at a steady current [A], +1 where `b` does, 0 where either may.

    None where neither ever opens.
    """
    bands = [
        (trip_time(device.earliest, current / device.in_force), trip_time(device.latest, current / device.in_force))
        for device in (a, b)
    ]
    if all(math.isinf(early) for early, _ in bands):
        return None
    if bands[0][1] < bands[1][0]:
        return -1
    return 1 if bands[1][1] < bands[0][0] else 0


def uncertain_span(a: Protection, b: Protection, most: float) -> tuple[float, float] | None:
    """Lowest and highest current [A] up to `most` at which either may open first; None where it is always told."""
    least = min(device.in_force * device.earliest.ultimate_multiple for device in (a, b))
    top = min(most, 30.0 * max(a.in_force, b.in_force))
    if top <= least:
        return None
    unsure = [current for current in np.geomspace(least, top, POINTS).tolist() if first_to_open(a, b, current) == 0]
    return (unsure[0], unsure[-1]) if unsure else None


def selectivity_findings(machine: Machine) -> Iterator[Finding]:
    """For each pair of devices in series, whether one is sure to open before the other."""
    most = fault_current(machine)
    for (j, a), (k, b) in combinations(enumerate(machine.protection), 2):
        names = f"the {a.kind} of {number(a.rating)} A and the {b.kind} of {number(b.rating)} A"
        span, where = uncertain_span(a, b, most), f"supply.protection[{k}]"
        if span is None:
            text = f"Of {names} it is certain at every current which opens first."
            yield finding(Level.NOTE, "opens-first", where, text)
        else:
            text = f"Of {names} either may open first from {number(span[0])} A to {number(span[1])} A: bands overlap."
            mend = f"ratings further apart, or a quicker kind for supply.protection[{j if a.rating < b.rating else k}]"
            yield finding(Level.WARNING, "opens-first", where, text, mend)
