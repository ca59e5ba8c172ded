"""The transmission's stages from their sections."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from armsim.parts.stage import Stage, reverse_of
from armsim.scenario import flexible_stages as flexible
from armsim.scenario import gear_stages, schema
from armsim.scenario.carriage_stages import drum, rack
from armsim.scenario.gear_keys import Gears, ToothKeys
from armsim.scenario.notes import Note
from armsim.scenario.numbers import shown
from armsim.scenario.problems import Misreading
from armsim.scenario.shaft_stages import with_shafts
from armsim.scenario.stage_common import backlash, common
from armsim.scenario.stage_keys import StageKeys
from armsim.scenario.validate import Path, dotted
from armsim.scenario.worm_keys import Worm
from armsim.scenario.worm_stages import known_size, worm


def stages(
    given: list[schema.Stage],
    no_load_speed: float,
    default: Note,
    derived: Note,
    faults: list[tuple[Path, Misreading]],
) -> tuple[Stage, ...]:
    """Every stage from the motor to the arm; what a part refuses is told as a fault.

    `no_load_speed` is that of the first stage's input shaft [rad/s].
    """
    built = []
    if not given:
        default("transmission", "none: the motor turns the arm directly")
    for k, stage in enumerate(given):
        kind = next(kind for kind in type(stage).model_fields if getattr(stage, kind) is not None)
        part, path = getattr(stage, kind), ("transmission", k, kind)
        try:
            if isinstance(part, Gears):
                one = gear_stages.gears(part, dotted(path), default, derived, no_load_speed)
            else:
                one = _BUILDERS[kind](part, dotted(path), default, derived)
            no_load_speed /= one.reduction
            built.append(replace(one, **with_shafts(one, part, dotted(path), default, derived)))
        except ValueError as error:
            faults.append((path, Misreading("SCN121", str(error))))
    return _told_apart(built)


def _told_apart(built: list[Stage]) -> tuple[Stage, ...]:
    """Stages of one name get their place in the train added, so that a report can be followed."""
    names = [stage.name for stage in built]
    return tuple(
        replace(stage, name=f"{stage.name}, stage {k}") if names.count(stage.name) > 1 else stage
        for k, stage in enumerate(built, start=1)
    )


def pitch_radius(part: StageKeys) -> float | None:
    """Pitch radius of a stage's output wheel, None where its size is not given. [m]"""
    if isinstance(part, ToothKeys):
        return gear_stages.pitch_radius(part)
    if isinstance(part, Worm):
        module = known_size(part).module
        return None if module is None else module * part.wheel / 2.0
    return flexible.pitch_radius(part)


def _worm(part: Worm, key: str, default: Note, derived: Note) -> Stage:
    return worm(part, key, common(part, f"worm {part.starts}-{part.wheel}", pitch_radius(part)), default, derived)


def _gearbox(part: schema.Gearbox, key: str, default: Note, derived: Note) -> Stage:
    from armsim.parts.gearbox import gearbox_stage

    reverse = part.reverse_efficiency
    if reverse is None:
        reverse = float(reverse_of(part.efficiency))
        text = f"{shown(reverse)}, 2 - 1/efficiency as for one mesh"
        default(
            f"{key}.reverse_efficiency",
            text + (": it locks; a box of several stages may still turn back" if reverse <= 0 else ""),
        )
    if "sense" not in part.model_fields_set:
        default(f"{key}.sense", "same: its output is taken to turn as its input does")
    return gearbox_stage(
        reduction=part.reduction,
        efficiency=part.efficiency,
        reverse=reverse,
        sense=1 if part.sense == "same" else -1,
        name=part.name or f"gearbox {shown(part.reduction)}:1",
        drag=part.drag,
        viscous_drag=part.viscous_drag,
        input_inertia=part.input_inertia or 0.0,
        output_inertia=part.output_inertia or 0.0,
        backlash=backlash(part),
    )


_BUILDERS: dict[str, Callable[[Any, str, Note, Note], Stage]] = {
    "bevel": gear_stages.bevel,
    "planetary": gear_stages.planetary,
    "chain": flexible.chain,
    "belt": flexible.belt,
    "flat_belt": flexible.flat_belt,
    "worm": _worm,
    "gearbox": _gearbox,
    "rack": rack,
    "drum": drum,
}
