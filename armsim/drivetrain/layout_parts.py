"""What a drawing of the train is made of: places, wheels, loops, boxes, cones, marks, and how a loop runs."""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

BEND = math.radians(55.0)  #: arc that a chain or belt touches of a wheel on its back, where the rest is not told
LOOSE = 1.2  #: length of a run that goes on to wheels not told of, in radii of the larger wheel
SMALL_END = 0.62  #: of a bevel gear over its large end


class Point(NamedTuple):
    """A place in the drawing. [m]"""

    x: float
    y: float

    def towards(self, distance: float, angle: float) -> "Point":
        """The place so far away [m] in a direction [rad]."""
        return Point(self.x + distance * math.cos(angle), self.y + distance * math.sin(angle))


@dataclass(frozen=True, kw_only=True)
class Wheel:
    """A circle of the drawing."""

    centre: Point
    radius: float  #: of the pitch circle [m]
    label: str
    kind: str  #: gear, sprocket, pulley, drum, worm wheel, sun, planet, ring, second planet, second ring
    sense: int | None  #: +1 counter-clockwise when lifting, -1 clockwise, 0: does not turn, None: not known
    sized: bool = True  #: False where the size is a guess


@dataclass(frozen=True, kw_only=True)
class Loop:
    """A chain or belt round two wheels of the drawing."""

    first: Wheel
    second: Wheel
    crossed: bool = False
    outside: bool = False  #: the second wheel lies on its back, and the loop goes on to others
    placed: bool = True  #: False where the distance of its wheels is a guess


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
class Cone:
    """A bevel gear from the side, in the plane of both its pair's axes."""

    apex: Point  #: where the axes meet
    away: float  #: direction of its axis from there [rad]
    angle: float  #: of its pitch cone [rad]
    length: float  #: of that cone along its side, apex to the outer end of the teeth [m]
    label: str
    sized: bool = True

    @property
    def back(self) -> Point:
        """Middle of its large end."""
        return self.apex.towards(self.length * math.cos(self.angle), self.away)

    @property
    def radius(self) -> float:
        """Of its large end. [m]"""
        return self.length * math.sin(self.angle)

    @property
    def outline(self) -> tuple[Point, Point, Point, Point]:
        """Corners: large end, small end and round."""
        sides = (self.away - self.angle, self.away + self.angle)
        (a, b), (c, d) = (
            [self.apex.towards(r, side) for side in sides] for r in (self.length, self.length * SMALL_END)
        )
        return a, b, d, c


@dataclass(frozen=True, kw_only=True)
class Mark:
    """What else hangs on a shaft."""

    shaft: int  #: counted from the motor's, 0, as the drawing counts
    text: str
    drives: bool  #: a motor; False: a load


@dataclass(frozen=True, kw_only=True)
class Layout:
    """Everything the schematic shows. Shafts count from the motor's."""

    shafts: tuple[Point, ...]
    senses: tuple[int | None, ...]
    wheels: tuple[Wheel, ...]
    loops: tuple[Loop, ...]
    blocks: tuple[Block, ...]
    cones: tuple[Cone, ...]
    axes: tuple[tuple[Point, Point], ...]  #: lines along one axis, or round a corner
    marks: tuple[Mark, ...] = ()

    @property
    def sizes(self) -> tuple[bool, ...]:
        """Of each thing that has a size or a distance, whether it is known; a box has none."""
        found = [wheel.sized for wheel in self.wheels] + [cone.sized for cone in self.cones]
        return (*found, *(loop.placed for loop in self.loops))


def strands(loop: Loop) -> Iterator[tuple[Point, Point]]:
    """The straight runs of a loop: outer tangents, or inner ones where it is crossed; one to a wheel on its back."""
    a, b = loop.first, loop.second
    normal, inner = _normal(loop), loop.crossed or loop.outside
    if normal is None:
        return
    along = math.atan2(b.centre.y - a.centre.y, b.centre.x - a.centre.x)
    for side in (1.0,) if loop.outside else (1.0, -1.0):
        start = along + side * normal
        end = start + math.pi if inner else start
        yield a.centre.towards(a.radius, start), b.centre.towards(b.radius, end)


def _normal(loop: Loop) -> float | None:
    """Between the line of centres and the radius to where a run touches; None where there is no such run. [rad]"""
    a, b = loop.first, loop.second
    inner = loop.crossed or loop.outside
    share = (a.radius + b.radius if inner else a.radius - b.radius) / math.dist(a.centre, b.centre)
    return math.acos(share) if abs(share) <= 1.0 else None


def bend(loop: Loop) -> tuple[float, float]:
    """Where a run touches a wheel on its back: the arc's first and last angle about that wheel. [rad, rad]"""
    a, b = loop.first, loop.second
    along = math.atan2(b.centre.y - a.centre.y, b.centre.x - a.centre.x)
    start = along + (_normal(loop) or 0.0) + math.pi
    return start, start + BEND


def loose_ends(loop: Loop) -> Iterator[tuple[Point, Point]]:
    """Runs that go on to wheels not told of: behind the wheel on its back, and from the first wheel's far side."""
    if not loop.outside:
        return
    a, b = loop.first, loop.second
    start, last = bend(loop)
    length = LOOSE * max(a.radius, b.radius)
    leaves = b.centre.towards(b.radius, last)
    yield leaves, leaves.towards(length, last + math.pi / 2.0)
    comes = start + math.radians(-30.0)  # touched after 150 deg round the first wheel
    arrives = a.centre.towards(a.radius, comes)
    yield arrives, arrives.towards(length, comes + math.pi / 2.0)
