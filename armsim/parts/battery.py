"""Battery as an open-circuit voltage over charge behind a resistance, a part of which follows the current slowly."""

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from armsim.parts.elementwise import plain, within


@dataclass(frozen=True, kw_only=True)
class Battery:
    """Open-circuit voltage at rest against state of charge, piecewise linear, and inner resistance.

    Resistance and capacity are those of the battery as cold, old and empty as it is at the start.
    """

    charge_points: tuple[float, ...]  #: states of charge, rising, 0..1 [-]
    voltage_points: tuple[float, ...]  #: open-circuit voltage at them [V]
    resistance: float  #: [ohm]
    capacity: float | None = None  #: charge [A*s]; None: a source whose voltage does not fall
    state_of_charge: float = 1.0  #: at the start [-]
    relaxation_resistance: float = 0.0  #: of the part of the sag that comes and goes slowly [ohm]
    relaxation_time: float = 1.0  #: with which it does [s]
    peukert_exponent: float = 1.0  #: with which capacity shrinks as current grows; 1: it does not [-]
    rated_hours: float = 20.0  #: of the discharge in which the capacity holds [h]
    lowest_charge: float = 0.2  #: state of charge to which it is drawn down [-]
    temperature: float = 25.0  #: [degC]
    coldest_charging: float = -math.inf  #: temperature below which it must not take charge [degC]

    def __post_init__(self) -> None:
        if len(self.charge_points) != len(self.voltage_points) or not self.charge_points:
            raise ValueError("a battery needs one voltage for each state of charge")


def constant_source(voltage: float, resistance: float) -> Battery:
    """A source of fixed open-circuit voltage behind a resistance."""
    return Battery(charge_points=(1.0,), voltage_points=(voltage,), resistance=resistance)


def open_circuit_voltage(battery, charge_drawn):
    """Open-circuit voltage after drawing a charge [A*s] since the start; flat beyond the table. [V]"""
    points, volts = battery.charge_points, battery.voltage_points
    if battery.capacity is None and len(points) == 1:
        return volts[0]
    drawn = 0.0 if battery.capacity is None else charge_drawn / battery.capacity
    return interpolated(points, volts, battery.state_of_charge - drawn)


def relaxation_rate(current, lagging, resistance, time):
    """Rate of change of the part of the sag that follows a current slowly, (R i - v)/tau. [V/s]"""
    return (resistance * current - lagging) / time


def interpolated(points: Sequence[float], values: Sequence[float], at: float) -> float:
    """Value on the straight lines through a table of rising points, its nearest end beyond them."""
    if not plain(at):
        return _interpolated_by_rows(points, values, at)  # type: ignore[no-any-return]
    if at <= points[0]:
        return values[0]
    if at >= points[-1]:
        return values[-1]
    k = bisect_right(points, at)
    share = (at - points[k - 1]) / (points[k] - points[k - 1])
    return values[k - 1] + share * (values[k] - values[k - 1])


def _interpolated_by_rows(points, values, at):
    """The same for many designs, each with values of its own where they differ."""
    if all(plain(one) for one in (*points, *values)):
        return _between(points, values, at)
    found = values[0] + 0.0 * at
    for (low, before), (high, after) in pairwise(zip(points, values, strict=True)):
        found = found + (after - before) * within((at - low) / (high - low), 0.0, 1.0)
    return found


def _between(points, values, at):
    """The same for many designs and one table: on a single line where all lie on it, which is several times quicker."""
    import numpy as np

    low, high = np.min(at, initial=math.inf), np.max(at, initial=-math.inf)
    k = bisect_right(points, low)
    if not 0 < k < len(points) or not high <= points[k]:
        return np.interp(at, points, values)
    slope = (values[k] - values[k - 1]) / (points[k] - points[k - 1])
    return (at - points[k - 1]) * slope + values[k - 1]


def peukert_capacity(capacity: float, current: float, hours: float, exponent: float) -> float:
    """Charge that a steady current [A] gets out of a battery, C (I_H/I)^(k-1) with I_H = C/H. [A*s]

    `capacity` [A*s] holds for a discharge in so many `hours` [h]. A rule for steady currents: below I_H it gives more
    than the rating. It says nothing of sag.
    """
    rated: float = capacity / (3600.0 * hours)
    return float(capacity * (rated / current) ** (exponent - 1.0))


def brownout_current(open_circuit: float, resistance: float, lowest: float) -> float:
    """Current at which a source [V, ohm] falls to a voltage, (E - V)/R; inf without resistance. [A]"""
    return (open_circuit - lowest) / resistance if resistance > 0.0 else math.inf


def maximum_power(open_circuit: float, resistance: float) -> float:
    """Most power that a source gives, at half its voltage, E^2/(4 R); inf without resistance. [W]"""
    return open_circuit**2 / (4.0 * resistance) if resistance > 0.0 else math.inf


def constant_power_voltage(open_circuit: float, resistance: float, power: float) -> float | None:
    """Voltage under a load that takes its power [W] at any voltage, (E + sqrt(E^2 - 4 R P))/2. [V]

    None beyond the most power: the voltage collapses. The lower root is not stable.
    """
    root = open_circuit**2 - 4.0 * resistance * power
    return None if root < 0.0 else (open_circuit + math.sqrt(root)) / 2.0
