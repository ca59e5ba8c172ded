"""Roller chain over sprockets: reduction, pull radius, loop geometry, play and inertia."""

import math
from dataclasses import dataclass

from armsim.parts.chain_size import ChainSize
from armsim.parts.loop import (
    centre_distance_of,
    excess_sag,
    loop_length,
    open_step,
    sag_excess,
    straight_run,
)
from armsim.parts.stage import ConstantEfficiency, Hardware, Stage, disc_inertia, play_angle, reverse_of

OFFSET_SHARE = 0.65  #: strength of a loop with an offset link, which an odd number of links needs
INCH = 0.0254
HUB_WALLS, THICKEST_WALL = ((2.0, 0.125), (4.0, 0.187), (6.0, 0.25)), 0.375  #: pitch diameter up to, wall [in]
PIN_SHARE = 5.0 / 16.0  #: pin diameter over pitch


@dataclass(frozen=True, kw_only=True)
class Sprocket:
    """A chain wheel."""

    teeth: int
    size: ChainSize | None = None  #: the chain it is cut for; None: not given, taken for the drive's
    bore: float | None = None  #: [m]
    outside: bool = False  #: touches the loop from outside, on the chain's back


@dataclass(frozen=True, kw_only=True)
class ChainDrive(Hardware):
    """A chain, its two sprockets and how it is laid."""

    size: ChainSize
    driver: Sprocket
    driven: Sprocket
    links: int | None = None  #: pitches of the loop as it is made
    centre_distance: float | None = None  #: [m]
    service_factor: float = 1.0  #: for shocks of running
    sag: float | None = None  #: of the slack strand at mid-span [m]
    breaking_load: float | None = None  #: given for it, all strands; None: of its standard [N]
    allowable_load: float | None = None  #: likewise for long life [N]

    @property
    def two_wheels(self) -> bool:
        """True where the loop goes round these two wheels alone, so that they settle its length."""
        return not (self.driver.outside or self.driven.outside)

    @property
    def needs_offset_link(self) -> bool:
        """An odd number of pitches closes with a cranked link only."""
        return self.links is not None and self.links % 2 == 1

    @property
    def small(self) -> Sprocket:
        """The sprocket with fewer teeth."""
        return min(self.driver, self.driven, key=lambda sprocket: sprocket.teeth)


@dataclass(frozen=True, kw_only=True)
class ChainLoop:
    """The loop round two sprockets at their centre distance."""

    centre_distance: float  #: [m]
    taut: float  #: length in pitches at which it is straight [-]
    wrap: float  #: arc on the smaller sprocket [rad]
    span: float  #: length of a straight run [m]
    slack: (
        float | None
    )  #: by how much the loop is longer than taut, < 0 where it does not go round; None: not known [m]

    @property
    def sag(self) -> float | None:
        """Sag at mid-span that the slack makes in one strand; None: not known. [m]"""
        return None if self.slack is None or self.slack < 0.0 else excess_sag(self.span, self.slack)


def chain_loop(drive: ChainDrive) -> ChainLoop | None:
    """The loop of a drive; taut where only its links are given; None without centre distance and links.

    Raises ValueError where the sprockets overlap, or the links do not go round them.
    """
    pitch, small, large = drive.size.pitch, drive.driver.teeth, drive.driven.teeth
    if not drive.two_wheels or (drive.centre_distance is None and drive.links is None):
        return None
    centre = drive.centre_distance
    if centre is None:
        assert drive.links is not None
        centre = centre_distance_for(pitch, small, large, drive.links)
    taut = length_in_pitches(pitch, small, large, centre)
    return ChainLoop(
        centre_distance=centre,
        taut=taut,
        wrap=wrap_angle(pitch, small, large, centre),
        span=straight_run(open_step(mean_radius(pitch, small), mean_radius(pitch, large)), centre),
        slack=None if drive.links is None else (drive.links - taut) * pitch,
    )


def chain_play(drive: ChainDrive) -> float | None:
    """Free turn of the driven sprocket: what the slack strand is too long, taken up when the torque turns round. [rad]

    From the sag, else from the links the loop has beyond those of a taut one; None where neither is known.
    """
    loop = chain_loop(drive)
    if loop is None:
        return None
    excess = loop.slack if drive.centre_distance is not None else None
    if drive.sag is not None:
        excess = sag_excess(loop.span, drive.sag)
    if excess is None:
        return None
    return float(play_angle(max(excess, 0.0), pitch_diameter(drive.size.pitch, drive.driven.teeth) / 2.0))


def chain_stage(
    drive: ChainDrive,
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
    """A chain drive as a stage: both sprockets inside the loop turn alike, one on its back turns against the other.

    The reduction is the ratio of teeth, never of pitch diameters. Pull acts at the mean radius z p/(2 pi). Sprockets
    are solid discs of their pitch circles, as wide as the chain inside, of `density` [kg/m3]; a loop whose length is
    known moves whole with the driver's pitch line and counts on the input shaft. Inertias given outright replace all
    that. `reverse` None: 2 - 1/eta_f; `backlash` [rad] at the driven sprocket.
    Raises ValueError when the sprockets overlap or the links do not go round.
    """
    size, loop = drive.size, chain_loop(drive)
    radius = mean_radius(size.pitch, drive.driver.teeth)
    pitches = drive.links if drive.links is not None else loop.taut if loop is not None else 0.0
    on_input = (
        _disc(size, drive.driver, density) + size.mass_per_length * size.strands * size.pitch * pitches * radius**2
    )
    on_output = _disc(size, drive.driven, density)
    return Stage(
        kind="chain",
        name=name,
        reduction=drive.driven.teeth / drive.driver.teeth,
        law=ConstantEfficiency(forward=efficiency, reverse=reverse_of(efficiency) if reverse is None else reverse),
        drag=drag,
        viscous_drag=viscous_drag,
        input_inertia=on_input if input_inertia is None else input_inertia,
        output_inertia=on_output if output_inertia is None else output_inertia,
        backlash=backlash,
        sense=1 if drive.two_wheels else -1,
        driver_radius=radius,
        hardware=drive,
        details=_details(drive, loop),
    )


def _disc(size: ChainSize, sprocket: Sprocket, density: float) -> float:
    rows = size.strands
    return float(rows * disc_inertia(density, size.inner_width, pitch_diameter(size.pitch, sprocket.teeth)))


def _details(drive: ChainDrive, loop: ChainLoop | None) -> dict[str, float | str]:
    """What the report shows of the geometry, and the centre distance of the next even loop up."""
    size, teeth = drive.size, (drive.driver.teeth, drive.driven.teeth)
    shown: dict[str, float | str] = {
        "number": size.title,
        "pitch": size.pitch,
        "pitch_diameter_driver": pitch_diameter(size.pitch, teeth[0]),
        "pitch_diameter_driven": pitch_diameter(size.pitch, teeth[1]),
        "speed_ripple_driver": polygon_ripple(teeth[0]),
    }
    if loop is None:
        return shown
    even = even_pitches(loop.taut)[1]
    return {
        **shown,
        "centre_distance": loop.centre_distance,
        "length_in_pitches": loop.taut,
        "even_pitches": even,
        "centre_distance_even_pitches": centre_distance_for(size.pitch, *teeth, even),
        "wrap_angle": loop.wrap,
    }


def mean_radius(pitch, teeth):
    """Radius at which the mean pull makes the torque, z p/(2 pi): a tooth carries on one pitch. [m]"""
    return teeth * pitch / math.tau


def pitch_diameter(pitch, teeth):
    """Diameter of the circle through the pin centres, p/sin(pi/z). [m] (ISO 606)"""
    return pitch / math.sin(math.pi / teeth)


def outside_diameter(pitch, teeth):
    """Over the teeth, about p (0.6 + cot(pi/z)). [m]"""
    return pitch * (0.6 + 1.0 / math.tan(math.pi / teeth))


def root_diameter(size: ChainSize, teeth: int) -> float:
    """Between the seats of the rollers. [m]"""
    return float(pitch_diameter(size.pitch, teeth)) - size.roller


def largest_hub(pitch, teeth):
    """Of a hub that the plates of the chain clear, p (cot(pi/z) - 1) - 0.030 in (ASME B29.1). [m]"""
    return pitch * (1.0 / math.tan(math.pi / teeth) - 1.0) - 0.030 * INCH


def least_hub(bore: float, pitch: float, teeth: int) -> float:
    """Of a hub with a keyway, handbook proportions: bore + 2 (K + bore/6 + 0.01 PD). [m]

    K 0.125 in up to a pitch diameter PD of 2 in, 0.187 in up to 4 in, 0.25 in up to 6 in, 0.375 in above.
    """
    diameter = float(pitch_diameter(pitch, teeth))
    wall = next((k for limit, k in HUB_WALLS if diameter <= limit * INCH), THICKEST_WALL)
    return bore + 2.0 * (wall * INCH + bore / 6.0 + 0.01 * diameter)


def polygon_ripple(teeth):
    """Peak-to-peak ripple of chain speed over its mean, from the chain lying on a polygon: (pi/z) tan(pi/(2 z)). [-]"""
    return math.pi / teeth * math.tan(math.pi / (2.0 * teeth))


def pin_efficiency(friction, teeth, other_teeth):
    """Efficiency with the friction of bending pins alone, 1 - pi mu (5/16) (1/z1 + 1/z2), slack side idle. [-]"""
    return 1.0 - math.pi * friction * PIN_SHARE * (1.0 / teeth + 1.0 / other_teeth)


def length_in_pitches(pitch: float, teeth: int, other_teeth: int, centre_distance: float) -> float:
    """Length of the taut loop, X = 2 C cos(b) + (z1 + z2)/2 + b D/pi, sin(b) = D/(2 pi C), C in pitches. [-]

    Raises ValueError when the sprockets overlap at this centre distance [m].
    """
    if centre_distance <= (pitch_diameter(pitch, teeth) + pitch_diameter(pitch, other_teeth)) / 2.0:
        raise ValueError(f"sprockets of {teeth} and {other_teeth} teeth overlap at {centre_distance * 1e3:.4g} mm")
    radius, other = mean_radius(pitch, teeth), mean_radius(pitch, other_teeth)
    return float(loop_length(radius + other, open_step(radius, other), centre_distance)) / pitch


def centre_distance_for(pitch: float, teeth: int, other_teeth: int, pitches: float) -> float:
    """Centre distance at which a loop of so many pitches runs taut. [m]

    Raises ValueError when the loop is too short to go round.
    """
    radius, other = mean_radius(pitch, teeth), mean_radius(pitch, other_teeth)
    try:
        return centre_distance_of(radius + other, open_step(radius, other), pitches * pitch)
    except ValueError:
        text = f"{pitches:g} pitches do not go round sprockets of {teeth} and {other_teeth} teeth"
        raise ValueError(text) from None


def even_pitches(taut: float) -> tuple[int, int]:
    """The even numbers of pitches next below and above a taut length; the same twice where it is one."""
    return 2 * math.floor(taut / 2.0 + 1e-9), 2 * math.ceil(taut / 2.0 - 1e-9)


def wrap_angle(pitch: float, teeth: int, other_teeth: int, centre_distance: float) -> float:
    """Arc of the smaller sprocket that the chain lies on, pi - 2 asin((D2 - D1)/(2 C)). [rad]"""
    step = abs(pitch_diameter(pitch, other_teeth) - pitch_diameter(pitch, teeth))
    return math.pi - 2.0 * math.asin(step / (2.0 * centre_distance))
