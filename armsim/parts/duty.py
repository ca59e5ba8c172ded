"""Heat of a motor over a duty: what it bears for good, for a pulse, stalled, and again and again.

Resistance follows the copper law of `motor.resistance_ratio`. Currents are those of one motor, per winding.
Thermal classes: IEC 60085; duty types: IEC 60034-1. The periodic one-node factor is the step response of one
exponential, summed over all cycles before (a geometric series).
"""

import math

from armsim.parts.motor import COPPER_ZERO, resistance_ratio

CLASSES = {"A": 105.0, "E": 120.0, "B": 130.0, "F": 155.0, "H": 180.0, "N": 200.0}  #: hottest spot [degC]
HOT_SPOT = 10.0  #: by which the winding's mean, told by its resistance, is cooler than that spot (5 to 15) [K]


def continuous_current(heat, resistance, ambient, reference, limit):
    """Current at standstill that brings the winding just to a limit [degC] in the end; 0 where ambient is above. [A]

    I = sqrt((T_max - T_a)/((R_wh + R_ha) R(T_max))), friction's heat left out.
    """
    room = max(limit - ambient, 0.0)
    return math.sqrt(room / ((heat.winding_to_housing + heat.housing_to_air) * resistance * _x(limit, reference)))


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


def adiabatic_time(heat, resistance, start, limit, reference, *, voltage, series, most_current=None):
    """Time for a stalled winding that gives off no heat to go from a start to a limit [degC]; 0 if it is there. [s]

    At a constant current t = C/(a i^2 R) ln(x1/x0); at a constant voltage behind a resistance
    t = C/(V^2 R a) [Rs^2 ln x + 2 Rs R x + R^2 x^2/2] from x0 to x1, x = R(T)/R. A limited current is constant until
    the winding is so warm that the voltage no longer drives it.
    """
    first, last = _x(start, reference), _x(limit, reference)
    if last <= first:
        return 0.0
    scale = heat.winding_capacity * (COPPER_ZERO + reference)
    free = first if most_current is None else (voltage / most_current - series) / resistance
    free = min(max(free, first), last)

    def falling(x):
        squares = series**2 * math.log(x) + 2.0 * series * resistance * x + 0.5 * (resistance * x) ** 2
        return scale * squares / (voltage**2 * resistance)

    held = 0.0 if most_current is None else scale * math.log(free / first) / (most_current**2 * resistance)
    return held + falling(last) - falling(free)


def mean_square(times, currents):
    """Mean of the square of a current given by samples joined with straight lines [s, A]; 0 for no time. [A2]"""
    total = lasted = 0.0
    for k in range(len(times) - 1):
        step, a, b = times[k + 1] - times[k], currents[k], currents[k + 1]
        total += step * (a * a + a * b + b * b) / 3.0
        lasted += step
    return total / lasted if lasted > 0.0 else 0.0


def thermal_class(limit):
    """The insulation class whose hottest spot is exactly this temperature [degC], None if it is no such figure."""
    return next((name for name, value in CLASSES.items() if abs(value - limit) < 1e-6), None)


def _x(temperature, reference):
    return resistance_ratio(temperature, reference)
