"""The end stops: what their keys must agree on, and what they are made of."""

from armsim.parts.stop import LEAST_OF_A_BUFFER, Stop
from armsim.scenario import dimensions as d
from armsim.scenario.dimensions import understood
from armsim.scenario.faults import Faults
from armsim.scenario.notes import Notes
from armsim.scenario.numbers import shown
from armsim.scenario.problems import Misreading
from armsim.scenario.schema import Stops
from armsim.scenario.validate import Path


def stop_faults(given: Stops) -> Faults:
    """Stops in order, and nothing said of stops that are not there."""
    path: Path = ("arm", "stops")
    if given.lower is not None and given.upper is not None and given.lower >= given.upper:
        text = f"{understood(given.upper, d.ANGLE)} is not above the lower stop, {understood(given.lower, d.ANGLE)}"
        yield (*path, "upper"), Misreading("SCN121", text)
    for key in ("restitution", "stiffness", "at"):
        if given.lower is None and given.upper is None and getattr(given, key) is not None:
            yield (*path, key), Misreading("SCN121", "there is no stop that has it", "give lower, upper or both")
    stiffness, e = given.stiffness, given.restitution
    if stiffness is not None and stiffness.line is not None and given.at is None:
        hint = "such as at: 300 mm, where the arm meets the buffer, from the pivot"
        yield (*path, "at"), Misreading("SCN103", "is missing for a stiffness by force", hint)
    if stiffness is None and e == 1.0:
        text = "a rigid stop that gives back all speed lets nothing come to rest"
        yield (*path, "restitution"), Misreading("SCN120", text, "write less than 1, or give a stiffness")
    if stiffness is not None and e is not None and e < LEAST_OF_A_BUFFER:
        text = f"{shown(e)} is too little for a buffer that springs back: it gives {shown(LEAST_OF_A_BUFFER)} or more"
        hint = "leave restitution out for a spring without loss, or stiffness for a stop that just ends the motion"
        yield (*path, "restitution"), Misreading("SCN121", text, hint)


def stop(given: Stops | None, notes: Notes) -> Stop:
    """What both stops are made of."""
    if given is None:
        return Stop()
    stiffness = given.stiffness
    if stiffness is None:
        notes.default("arm.stops.stiffness", "rigid: the force of a blow is not bounded")
        return Stop(restitution=given.restitution or 0.0, at=given.at)
    if given.restitution is None:
        notes.default("arm.stops.restitution", "1: the buffers give back all they take")
    rate = stiffness.turning
    if rate is None:
        assert stiffness.line is not None
        assert given.at is not None  # missing it is refused before
        rate = stiffness.line * given.at**2
        notes.derived("arm.stops.stiffness", f"{understood(rate, d.TORSION_RATE)}, by force and distance")
    return Stop(restitution=1.0 if given.restitution is None else given.restitution, stiffness=rate, at=given.at)
