"""Bevel gears on shafts that cross."""

import math
from dataclasses import dataclass, replace

from armsim.parts.gear_mesh import Gear
from armsim.parts.gears import ToothSeries, gear_inertia
from armsim.parts.stage import ConstantEfficiency, Hardware, Stage, reverse_of

SAME_SIDE, OTHER_SIDE = "same-side", "opposite-side"


@dataclass(frozen=True, kw_only=True)
class BevelPair(Hardware):
    """Two straight bevel gears by their outer module."""

    driver: Gear
    driven: Gear
    shaft_angle: float  #: [rad]
    series: ToothSeries
    matched_set: bool | None = None  #: made as a pair; None: not told
    placement: str | None = None  #: of the driven gear: on the viewer's side of the driver's shaft, or on the other


def driven_way(placement: str) -> int:
    """Which way the driven gear turns, seen with the driver's shaft coming from the left: +1 counter-clockwise.

    The driver turns clockwise seen from the motor, that is about the direction towards the apex. About axes away from
    the apex the two turn against each other, and on the viewer's side that of the driven gear points at the viewer.
    """
    return 1 if placement == SAME_SIDE else -1


def cone_angles(teeth_1, teeth_2, shaft_angle):
    """Pitch cone angles, tan(d1) = sin S/(z2/z1 + cos S), d2 = S - d1. [rad, rad]"""
    first = math.atan2(math.sin(shaft_angle), teeth_2 / teeth_1 + math.cos(shaft_angle))
    return first, shaft_angle - first


def cone_distance(pair: BevelPair) -> float | None:
    """From the apex to the outer end of the teeth. [m]"""
    if pair.driver.pitch_diameter is None:
        return None
    angle, _ = cone_angles(pair.driver.teeth, pair.driven.teeth, pair.shaft_angle)
    return pair.driver.pitch_diameter / (2.0 * math.sin(angle))


def virtual_pair(pair: BevelPair) -> tuple[Gear, Gear]:
    """The spur gears that mesh as the bevels do half way along their teeth, z/cos(d) of the mean module."""
    distance = cone_distance(pair)
    width = min((g.face_width for g in (pair.driver, pair.driven) if g.face_width is not None), default=None)
    share = 1.0 if distance is None or width is None else 1.0 - width / (2.0 * distance)
    angles = cone_angles(pair.driver.teeth, pair.driven.teeth, pair.shaft_angle)
    first, second = (
        replace(gear, teeth=gear.teeth / math.cos(angle), module=None if gear.module is None else gear.module * share)
        for gear, angle in zip((pair.driver, pair.driven), angles, strict=True)
    )
    return first, second


def mean_radius(pair: BevelPair) -> float | None:
    """Of the driver, half way along its teeth. [m]"""
    module = virtual_pair(pair)[0].module
    return None if module is None else module * pair.driver.teeth / 2.0


def bevel_stage(
    *,
    pair: BevelPair,
    efficiency: float,
    reverse: float | None,
    drag: float = 0.0,
    viscous_drag: float = 0.0,
    input_inertia: float | None = None,
    output_inertia: float | None = None,
    backlash: float | None = None,
    name: str,
) -> Stage:
    """Two bevel gears, each a disc of its outer pitch diameter. ValueError where the pitch cones leave no tooth."""
    angles = cone_angles(pair.driver.teeth, pair.driven.teeth, pair.shaft_angle)
    if max(angles) >= math.pi / 2.0:
        raise ValueError("at this shaft angle the larger gear would be a crown gear or a ring, which is not modelled")
    details: dict[str, float | str] = {"cone_angle_driver": angles[0], "cone_angle_driven": angles[1]}
    distance = cone_distance(pair)
    if distance is not None:
        details["cone_distance"] = distance
    return Stage(
        kind="bevel",
        name=name,
        reduction=pair.driven.teeth / pair.driver.teeth,
        law=ConstantEfficiency(forward=efficiency, reverse=reverse_of(efficiency) if reverse is None else reverse),
        drag=drag,
        viscous_drag=viscous_drag,
        input_inertia=gear_inertia(pair.driver) if input_inertia is None else input_inertia,
        output_inertia=gear_inertia(pair.driven) if output_inertia is None else output_inertia,
        sense=None if pair.placement is None else driven_way(pair.placement),
        corner=pair.shaft_angle if pair.placement == OTHER_SIDE else math.pi - pair.shaft_angle,
        backlash=backlash,
        driver_radius=mean_radius(pair),
        hardware=pair,
        details=details,
    )
