"""Battery as an open-circuit voltage over charge behind one resistance."""

from bisect import bisect_right
from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Battery:
    """Open-circuit voltage at rest against state of charge, piecewise linear, and inner resistance."""

    charge_points: tuple[float, ...]  #: states of charge, rising, 0..1 [-]
    voltage_points: tuple[float, ...]  #: open-circuit voltage at them [V]
    resistance: float  #: [ohm]
    capacity: float | None = None  #: charge [A*s]; None: a source whose voltage does not fall
    state_of_charge: float = 1.0  #: at the start [-]
    relaxation_resistance: float = 0.0  #: of the part of the sag that comes and goes slowly [ohm]
    relaxation_time: float = 1.0  #: with which it does [s]

    def __post_init__(self) -> None:
        if len(self.charge_points) != len(self.voltage_points) or not self.charge_points:
            raise ValueError("a battery needs one voltage for each state of charge")


def constant_source(voltage: float, resistance: float) -> Battery:
    """A source of fixed open-circuit voltage behind a resistance."""
    return Battery(charge_points=(1.0,), voltage_points=(voltage,), resistance=resistance)


def open_circuit_voltage(battery: Battery, charge_drawn: float) -> float:
    """Open-circuit voltage after drawing a charge [A*s] since the start; flat beyond the table. [V]"""
    points, volts = battery.charge_points, battery.voltage_points
    if battery.capacity is None and len(points) == 1:
        return volts[0]
    drawn = 0.0 if battery.capacity is None else charge_drawn / battery.capacity
    level = battery.state_of_charge - drawn
    if level <= points[0]:
        return volts[0]
    if level >= points[-1]:
        return volts[-1]
    k = bisect_right(points, level)
    share = (level - points[k - 1]) / (points[k] - points[k - 1])
    return volts[k - 1] + share * (volts[k] - volts[k - 1])
