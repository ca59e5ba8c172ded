"""Side loads from their sections, and which shaft of the train a word means."""

import difflib
from collections import Counter
from collections.abc import Sequence

from armsim.parts.side_load import SideLoad
from armsim.parts.stage import Stage
from armsim.scenario import side_keys
from armsim.scenario.faults import Faults
from armsim.scenario.notes import Notes
from armsim.scenario.problems import Misreading, quoted
from armsim.scenario.validate import Path


def side_load_faults(given: side_keys.SideLoad, path: Path) -> Faults:
    """A load has a torque of some kind."""
    if given.torque == 0.0 and given.viscous == 0.0:
        yield path, Misreading("SCN122", "neither torque nor viscous is given", f"such as {given.example}")


def side_loads(
    given: Sequence[side_keys.SideLoad], inside: int, stages: Sequence[Stage], notes: Notes, *, carriage: bool
) -> tuple[SideLoad, ...]:
    """The loads on their shafts; `inside` of the machine's stages stand before those of the transmission."""
    names = Counter(load.name or "side load" for load in given)
    built = []
    for k, load in enumerate(given):
        try:
            shaft = inside + driven_shaft(load.shaft, stages, carriage=carriage)
        except Misreading as fault:
            notes.faults.append((("side_loads", k, "shaft"), fault))
            continue
        name = load.name or "side load"
        name = f"{name} {k + 1}" if names[name] > 1 else name
        built.append(SideLoad(name=name, shaft=shaft, torque=load.torque, viscous=load.viscous))
    return tuple(built)


def driven_shaft(word: str, stages: Sequence[Stage], *, carriage: bool) -> int:
    """Which shaft behind the motor a word means, the motor's 0: a stage's is its output shaft.

    Raises Misreading where there is none, or where it is a carriage's travel.
    """
    plain = word.strip().casefold()
    last = len(stages)
    shaft = {"motor": 0, "arm": last}.get(plain)
    if shaft is None:
        shaft = stage_number(word, stages)
    if carriage and (shaft == last or plain == "arm"):
        hint = f"put it on the shaft before, {'motor' if last < 2 else last - 1}; friction of the guide is carriage."
        raise Misreading("SCN121", "a carriage has no shaft that turns", f"{hint}friction")
    return shaft


def stage_number(word: str, stages: Sequence[Stage]) -> int:
    """Place of a stage in the transmission from 1, by its number or its name. Raises Misreading."""
    plain, names = word.strip().casefold(), [stage.name.casefold() for stage in stages]
    if plain in names:
        return names.index(plain) + 1
    if plain.isdecimal() and 1 <= int(plain) <= len(stages):
        return int(plain)
    known = ", ".join(f"{k} ({stage.name})" for k, stage in enumerate(stages, start=1))
    close = difflib.get_close_matches(plain, [*names, "motor", "arm"], 1, 0.6)
    meant = f"did you mean {close[0]}? " if close else ""
    allowed = f"stages by number or name: {known}" if stages else "the transmission has no stages"
    raise Misreading("SCN115", f"{quoted(word)} is no shaft of the train", f"{meant}motor, arm, or {allowed}")
