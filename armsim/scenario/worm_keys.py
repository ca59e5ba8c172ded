"""Keys of a worm and its wheel."""

import math
from typing import Annotated

from armsim.scenario import dimensions as d
from armsim.scenario import readers as r
from armsim.scenario.keys import Length, Part, Small, Stress, Teeth
from armsim.scenario.stage_keys import StageKeys
from armsim.scenario.tables import wheel_rows


class Worm(StageKeys):
    """A worm and its wheel."""

    example = "worm: {starts: 1, wheel: 30, lead_angle: 4.8 deg, friction: 0.07}"
    starts: Annotated[int, r.whole(1, 12, noun="starts")]
    wheel: Teeth
    lead_angle: Annotated[float, r.quantity(d.ANGLE, above=0.0, below=math.pi / 4)] | None = None
    module: Small | None = None
    diameter: Small | None = None
    centre_distance: Length | None = None
    face_width: Small | None = None
    pressure_angle: Annotated[float, r.quantity(d.ANGLE, least=0.17, most=0.53)] = math.radians(20.0)
    friction: Annotated[float, r.number(above=0.0, below=1.0)] | None = None
    static_friction: Annotated[float, r.number(above=0.0, below=1.0)] | None = None
    vibration_friction: Annotated[float, r.number(above=0.0, below=1.0)] | None = None
    friction_spread: Annotated[float, r.share(zero=True)] = 0.3
    bearing_efficiency: Part = 1.0
    hand: Annotated[str, r.choice("right", "left")] = "right"
    wheel_hand: Annotated[str, r.choice("right", "left")] | None = None
    wheel_helix: Annotated[float, r.quantity(d.ANGLE, least=0.0, below=math.pi / 4)] | None = None
    placement: Annotated[str, r.choice("above", "below")] | None = None
    worm_material: Annotated[str, r.choice("steel", "hardened-steel")] = "steel"
    wheel_material: Annotated[str, r.choice(*wheel_rows())] = "bronze"
    allowable_bending: Stress | None = None
