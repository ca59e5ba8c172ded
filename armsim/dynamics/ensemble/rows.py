"""The table of a batch: one column a design, one row a quantity; gathered and split as designs change their mode.

First the state as a run has it (armsim.dynamics.state, without the bus), then where each design stands, its quadratures
and extremes, then for each protective device its thermal states, highest states and trip times.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from armsim.drivetrain.machine import Machine
from armsim.dynamics.state import ANGLE, CURRENT, HOUSING, RELAXATION, SPEED, WINDING

Array = NDArray[np.float64]

STATES = RELAXATION + 1  #: rows that are state
TIME, DUTY, RATE, SINCE, STALLED, SPAN, VISITS = range(STATES, STATES + 7)
SQUARED, SUPPLY_SQUARED, SUPPLIED = range(STATES + 7, STATES + 10)  #: integrals of i^2, I_s^2, E I_s
TOP_CURRENT, TOP_SUPPLY, LOW_BUS, TOP_SPEED, TOP_WINDING, TOP_HOUSING = range(STATES + 10, STATES + 16)
SURE, ENDED, REACHED = range(STATES + 16, STATES + 19)
DEVICES = STATES + 19


@dataclass(frozen=True, kw_only=True)
class Place:
    """Rows of one edge of a device: thermal states, the highest of their sum, and when it first tripped."""

    states: slice
    top: int
    tripped: int


def places(machine: Machine) -> tuple[tuple[Place, Place], ...]:
    """Where each device's edges stand, earliest before latest."""
    found, row = [], DEVICES
    for device in machine.protection:
        pair = []
        for edge in (device.earliest, device.latest):
            end = row + len(edge.weights)
            pair.append(Place(states=slice(row, end), top=end, tripped=end + 1))
            row = end + 2
        found.append((pair[0], pair[1]))
    return tuple(found)


def fresh(machine: Machine, angle: float, count: int) -> Array:
    """Every design at rest at an angle [rad], everything at ambient temperature, battery rested, devices cold."""
    devices = places(machine)
    size = devices[-1][1].tripped + 1 if devices else DEVICES
    table = np.zeros((size, count))
    table[CURRENT] = table[SPEED] = 0.0
    table[ANGLE] = angle
    for row in (WINDING, HOUSING, TOP_WINDING, TOP_HOUSING):
        table[row] = machine.ambient
    table[STALLED], table[LOW_BUS], table[SURE] = np.inf, np.inf, 1.0
    for pair in devices:
        for place in pair:
            table[place.tripped] = np.nan
    return table
