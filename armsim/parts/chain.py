"""Roller chain over sprockets: sizes, reduction, pull radius, loop geometry, play and inertia."""

import math
from dataclasses import dataclass, replace

from armsim.parts.loop import (
    centre_distance_of,
    excess_sag,
    loop_length,
    open_step,
    sag_excess,
    straight_run,
)
from armsim.parts.stage import ConstantEfficiency, Hardware, Stage, disc_inertia, play_angle, reverse_of

#: what so many strands bear in fatigue, against one (they never share evenly)
STRAND_SHARES = {1: 1.0, 2: 1.7, 3: 2.5, 4: 3.3}
OFFSET_SHARE = 0.65  #: strength of a loop with an offset link, which an odd number of links needs
PIN_SHARE = 5.0 / 16.0  #: pin diameter over pitch


@dataclass(frozen=True, kw_only=True)
class ChainSize:
    """A size of chain by its standard. Lengths in m, forces in N of one strand, mass in kg/m of one strand."""

    number: str  #: as the standard writes it
    words: str  #: what the number means
    pitch: float
    roller: float  #: diameter of the roller, or of the bush where there is none
    inner_width: float
    tensile_strength: float  #: minimum ultimate, not the average of makers
    mass_per_length: float
    transverse_pitch: float | None = None  #: between strands
    max_allowable: float | None = None  #: fatigue limit; None: not published
    pin: float | None = None
    plate: float | None = None
    family: str = ""  #: the plain number whose sprockets it runs on
    strands: int = 1
    double_pitch: bool = False
    standard: str = ""

    @property
    def title(self) -> str:
        """The number and what it means."""
        return f"{self.number}: {self.words}"

    @property
    def breaking_load(self) -> float:
        """Of all strands. [N]"""
        return self.tensile_strength * self.strands

    @property
    def fatigue_limit(self) -> float | None:
        """Of all strands, which never share evenly; None: not published. [N]"""
        return None if self.max_allowable is None else self.max_allowable * STRAND_SHARES[self.strands]


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


def heavier(size: ChainSize, plate: float) -> ChainSize:
    """The heavy series of a size: thicker plates, else alike; its strength is taken for that of the plain chain.

    Mass grows at most as the plates do.
    """
    assert size.plate is not None
    mass = size.mass_per_length * plate / size.plate
    return replace(size, number=f"{size.number}H", plate=plate, mass_per_length=mass)


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


#: constants of the power rating by plates and by rollers, of numbers 41, 25 and 35, and the others
_RATING = {"41": (0.0022, 3.4), "25": (0.004, 29.0), "35": (0.004, 29.0)}
_HORSEPOWER, _INCH = 745.69987, 0.0254


def power_rating(size: ChainSize, teeth: int, speed: float) -> float | None:
    """Power that a chain of 100 pitches carries for 15 000 h, well lubricated, by the small sprocket's speed. [W]

    The lower of plate fatigue, K1 z^1.08 n^0.9 p^(3 - 0.07 p), and roller impact, 1000 K2 z^1.5 p^0.8/n^1.5, hp, n in
    rpm, p in inch (ASME B29.1, numbers 25 to 240). None for other chains and at rest.
    """
    if size.standard != "ASME B29.1" or size.double_pitch or speed <= 0.0:
        return None
    plate, roller = _RATING.get(size.family, (0.004, 17.0))
    turns, pitch = speed * 60.0 / math.tau, size.pitch / _INCH
    by_plates = plate * teeth**1.08 * turns**0.9 * pitch ** (3.0 - 0.07 * pitch)
    by_rollers = 1000.0 * roller * teeth**1.5 * pitch**0.8 / turns**1.5
    return float(min(by_plates, by_rollers) * STRAND_SHARES[size.strands] * _HORSEPOWER)
