"""A worm stage from its section, and what its keys must agree on."""

import math

from armsim.parts.stage import Stage
from armsim.parts.worm import REST_FRICTION
from armsim.parts.worm_pair import Size, WormPair, worm_size
from armsim.scenario import dimensions as d
from armsim.scenario.dimensions import understood
from armsim.scenario.faults import Faults, below
from armsim.scenario.notes import Note
from armsim.scenario.numbers import shown
from armsim.scenario.problems import Misreading
from armsim.scenario.tables import density, wear_stress, wheel_rows
from armsim.scenario.validate import Path
from armsim.scenario.worm_keys import Worm

HANDS = {"right": 1, "left": -1}


def size_of(part: Worm) -> Size:
    """Lead angle, module and diameter, as far as they are given or follow. Raises ValueError by its centre distance."""
    return worm_size(
        part.starts,
        part.wheel,
        lead_angle=part.lead_angle,
        module=part.module,
        diameter=part.diameter,
        centre_distance=part.centre_distance,
    )


def known_size(part: Worm) -> Size:
    """The same, with what is given alone where the centre distance contradicts it: that is told elsewhere."""
    try:
        return size_of(part)
    except ValueError:
        return Size(part.lead_angle, part.module, part.diameter)


def worm(part: Worm, key: str, common: dict[str, object], default: Note, derived: Note) -> Stage:
    """The stage; what was left out is filled in and noted."""
    from armsim.parts.worm import VIBRATION_SHARE, friction_under_vibration, worm_stage

    size = size_of(part)
    assert size.lead_angle is not None  # refused before
    _note_size(part, size, key, derived)
    if part.friction is None:
        default(
            f"{key}.friction",
            "by sliding speed, mean curve of a lubricated steel worm on a bronze wheel (AGMA 6034-B92)",
        )
    static = part.static_friction
    if static is None:
        static = REST_FRICTION if part.friction is None else part.friction
        default(
            f"{key}.static_friction",
            f"{shown(static)}{', as in motion' if part.friction is not None else ', of the same curve'}",
        )
    vibration = part.vibration_friction
    if vibration is None:
        vibration = friction_under_vibration(part.friction, static)
        text = f"{shown(vibration)}, {shown(VIBRATION_SHARE)} of the friction in motion, or that at rest if less: "
        default(f"{key}.vibration_friction", text + "vibration takes it to that of motion, which scatters by 30 %")
    if part.placement is None:
        default(f"{key}.placement", "not given: which way the motor has to turn is not told across the corner")
    elif "hand" not in part.model_fields_set:
        default(f"{key}.hand", "right, as is usual: which way the motor has to turn goes by it")
    return worm_stage(
        starts=part.starts,
        wheel=part.wheel,
        lead_angle=size.lead_angle,
        pressure_angle=part.pressure_angle,
        friction=part.friction,
        static_friction=static,
        vibration_friction=vibration,
        diameter=size.diameter,
        module=size.module,
        face_width=part.face_width,
        density=density("steel"),
        wheel_density=wheel_rows()[part.wheel_material].density,
        bearing_efficiency=part.bearing_efficiency,
        hand=HANDS[part.hand],
        hardware=_pair(part, size, static, key, default),
        **common,  # type: ignore[arg-type]  # of every stage: name, drag, inertias, backlash
    )


def _note_size(part: Worm, size: Size, key: str, derived: Note) -> None:
    of = "starts, module and diameter" if part.centre_distance is None else "teeth and centre distance"
    for name, dimension in (("lead_angle", d.ANGLE), ("module", d.LENGTH), ("diameter", d.LENGTH)):
        value = getattr(size, name)
        if getattr(part, name) is None and value is not None and (name == "lead_angle" or part.centre_distance):
            derived(f"{key}.{name}", f"{understood(value, dimension)}, from {of}")


def _pair(part: Worm, size: Size, static: float, key: str, default: Note) -> WormPair:
    assert size.lead_angle is not None
    if part.face_width is not None:
        for name in ("worm_material", "wheel_material"):
            if name not in part.model_fields_set:
                default(f"{key}.{name}", getattr(part, name))
    return WormPair(
        starts=part.starts,
        wheel=part.wheel,
        lead_angle=size.lead_angle,
        pressure_angle=part.pressure_angle,
        module=size.module,
        diameter=size.diameter,
        face_width=part.face_width,
        centre_distance=part.centre_distance,
        hand=HANDS[part.hand],
        wheel_hand=None if part.wheel_hand is None else HANDS[part.wheel_hand],
        wheel_helix=part.wheel_helix,
        placement=part.placement,
        static_friction=static,
        friction_spread=part.friction_spread,
        curve_friction=part.friction is None,
        worm_material=part.worm_material,
        wheel_material=part.wheel_material,
        bending_stress=wheel_rows()[part.wheel_material].bending,
        allowable_bending=part.allowable_bending,
        wear_stress=wear_stress(part.wheel_material, part.worm_material, math.degrees(size.lead_angle)),
    )


def worm_faults(worm: Worm, path: Path) -> Faults:
    """A size that is known and does not contradict itself, and friction in order."""
    try:
        size = size_of(worm)
    except ValueError as error:
        yield (*path, "centre_distance"), Misreading("SCN121", str(error))
        return
    if size.lead_angle is None:
        hint = "give lead_angle, or two of module, diameter of the worm and centre_distance"
        yield (*path, "lead_angle"), Misreading("SCN103", "is missing", hint)
    if worm.lead_angle is not None and worm.module is not None and worm.diameter is not None:
        yield from _contradictions(worm, worm.lead_angle, path)
    if worm.friction is None and size.diameter is None:
        hint = "give friction, such as 0.07, or the worm's diameter, from which it follows by sliding speed"
        yield (*path, "friction"), Misreading("SCN103", "is missing", hint)
    yield from _friction_faults(worm, path)


def _contradictions(worm: Worm, lead_angle: float, path: Path) -> Faults:
    other = worm_size(worm.starts, worm.wheel, module=worm.module, diameter=worm.diameter).lead_angle
    assert other is not None
    if abs(other - lead_angle) > 0.01 * lead_angle:
        text = f"module and diameter make it {understood(other, d.ANGLE)}"
        hint = "tan(lead angle) = starts x module / diameter; leave one out"
        yield (*path, "lead_angle"), Misreading("SCN121", text, hint)


def _friction_faults(worm: Worm, path: Path) -> Faults:
    if worm.friction is not None and worm.static_friction is not None and worm.static_friction < worm.friction:
        yield (*path, "static_friction"), below("friction at rest", "friction")
    at_rest = next((mu for mu in (worm.static_friction, worm.friction) if mu is not None), REST_FRICTION)
    if worm.vibration_friction is not None and worm.vibration_friction > at_rest:
        text = f"{shown(worm.vibration_friction)} is above the friction at rest, {shown(at_rest)}"
        yield (*path, "vibration_friction"), Misreading("SCN121", text, "vibration lowers friction, it adds none")
