"""How involute teeth mesh: centres, contact ratio, sliding loss, undercut.

Lengths inside are in normal modules, so that none of it needs the module, unless a centre distance is given. Full-depth
teeth (addendum one module) of a rack; the wheel of a pair is the one that may be a ring.
"""

import math
from dataclasses import dataclass
from itertools import pairwise

ADDENDUM, DEDENDUM = 1.0, 1.25  #: of full-depth teeth, in normal modules [-]


@dataclass(frozen=True, kw_only=True)
class Material:
    """What a gear is made of; None: not known."""

    name: str
    density: float  #: [kg/m3]
    bending: float | None = None  #: stress that a tooth root bears for long, load in one sense [Pa]
    contact: float | None = None  #: pressure that a flank bears for long [Pa]
    modulus: float | None = None  #: of elasticity [Pa]
    poisson: float = 0.3  #: [-]


@dataclass(frozen=True, kw_only=True)
class Gear:
    """One gear, by its normal section."""

    teeth: float  #: whole, but for the virtual gear of a bevel gear
    material: Material
    module: float | None = None  #: [m]
    pressure_angle: float = math.radians(20.0)  #: [rad]
    helix_angle: float = 0.0  #: 0 for straight teeth [rad]
    hand: int = 0  #: +1 right, -1 left, 0 for straight teeth
    face_width: float | None = None  #: [m]
    profile_shift: float = 0.0  #: times the module, away from the gear's axis [-]
    internal: bool = False  #: a ring
    bore: float = 0.0  #: [m]
    form_factor: float | None = None  #: Lewis form factor Y of its virtual spur teeth [-]
    by_pitch: bool = False  #: its size was given as diametral pitch
    allowable_bending: float | None = None  #: given for it; None: that of its material [Pa]
    allowable_contact: float | None = None  #: likewise [Pa]

    @property
    def pitch_diameter(self) -> float | None:
        """m z/cos(beta). [m]"""
        return None if self.module is None else 2.0 * pitch_radius(self) * self.module


def transverse_angle(gear: Gear) -> float:
    """Pressure angle in the plane of rotation, tan(a_t) = tan(a_n)/cos(beta). [rad]"""
    return math.atan(math.tan(gear.pressure_angle) / math.cos(gear.helix_angle))


def pitch_radius(gear: Gear) -> float:
    """z/(2 cos(beta)). [modules]"""
    return gear.teeth / (2.0 * math.cos(gear.helix_angle))


def base_radius(gear: Gear) -> float:
    """[modules]"""
    return pitch_radius(gear) * math.cos(transverse_angle(gear))


def tip_radius(gear: Gear) -> float:
    """Of full-depth teeth, not shortened for tip clearance. [modules]"""
    return pitch_radius(gear) + gear.profile_shift + (-ADDENDUM if gear.internal else ADDENDUM)


def root_radius(gear: Gear) -> float:
    """Of an external gear whose tooth spaces reach 1.25 modules below the pitch circle. [modules]"""
    return pitch_radius(gear) + gear.profile_shift - DEDENDUM


def base_pitch(gear: Gear) -> float:
    """Between flanks along the line of action, in the plane of rotation. [modules]"""
    return math.pi * math.cos(transverse_angle(gear)) / math.cos(gear.helix_angle)


def sign_of(wheel: Gear) -> int:
    """+1 for two gears side by side, -1 for a pinion in a ring."""
    return -1 if wheel.internal else 1


def involute(angle: float) -> float:
    """tan(a) - a."""
    return math.tan(angle) - angle


def involute_angle(value: float) -> float:
    """The angle whose involute function is `value`, > 0, by Newton's rule from above. [rad]"""
    angle = min(math.cbrt(3.0 * value), math.atan(value + math.pi / 2.0))
    for _ in range(50):
        step = (involute(angle) - value) / math.tan(angle) ** 2
        angle -= step
        if abs(step) < 1e-14:
            break
    return angle


def working_angle(pinion: Gear, wheel: Gear, centre: float | None = None) -> float | None:
    """Pressure angle at which the pair runs in the plane of rotation; None where no such pair can run. [rad]

    At a given centre distance [m] of gears of known size, cos(a_w) = (a/a') cos(a_t); else where the flanks touch
    without play, from the profile shifts: inv(a_w) = inv(a_t) + 2 tan(a_n) (x2 +- x1)/(z2 +- z1).
    """
    angle, sign = transverse_angle(pinion), sign_of(wheel)
    if centre is not None and pinion.module is not None:
        share = (base_radius(wheel) + sign * base_radius(pinion)) * pinion.module / centre
        return math.acos(share) if 0.0 < share <= 1.0 else None
    shift = wheel.profile_shift + sign * pinion.profile_shift
    if shift == 0.0:
        return angle
    teeth = wheel.teeth + sign * pinion.teeth
    if teeth <= 0.0:
        return None
    value = involute(angle) + 2.0 * math.tan(pinion.pressure_angle) * shift / teeth
    return involute_angle(value) if value > 0.0 else None


def centre_distance(pinion: Gear, wheel: Gear) -> float | None:
    """At which the flanks of a pair touch without play; None where module or geometry give none. [m]"""
    angle = working_angle(pinion, wheel)
    if angle is None or pinion.module is None:
        return None
    bases = base_radius(wheel) + sign_of(wheel) * base_radius(pinion)
    return pinion.module * bases / math.cos(angle)


def added_backlash(pinion: Gear, wheel: Gear, centre: float) -> float | None:
    """Play along the pitch circle that a centre distance [m] adds, about 2 da tan(a_w); of a ring it takes. [m]"""
    closed, angle = centre_distance(pinion, wheel), working_angle(pinion, wheel, centre)
    if closed is None or angle is None:
        return None
    return 2.0 * sign_of(wheel) * (centre - closed) * math.tan(angle)


def contact_parts(pinion: Gear, wheel: Gear, angle: float) -> tuple[float, float]:
    """Path of contact over base pitch outside the pinion's pitch circle, and inside it; a_w `angle` [rad]. [-, -]"""
    pitch = base_pitch(pinion)
    recess = _beyond_base(pinion) - base_radius(pinion) * math.tan(angle)
    approach = _beyond_base(wheel) - base_radius(wheel) * math.tan(angle)
    return recess / pitch, sign_of(wheel) * approach / pitch


def _beyond_base(gear: Gear) -> float:
    """From the point where the line of action touches the base circle to the tip circle. [modules]"""
    return math.sqrt(max(tip_radius(gear) ** 2 - base_radius(gear) ** 2, 0.0))


def contact_ratio(pinion: Gear, wheel: Gear, angle: float) -> float:
    """Pairs of teeth in contact on average, in the plane of rotation. [-]"""
    return sum(contact_parts(pinion, wheel, angle))


def overlap_ratio(gear: Gear, width: float) -> float:
    """What helical teeth add to the contact ratio, b sin(beta)/(pi m_n); `width` is engaged [m]. [-]"""
    assert gear.module is not None
    return width * math.sin(gear.helix_angle) / (math.pi * gear.module)


def loss_factor(pinion: Gear, wheel: Gear, angle: float) -> float:
    """Power lost over power passed, per coefficient of friction. [-]

    Mean of sliding speed times tooth force over a mesh, the force shared equally by the pairs in contact. For contact
    ratios 1 to 2 with both parts below 1 that is Ohlendorf's pi (1/z1 +- 1/z2)/cos(beta_b) (1 - e + e1^2 + e2^2)
    (ISO/TR 14179-2); written as a sum over the stretches of the path it holds for any.
    """
    recess, approach = contact_parts(pinion, wheel, angle)
    base_helix = math.asin(math.sin(pinion.helix_angle) * math.cos(pinion.pressure_angle))
    slide = math.pi * (1.0 / pinion.teeth + sign_of(wheel) / wheel.teeth) / math.cos(base_helix)
    return slide * 2.0 * _shared_slide(recess, approach)


def _shared_slide(recess: float, approach: float) -> float:
    """Integral of |s|/n(s) along the path from -approach to recess; n pairs touch while one is at s. [-]"""
    ends, whole = (-approach, recess), math.ceil(recess + approach)
    cuts = {0.0, *(end + k for end in ends for k in range(-whole, whole + 1))}
    path = sorted(s for s in cuts | set(ends) if -approach <= s <= recess)
    total = 0.0
    for start, end in pairwise(path):
        middle = 0.5 * (start + end)
        pairs = math.floor(recess - middle) + math.floor(middle + approach) + 1
        total += 0.5 * abs(end * abs(end) - start * abs(start)) / pairs
    return total


def mesh_efficiency(pinion: Gear, wheel: Gear, friction: float, centre: float | None = None) -> float | None:
    """1 - mu H_v, of the teeth alone, bearings aside; None where the pair cannot run. [-]"""
    angle = working_angle(pinion, wheel, centre)
    if angle is None or contact_ratio(pinion, wheel, angle) <= 0.0:
        return None
    return 1.0 - friction * loss_factor(pinion, wheel, angle)


def undercut_teeth(pressure_angle, helix_angle=0.0, shift=0.0):
    """Teeth below which a rack cuts into the flank, 2 (1 - x) cos(beta)/sin^2(a_t). [-]"""
    transverse = math.atan(math.tan(pressure_angle) / math.cos(helix_angle))
    return 2.0 * (ADDENDUM - shift) * math.cos(helix_angle) / math.sin(transverse) ** 2


def shift_against_undercut(teeth, pressure_angle, helix_angle=0.0):
    """Least profile shift with which a rack leaves the flank whole. [-]"""
    return ADDENDUM * (1.0 - teeth / undercut_teeth(pressure_angle, helix_angle))


def smallest_pinion(ratio, pressure_angle):
    """Teeth of the smallest pinion that the tips of a given mate, `ratio` times as large, leave alone. [-]"""
    s = math.sin(pressure_angle) ** 2
    rest = (1.0 + 2.0 * ratio) * s
    return 2.0 * ADDENDUM * (ratio + math.sqrt(ratio * ratio + rest)) / rest


def largest_mate(teeth, pressure_angle):
    """Teeth of the largest wheel whose tips leave a small pinion alone; infinite if even a rack does. [-]"""
    s = math.sin(pressure_angle) ** 2
    below = 4.0 * ADDENDUM - 2.0 * teeth * s
    return math.inf if below <= 0.0 else (teeth * teeth * s - 4.0 * ADDENDUM**2) / below


def virtual_teeth(gear: Gear) -> float:
    """Teeth of the spur gear with the same tooth form in the normal section, z/cos^3(beta). [-]"""
    return gear.teeth / math.cos(gear.helix_angle) ** 3
