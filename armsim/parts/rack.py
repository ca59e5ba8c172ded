"""The last stage of a carriage: a pinion on a rack, or a drum that winds a rope.

Both turn a shaft into a travel: the reduction is the turn of the shaft per travel, 1/r [rad/m], and what comes out is
a force. A pinion of z teeth travels pi m z a turn, m_n z/cos(beta) for helical teeth.
"""

import math
from dataclasses import dataclass

from armsim.parts.gear_mesh import Gear, base_radius, pitch_radius, tip_radius, transverse_angle
from armsim.parts.gears import ToothSeries
from armsim.parts.stage import ConstantEfficiency, Hardware, Stage, disc_inertia, reverse_of

DEAD_TURNS = 2  #: that stay on a drum, so that the rope does not hang on its clamp; lifting practice [-]


@dataclass(frozen=True, kw_only=True)
class Rack(Hardware):
    """A pinion on a straight rack."""

    teeth: int
    module: float  #: normal, as cut [m]
    pressure_angle: float  #: normal [rad]
    helix_angle: float = 0.0  #: [rad]
    face_width: float | None = None  #: [m]
    efficiency: float  #: of the mesh alone [-]
    guide_friction: float = 0.0  #: of the guide that holds rack and pinion together [-]
    pinion: Gear | None = None  #: as a gear of its material; None: not told of
    series: ToothSeries | None = None  #: of stocked sizes


@dataclass(frozen=True, kw_only=True)
class Drum(Hardware):
    """A rope on a drum."""

    diameter: float  #: of the drum under the rope [m]
    rope_diameter: float  #: [m]
    layers: int = 1  #: of rope, one on the other
    width: float | None = None  #: between its flanges [m]
    rope_length: float | None = None  #: of all of it, from the clamp on the drum to the carriage [m]
    rope_breaking_load: float | None = None  #: [N]
    rope_material: str = "wire"  #: or fibre


def pinion_radius(teeth, module, helix_angle=0.0):
    """Pitch radius, m_n z/(2 cos(beta)). [m]"""
    return module * teeth / (2.0 * math.cos(helix_angle))


def rack_contact_ratio(pinion: Gear) -> float:
    """Pairs of teeth in contact, [sqrt(ra^2 - rb^2) - r sin(a) + h_a/sin(a)]/(pi m cos(a)), of full-depth teeth. [-]"""
    angle = transverse_angle(pinion)
    tip, base, pitch = tip_radius(pinion), base_radius(pinion), pitch_radius(pinion)
    path = math.sqrt(tip * tip - base * base) - pitch * math.sin(angle) + 1.0 / math.sin(angle)
    return path / (math.pi * math.cos(angle) / math.cos(pinion.helix_angle))


def drum_radius(diameter, rope_diameter, layer):
    """Radius of the middle of the rope in a layer, the first on the drum itself; 1.5 is between the first two. [m]"""
    return 0.5 * (diameter + (2.0 * layer - 1.0) * rope_diameter)


def turns_needed(drum: Drum, travel: float) -> int:
    """Turns side by side that take up a travel [m] in all layers, and two that are never paid out."""
    radii = [float(drum_radius(drum.diameter, drum.rope_diameter, layer)) for layer in range(1, drum.layers + 1)]
    wound = travel + DEAD_TURNS * math.tau * radii[0]
    return math.ceil(wound / (math.tau * sum(radii)) - 1e-9)


def guide_efficiency(mesh, friction, transverse_angle):
    """Forward and reverse efficiency of a mesh whose separating force F tan(alpha) rubs on the guide. [-, -]

    Of the force F of the mesh mu F tan(alpha) goes into the guide, against the motion whichever way power flows.
    """
    share = friction * math.tan(transverse_angle)
    return mesh * (1.0 - share), reverse_of(mesh) / (1.0 + share)


def rack_stage(
    *,
    teeth: int,
    module: float,
    pressure_angle: float,
    helix_angle: float = 0.0,
    face_width: float | None,
    efficiency: float,
    reverse: float | None = None,
    guide_friction: float = 0.0,
    density: float,
    drag: float = 0.0,
    viscous_drag: float = 0.0,
    input_inertia: float | None = None,
    output_inertia: float | None = None,
    backlash: float | None = None,
    name: str,
) -> Stage:
    """A pinion of `teeth` and normal `module` [m] on a rack.

    `efficiency` is of the mesh, `reverse` of the whole stage (None: 2 - 1/eta_f of the mesh, and the guide's share).
    The pinion is a solid disc; `output_inertia` is a mass that moves with the carriage [kg]. `backlash` is the free
    travel of the carriage [m].
    """
    radius = pinion_radius(teeth, module, helix_angle)
    transverse = math.atan(math.tan(pressure_angle) / math.cos(helix_angle))
    forward, back = guide_efficiency(efficiency, guide_friction, transverse)
    disc = 0.0 if face_width is None else disc_inertia(density, face_width, 2.0 * radius)
    return Stage(
        kind="rack",
        name=name,
        reduction=1.0 / radius,
        law=ConstantEfficiency(forward=forward, reverse=back if reverse is None else reverse),
        drag=drag,
        viscous_drag=viscous_drag,
        input_inertia=disc if input_inertia is None else input_inertia,
        output_inertia=output_inertia or 0.0,
        backlash=backlash,
        sense=1,
        driver_radius=radius,
        hardware=Rack(
            teeth=teeth,
            module=module,
            pressure_angle=pressure_angle,
            helix_angle=helix_angle,
            face_width=face_width,
            efficiency=efficiency,
            guide_friction=guide_friction,
        ),
        details={
            "teeth": float(teeth),
            "module": module,
            "pressure_angle": pressure_angle,
            "pitch_diameter": 2.0 * radius,
            "travel_per_turn": math.tau * radius,
            **({} if face_width is None else {"face_width": face_width}),
        },
    )


def drum_stage(
    *,
    diameter: float,
    rope_diameter: float,
    layers: int = 1,
    efficiency: float,
    reverse: float | None = None,
    drag: float = 0.0,
    viscous_drag: float = 0.0,
    input_inertia: float | None = None,
    output_inertia: float | None = None,
    backlash: float | None = None,
    name: str,
) -> Stage:
    """A drum of a `diameter` under the rope [m], at the mean radius of its `layers`: it counts as constant.

    The drum's own inertia is what `input_inertia` gives; `output_inertia` is a mass that moves with the carriage [kg].
    """
    radius = drum_radius(diameter, rope_diameter, 0.5 * (1 + layers))
    outer = drum_radius(diameter, rope_diameter, layers)
    return Stage(
        kind="drum",
        name=name,
        reduction=1.0 / radius,
        law=ConstantEfficiency(forward=efficiency, reverse=reverse_of(efficiency) if reverse is None else reverse),
        drag=drag,
        viscous_drag=viscous_drag,
        input_inertia=input_inertia or 0.0,
        output_inertia=output_inertia or 0.0,
        backlash=backlash,
        sense=1,
        driver_radius=radius,
        hardware=Drum(diameter=diameter, rope_diameter=rope_diameter, layers=layers),
        details={
            "pitch_diameter": 2.0 * radius,
            "outer_pitch_diameter": 2.0 * outer,
            "travel_per_turn": math.tau * radius,
        },
    )
