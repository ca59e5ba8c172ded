"""Conductors: geometry of gauges, resistance at temperature, round trip with joints."""

import math

RESISTIVITY_20 = 1.7241e-8  #: annealed copper at 20 degC, 100 % IACS [ohm*m] (IEC 60028)
TEMPERATURE_COEFFICIENT_20 = 0.00393  #: of copper at 20 degC [1/K] (IEC 60028)


def gauge_diameter(gauge):
    """Diameter of a solid American wire gauge, 0.127 mm * 92^((36 - n)/39); 1/0 is 0, 2/0 is -1. [m] (ASTM B258)"""
    return 0.127e-3 * 92.0 ** ((36.0 - gauge) / 39.0)


def gauge_area(gauge):
    """Cross-section of a solid American wire gauge. [m2]"""
    return math.pi * gauge_diameter(gauge) ** 2 / 4.0


def resistance_per_length(area, temperature=20.0, stranding=1.0):
    """Copper conductor's resistance per metre at a temperature [degC]; stranding lengthens the path. [ohm/m]"""
    return stranding * RESISTIVITY_20 * (1.0 + TEMPERATURE_COEFFICIENT_20 * (temperature - 20.0)) / area


def round_trip_resistance(area, one_way_length, *, temperature=20.0, stranding=1.0, joints=0.0):
    """Both conductors and the joints between source and load. [ohm]"""
    return 2.0 * one_way_length * resistance_per_length(area, temperature, stranding) + joints
