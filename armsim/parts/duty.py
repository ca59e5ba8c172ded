"""Heat of a motor over a duty: what it bears for good, for a pulse, stalled, and again and again.

Resistance follows the copper law of `motor.resistance_ratio`. Currents are those of one motor, per winding.
Thermal classes: IEC 60085; duty types: IEC 60034-1. The periodic one-node factor is the step response of one
exponential, summed over all cycles before (a geometric series).
"""

import math

from armsim.parts.motor import COPPER_ZERO, resistance_ratio

CLASSES = {"A": 105.0, "E": 120.0, "B": 130.0, "F": 155.0, "H": 180.0, "N": 200.0}  #: hottest spot [degC]
HOT_SPOT = 10.0  #: by which the winding's mean, told by its resistance, is cooler than that spot (5 to 15) [K]


def continuous_current(heat, resistance, ambient, reference, limit, brush_drop=0.0):
    """Current at standstill that brings the winding just to a limit [degC] in the end; 0 where ambient is above. [A]

    I = sqrt((T_max - T_a)/((R_wh + R_ha) R(T_max))); a constant drop [V] under brushes, which warm the housing, takes
    R_ha v I of the rise. Friction's heat is left out.
    """
    room = max(limit - ambient, 0.0)
    square = (heat.winding_to_housing + heat.housing_to_air) * resistance * resistance_ratio(limit, reference)
    half = 0.5 * heat.housing_to_air * brush_drop
    return (math.sqrt(half * half + square * room) - half) / square


def runaway_current(heat, resistance, reference):
    """Current from which on no temperature is steady: losses grow as fast as the motor sheds them. [A]

    I = 1/sqrt(a (R_wh + R_ha) R), a = 1/(234.5 + T_ref).
    """
    return math.sqrt((COPPER_ZERO + reference) / ((heat.winding_to_housing + heat.housing_to_air) * resistance))


def steady_winding(current, heat, resistance, ambient, reference):
    """Winding temperature that a current at standstill ends at; None at or above the runaway current. [degC]"""
    if abs(current) >= runaway_current(heat, resistance, reference):
        return None
    q = (heat.winding_to_housing + heat.housing_to_air) * current**2 * resistance
    return (ambient + q * COPPER_ZERO / (COPPER_ZERO + reference)) / (1.0 - q / (COPPER_ZERO + reference))


def slow_time_constant(heat):
    """The slower of the two time constants of winding and housing. [s]"""
    inner, outer = 1.0 / heat.winding_to_housing, 1.0 / heat.housing_to_air
    a, d = -inner / heat.winding_capacity, -(inner + outer) / heat.housing_capacity
    determinant = inner * outer / (heat.winding_capacity * heat.housing_capacity)
    return (-(a + d) + math.sqrt((a + d) ** 2 - 4.0 * determinant)) / (2.0 * determinant)


def overload_factor(on_time, duty, time_constant, winding_share=1.0):
    """Current while on over the continuous one with which the peak of the settled cycle stays at the limit. [-]

    The winding follows its own time constant [s]; `winding_share` is R_wh/(R_wh + R_ha), the rest of the rise is the
    housing's, which only sees the mean. A share of one is a motor of a single node,
    sqrt((1 - exp(-t/(D tau)))/(1 - exp(-t/tau))).
    """
    peak = math.expm1(-on_time / time_constant) / math.expm1(-on_time / (duty * time_constant))
    return 1.0 / math.sqrt(winding_share * peak + (1.0 - winding_share) * duty)


def overload_factor_rms(duty):
    """The same by the rule that only the rms current counts: 1/sqrt(D). [-]"""
    return 1.0 / math.sqrt(duty)


def mean_squares(currents):
    """Mean of the square [A2] on each straight line between neighbouring samples of a current [A]."""
    a, b = currents[:-1], currents[1:]
    return (a * a + a * b + b * b) / 3.0


def thermal_class(limit):
    """The insulation class whose hottest spot is exactly this temperature [degC], None if it is no such figure."""
    return next((name for name, value in CLASSES.items() if abs(value - limit) < 1e-6), None)
