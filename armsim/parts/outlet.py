"""What a bench or mains supply does besides giving a voltage behind a resistance: it limits, and it may not take back.

A capacitor stands at the controller's input. It gives what the supply will not and takes what the supply cannot, so the
bus falls below or rises above the set voltage as it does in life.
"""

import math
from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Outlet:
    """Limits of a supply with electronics, and the capacitance on its bus."""

    current_limit: float = math.inf  #: at the set voltage [A]
    short_circuit_current: float | None = None  #: into a short, where the limit folds back; None: it does not [A]
    can_sink: bool = False  #: takes current back
    capacitance: float  #: at the controller's input [F]


def fold(outlet: Outlet, set_voltage: float) -> float:
    """How the current limit grows with the supply's terminal voltage; 0 where it is constant. [A/V]"""
    if outlet.short_circuit_current is None or math.isinf(outlet.current_limit):
        return 0.0
    return (outlet.current_limit - outlet.short_circuit_current) / set_voltage


def limit_line(outlet: Outlet, set_voltage: float, line_resistance: float) -> tuple[float, float]:
    """The current limit against the voltage at the far end of a line [ohm]: a + b V. [A, A/V]

    I = I_short + g (V + R I) solved for I.
    """
    slope = fold(outlet, set_voltage)
    at_zero = outlet.current_limit if outlet.short_circuit_current is None else outlet.short_circuit_current
    share = 1.0 - slope * line_resistance
    return at_zero / share, slope / share


def stored_rise(voltage, capacitance, energy):
    """Voltage of a capacitor after taking up an energy, sqrt(V^2 + 2 E/C). [V]"""
    return math.sqrt(voltage * voltage + 2.0 * energy / capacitance)


def capacitance_to_stay_below(voltage, highest, energy):
    """Capacitance that takes up an energy without passing a voltage, 2 E/(V2^2 - V1^2). [F]"""
    return 2.0 * energy / (highest * highest - voltage * voltage)
