"""The keys of a carriage, and of the stages that drive one: rack and drum."""

import math
from typing import Annotated

from armsim.scenario import dimensions as d
from armsim.scenario import readers as r
from armsim.scenario import special_readers as special
from armsim.scenario.keys import Keys, Level, Mass, Part, Small, Stress, Teeth
from armsim.scenario.stage_keys import StageKeys

Guide = Annotated[float, r.quantity(d.LENGTH, least=-100.0, most=100.0)]
Drag = Annotated[float, r.quantity(d.FORCE, least=0.0, usual=(1e-3, 1e5))]


class Rack(StageKeys):
    """A pinion on a rack."""

    example = "rack: {pinion: 19, module: 1.5 mm}"
    pinion: Teeth
    module: Small | None = None
    diametral_pitch: Annotated[float, special.diametral_pitch()] | None = None
    pressure_angle: Annotated[float, r.quantity(d.ANGLE, least=0.17, most=0.53)] = math.radians(20.0)
    helix_angle: Annotated[float, r.quantity(d.ANGLE, least=0.0, most=0.8)] = 0.0
    face_width: Small | None = None
    efficiency: Part | None = None
    reverse_efficiency: Annotated[float, r.number(most=1.0)] | None = None
    guide_friction: Annotated[float, r.number(least=0.0, below=1.0)] = 0.0
    material: Annotated[str, r.choice("steel", "brass", "aluminium", "plastic")] = "steel"
    allowable_bending: Stress | None = None
    bore: Small | None = None


class Drum(StageKeys):
    """A drum that winds a rope."""

    example = "drum: {diameter: 60 mm, rope_diameter: 4 mm}"
    diameter: Small
    rope_diameter: Small
    layers: Annotated[int, r.whole(1, 20, noun="layers")] = 1
    width: Small | None = None
    rope_length: Annotated[float, r.quantity(d.LENGTH, above=0.0, usual=(0.05, 200.0))] | None = None
    rope_breaking_load: Annotated[float, r.quantity(d.FORCE, above=0.0, usual=(20.0, 1e6))] | None = None
    rope_material: Annotated[str, r.choice("wire", "fibre")] = "wire"
    efficiency: Part | None = None
    reverse_efficiency: Annotated[float, r.number(most=1.0)] | None = None


class CarriagePayload(Keys):
    """What the carriage carries."""

    example = "{mass: 8 kg}"
    mass: Annotated[float, r.quantity(d.MASS, least=0.0, usual=(1e-3, 2000.0))]


class GuideFriction(Keys):
    """Friction of the guide whatever presses on it."""

    example = "{coulomb: 6 N, viscous: 15 N*s/m}"
    coulomb: Drag = 0.0
    viscous: Annotated[float, r.quantity(d.LINE_DAMPING, least=0.0, usual=(1e-3, 1e6))] = 0.0
    breakaway: Drag | None = None
    stribeck_speed: Annotated[float, r.quantity(d.VELOCITY, above=0.0, usual=(1e-4, 2.0))] | None = None


class CarriageStops(Keys):
    """Ends of the guide; leave one out where there is none. Rigid without a stiffness."""

    example = "{lower: 0 mm, upper: 800 mm}"
    lower: Guide | None = None
    upper: Guide | None = None
    restitution: Level | None = None
    stiffness: Annotated[float, r.quantity(d.SPRING_RATE, above=0.0, usual=(100.0, 1e9))] | None = None


class Carriage(Keys):
    """A carriage on a straight guide, in place of an arm."""

    example = "{mass: 6 kg, payload: {mass: 8 kg}, incline: 90 deg}"
    mass: Mass
    payload: CarriagePayload | None = None
    incline: Annotated[float, r.quantity(d.ANGLE, least=0.0, most=math.pi / 2.0)] = math.pi / 2.0
    friction: GuideFriction | None = None
    friction_coefficient: Annotated[float, r.number(least=0.0, below=2.0)] = 0.0
    counterweight: Mass | None = None
    stops: CarriageStops | None = None
