"""The train laid out in a plane, to scale where sizes are known: shafts, wheels, and what runs between them.

Shafts zigzag from the motor to the load so that neighbouring wheels show; a coaxial stage or a corner goes on along the
axis, in an island of its own that stands clear of those before. Each shaft is seen with its axis at the eye, so shafts
before a corner are seen from there, looking back, and a worm's shaft twice; bevel gears are seen from the side. Angles
of the drawing are free, distances are not: gears stand at their centre distance, given or where their flanks touch,
loops at theirs, given or as their length makes it.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

from armsim.drivetrain.layout_parts import Block, Cone, Layout, Loop, Mark, Point, Wheel
from armsim.drivetrain.machine import Machine
from armsim.drivetrain.senses import turnings
from armsim.parts.belt import BeltDrive, belt_loop, belt_pitch_diameter
from armsim.parts.bevel import BevelPair, cone_angles
from armsim.parts.chain import ChainDrive, chain_loop, pitch_diameter
from armsim.parts.flat_belt import FlatBeltDrive
from armsim.parts.gear_mesh import Gear, centre_distance
from armsim.parts.gears import GearPath
from armsim.parts.motor import ROTOR_LOSS
from armsim.parts.planetary import SECOND_RING, PlanetarySet
from armsim.parts.rack import Drum, Rack
from armsim.parts.stage import Stage
from armsim.parts.worm_pair import WormPair

ZIGZAG = math.radians(32.0)  #: of the line from one shaft to the next, up and down in turn
GUESS = 1.5e-3  #: module of teeth whose size is not told [m]
WORM_TEETH = 10.0  #: diameter of a worm of unknown size, in modules
APART = 2.6  #: centres of a loop of unknown centre distance, over the sum of its radii
BOX, BOX_SHARE = 0.05, 1.8  #: width of a bought box [m] where nothing else has a size, else in largest radii
ROOM = 0.06  #: between islands, of the width of all [-]
BARE = 0.25  #: the same where there are bought boxes only, of one's width [-]

ORIGIN = Point(0.0, 0.0)

Senses = tuple[int | None, int | None]


@dataclass
class _Island:
    """What stands at true distances from one another, in places of its own until it is settled."""

    direction: float = 0.0  #: of the axis that leads here from the last one [rad]
    at: Point = ORIGIN  #: the last shaft, or the end that it shows
    wheels: list[Wheel] = field(default_factory=list)
    loops: list[Loop] = field(default_factory=list)
    blocks: list[Block] = field(default_factory=list)
    cones: list[Cone] = field(default_factory=list)
    shafts: list[Point] = field(default_factory=list)

    def boxes(self) -> list[tuple[float, float, float, float]]:
        """Left, bottom, right and top of everything. [m]"""
        round_ = [(wheel.centre, wheel.radius, wheel.radius) for wheel in self.wheels]
        square = [(block.centre, block.width / 2.0, block.height / 2.0) for block in self.blocks]
        points = [*self.shafts, *(corner for cone in self.cones for corner in cone.outline)]
        dots = [(point, 0.0, 0.0) for point in points]
        return [(p.x - w, p.y - h, p.x + w, p.y + h) for p, w, h in (*round_, *square, *dots)]

    def moved(self, x: float, y: float) -> "_Island":
        """The same elsewhere."""

        def point(p: Point) -> Point:
            return Point(p.x + x, p.y + y)

        def wheel(w: Wheel) -> Wheel:
            return replace(w, centre=point(w.centre))

        return _Island(
            direction=self.direction,
            at=point(self.at),
            wheels=[wheel(w) for w in self.wheels],
            loops=[replace(loop, first=wheel(loop.first), second=wheel(loop.second)) for loop in self.loops],
            blocks=[replace(block, centre=point(block.centre)) for block in self.blocks],
            cones=[replace(cone, apex=point(cone.apex)) for cone in self.cones],
            shafts=[point(p) for p in self.shafts],
        )


def laid_out(machine: Machine) -> Layout:
    """The machine's train in the plane."""
    stages = [stage for stage in machine.stages if stage.kind != ROTOR_LOSS]
    inside = len(machine.stages) - len(stages)
    senses = tuple(turning.sense for turning in turnings(machine))[inside:]
    drafted = _islands(stages, senses, BOX)
    if (largest := max((w.radius for island in drafted for w in island.wheels), default=0.0)) > 0.0:
        drafted = _islands(stages, senses, BOX_SHARE * largest)
    islands, axes = _settled(drafted)
    return Layout(
        shafts=tuple(p for island in islands for p in island.shafts),
        senses=senses,
        wheels=tuple(w for island in islands for w in island.wheels),
        loops=tuple(loop for island in islands for loop in island.loops),
        blocks=tuple(block for island in islands for block in island.blocks),
        cones=tuple(cone for island in islands for cone in island.cones),
        axes=tuple(axes),
        marks=tuple(_marks(machine, inside)),
    )


def _marks(machine: Machine, inside: int) -> Iterator[Mark]:
    """Further motors and side loads at their shafts; those inside the motor show at its end."""
    for motor in machine.companions:
        name = motor.name if motor.count == 1 else f"{motor.count} x {motor.name}"
        yield Mark(shaft=max(motor.shaft - inside, 0), text=name, drives=True)
    for load in machine.side_loads:
        yield Mark(shaft=max(load.shaft - inside, 0), text=load.name, drives=False)


def _islands(stages: Sequence[Stage], senses: Sequence[int | None], box: float) -> list[_Island]:
    """The train in order; whatever goes on along an axis begins a new one."""
    islands = [_Island(shafts=[ORIGIN])]
    for k, stage in enumerate(stages):
        lean = ZIGZAG if k % 2 == 0 else -ZIGZAG
        _place(islands, stage, lean, (senses[k], senses[k + 1]), box)
        islands[-1].shafts.append(islands[-1].at)
    return islands


def _settled(islands: Sequence[_Island]) -> tuple[list[_Island], list[tuple[Point, Point]]]:
    """Each island along its axis from the one before, as near as it stands clear of all; and those axes."""
    sized = any(island.wheels or island.cones for island in islands)
    widths = (max(b[2] for b in i.boxes()) - min(b[0] for b in i.boxes()) for i in islands)
    room = ROOM * sum(widths) if sized else BARE * BOX
    settled, axes = [islands[0]], []
    for island in islands[1:]:
        start = settled[-1].at
        step, away = 0.25 * room, room
        there = [box for done in settled for box in done.boxes()]
        while True:
            x, y = start.towards(away, island.direction)
            if not any(_overlap(a, b, room) for a in island.moved(x, y).boxes() for b in there):
                break
            away += step
        settled.append(island.moved(x, y))
        axes.append((start, Point(x, y)))
    return settled, axes


def _overlap(a: Sequence[float], b: Sequence[float], room: float) -> bool:
    """True where two boxes do not keep that far apart."""
    near = 0.999 * room
    return a[0] < b[2] + near and b[0] < a[2] + near and a[1] < b[3] + near and b[1] < a[3] + near


def _place(islands: list[_Island], stage: Stage, lean: float, senses: Senses, box: float) -> None:
    """Put a stage behind the last shaft."""
    here = islands[-1]
    match stage.hardware:
        case GearPath() as path:
            _gears(here, path, lean, senses)
        case ChainDrive() as chain:
            radii = [float(pitch_diameter(chain.size.pitch, s.teeth)) / 2.0 for s in (chain.driver, chain.driven)]
            wheels = _ends(radii, [str(chain.driver.teeth), str(chain.driven.teeth)], "sprocket", senses)
            run = chain_loop(chain)
            _loop(here, wheels, None if run is None else run.centre_distance, lean, outside=not chain.two_wheels)
        case BeltDrive() as belt:
            radii = [float(belt_pitch_diameter(belt.profile.pitch, p.teeth)) / 2.0 for p in (belt.driver, belt.driven)]
            wheels = _ends(radii, [str(belt.driver.teeth), str(belt.driven.teeth)], "pulley", senses)
            taut = belt_loop(belt)
            _loop(here, wheels, None if taut is None else taut.centre_distance, lean, outside=not belt.two_wheels)
        case FlatBeltDrive() as flat:
            labels = [f"{1e3 * d:.4g} mm" for d in (flat.driver, flat.driven)]
            wheels = _ends([flat.driver / 2.0, flat.driven / 2.0], labels, "pulley", senses)
            _loop(here, wheels, flat.centre_distance, lean, crossed=flat.crossed)
        case PlanetarySet() as planetary:
            _planetary(here, planetary, senses)
            islands.append(_Island())
        case WormPair() as pair:
            islands.append(_worm(pair, senses))
        case BevelPair() as bevel:
            islands += [_bevel(bevel, lean), _Island(direction=_bevel_turn(bevel, lean))]
        case Rack() as rack:
            here.wheels.append(_wheel(here.at, rack.teeth * rack.module / 2.0, str(rack.teeth), "gear", senses[0]))
        case Drum() as drum:
            label = f"{1e3 * drum.diameter:.4g} mm"
            here.wheels.append(_wheel(here.at, drum.diameter / 2.0, label, "drum", senses[0]))
        case _:
            body = Block(centre=Point(box / 2.0, 0.0), width=box, height=0.55 * box, label=stage.name, kind="gearbox")
            islands += [_Island(at=Point(box, 0.0), blocks=[body]), _Island()]


def _wheel(centre: Point, radius: float, label: str, kind: str, sense: int | None, sized: bool = True) -> Wheel:
    return Wheel(centre=centre, radius=radius, label=label, kind=kind, sense=sense, sized=sized)


def _radius(gear: Gear) -> tuple[float, bool]:
    """Of the pitch circle, and whether it is known. [m]"""
    if gear.pitch_diameter is not None:
        return gear.pitch_diameter / 2.0, True
    return gear.teeth * GUESS / 2.0, False


def _gears(here: _Island, path: GearPath, lean: float, senses: Senses) -> None:
    """Gears in mesh, one after the other, each the other way but a ring."""
    sense = senses[0]
    here.wheels.append(_gear(here.at, path.gears[0], sense))
    for before, gear, given in path.meshes():
        radii = _radius(gear)[0], _radius(before)[0]
        natural = centre_distance(before, gear) or (radii[0] - radii[1] if gear.internal else sum(radii))
        here.at = here.at.towards(natural if given is None else given, lean)
        sense = None if sense is None else sense if gear.internal else -sense
        here.wheels.append(_gear(here.at, gear, sense))


def _gear(centre: Point, gear: Gear, sense: int | None) -> Wheel:
    radius, sized = _radius(gear)
    return _wheel(centre, radius, f"{gear.teeth:.0f}", "ring" if gear.internal else "gear", sense, sized)


def _ends(radii: Sequence[float], labels: Sequence[str], kind: str, senses: Senses) -> tuple[Wheel, Wheel]:
    """Both wheels of a loop, not yet in their places."""
    first, second = (
        _wheel(ORIGIN, radius, label, kind, sense) for radius, label, sense in zip(radii, labels, senses, strict=True)
    )
    return first, second


def _loop(
    here: _Island,
    ends: tuple[Wheel, Wheel],
    centres: float | None,
    lean: float,
    *,
    crossed: bool = False,
    outside: bool = False,
) -> None:
    """Two wheels and what runs round them; at a distance that shows it where none is told."""
    away = centres if centres is not None else APART * (ends[0].radius + ends[1].radius)
    there = here.at.towards(away, 0.4 * lean)
    first, second = replace(ends[0], centre=here.at), replace(ends[1], centre=there)
    here.wheels += [first, second]
    placed = centres is not None
    here.loops.append(Loop(first=first, second=second, crossed=crossed, outside=outside, placed=placed))
    here.at = there


def _planetary(here: _Island, parts: PlanetarySet, senses: Senses) -> None:
    """Sun, planets and ring about one axis, with a second ring round second planets on the same shafts."""
    turning = {parts.fixed: 0, parts.input: senses[0], parts.output: senses[1]}
    (sun, sized), (planet, _) = _radius(parts.sun), _radius(parts.planet)
    said = {parts.fixed: " fixed", parts.output: " out"}

    def member(name: str, kind: str, gear: Gear, radius: float) -> None:
        label = f"{gear.teeth:.0f}{said.get(name, '')}"
        here.wheels.append(_wheel(here.at, radius, label, kind, turning.get(name), sized))

    member("ring", "ring", parts.ring, _radius(parts.ring)[0])
    teeth, small = f"{parts.planet.teeth:.0f}", 0.0
    if parts.second is not None:
        small = _radius(parts.second[0])[0]
        teeth += f", {parts.second[0].teeth:.0f}"
        member(SECOND_RING, "second ring", parts.second[1], sun + planet + small)
    for k in range(parts.planets):
        centre = here.at.towards(sun + planet, math.tau * (k + 0.25) / parts.planets)
        here.wheels.append(_wheel(centre, planet, teeth if k == 0 else "", "planet", None, sized))
        if small:
            here.wheels.append(_wheel(centre, small, "", "second planet", None, sized))
    member("sun", "sun", parts.sun, sun)


def _worm(pair: WormPair, senses: Senses) -> _Island:
    """The worm lies over its wheel or under it, its own shaft along the drawing's plane, driven from the left."""
    module, sized = (GUESS, False) if pair.module is None else (pair.module, True)
    diameter, wheel = pair.diameter or WORM_TEETH * module, module * pair.wheel / 2.0
    away = pair.centre_distance or wheel + diameter / 2.0
    length = max(1.6 * wheel, 4.0 * diameter)
    middle = Point(length / 2.0, 0.0)
    worm = Block(
        centre=middle,
        width=length,
        height=diameter,
        label=f"{pair.starts} start" + ("s" if pair.starts > 1 else ""),
        kind="worm",
        lean=-pair.hand * 1.2,  # lying, a right-hand thread leans back at its front
        sense=senses[0],
    )
    there = Point(middle.x, away if pair.placement == "below" else -away)
    return _Island(
        at=there, blocks=[worm], wheels=[_wheel(there, wheel, str(pair.wheel), "worm wheel", senses[1], sized)]
    )


def _bevel_turn(bevel: BevelPair, lean: float) -> float:
    """Direction of the driven axis away from where the axes meet, the driver's being to the left of it. [rad]"""
    return math.pi + math.copysign(bevel.shaft_angle, lean)


def _bevel(bevel: BevelPair, lean: float) -> _Island:
    """Both gears from the side as cones with one apex; the driver's large end stands where its axis comes in."""
    angles = cone_angles(bevel.driver.teeth, bevel.driven.teeth, bevel.shaft_angle)
    radius, sized = _radius(bevel.driver)
    length = radius / math.sin(angles[0])
    apex = Point(length * math.cos(angles[0]), 0.0)
    cones = [
        Cone(apex=apex, away=away, angle=angle, length=length, label=f"{gear.teeth:.0f}", sized=sized)
        for gear, away, angle in zip(
            (bevel.driver, bevel.driven), (math.pi, _bevel_turn(bevel, lean)), angles, strict=True
        )
    ]
    return _Island(at=cones[1].back, cones=cones)
