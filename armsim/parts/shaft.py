"""Shafts and what fastens wheels to them: torsion of round bars and hexagons, keys, set screws."""

import math
from dataclasses import dataclass

HEX_STIFFNESS = 0.115051  #: polar constant of a hexagon over the fourth power of its width across flats [-]
HEX_STRENGTH = 0.187653  #: torque over stress at mid-flat and the third power of that width [-]
HUB_SHARE = 0.5  #: of a hexagon's flats taken to bear, the low end of 0.5 to 1: no standard rates it [-]


@dataclass(frozen=True, kw_only=True)
class Key:
    """A parallel key, half of its height in the shaft."""

    width: float  #: [m]
    height: float  #: [m]
    length: float  #: that bears, round ends left out [m]
    shear_stress: float  #: allowable [Pa]
    bearing_stress: float  #: allowable, of the weaker of key and hub [Pa]


@dataclass(frozen=True, kw_only=True)
class SetScrew:
    """Cup-point set screws of one size, tightened to the chart's seating torque on a shaft without a flat."""

    size: str
    diameter: float  #: of its thread [m]
    holding: float  #: axial force at which one slips, by the lower chart [N]
    other_holding: float | None = None  #: by another chart that contradicts it; None: there is one only [N]
    count: int = 1


@dataclass(frozen=True, kw_only=True)
class Shaft:
    """A solid shaft, round or hexagonal, and how its wheels are fastened to it."""

    diameter: float | None = None  #: of a round one [m]
    hexagon: float | None = None  #: across flats [m]
    length: float | None = None  #: between the wheels that twist it [m]
    material: str = "steel"
    shear_modulus: float  #: [Pa]
    shear_stress: float  #: allowable of its material, a keyway not counted [Pa]
    allowable_shear: float | None = None  #: given for it, stands before that [Pa]
    bore: float | None = None  #: of the wheels on it, across flats of a hexagonal one [m]
    key: Key | None = None
    set_screw: SetScrew | None = None
    hub_length: float | None = None  #: of a wheel's hub on a hexagon [m]
    hub_stress: float | None = None  #: allowable bearing stress of that hub [Pa]

    @property
    def size(self) -> float:
        """Diameter, or width across flats. [m]"""
        return self.diameter if self.diameter is not None else self.hexagon or 0.0

    @property
    def radius(self) -> float:
        """Of the circle it turns in. [m]"""
        return self.size / 2.0 if self.diameter is not None else self.size / math.sqrt(3.0)

    def stress(self, torque: float) -> float:
        """Largest shear stress under a torque [N*m], 16 T/(pi d^3) or T/(0.187653 s^3). [Pa]"""
        if self.diameter is not None:
            return 16.0 * torque / (math.pi * self.diameter**3)
        return torque / (HEX_STRENGTH * self.size**3)

    @property
    def rigidity(self) -> float:
        """Torque per twist of a unit of length, G pi d^4/32 or 0.115051 G s^4. [N*m2/rad]"""
        if self.diameter is not None:
            return self.shear_modulus * math.pi * self.diameter**4 / 32.0
        return self.shear_modulus * HEX_STIFFNESS * self.size**4

    @property
    def stiffness(self) -> float | None:
        """Torque per twist of its length; None: length not known. [N*m/rad]"""
        return None if self.length is None else self.rigidity / self.length


def key_torques(key: Key, diameter: float) -> tuple[float, float]:
    """What a key on a shaft carries in shear, tau b L d/2, and in bearing, p (h/2) L d/2. [N*m, N*m]"""
    shear = key.shear_stress * key.width * key.length * diameter / 2.0
    return shear, key.bearing_stress * key.height / 2.0 * key.length * diameter / 2.0


def screw_torque(holding: float, diameter: float) -> float:
    """Torque at which a set screw of an axial holding force [N] slips, F d/2. [N*m]"""
    return holding * diameter / 2.0


def hub_torque(stress: float, hub_length: float, hexagon: float) -> float:
    """What a hub on a hexagon carries before its flats are bruised, k p L s^2/4, k = 0.5. [N*m]"""
    return HUB_SHARE * stress * hub_length * hexagon**2 / 4.0


def in_series(*stiffnesses: float | None) -> float | None:
    """Stiffness of springs in series, of those that are known; None: of none is it. [N*m/rad]"""
    yielding = sum(1.0 / k for k in stiffnesses if k is not None)
    return 1.0 / yielding if yielding > 0.0 else None
