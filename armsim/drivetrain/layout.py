"""The train laid out in a plane, to scale where sizes are known: shafts, wheels, and what runs between them.

Shafts zigzag from the motor to the load so that neighbouring wheels show; a coaxial stage or a corner goes on along the
axis. Each shaft is seen with its axis at the eye, so shafts before a corner are seen from there, looking back, and a
worm's shaft twice. Angles of the drawing are free, distances are not: gears in touch stand at the sum of their radii, a
pinion in its ring at the difference, loops at their centre distance.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import NamedTuple

from armsim.drivetrain.machine import Machine
from armsim.drivetrain.senses import turnings
from armsim.parts.belt import BeltDrive, belt_pitch_diameter
from armsim.parts.bevel import BevelPair
from armsim.parts.chain import ChainDrive, pitch_diameter
from armsim.parts.flat_belt import FlatBeltDrive
from armsim.parts.gear_mesh import Gear
from armsim.parts.gears import GearPath
from armsim.parts.motor import ROTOR_LOSS
from armsim.parts.planetary import PlanetarySet
from armsim.parts.rack import Drum, Rack
from armsim.parts.stage import Stage
from armsim.parts.worm_pair import WormPair

ZIGZAG = math.radians(32.0)  #: of the line from one shaft to the next, up and down in turn
GUESS = 1.5e-3  #: module of teeth whose size is not told [m]
WORM_TEETH = 10.0  #: diameter of a worm of unknown size, in modules
APART = 2.6  #: centres of a loop of unknown centre distance, over the sum of its radii


class Point(NamedTuple):
    """A place in the drawing. [m]"""

    x: float
    y: float


@dataclass(frozen=True, kw_only=True)
class Wheel:
    """A circle of the drawing."""

    centre: Point
    radius: float  #: of the pitch circle [m]
    label: str
    kind: str  #: gear, ring, sprocket, pulley, sun, planet, worm wheel, bevel, drum
    sense: int | None  #: +1 counter-clockwise when lifting, -1 clockwise, 0: does not turn, None: not known
    sized: bool = True  #: False where the size is a guess


@dataclass(frozen=True, kw_only=True)
class Loop:
    """A chain or belt round two wheels of the drawing."""

    first: Wheel
    second: Wheel
    crossed: bool = False
    outside: bool = False  #: the second wheel lies on its back


@dataclass(frozen=True, kw_only=True)
class Block:
    """A box or worm: a rectangle by its middle and size."""

    centre: Point
    width: float
    height: float
    label: str
    kind: str  #: gearbox, worm
    lean: float = 0.0  #: of a worm's threads at its front, to the right for + [rad]
    sense: int | None = None  #: of a worm: +1 its front goes down, -1 up, None: not known


@dataclass(frozen=True, kw_only=True)
class Layout:
    """Everything the schematic shows. Shafts count from the motor's."""

    shafts: tuple[Point, ...]
    senses: tuple[int | None, ...]
    wheels: tuple[Wheel, ...]
    loops: tuple[Loop, ...]
    blocks: tuple[Block, ...]
    axes: tuple[tuple[Point, Point], ...]  #: lines along one axis, or round a corner
    to_scale: bool


@dataclass
class _Draft:
    """The drawing while it grows."""

    at: Point
    wheels: list[Wheel] = field(default_factory=list)
    loops: list[Loop] = field(default_factory=list)
    blocks: list[Block] = field(default_factory=list)
    axes: list[tuple[Point, Point]] = field(default_factory=list)


def laid_out(machine: Machine) -> Layout:
    """The machine's train in the plane."""
    stages = [stage for stage in machine.stages if stage.kind != ROTOR_LOSS]
    senses = tuple(turning.sense for turning in turnings(machine))[len(machine.stages) - len(stages) :]
    draft, shafts = _Draft(Point(0.0, 0.0)), [Point(0.0, 0.0)]
    for k, stage in enumerate(stages):
        lean = ZIGZAG if k % 2 == 0 else -ZIGZAG
        draft.at = _place(draft, stage, lean, (senses[k], senses[k + 1]))
        shafts.append(draft.at)
    return Layout(
        shafts=tuple(shafts),
        senses=senses,
        wheels=tuple(draft.wheels),
        loops=tuple(draft.loops),
        blocks=tuple(draft.blocks),
        axes=tuple(draft.axes),
        to_scale=all(wheel.sized for wheel in draft.wheels),
    )


Senses = tuple[int | None, int | None]


def _place(draft: _Draft, stage: Stage, lean: float, senses: Senses) -> Point:
    """Put a stage behind the last shaft; where its output shaft stands."""
    match stage.hardware:
        case GearPath() as path:
            return _gears(draft, path, lean, senses)
        case ChainDrive() as chain:
            radii = [float(pitch_diameter(chain.size.pitch, s.teeth)) / 2.0 for s in (chain.driver, chain.driven)]
            labels = [str(chain.driver.teeth), str(chain.driven.teeth)]
            outside = chain.driver.outside or chain.driven.outside
            return _loop(draft, radii, labels, "sprocket", chain.centre_distance, lean, senses, outside=outside)
        case BeltDrive() as belt:
            radii = [float(belt_pitch_diameter(belt.profile.pitch, p.teeth)) / 2.0 for p in (belt.driver, belt.driven)]
            labels = [str(belt.driver.teeth), str(belt.driven.teeth)]
            return _loop(draft, radii, labels, "pulley", belt.centre_distance, lean, senses)
        case FlatBeltDrive() as flat:
            radii = [flat.driver / 2.0, flat.driven / 2.0]
            labels = [f"{1e3 * d:.4g} mm" for d in (flat.driver, flat.driven)]
            return _loop(draft, radii, labels, "pulley", flat.centre_distance, lean, senses, crossed=flat.crossed)
        case PlanetarySet() as planetary:
            return _planetary(draft, planetary, senses)
        case WormPair() as pair:
            return _worm(draft, pair, senses)
        case BevelPair() as bevel:
            return _bevel(draft, bevel, senses)
        case Rack() as rack:
            draft.wheels.append(_wheel(draft.at, rack.teeth * rack.module / 2.0, str(rack.teeth), "gear", senses[0]))
            return draft.at
        case Drum() as drum:
            draft.wheels.append(
                _wheel(draft.at, drum.diameter / 2.0, f"{1e3 * drum.diameter:.4g} mm", "drum", senses[0])
            )
            return draft.at
        case _:
            return _box(draft, stage)


def _wheel(centre: Point, radius: float, label: str, kind: str, sense: int | None, sized: bool = True) -> Wheel:
    return Wheel(centre=centre, radius=radius, label=label, kind=kind, sense=sense, sized=sized)


def _towards(start: Point, distance: float, angle: float) -> Point:
    return Point(start.x + distance * math.cos(angle), start.y + distance * math.sin(angle))


def _radius(gear: Gear) -> tuple[float, bool]:
    """Of the pitch circle, and whether it is known. [m]"""
    if gear.pitch_diameter is not None:
        return gear.pitch_diameter / 2.0, True
    return gear.teeth * GUESS / 2.0, False


def _gears(draft: _Draft, path: GearPath, lean: float, senses: Senses) -> Point:
    """Gears in touch, one after the other, each the other way but a ring."""
    at, sense = draft.at, senses[0]
    for k, gear in enumerate(path.gears):
        radius, sized = _radius(gear)
        if k:
            before, _ = _radius(path.gears[k - 1])
            at = _towards(at, radius - before if gear.internal else radius + before, lean)
            sense = None if sense is None else sense if gear.internal else -sense
        kind = "ring" if gear.internal else "gear"
        draft.wheels.append(_wheel(at, radius, f"{gear.teeth:.0f}", kind, sense, sized))
    return at


def _loop(
    draft: _Draft,
    radii: list[float],
    labels: list[str],
    kind: str,
    centres: float | None,
    lean: float,
    senses: Senses,
    *,
    crossed: bool = False,
    outside: bool = False,
) -> Point:
    """Two wheels and what runs round them; at a distance that shows it where none is told."""
    away = centres if centres is not None else APART * sum(radii)
    there = _towards(draft.at, away, 0.4 * lean)
    first = _wheel(draft.at, radii[0], labels[0], kind, senses[0])
    second = _wheel(there, radii[1], labels[1], kind, senses[1], centres is not None)
    draft.wheels += [first, second]
    draft.loops.append(Loop(first=first, second=second, crossed=crossed, outside=outside))
    return there


def _planetary(draft: _Draft, planetary: PlanetarySet, senses: Senses) -> Point:
    """Sun, planets and ring about one axis; the output goes on along it."""
    sun, sized = _radius(planetary.sun)
    planet, ring = _radius(planetary.planet)[0], _radius(planetary.ring)[0]
    turning = {planetary.fixed: 0, planetary.input: senses[0]}

    def sense(member: str) -> int | None:
        return turning.get(member, senses[1])

    draft.wheels.append(_wheel(draft.at, ring, f"{planetary.ring.teeth:.0f}", "ring", sense("ring"), sized))
    for k in range(planetary.planets):
        centre = _towards(draft.at, sun + planet, math.tau * (k + 0.25) / planetary.planets)
        label = f"{planetary.planet.teeth:.0f}" if k == 0 else ""
        draft.wheels.append(_wheel(centre, planet, label, "planet", None, sized))
    draft.wheels.append(_wheel(draft.at, sun, f"{planetary.sun.teeth:.0f}", "sun", sense("sun"), sized))
    return _along_axis(draft, 1.6 * ring)


def _along_axis(draft: _Draft, away: float) -> Point:
    """The next shaft on the same axis, drawn beside."""
    there = Point(draft.at.x + away, draft.at.y)
    draft.axes.append((draft.at, there))
    return there


def _room(draft: _Draft) -> float:
    """Radius of the largest wheel on the last shaft. [m]"""
    return max((wheel.radius for wheel in draft.wheels if wheel.centre == draft.at), default=0.0)


def _worm(draft: _Draft, pair: WormPair, senses: Senses) -> Point:
    """The worm lies over its wheel or under it, its own shaft along the drawing's plane, driven from the left."""
    module, sized = (GUESS, False) if pair.module is None else (pair.module, True)
    diameter, wheel = pair.diameter or WORM_TEETH * module, module * pair.wheel / 2.0
    side = -1.0 if pair.placement == "below" else 1.0
    length = max(1.6 * wheel, 4.0 * diameter)
    middle = Point(draft.at.x + _room(draft) + 0.7 * length, draft.at.y)
    draft.axes.append((draft.at, middle))
    draft.blocks.append(
        Block(
            centre=middle,
            width=length,
            height=diameter,
            label=f"{pair.starts} start",
            kind="worm",
            lean=-pair.hand * 1.2,  # lying, a right-hand thread leans back at its front
            sense=senses[0],
        )
    )
    there = Point(middle.x, middle.y - side * (wheel + diameter / 2.0))
    draft.wheels.append(_wheel(there, wheel, str(pair.wheel), "worm wheel", senses[1], sized))
    return there


def _bevel(draft: _Draft, bevel: BevelPair, senses: Senses) -> Point:
    """Round a corner: each gear seen from its own axis, side by side."""
    radii = [_radius(gear) for gear in (bevel.driver, bevel.driven)]
    there = Point(draft.at.x + max(_room(draft), radii[0][0]) + 1.25 * radii[1][0], draft.at.y)
    for at, (radius, sized), gear, sense in zip(
        (draft.at, there), radii, (bevel.driver, bevel.driven), senses, strict=True
    ):
        draft.wheels.append(_wheel(at, radius, f"{gear.teeth:.0f}", "bevel", sense, sized))
    draft.axes.append((draft.at, there))
    return there


def _box(draft: _Draft, stage: Stage) -> Point:
    """A bought box, whose inside is not told; its size in the drawing is that of what is drawn already."""
    size = max([2.2 * wheel.radius for wheel in draft.wheels], default=0.05)
    middle = Point(draft.at.x + _room(draft) + 0.8 * size, draft.at.y)
    draft.blocks.append(Block(centre=middle, width=size, height=0.6 * size, label=stage.name, kind="gearbox"))
    there = Point(middle.x + 1.2 * size, draft.at.y)
    draft.axes.append((draft.at, there))
    return there


def tangents(loop: Loop) -> Iterator[tuple[Point, Point]]:
    """The two straight runs of a loop: outer tangents, or inner ones where it is crossed or lies on a wheel's back."""
    a, b = loop.first, loop.second
    along = math.atan2(b.centre.y - a.centre.y, b.centre.x - a.centre.x)
    distance = math.dist(a.centre, b.centre)
    inner = loop.crossed or loop.outside
    share = (a.radius + b.radius if inner else a.radius - b.radius) / distance
    if abs(share) > 1.0:
        return
    open_angle = math.acos(share)
    sides = (1.0,) if loop.outside else (1.0, -1.0)
    for side in sides:
        normal = along + side * open_angle
        end = normal + math.pi if inner else normal
        yield _towards(a.centre, a.radius, normal), _towards(b.centre, b.radius, end)
