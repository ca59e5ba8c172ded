"""Worm and wheel as bought or cut: their size from what is known of it, and what the wheel's teeth bear."""

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

from armsim.parts.stage import Hardware

FRICTION_SPREAD = 0.3  #: by which friction of single drives is off the mean, of itself [-]
ABOVE, BELOW = "above", "below"
#: Lewis form factor of worm wheels by normal pressure angle [deg], pi times Buckingham's y; between them, linear. [-]
FORM_FACTORS = ((14.5, 0.314), (20.0, 0.393), (25.0, 0.470), (30.0, 0.550))
EFFECTIVE_FACE = 0.67  #: of the worm's diameter: a wheel is not in touch over more, ANSI/AGMA 6034-B92 [-]
SMALL_CENTRES = 0.0762  #: up to which ANSI/AGMA 6034-B92 takes its materials factor by centre distance, 3 in [m]


class Size(NamedTuple):
    """What the thread looks like; None: not known."""

    lead_angle: float | None  #: [rad]
    module: float | None  #: axial [m]
    diameter: float | None  #: reference, of the worm [m]


def worm_size(
    starts: int,
    wheel: int,
    *,
    lead_angle: float | None = None,
    module: float | None = None,
    diameter: float | None = None,
    centre_distance: float | None = None,
) -> Size:
    """Lead angle, module and diameter from any two of them, or one of them and the centre distance.

    tan(l) = z1 m/d1 and a = (d1 + m z2)/2. Three that are given stay as they are. Raises ValueError where a centre
    distance leaves nothing for the worm or for the wheel.
    """
    tangent = None if lead_angle is None else math.tan(lead_angle)
    if centre_distance is not None and [tangent, module, diameter].count(None) == 2:
        if diameter is not None:
            module = (2.0 * centre_distance - diameter) / wheel
        elif module is not None:
            diameter = 2.0 * centre_distance - module * wheel
        elif tangent is not None:
            module = 2.0 * centre_distance / (starts / tangent + wheel)
        if min(value for value in (module, diameter) if value is not None) <= 0.0:
            part = "worm" if module is not None and module > 0.0 else "wheel"
            raise ValueError(f"leaves no room for the {part}; (worm diameter + module x wheel) / 2 is wanted")
    if diameter is None and module is not None and tangent is not None:
        diameter = starts * module / tangent
    elif module is None and diameter is not None and tangent is not None:
        module = diameter * tangent / starts
    if lead_angle is None and module is not None and diameter is not None:
        lead_angle = math.atan(starts * module / diameter)
    return Size(lead_angle, module, diameter)


@dataclass(frozen=True, kw_only=True)
class WormPair(Hardware):
    """A cylindrical worm and its wheel, shafts at a right angle."""

    starts: int
    wheel: int  #: teeth
    lead_angle: float
    pressure_angle: float  #: normal
    module: float | None = None  #: axial
    diameter: float | None = None  #: reference, of the worm
    face_width: float | None = None  #: of the wheel
    centre_distance: float | None = None  #: as it is to be built; None: as the size makes it
    hand: int = 1  #: of the worm, +1 right, -1 left
    wheel_hand: int | None = None
    wheel_helix: float | None = None  #: of the wheel's teeth
    placement: str | None = None  #: where the worm lies, seen from the wheel: above or below
    static_friction: float
    friction_spread: float = FRICTION_SPREAD  #: by which friction may be off [-]
    curve_friction: bool = False  #: running friction by the mean curve of hardened steel on bronze
    worm_material: str = "steel"
    wheel_material: str = "bronze"
    bending_stress: float  #: that the wheel's teeth are allowed by its material [Pa]
    allowable_bending: float | None = None  #: given for it, stands before that [Pa]
    wear_stress: float | None = None  #: Buckingham's K of this pair; None: none is known [Pa]

    @property
    def natural_centres(self) -> float | None:
        """Centre distance that the size makes, without profile shift. [m]"""
        if self.module is None or self.diameter is None:
            return None
        return (self.diameter + self.module * self.wheel) / 2.0

    @property
    def working_face(self) -> float | None:
        """Width of the wheel that is in touch. [m]"""
        if self.face_width is None or self.diameter is None:
            return None
        return min(self.face_width, EFFECTIVE_FACE * self.diameter)


def wheel_way(hand: int, placement: str) -> int:
    """Which way the wheel turns, seen with the worm driven from the left: +1 counter-clockwise, -1 clockwise.

    The worm turns clockwise seen from the motor, that is about the direction from motor to worm. The wheel's axis is
    worm axis x (from wheel to worm); a right-hand worm turns the wheel about it, as a nut is drawn along a bolt.
    """
    return hand if placement == ABOVE else -hand


def form_factor(pressure_angle: float) -> float:
    """Lewis form factor of a worm wheel by its normal pressure angle [rad], held beyond 14.5 and 30 deg. [-]"""
    angle = min(max(math.degrees(pressure_angle), FORM_FACTORS[0][0]), FORM_FACTORS[-1][0])
    for (low, first), (high, last) in pairwise(FORM_FACTORS):
        if angle <= high:
            return first + (last - first) * (angle - low) / (high - low)
    return FORM_FACTORS[-1][1]


def bending_force(stress, face, module, lead_angle, pressure_angle):
    """Tangential force at the wheel that bends its teeth to a stress [Pa], S b m_n Y with m_n = m cos(l). [N]"""
    return stress * face * module * math.cos(lead_angle) * form_factor(pressure_angle)


def wear_force(wheel_diameter, face, wear_stress):
    """Buckingham's limit of the tangential force for wear, d2 b K. [N]"""
    return wheel_diameter * face * wear_stress


def rated_force(
    wheel_diameter: float, face: float, reduction: float, centre_distance: float, sliding_speed: float
) -> tuple[float, float] | None:
    """Tangential force that ANSI/AGMA 6034-B92 rates a bronze wheel on a hardened worm for, and by the lower C_s. [N]

    C_s d2^0.8 b C_m C_v/75.948 in mm. Up to 3 in of centre distance the materials factor is printed as
    720 + 10.37 C^3 and as 270 + 10.37 C^3 (C in inch); only the first meets the 1000 of larger ones. Above 3 in that
    of sand-cast bronze, 1190 - 477 log10(d2 in inch), not above 1000. None below a reduction of 3.
    """
    if reduction < 3.0:
        return None
    materials, lower = _materials_factor(centre_distance, wheel_diameter)
    others = (wheel_diameter * 1e3) ** 0.8 * face * 1e3 * _ratio_factor(reduction) * _speed_factor(sliding_speed)
    return materials * others / 75.948, lower * others / 75.948


def _materials_factor(centre_distance: float, wheel_diameter: float) -> tuple[float, float]:
    if centre_distance <= SMALL_CENTRES:
        cubed = 10.37 * (centre_distance / 0.0254) ** 3
        return 720.0 + cubed, 270.0 + cubed
    sand_cast = min(1000.0, 1190.0 - 477.0 * math.log10(wheel_diameter / 0.0254))
    return sand_cast, sand_cast


def _ratio_factor(i: float) -> float:
    if i <= 20.0:
        return 0.02 * math.sqrt(-i * i + 40.0 * i - 76.0) + 0.46
    if i <= 76.0:
        return 0.0107 * math.sqrt(-i * i + 56.0 * i + 5145.0)
    return max(1.1483 - 0.00658 * i, 0.0)


def _speed_factor(v: float) -> float:
    if v <= 3.556:
        return 0.659 * math.exp(-0.2165 * v)
    return float(0.652 * v**-0.571) if v <= 15.24 else float(1.098 * v**-0.774)
