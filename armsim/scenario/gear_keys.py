"""The keys of gears, bevel gears and planetary sets; see schema.py."""

import math
from collections.abc import Iterator
from typing import Annotated

from pydantic import Field

from armsim.scenario import dimensions as d
from armsim.scenario import forms
from armsim.scenario import readers as r
from armsim.scenario import special_readers as special
from armsim.scenario.forms import Typed
from armsim.scenario.keys import Keys, Part, Small, Stress, Teeth
from armsim.scenario.source import Leaf
from armsim.scenario.stage_keys import StageKeys

MATERIALS = (
    "steel", "hardened-steel", "case-hardened-steel", "cast-iron", "bronze", "brass", "aluminium", "plastic", "nylon",
    "printed",
)  # fmt: skip

Module = Annotated[float, r.quantity(d.LENGTH, above=0.0, usual=(1e-4, 0.025))]
Pitch = Annotated[float, special.diametral_pitch()]
PressureAngle = Annotated[float, r.quantity(d.ANGLE, least=0.17, most=0.53)]
HelixAngle = Annotated[float, r.quantity(d.ANGLE, least=0.0, most=math.radians(60.0))]
Hand = Annotated[str, r.choice("right", "left")]
Shift = Annotated[float, r.number(least=-1.0, most=1.5)]
Material = Annotated[str, r.choice(*MATERIALS)]
Friction = Annotated[float, r.number(above=0.0, below=1.0)]
Reverse = Annotated[float, r.number(most=1.0)]


def _teeth_alone(value: object) -> object:
    return {"teeth": value} if isinstance(value, Leaf) and not value.empty else value


class Gear(Keys):
    """One gear; what it says stands before what its stage says."""

    example = "{teeth: 14, material: brass}"
    teeth: Teeth
    module: Module | None = None
    diametral_pitch: Pitch | None = None
    pressure_angle: PressureAngle | None = None
    helix_angle: HelixAngle | None = None
    hand: Hand | None = None
    face_width: Small | None = None
    profile_shift: Shift = 0.0
    material: Material | None = None
    allowable_bending: Stress | None = None
    allowable_contact: Stress | None = None
    bore: Small | None = None


GearOrTeeth = Annotated[Gear, Typed(_teeth_alone, form=forms.teeth)]


class ToothKeys(StageKeys):
    """What the gears of a stage have in common."""

    module: Module | None = None
    diametral_pitch: Pitch | None = None
    pressure_angle: PressureAngle = math.radians(20.0)
    face_width: Small | None = None
    material: Material = "steel"
    allowable_bending: Stress | None = None
    allowable_contact: Stress | None = None
    efficiency: Part | None = None
    friction: Friction | None = None
    reverse_efficiency: Reverse | None = None


class Lubricant(Keys):
    """What is between the teeth, for their friction."""

    example = "{viscosity: 60 mPa*s, kind: mineral}"
    viscosity: Annotated[float, r.quantity(d.VISCOSITY, above=0.0, usual=(1e-3, 2.0))]
    kind: Annotated[str, r.choice("mineral", "polyalphaolefin", "polyglycol")] = "mineral"
    speed: Annotated[float, r.quantity(d.SPEED, above=0.0, usual=(0.1, 5e3))] | None = None


class Gears(ToothKeys):
    """Two gears, with idlers between them or none."""

    example = "gears: {driver: 14, driven: 56, module: 1.25 mm}"
    driver: GearOrTeeth
    driven: GearOrTeeth
    idlers: list[GearOrTeeth] = Field(default_factory=list)
    internal: Annotated[bool, r.yes_no()] = False
    helix_angle: HelixAngle = 0.0
    hand: Hand | None = None
    centre_distance: Annotated[list[Small], r.one_or_more()] | None = None
    lubricant: Lubricant | None = None
    roughness: Annotated[float, r.quantity(d.ROUGHNESS, above=0.0, usual=(5e-8, 2e-5))] | None = None


class Bevel(ToothKeys):
    """Two bevel gears on shafts that cross."""

    example = "bevel: {driver: 18, driven: 43, module: 2 mm}"
    driver: GearOrTeeth
    driven: GearOrTeeth
    shaft_angle: Annotated[float, r.quantity(d.ANGLE, least=math.radians(10.0), most=math.radians(170.0))] = (
        math.pi / 2.0
    )
    placement: Annotated[str, r.choice("same-side", "opposite-side")] | None = None
    matched_set: Annotated[bool, r.yes_no()] | None = None


class Planetary(ToothKeys):
    """A sun, planets on a carrier and a ring about one axis."""

    example = "planetary: {sun: 21, planet: 27, ring: 75, planets: 3}"
    sun: GearOrTeeth
    planet: GearOrTeeth | None = None
    ring: GearOrTeeth
    second_planet: GearOrTeeth | None = None
    second_ring: GearOrTeeth | None = None
    planets: Annotated[int, r.whole(1, 12, noun="planets")] = 3
    fixed: Annotated[str, r.choice("ring", "sun", "carrier")] | None = None
    input: Annotated[str, r.choice("sun", "ring", "carrier")] | None = None
    sun_planet_efficiency: Part | None = None
    planet_ring_efficiency: Part | None = None


def module_of(part: ToothKeys | Gear) -> float | None:
    """However it is given. [m]"""
    return part.module if part.module is not None else part.diametral_pitch


def planet_of(part: Planetary) -> Gear:
    """The planet as told, or the one that fills the space between a sun and a ring of even difference."""
    if part.planet is not None:
        return part.planet
    return Gear.model_construct(teeth=(part.ring.teeth - part.sun.teeth) // 2)


def members(part: ToothKeys) -> Iterator[tuple[tuple[str | int, ...], Gear]]:
    """Every gear of a stage with its keys."""
    if isinstance(part, Gears | Bevel):
        yield ("driver",), part.driver
        yield ("driven",), part.driven
    if isinstance(part, Gears):
        yield from ((("idlers", k), idler) for k, idler in enumerate(part.idlers))
    if isinstance(part, Planetary):
        for name in ("sun", "planet", "ring", "second_planet", "second_ring"):
            if getattr(part, name) is not None:
                yield (name,), getattr(part, name)
