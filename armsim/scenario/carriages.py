"""A carriage from its section, and what it must agree on with the transmission."""

import math
from typing import Any

from armsim.parts.arm import Friction
from armsim.parts.carriage import Carriage
from armsim.parts.stop import LEAST_OF_A_BUFFER, Stop
from armsim.scenario import carriage_keys as keys
from armsim.scenario import dimensions as d
from armsim.scenario.dimensions import understood
from armsim.scenario.faults import Faults, below, no_fall
from armsim.scenario.notes import Notes
from armsim.scenario.numbers import shown
from armsim.scenario.problems import Misreading

TRAVELLING = ("rack", "drum")  #: stages whose output is a travel


def carriage(given: keys.Carriage | None, notes: Notes) -> Carriage:
    """The carriage with its payload as one rigid body."""
    assert given is not None  # a scenario with neither arm nor carriage is refused before
    if "incline" not in given.model_fields_set:
        notes.default("carriage.incline", "90 deg, straight up")
    if given.payload is None:
        notes.default("carriage.payload", "none")
    friction = given.friction or keys.GuideFriction()
    if given.friction is None and given.friction_coefficient == 0.0:
        notes.default("carriage.friction", "none")
    elif given.friction is not None and friction.breakaway is None:
        text = f"as the running friction, {understood(friction.coulomb, d.FORCE)}"
        notes.default("carriage.friction.breakaway", text)
    stops = given.stops or keys.CarriageStops()
    return Carriage(
        mass=given.mass,
        payload_mass=given.payload.mass if given.payload else 0.0,
        incline=given.incline,
        guide=Friction(
            coulomb=friction.coulomb,
            viscous=friction.viscous,
            breakaway=friction.coulomb if friction.breakaway is None else friction.breakaway,
            stribeck_speed=friction.stribeck_speed,
        ),
        friction_coefficient=given.friction_coefficient,
        counterweight=given.counterweight or 0.0,
        lower_stop=-math.inf if stops.lower is None else stops.lower,
        upper_stop=math.inf if stops.upper is None else stops.upper,
        stop=_stop(given.stops, notes),
    )


def _stop(given: keys.CarriageStops | None, notes: Notes) -> Stop:
    """What both ends of the guide are made of."""
    if given is None:
        return Stop()
    if given.stiffness is None:
        notes.default("carriage.stops.stiffness", "rigid: the force of a blow is not bounded")
        return Stop(restitution=given.restitution or 0.0, at=1.0)
    if given.restitution is None:
        notes.default("carriage.stops.restitution", "1: the buffers give back all they take")
    restitution = 1.0 if given.restitution is None else given.restitution
    return Stop(restitution=restitution, stiffness=given.stiffness, at=1.0)


def carriage_faults(given: keys.Carriage) -> Faults:
    """Friction at rest no less than in motion, stops in order and of something."""
    friction, stops = given.friction, given.stops
    if friction and friction.breakaway is not None and friction.breakaway < friction.coulomb:
        yield ("carriage", "friction", "breakaway"), below("breakaway friction", "coulomb")
    if friction and friction.stribeck_speed is not None and friction.breakaway is None:
        yield ("carriage", "friction", "stribeck_speed"), no_fall()
    if stops is None:
        return
    if stops.lower is not None and stops.upper is not None and stops.lower >= stops.upper:
        text = f"{understood(stops.upper, d.LENGTH)} is not above the lower stop, {understood(stops.lower, d.LENGTH)}"
        yield ("carriage", "stops", "upper"), Misreading("SCN121", text)
    for key in ("restitution", "stiffness"):
        if stops.lower is None and stops.upper is None and getattr(stops, key) is not None:
            fault = Misreading("SCN121", "there is no stop that has it", "give lower, upper or both")
            yield ("carriage", "stops", key), fault
    e = stops.restitution
    if stops.stiffness is None and e == 1.0:
        text = "a rigid stop that gives back all speed lets nothing come to rest"
        yield (
            ("carriage", "stops", "restitution"),
            Misreading("SCN120", text, "write less than 1, or give a stiffness"),
        )
    if stops.stiffness is not None and e is not None and e < LEAST_OF_A_BUFFER:
        text = f"{shown(e)} is too little for a buffer that springs back: it gives {shown(LEAST_OF_A_BUFFER)} or more"
        yield ("carriage", "stops", "restitution"), Misreading("SCN121", text)


def driven_faults(stages: list[Any] | None, *, has_arm: bool, has_carriage: bool, hint: str) -> Faults:
    """An arm or a carriage, and the last stage as the one or the other needs it.

    What the file `has` may be readable or not; of stages None where they could not be read at all.
    """
    if has_arm and has_carriage:
        yield ("carriage",), Misreading("SCN122", "an arm is given too", "keep the one that the machine drives")
        return
    if not has_arm and not has_carriage:
        yield ("arm",), Misreading("SCN103", "is missing", hint)
        return
    if stages is None:
        return
    kinds = [[kind for kind in TRAVELLING if stage and getattr(stage, kind) is not None] for stage in stages]
    for k, found in enumerate(kinds):
        if found and has_arm:
            text = "drives a carriage along its guide, not an arm"
            yield ("transmission", k, found[0]), Misreading("SCN121", text, "write carriage in place of arm")
        elif found and k < len(kinds) - 1:
            text = "has to be the last stage: what comes behind it would have to turn"
            yield ("transmission", k, found[0]), Misreading("SCN121", text)
    if has_carriage and all(stages) and not (kinds and kinds[-1]):
        hint = "end the transmission with - rack: {pinion: 19, module: 1.5 mm} or - drum: {diameter: 60 mm, ...}"
        yield ("transmission",), Misreading("SCN121", "does not end with a rack or drum to drive the carriage", hint)
