"""Which way every shaft turns while the load rises, each seen against an axis of its own.

The axis of the load's shaft points at the viewer: who sees an arm rise counter-clockwise, a rack to the right of its
pinion, a drum wind its rope counter-clockwise. Parallel shafts share an axis. Behind a corner, a worm or bevel gears,
the viewer of the output side sees the input shaft come from the left; that shaft's axis points along it, from where it
is driven to the corner, and whoever looks back along it is the viewer of the shafts before. A viewer may turn about the
line of sight: no sense depends on it. With r to the viewer's right and a the axis at the viewer, the axis in is
sin(c) r + cos(c) a, c the stage's `corner`.
"""

import math
from dataclasses import dataclass
from itertools import accumulate
from typing import NamedTuple

from armsim.drivetrain.machine import Machine
from armsim.parts.gears import GearPath
from armsim.parts.motor import ROTOR_LOSS
from armsim.parts.planetary import PlanetarySet
from armsim.parts.stage import Stage

WORDS = {1: "counter-clockwise", -1: "clockwise"}  #: by sense, seen with the axis pointing at the eye


class Axis(NamedTuple):
    """A unit vector: x to the right, y up, z towards who sees the load. [-]"""

    x: float
    y: float
    z: float


RIGHT, UP, AT_VIEWER = Axis(1.0, 0.0, 0.0), Axis(0.0, 1.0, 0.0), Axis(0.0, 0.0, 1.0)


@dataclass(frozen=True, kw_only=True)
class Turning:
    """How one shaft turns."""

    sense: int | None  #: +1 counter-clockwise, -1 clockwise, seen with the axis pointing at the eye; None: not known
    axis: Axis | None  #: None: not known
    corner: str | None = None  #: stage from which it is seen, looking back; None: seen as the load is
    hidden_by: str | None = None  #: stage that does not tell which way it turns; None: known

    @property
    def word(self) -> str | None:
        """Counter-clockwise, clockwise; None: not known."""
        return None if self.sense is None else WORDS[self.sense]


@dataclass(frozen=True, kw_only=True)
class MotorTurning:
    """How the motor has to turn to lift."""

    shaft: Turning  #: of the motor
    seen: str  #: how the load is seen: arm, rack or drum
    points_on: bool  #: known to point along its shaft's axis, to the corner; False: not told which way it points

    @property
    def end_sense(self) -> int | None:
        """+1 counter-clockwise, -1 clockwise, seen at its shaft end; None: not known, or not told how it points."""
        return self.shaft.sense if self.points_on else None


def turnings(machine: Machine) -> tuple[Turning, ...]:
    """How each shaft turns, the motor's first; a carriage, the last, rises with +1 and has no axis."""
    last = Turning(sense=1, axis=AT_VIEWER)
    found, right = [last], RIGHT
    for stage in reversed(machine.stages):
        last, right = _before(stage, last, right)
        found.append(last)
    if machine.arm.kind == "carriage":
        found[0] = Turning(sense=1, axis=None)
    return tuple(reversed(found))


def _before(stage: Stage, out: Turning, right: Axis) -> tuple[Turning, Axis]:
    """The turning of a stage's input shaft by that of its output shaft, and what is its viewer's right."""
    if out.sense is None or out.axis is None:
        return out, right
    if stage.sense is None:
        return Turning(sense=None, axis=None, hidden_by=stage.name), right
    sense = out.sense * stage.sense
    if stage.corner is None:
        return Turning(sense=sense, axis=out.axis, corner=out.corner), right
    axis = _turned(out.axis, right, stage.corner)
    return Turning(sense=sense, axis=axis, corner=stage.name), _cross(_cross(out.axis, right), axis)


def _turned(axis: Axis, right: Axis, angle: float) -> Axis:
    """An axis tilted to the viewer's right by an angle [rad]."""
    sine, cosine = math.sin(angle), math.cos(angle)
    return Axis(*(sine * r + cosine * a for r, a in zip(right, axis, strict=True)))


def _cross(a: Axis, b: Axis) -> Axis:
    return Axis(a.y * b.z - a.z * b.y, a.z * b.x - a.x * b.z, a.x * b.y - a.y * b.x)


def motor_turning(machine: Machine) -> MotorTurning:
    """How the motor has to turn to lift.

    Before a corner its shaft points on to it if nothing but planetary sets, which go on along the axis, lies between.
    """
    shaft = turnings(machine)[0]
    between = [s for s in machine.stages if s.kind != ROTOR_LOSS and not isinstance(s.hardware, PlanetarySet)]
    ahead = shaft.corner is not None and bool(between) and between[0].corner is not None
    seen = "arm" if machine.arm.kind == "arm" else machine.stages[-1].kind
    return MotorTurning(shaft=shaft, seen=seen, points_on=ahead)


def idler_senses(stage: Stage, driver: int | None) -> tuple[int, ...]:
    """How the idlers between a stage's gears turn by how its driver does; none where there are none, or not known."""
    if driver is None or not isinstance(stage.hardware, GearPath):
        return ()
    idlers = stage.hardware.gears[1:-1]
    return tuple(accumulate(idlers, lambda sense, _: -sense, initial=driver))[1:]
