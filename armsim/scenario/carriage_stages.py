"""Rack and drum, the last stage of a carriage, from their sections, and what their keys must agree on."""

import math
from dataclasses import replace

from armsim.parts import rack as racks
from armsim.parts.gear_mesh import Gear, virtual_teeth
from armsim.parts.stage import Stage
from armsim.scenario import dimensions as d
from armsim.scenario.carriage_keys import Drum, Rack
from armsim.scenario.dimensions import understood
from armsim.scenario.faults import Faults
from armsim.scenario.gear_agreement import bore_faults
from armsim.scenario.gear_tables import form_factor, gear_materials, tooth_series
from armsim.scenario.numbers import shown
from armsim.scenario.problems import Misreading
from armsim.scenario.stage_common import Note, common, efficiency
from armsim.scenario.tables import density
from armsim.scenario.validate import Path

TRAVEL = 1.0  #: radius at which a length of backlash is a travel [m]
RACK_EFFICIENCY = 0.96
DRUM_EFFICIENCY = 0.96


def rack(part: Rack, key: str, default: Note, derived: Note) -> Stage:
    """A pinion on its rack."""
    from armsim.parts.rack import pinion_radius, rack_stage

    module = part.module if part.module is not None else part.diametral_pitch
    assert module is not None  # a pinion without one is refused before
    if part.face_width is None and part.input_inertia is None:
        default(f"{key}.inertia", "none: without face_width the pinion's inertia is not known")
    if part.guide_friction == 0.0:
        default(f"{key}.guide_friction", "none: what pushes rack and pinion apart is not counted as friction")
    radius = float(pinion_radius(part.pinion, module, part.helix_angle))
    derived(f"{key}.travel", f"{understood(math.tau * radius, d.LENGTH)} a turn of the pinion")
    stage = rack_stage(
        teeth=part.pinion,
        module=module,
        pressure_angle=part.pressure_angle,
        helix_angle=part.helix_angle,
        face_width=part.face_width,
        efficiency=efficiency(part.efficiency, RACK_EFFICIENCY, key, "of the mesh, open and greased", default),
        reverse=part.reverse_efficiency,
        guide_friction=part.guide_friction,
        density=density(part.material),
        **common(part, f"rack {part.pinion}", TRAVEL),
    )
    assert isinstance(stage.hardware, racks.Rack)
    return replace(stage, hardware=replace(stage.hardware, pinion=_pinion(part, module), series=tooth_series()))


def _pinion(part: Rack, module: float) -> Gear:
    """The pinion as a gear of its own."""
    made = Gear(
        teeth=part.pinion,
        module=module,
        by_pitch=part.diametral_pitch is not None,
        pressure_angle=part.pressure_angle,
        helix_angle=part.helix_angle,
        hand=1 if part.helix_angle else 0,
        face_width=part.face_width,
        material=gear_materials()[part.material],
        allowable_bending=part.allowable_bending,
        bore=part.bore or 0.0,
    )
    return replace(made, form_factor=form_factor(made.pressure_angle, virtual_teeth(made)))


def drum(part: Drum, key: str, default: Note, derived: Note) -> Stage:
    """A drum and its rope."""
    from armsim.parts.rack import drum_radius, drum_stage

    radius = float(drum_radius(part.diameter, part.rope_diameter, 0.5 * (1 + part.layers)))
    layers = "" if part.layers == 1 else f", the mean of {part.layers} layers"
    derived(f"{key}.travel", f"{understood(math.tau * radius, d.LENGTH)} a turn of the drum{layers}")
    if part.input_inertia is None:
        default(f"{key}.input_inertia", "none: the drum's inertia is not known")
    if "rope_material" not in part.model_fields_set:
        default(f"{key}.rope_material", part.rope_material)
    stage = drum_stage(
        diameter=part.diameter,
        rope_diameter=part.rope_diameter,
        layers=part.layers,
        efficiency=efficiency(part.efficiency, DRUM_EFFICIENCY, key, "of drum, rope and pulleys", default),
        reverse=part.reverse_efficiency,
        **common(part, f"drum {shown(part.diameter * 1e3)} mm", TRAVEL),
    )
    assert isinstance(stage.hardware, racks.Drum)
    rope = replace(
        stage.hardware,
        width=part.width,
        rope_length=part.rope_length,
        rope_breaking_load=part.rope_breaking_load,
        rope_material=part.rope_material,
    )
    return replace(stage, hardware=rope)


def travel_stage_faults(part: Rack | Drum, path: Path) -> Faults:
    """A pinion of known size, and what moves with the carriage told in its own units."""
    if isinstance(part, Rack):
        if part.module is not None and part.diametral_pitch is not None:
            yield (*path, "diametral_pitch"), Misreading("SCN122", "module is given too", "keep one of the two")
        if part.module is None and part.diametral_pitch is None:
            hint = "write module: 1.5 mm; with the teeth it says how far a turn travels"
            yield (*path, "module"), Misreading("SCN103", "is missing", hint)
        yield from bore_faults(part.bore, part.pinion, part.module or part.diametral_pitch, path)
    if part.backlash is not None and part.backlash.length is None:
        text = "is an angle, where the stage's output is a travel"
        yield (*path, "backlash"), Misreading("SCN121", text, "write the free travel of the carriage, such as 0.1 mm")
    for key, hint in (
        ("output_inertia", "what moves with the carriage belongs to carriage.mass"),
        ("output_shaft", "what comes out of it is a travel: the shaft that turns it is that of the stage before"),
        ("stiffness", "give the other stages one; this one's is left out"),
    ):
        if getattr(part, key) is not None:
            yield (*path, key), Misreading("SCN121", "is of a turning shaft; here the output is a travel", hint)
