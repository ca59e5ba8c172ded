"""Conductors: geometry of gauges, resistance at temperature, round trip with joints."""

import math

RESISTIVITY_20 = 1.7241e-8  #: annealed copper at 20 degC, 100 % IACS [ohm*m] (IEC 60028)
TEMPERATURE_COEFFICIENT_20 = 0.00393  #: of copper at 20 degC [1/K] (IEC 60028)
HEAT_PER_VOLUME = 3.45e6  #: volumetric heat capacity of copper at 20 degC [J/(K*m3)] (IEC 60364-5-54)
COLD_END = 234.5  #: reciprocal of copper's coefficient of resistivity at 0 degC [degC] (IEC 60364-5-54)


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


def adiabatic_constant(start=70.0, end=160.0):
    """What a conductor stands of sqrt(I^2 t) per cross-section between two temperatures [degC]. [A*s^0.5/m2]

    k = sqrt(Q (beta + 20)/rho ln((beta + T_end)/(beta + T_start))), IEC 60364-5-54 annex A; the defaults are those of
    PVC insulation, working at 70 degC and damaged at 160 degC. Heat given off is left out: for faults up to 5 s.
    """
    span = math.log((COLD_END + end) / (COLD_END + start))
    return math.sqrt(HEAT_PER_VOLUME * (COLD_END + 20.0) / RESISTIVITY_20 * span)


def adiabatic_time(area, current, constant):
    """How long a conductor stands a fault current, (k S/I)^2. [s]"""
    return (constant * area / current) ** 2
