"""Conductors: geometry of gauges, resistance at temperature, round trip with joints, and a run of them."""

import math
from bisect import bisect_left
from dataclasses import dataclass

RESISTIVITY_20 = 1.7241e-8  #: annealed copper at 20 degC, 100 % IACS [ohm*m] (IEC 60028)
TEMPERATURE_COEFFICIENT_20 = 0.00393  #: of copper at 20 degC [1/K] (IEC 60028)
HEAT_PER_VOLUME = 3.45e6  #: volumetric heat capacity of copper at 20 degC [J/(K*m3)] (IEC 60364-5-54)
COLD_END = 234.5  #: reciprocal of copper's coefficient of resistivity at 0 degC [degC] (IEC 60364-5-54)


@dataclass(frozen=True, kw_only=True)
class Ampacity:
    """What single conductors bear for good by cross-section, rising; log-log between, and on beyond both ends."""

    areas: tuple[float, ...]  #: [m2]
    currents: tuple[float, ...]  #: [A]
    limit: float  #: of the conductor at that current [degC]
    ambient: float  #: [degC]

    def current(self, area: float) -> float:
        """Of a cross-section [m2]. [A]"""
        k = min(max(bisect_left(self.areas, area), 1), len(self.areas) - 1)
        share = math.log(area / self.areas[k - 1]) / math.log(self.areas[k] / self.areas[k - 1])
        return self.currents[k - 1] * math.exp(share * math.log(self.currents[k] / self.currents[k - 1]))


@dataclass(frozen=True, kw_only=True)
class Size:
    """A conductor of the trade."""

    name: str
    area: float  #: [m2]
    per_metre: float  #: resistance at 20 degC [ohm/m]


@dataclass(frozen=True, kw_only=True)
class Run:
    """One run of wire, there and back, with its joints."""

    name: str = ""
    resistance: float  #: whole, joints included [ohm]
    area: float | None = None  #: cross-section of each conductor; None: not known [m2]
    length: float | None = None  #: one way; None: not known [m]
    joints: float = 0.0  #: of the resistance [ohm]
    temperature: float = 20.0  #: of the conductor, at which the resistance holds [degC]
    insulation_limit: float = 70.0  #: that the insulation bears for good [degC]
    ampacity: Ampacity | None = None  #: from which its cooling follows; None: not known
    thicker: tuple[Size, ...] = ()  #: sizes of its kind above it, rising

    @property
    def per_metre(self) -> float | None:
        """Resistance of one conductor at 20 degC; None where the length is not known. [ohm/m]"""
        if not self.length:
            return None
        hot = 1.0 + TEMPERATURE_COEFFICIENT_20 * (self.temperature - 20.0)
        return (self.resistance - self.joints) / (2.0 * self.length * hot)


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


FAULT_LIMITS = ((70.0, 160.0), (90.0, 250.0))  #: insulation limit and what it bears once: PVC, XLPE [degC]


def fault_limit(insulation_limit):
    """What insulation of a limit [degC] bears once, in a fault: as PVC to 70 degC, as XLPE from 90 degC on. [degC]

    Straight between; never below the limit itself. IEC 60364-5-54 table A.54.
    """
    (low, cold), (high, hot) = FAULT_LIMITS
    share = min(max((insulation_limit - low) / (high - low), 0.0), 1.0)
    return max(cold + share * (hot - cold), insulation_limit)


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
