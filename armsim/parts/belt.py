"""Toothed belts over pulleys: profiles, loop geometry, teeth in mesh and rated tension."""

import math
from dataclasses import dataclass

from armsim.parts.loop import centre_distance_of, loop_length, open_step, slant
from armsim.parts.stage import ConstantEfficiency, Hardware, Stage, disc_inertia, reverse_of

FULL_MESH = 6  #: teeth in mesh from which on the belt's teeth carry all that its cords do
_POUND_INCH, _INCH = 0.1129848, 0.0254


@dataclass(frozen=True, kw_only=True)
class BeltProfile:
    """A tooth profile by its standard. Lengths in m."""

    name: str
    title: str
    pitch: float
    line_offset: float | None = None  #: pitch diameter less outside diameter of a pulley
    tooth_height: float | None = None  #: of the belt: grooves are no shallower
    least_teeth: int | None = None  #: of a pulley, by habit
    usual_play: tuple[float, float] | None = None  #: along the pitch line
    ratings: tuple[tuple[float, float, float], ...] = ()  #: width [m], and a, b of torque = d (a - b d^2), lbf*in, inch


@dataclass(frozen=True, kw_only=True)
class Pulley:
    """A toothed pulley."""

    teeth: int
    profile: BeltProfile | None = None  #: what it is cut for; None: not given, taken for the belt's
    bore: float | None = None  #: [m]
    outside: bool = False  #: touches a double-sided belt from outside


@dataclass(frozen=True, kw_only=True)
class BeltDrive(Hardware):
    """A toothed belt and its two pulleys."""

    profile: BeltProfile
    driver: Pulley
    driven: Pulley
    belt_teeth: int | None = None
    centre_distance: float | None = None  #: [m]
    width: float | None = None  #: [m]
    allowable_tension: float | None = None  #: effective, of the whole width; None: the standard's where it has one [N]
    tension: float | None = None  #: of each strand as installed [N]
    service_factor: float = 1.0

    @property
    def two_wheels(self) -> bool:
        """True where the loop goes round these two pulleys alone, so that they settle its length."""
        return not (self.driver.outside or self.driven.outside)

    @property
    def small(self) -> Pulley:
        """The pulley with fewer teeth."""
        return min(self.driver, self.driven, key=lambda pulley: pulley.teeth)


@dataclass(frozen=True, kw_only=True)
class BeltLoop:
    """A belt round two pulleys at their centre distance."""

    centre_distance: float  #: [m]
    taut: float  #: length in teeth at this centre distance [-]
    wrap: float  #: arc on the smaller pulley [rad]
    teeth_in_mesh: float  #: of the smaller pulley [-]


def belt_pitch_diameter(pitch, teeth):
    """Where the belt's cords run, z p/pi. [m]"""
    return teeth * pitch / math.pi


def belt_length(pitch: float, teeth: int, other_teeth: int, centre_distance: float) -> float:
    """Length of the taut belt in teeth. Raises ValueError when the pulleys overlap at this centre distance [m]."""
    radius, other = (float(belt_pitch_diameter(pitch, z)) / 2.0 for z in (teeth, other_teeth))
    if centre_distance <= radius + other:
        raise ValueError(f"pulleys of {teeth} and {other_teeth} teeth overlap at {centre_distance * 1e3:.4g} mm")
    return float(loop_length(radius + other, open_step(radius, other), centre_distance)) / pitch


def belt_centre_distance(pitch: float, teeth: int, other_teeth: int, belt_teeth: int) -> float:
    """Centre distance of a taut belt of so many teeth. [m] Raises ValueError when it does not go round."""
    radius, other = (float(belt_pitch_diameter(pitch, z)) / 2.0 for z in (teeth, other_teeth))
    try:
        return centre_distance_of(radius + other, open_step(radius, other), belt_teeth * pitch)
    except ValueError:
        text = f"a belt of {belt_teeth} teeth does not go round pulleys of {teeth} and {other_teeth}"
        raise ValueError(text) from None


def belt_loop(drive: BeltDrive) -> BeltLoop | None:
    """The loop of a drive; None where neither centre distance nor belt is given. Raises ValueError if impossible."""
    if not drive.two_wheels or (drive.centre_distance is None and drive.belt_teeth is None):
        return None
    pitch, teeth = drive.profile.pitch, (drive.driver.teeth, drive.driven.teeth)
    centre = drive.centre_distance
    if centre is None:
        assert drive.belt_teeth is not None
        centre = belt_centre_distance(pitch, *teeth, drive.belt_teeth)
    radii = [float(belt_pitch_diameter(pitch, z)) / 2.0 for z in teeth]
    taut = belt_length(pitch, *teeth, centre)
    wrap = math.pi - 2.0 * float(slant(open_step(*radii), centre))
    return BeltLoop(centre_distance=centre, taut=taut, wrap=wrap, teeth_in_mesh=drive.small.teeth * wrap / math.tau)


def mesh_factor(teeth_in_mesh: float) -> float:
    """Share of its rated tension that a belt carries by so many teeth in mesh: 1 from six on, a fifth less each. [-]"""
    return min(max(0.2 * (math.floor(teeth_in_mesh + 1e-9) - 1), 0.0), 1.0)


def rated_tension(profile: BeltProfile, width: float | None, teeth: int) -> float | None:
    """Effective tension that a standard allows on a pulley with six teeth in mesh or more; None: no public one. [N]

    For MXL (RMA IP-24) the torque d (a - b d^2), lbf*in with d in inch, of each standard width.
    """
    if width is None:
        return None
    for listed, a, b in profile.ratings:
        if abs(width - listed) < 0.02 * listed:
            diameter = float(belt_pitch_diameter(profile.pitch, teeth))
            inches = diameter / _INCH
            return 2.0 * inches * (a - b * inches**2) * _POUND_INCH / diameter
    return None


def belt_stage(
    drive: BeltDrive,
    *,
    efficiency: float,
    reverse: float | None,
    density: float,
    drag: float = 0.0,
    viscous_drag: float = 0.0,
    input_inertia: float | None = None,
    output_inertia: float | None = None,
    backlash: float | None = None,
    name: str,
) -> Stage:
    """A toothed belt as a stage; a pulley on the back of a double-sided belt turns against the other.

    Pulleys are solid discs of their pitch circles, as wide as the belt, of `density` [kg/m3]; without a width their
    inertia is left out, and the belt's own always. `backlash` [rad] at the driven pulley.
    Raises ValueError when the pulleys overlap or the belt does not go round.
    """
    pitch, loop, width = drive.profile.pitch, belt_loop(drive), drive.width or 0.0
    diameters = [float(belt_pitch_diameter(pitch, z)) for z in (drive.driver.teeth, drive.driven.teeth)]
    on_input, on_output = (float(disc_inertia(density, width, diameter)) for diameter in diameters)
    shown: dict[str, float | str] = {
        "profile": drive.profile.title,
        "pitch": pitch,
        "pitch_diameter_driver": diameters[0],
        "pitch_diameter_driven": diameters[1],
    }
    if loop is not None:
        shown |= {
            "centre_distance": loop.centre_distance,
            "belt_teeth_taut": loop.taut,
            "wrap_angle": loop.wrap,
            "teeth_in_mesh": loop.teeth_in_mesh,
        }
    return Stage(
        kind="belt",
        name=name,
        reduction=drive.driven.teeth / drive.driver.teeth,
        law=ConstantEfficiency(forward=efficiency, reverse=reverse_of(efficiency) if reverse is None else reverse),
        drag=drag,
        viscous_drag=viscous_drag,
        input_inertia=on_input if input_inertia is None else input_inertia,
        output_inertia=on_output if output_inertia is None else output_inertia,
        backlash=backlash,
        sense=1 if drive.two_wheels else -1,
        driver_radius=diameters[0] / 2.0,
        hardware=drive,
        details=shown,
    )
