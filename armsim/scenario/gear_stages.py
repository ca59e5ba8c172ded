"""Stages of gears, bevel gears and planetary sets from their sections."""

from collections.abc import Sequence
from dataclasses import replace

from armsim.parts import bevel as bevels
from armsim.parts import gears as spurs
from armsim.parts import planetary as sets
from armsim.parts.gear_mesh import Gear, mesh_efficiency, virtual_teeth
from armsim.parts.stage import Stage
from armsim.scenario import dimensions as d
from armsim.scenario import gear_keys as keys
from armsim.scenario.dimensions import understood
from armsim.scenario.gear_tables import form_factor, gear_materials, tooth_series
from armsim.scenario.lubricants import mesh_frictions
from armsim.scenario.notes import Note
from armsim.scenario.numbers import shown
from armsim.scenario.stage_common import common

Meshing = Sequence[tuple[Gear, Gear, float | None]]  #: pinion, wheel, given centre distance [m]

MESH_EFFICIENCY = 0.97
_OPPOSITE = {"right": "left", "left": "right"}
_SIGNS = {"right": 1, "left": -1}


def gear(own: keys.Gear, stage: keys.ToothKeys, *, internal: bool = False, hand: str | None = None) -> Gear:
    """One gear by what it says itself, else by what its stage says."""
    first = own if keys.module_of(own) is not None else stage
    helix = own.helix_angle if own.helix_angle is not None else getattr(stage, "helix_angle", 0.0)
    made = Gear(
        teeth=own.teeth,
        module=keys.module_of(first),
        by_pitch=first.diametral_pitch is not None,
        pressure_angle=stage.pressure_angle if own.pressure_angle is None else own.pressure_angle,
        helix_angle=helix,
        hand=_SIGNS[own.hand or hand or "right"] if helix else 0,
        face_width=stage.face_width if own.face_width is None else own.face_width,
        profile_shift=own.profile_shift,
        internal=internal,
        bore=own.bore or 0.0,
        allowable_bending=stage.allowable_bending if own.allowable_bending is None else own.allowable_bending,
        allowable_contact=stage.allowable_contact if own.allowable_contact is None else own.allowable_contact,
        material=gear_materials()[own.material or stage.material],
    )
    return made if internal else replace(made, form_factor=form_factor(made.pressure_angle, virtual_teeth(made)))


def gear_path(part: keys.Gears) -> spurs.GearPath:
    """The gears of a stage, driver first; hands left out are those that mesh."""
    hand = part.driver.hand or part.hand or "right"
    made = [gear(part.driver, part, hand=hand)]
    for k, own in enumerate((*part.idlers, part.driven)):
        ring = part.internal and k == len(part.idlers)
        hand = hand if ring else _OPPOSITE[hand]
        made.append(gear(own, part, internal=ring, hand=hand))
    return spurs.GearPath(gears=tuple(made), series=tooth_series(), centres=tuple(part.centre_distance or ()))


def gears(part: keys.Gears, key: str, default: Note, derived: Note, no_load_speed: float) -> Stage:
    """A stage of gears on parallel shafts; `no_load_speed` is its driver's with the motor at its own [rad/s]."""
    path = gear_path(part)
    frictions = mesh_frictions(part, path, no_load_speed, key, default, derived)
    _note_defaults(part, path.gears, key, default)
    return spurs.gear_stage(
        path=path,
        efficiencies=_efficiencies(part, path.meshes(), key, default, derived, frictions),
        reverse=part.reverse_efficiency,
        **common(part, _name(part), pitch_radius(part), len(path.meshes())),
    )


def bevel(part: keys.Bevel, key: str, default: Note, derived: Note) -> Stage:
    """A stage of bevel gears."""
    pair = bevels.BevelPair(
        driver=gear(part.driver, part),
        driven=gear(part.driven, part),
        shaft_angle=part.shaft_angle,
        matched_set=part.matched_set,
        placement=part.placement,
        series=tooth_series(),
    )
    first, second = (
        replace(one, form_factor=form_factor(one.pressure_angle, virtual.teeth))
        for one, virtual in zip((pair.driver, pair.driven), bevels.virtual_pair(pair), strict=True)
    )
    pair = replace(pair, driver=first, driven=second)
    _note_defaults(part, (pair.driver, pair.driven), key, default)
    if part.placement is None:
        default(f"{key}.placement", "not given: which way the motor has to turn is not told across the corner")
    return bevels.bevel_stage(
        pair=pair,
        efficiency=_efficiencies(part, [(*bevels.virtual_pair(pair), None)], key, default, derived)[0],
        reverse=part.reverse_efficiency,
        **common(part, _name(part), pitch_radius(part)),
    )


def planetary_set(part: keys.Planetary) -> sets.PlanetarySet:
    """The gears of a set; the ring is fixed and the sun driven unless told otherwise."""
    fixed = part.fixed or ("ring" if part.input != "ring" else "carrier")
    driver = part.input or ("sun" if fixed != "sun" else "ring")
    hand = part.sun.hand or "right"
    second = None
    if part.second_planet is not None and part.second_ring is not None:
        second = (gear(part.second_planet, part), gear(part.second_ring, part, internal=True))
    return sets.PlanetarySet(
        sun=gear(part.sun, part, hand=hand),
        planet=gear(keys.planet_of(part), part, hand=_OPPOSITE[hand]),
        ring=gear(part.ring, part, internal=True, hand=_OPPOSITE[hand]),
        planets=part.planets,
        fixed=fixed,
        input=driver,
        series=tooth_series(),
        second=second,
    )


def planetary(part: keys.Planetary, key: str, default: Note, derived: Note) -> Stage:
    """A planetary stage."""
    parts = planetary_set(part)
    for name, member in (("fixed", parts.fixed), ("input", parts.input)):
        if getattr(part, name) is None:
            default(f"{key}.{name}", f"{member}; the {parts.output.replace('_', ' ')} goes on to the arm")
    if part.planet is None:
        derived(f"{key}.planet", f"{parts.planet.teeth} teeth, half of what the ring has more than the sun")
    if "planets" not in part.model_fields_set:
        default(f"{key}.planets", str(part.planets))
    meshing = [(parts.sun, parts.planet, None), (parts.planet, parts.ring, None)]
    own = [part.sun_planet_efficiency, part.planet_ring_efficiency]
    if parts.second is not None:
        meshing.append((*parts.second, None))
        own.append(part.planet_ring_efficiency)
    _note_defaults(part, (parts.sun, parts.planet, parts.ring), key, default)
    if None in own:
        general = _efficiencies(part, meshing, key, default, derived)
        own = [e if given is None else given for given, e in zip(own, general, strict=True)]
    stage = sets.planetary_stage(
        parts=parts,
        efficiencies=[e for e in own if e is not None],
        reverse=part.reverse_efficiency,
        **common(part, _name(part)),
    )
    text = f"{shown(stage.law.static()[0])}, from the power that rolls through each of its meshes"
    derived(f"{key}.set_efficiency", text)
    return stage


def _efficiencies(
    part: keys.ToothKeys,
    meshing: Meshing,
    key: str,
    default: Note,
    derived: Note,
    frictions: Sequence[float] | None = None,
) -> tuple[float, ...]:
    """Of each mesh: given, else by friction and geometry, else usual ones."""
    if frictions is None and part.friction is not None:
        frictions = (part.friction,) * len(meshing)
    told, computed = "", _by_friction(meshing, frictions or ())
    if computed:
        told = " and ".join(f"{e:.4g}" for e in computed)
    if part.efficiency is not None:
        if frictions:
            rubbing = " and ".join(dict.fromkeys(shown(friction) for friction in frictions))
            text = f"{shown(part.efficiency)} as given; friction {rubbing} alone, bearings aside, "
            derived(f"{key}.efficiency", f"{text}would make {told}")
        return (part.efficiency,) * len(meshing)
    if computed:
        derived(f"{key}.efficiency", f"{told} by mesh, from friction and the sliding of the teeth, bearings aside")
        return computed
    default(f"{key}.efficiency", f"{shown(MESH_EFFICIENCY)} a mesh, enclosed and greased")
    return (MESH_EFFICIENCY,) * len(meshing)


def _by_friction(meshing: Meshing, frictions: Sequence[float]) -> tuple[float, ...]:
    """Efficiency of each mesh whose friction is known; none without."""
    computed: list[float] = []
    for (pinion, wheel, centre), friction in zip(meshing, frictions, strict=False):
        found = mesh_efficiency(pinion, wheel, friction, centre)
        if found is None:
            raise ValueError("at this centre distance the gears do not run, so friction tells no efficiency")
        if found <= 0.0:
            raise ValueError("with so much friction nothing passes these teeth")
        computed.append(found)
    return tuple(computed)


def _note_defaults(part: keys.ToothKeys, members: Sequence[Gear], key: str, default: Note) -> None:
    """What was taken for granted of the gears: material, pressure angle, bodies."""
    told = [one for _, one in keys.members(part)]
    if "material" not in part.model_fields_set and any(one.material is None for one in told):
        judged = "" if part.allowable_bending and part.allowable_contact else ": strength is judged by it"
        default(f"{key}.material", f"steel as rolled, 0.3 % carbon{judged}")
    if "pressure_angle" not in part.model_fields_set and any(one.pressure_angle is None for one in told):
        default(f"{key}.pressure_angle", understood(part.pressure_angle, d.ANGLE))
    if part.input_inertia is not None and part.output_inertia is not None:
        return
    if any(one.module is None or one.face_width is None for one in members):
        default(f"{key}.inertia", "none: without module and face_width the gears' inertia is not known")
    elif any(one.internal for one in members):
        text = f"the ring as a rim of {shown(spurs.RIM)} modules beyond its pitch circle"
        default(f"{key}.inertia", text + (", the bare carrier left out" if isinstance(part, keys.Planetary) else ""))


def pitch_radius(part: keys.ToothKeys) -> float | None:
    """Of the output gear; None where its size is not given, and of a planetary set. [m]"""
    if isinstance(part, keys.Gears | keys.Bevel):
        diameter = gear(part.driven, part).pitch_diameter
        return None if diameter is None else diameter / 2.0
    return None


def _name(part: keys.ToothKeys) -> str:
    """What a report calls a stage that has no name: its kind and its teeth."""
    if isinstance(part, keys.Planetary):
        return f"planetary {part.sun.teeth}-{keys.planet_of(part).teeth}-{part.ring.teeth}"
    if isinstance(part, keys.Bevel):
        return f"bevel {part.driver.teeth}-{part.driven.teeth}"
    assert isinstance(part, keys.Gears)
    teeth = "-".join(str(one.teeth) for one in (part.driver, *part.idlers, part.driven))
    return f"{'ring gears' if part.internal else 'gears'} {teeth}"
