"""How warm a current makes a wire: one node a metre, cooled as an ampacity table says that such wire is.

C' dT/dt = I^2 R'(T) - (T - T_a)/R_th', with R'(T) straight in T: solved exactly over a time of steady current. The
table's cooling is that of one conductor free in air: bundles, conduits and engine spaces leave a wire hotter.
"""

import math
from dataclasses import dataclass

from armsim.parts.wiring import (
    HEAT_PER_VOLUME,
    TEMPERATURE_COEFFICIENT_20,
    Ampacity,
    Run,
    resistance_per_length,
)

INSULATION_WALL = 1e-3  #: thickness taken for every size [m]
INSULATION_HEAT = 1.77e6  #: volumetric heat capacity of PVC and its like [J/(K*m3)]


@dataclass(frozen=True, kw_only=True)
class WireNode:
    """A metre of one conductor."""

    resistance: float  #: at 20 degC [ohm/m]
    cooling: float  #: thermal resistance to the air [K*m/W]
    capacity: float  #: copper and insulation [J/(K*m)]
    ambient: float  #: [degC]


def node_of(run: Run, ambient: float) -> WireNode | None:
    """A metre of a run in air of a temperature [degC]; None where size, length or cooling are not known."""
    if run.area is None or run.per_metre is None or run.ampacity is None:
        return None
    return WireNode(
        resistance=run.per_metre,
        cooling=thermal_resistance(run.area, run.ampacity),
        capacity=heat_capacity(run.area),
        ambient=ambient,
    )


def thermal_resistance(area: float, table: Ampacity) -> float:
    """Of a metre, from the current that brings plain copper of this size to the table's limit. [K*m/W]"""
    warm = float(resistance_per_length(area, table.limit))
    return (table.limit - table.ambient) / (table.current(area) ** 2 * warm)


def heat_capacity(area: float) -> float:
    """Of a metre: copper of a cross-section [m2] with a wall of insulation round it. [J/(K*m)]"""
    diameter = math.sqrt(4.0 * area / math.pi)
    return HEAT_PER_VOLUME * area + INSULATION_HEAT * math.pi * INSULATION_WALL * (diameter + INSULATION_WALL)


def step(node: WireNode, square: float, time: float) -> tuple[float, float]:
    """Factor and summand that take a temperature [degC] through a time [s] of steady squared current [A2]."""
    per_kelvin = square * node.resistance * TEMPERATURE_COEFFICIENT_20
    gain = square * node.resistance - 20.0 * per_kelvin + node.ambient / node.cooling
    exponent = (per_kelvin - 1.0 / node.cooling) * time / node.capacity
    share = math.expm1(exponent) / exponent if exponent else 1.0
    return math.exp(exponent), gain * share * time / node.capacity


def settled(node: WireNode, current: float) -> float:
    """Temperature under a current [A] for good; inf where it runs away. [degC]"""
    heat = current * current * node.resistance
    escape = 1.0 / node.cooling - heat * TEMPERATURE_COEFFICIENT_20
    if escape <= 0.0:
        return math.inf
    return (heat * (1.0 - 20.0 * TEMPERATURE_COEFFICIENT_20) + node.ambient / node.cooling) / escape


def bearable(node: WireNode, limit: float) -> float:
    """Current that settles at a temperature [degC]; 0 where the air alone is as hot. [A]"""
    hot = node.resistance * (1.0 + TEMPERATURE_COEFFICIENT_20 * (limit - 20.0))
    return math.sqrt(max(limit - node.ambient, 0.0) / (node.cooling * hot))
