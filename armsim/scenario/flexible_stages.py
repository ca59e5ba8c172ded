"""Chain and belt stages from their sections; what was not given is filled in and noted."""

from dataclasses import replace
from typing import Any

from armsim.parts import chain as chains
from armsim.parts.belt import BeltDrive, Pulley, belt_pitch_diameter, belt_stage
from armsim.parts.flat_belt import FlatBeltDrive, flat_belt_stage
from armsim.parts.stage import Stage
from armsim.scenario import dimensions as d
from armsim.scenario import flexible_keys as keys
from armsim.scenario.chain_numbers import of_strands
from armsim.scenario.dimensions import understood
from armsim.scenario.numbers import shown
from armsim.scenario.stage_common import Note, common, efficiency
from armsim.scenario.tables import density

CHAIN_EFFICIENCY = 0.96
BELT_EFFICIENCY = 0.96
FLAT_BELT_EFFICIENCY = 0.95


def chain(part: keys.Chain, key: str, default: Note, derived: Note) -> Stage:
    """A roller chain."""
    drive = chain_drive(part)
    size = drive.size
    derived(f"{key}.number", size.title)
    if part.service_factor is None:
        default(f"{key}.service_factor", "1, for a smooth load; moderate shock is 1.3 to 1.5")
    if part.centre_distance is None and part.links is None and part.input_inertia is None:
        default(f"{key}.centre_distance", "not given: the chain's own mass is left out")
    stage = chains.chain_stage(
        drive,
        efficiency=_chain_efficiency(part, key, default, derived),
        reverse=part.reverse_efficiency,
        density=density("steel"),
        **common(part, f"chain {size.number}, {part.driver.teeth}-{part.driven.teeth}", chain_radius(part)),
    )
    if part.links is not None and part.centre_distance is None and (loop := chains.chain_loop(drive)) is not None:
        text = f"{understood(loop.centre_distance, d.LENGTH)}, at which {part.links} links run taut"
        derived(f"{key}.centre_distance", text)
    return _with_play(stage, drive, part, key, derived)


def _with_play(stage: Stage, drive: chains.ChainDrive, part: keys.Chain, key: str, derived: Note) -> Stage:
    """The stage with the play of its slack strand, where no backlash is given and the slack is known."""
    play = chains.chain_play(drive)
    if stage.backlash is not None or play is None:
        return stage
    by = "the sag" if part.sag is not None else "the links beyond a taut loop, no tensioner"
    derived(f"{key}.backlash", f"{understood(play, d.ANGLE)} at the output shaft, from {by}")
    return replace(stage, backlash=play)


def chain_drive(part: keys.Chain) -> chains.ChainDrive:
    """What a chain section says of the parts."""
    size = part.number if part.strands is None or part.number.strands > 1 else of_strands(part.number, part.strands)
    driver, driven = (
        chains.Sprocket(teeth=wheel.teeth, size=wheel.number, bore=wheel.bore, outside=wheel.outside)
        for wheel in (part.driver, part.driven)
    )
    return chains.ChainDrive(
        size=size,
        driver=driver,
        driven=driven,
        links=part.links,
        centre_distance=part.centre_distance,
        service_factor=part.service_factor or 1.0,
        sag=part.sag,
        breaking_load=part.breaking_load,
        allowable_load=part.allowable_load,
    )


def chain_radius(part: keys.Chain) -> float:
    """Pitch radius of the driven sprocket. [m]"""
    return float(chains.pitch_diameter(part.number.pitch, part.driven.teeth)) / 2.0


def _chain_efficiency(part: keys.Chain, key: str, default: Note, derived: Note) -> float:
    if part.friction is None:
        return efficiency(part.efficiency, CHAIN_EFFICIENCY, key, "for a lubricated chain", default)
    value = float(chains.pin_efficiency(part.friction, part.driver.teeth, part.driven.teeth))
    derived(f"{key}.efficiency", f"{shown(value)}, from the friction of the pins on both sprockets")
    return value


def belt(part: keys.Belt, key: str, default: Note, derived: Note) -> Stage:
    """A toothed belt."""
    if part.backlash is None and part.profile.usual_play is not None:
        low, high = (shown(1e3 * play) for play in part.profile.usual_play)
        default(f"{key}.backlash", f"not known; usual along the pitch line: {low} to {high} mm")
    if part.width is None and (part.input_inertia is None or part.output_inertia is None):
        default(f"{key}.inertia", "none: without width the pulleys' inertia is not known")
    if part.service_factor is None:
        default(f"{key}.service_factor", "1, for a smooth load")
    return belt_stage(
        belt_drive(part),
        efficiency=efficiency(part.efficiency, BELT_EFFICIENCY, key, "for a toothed belt", default),
        reverse=part.reverse_efficiency,
        density=density(part.material),
        **common(part, f"belt {part.profile.name}, {part.driver.teeth}-{part.driven.teeth}", belt_radius(part)),
    )


def belt_drive(part: keys.Belt) -> BeltDrive:
    """What a belt section says of the parts."""
    driver, driven = (
        Pulley(teeth=wheel.teeth, profile=wheel.profile, bore=wheel.bore, outside=wheel.outside)
        for wheel in (part.driver, part.driven)
    )
    return BeltDrive(
        profile=part.profile,
        driver=driver,
        driven=driven,
        belt_teeth=part.belt_teeth,
        centre_distance=part.centre_distance,
        width=part.width,
        allowable_tension=part.allowable_tension,
        tension=part.tension,
        service_factor=part.service_factor or 1.0,
    )


def belt_radius(part: keys.Belt) -> float:
    """Pitch radius of the driven pulley. [m]"""
    return float(belt_pitch_diameter(part.profile.pitch, part.driven.teeth)) / 2.0


def flat_belt(part: keys.FlatBelt, key: str, default: Note, derived: Note) -> Stage:
    """A flat or round belt."""
    if part.service_factor is None:
        default(f"{key}.service_factor", "1, for a smooth load")
    if part.input_inertia is None or part.output_inertia is None:
        default(f"{key}.inertia", "none: the pulleys' inertia is not known; give input_inertia and output_inertia")
    drive = FlatBeltDrive(
        driver=part.driver,
        driven=part.driven,
        crossed=part.crossed,
        centre_distance=part.centre_distance,
        friction=part.friction,
        tension=part.tension,
        allowable_tension=part.allowable_tension,
        service_factor=part.service_factor or 1.0,
    )
    name = f"{'crossed' if part.crossed else 'flat'} belt {shown(part.driver * 1e3)}-{shown(part.driven * 1e3)} mm"
    return flat_belt_stage(
        drive,
        efficiency=efficiency(part.efficiency, FLAT_BELT_EFFICIENCY, key, "for a flat or round belt", default),
        reverse=part.reverse_efficiency,
        **common(part, name, part.driven / 2.0),
    )


def pitch_radius(part: Any) -> float | None:
    """Pitch radius of the output wheel of a chain or belt; None for another kind. [m]"""
    if isinstance(part, keys.Chain):
        return chain_radius(part)
    if isinstance(part, keys.Belt):
        return belt_radius(part)
    return part.driven / 2.0 if isinstance(part, keys.FlatBelt) else None
