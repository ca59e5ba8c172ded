"""Every check of keys against each other, run on the sections that could be read."""

from itertools import chain
from typing import Any

from armsim.scenario import electrical_agreement as electrical
from armsim.scenario import mechanical_agreement as mechanical
from armsim.scenario import motor_agreement
from armsim.scenario.carriages import carriage_faults, driven_faults
from armsim.scenario.companions import companion_faults, shared_faults
from armsim.scenario.counterbalances import counterbalance_faults
from armsim.scenario.faults import Faults
from armsim.scenario.readers import Reading
from armsim.scenario.schema import Arm
from armsim.scenario.side_loads import side_load_faults
from armsim.scenario.validate import Sections, dotted, settled, value_place
from armsim.scenario.variants import Document
from armsim.scenario.wires import run_faults

_WARNINGS = ("SCN130", "SCN131", "SCN132", "SCN133")


_ABSENT = ("SCN103", "SCN108", "SCN122")  # what seems to be absent may only have failed to be read


def check(sections: Sections, document: Document, reading: Reading) -> None:
    """Run every check whose sections were read; faults and warnings go into the reading."""
    for listed, fault in chain(_driven(sections, document), _faults(sections.values)):
        path = settled(document.tree, listed)
        if fault.code in _ABSENT and sections.lacks_something(path):
            continue
        place, width = value_place(document.tree, path)
        severity = "warning" if fault.code in _WARNINGS else "error"
        reading.problems.append(document.sources.problem(place, dotted(path), fault, width=width, severity=severity))


def _driven(sections: Sections, document: Document) -> Faults:
    """What the machine drives, and whether the transmission can."""
    has = document.tree.entries
    unread = "transmission" in has and "transmission" not in sections.values
    return driven_faults(
        None if unread else sections.values.get("transmission", []),
        has_arm="arm" in has,
        has_carriage="carriage" in has,
        hint=f"write arm: {Arm.example}",
    )


def _faults(values: dict[str, Any]) -> Faults:
    motor, supply, arm, carriage = (values.get(key) for key in ("motor", "supply", "arm", "carriage"))
    if motor:
        yield from motor_agreement.motor_faults(motor)
        if motor.leads:
            yield from run_faults(motor.leads, ("motor", "leads"), "controller to motor")
    if supply:
        yield from electrical.supply_faults(supply)
        for k, run in enumerate(supply.wiring):
            yield from run_faults(run, ("supply", "wiring", k), "battery to controller")
    if motor and supply:
        yield from motor_agreement.voltage_warnings(motor, supply)
    more = [(k, one) for k, one in enumerate(values.get("more_motors", ())) if one]
    for k, one in more:
        yield from companion_faults(one, ("more_motors", k))
    yield from shared_faults([one for _, one in more], values.get("controller"))
    for k, stage in enumerate(values.get("transmission", ())):
        if stage:
            yield from mechanical.stage_faults(stage, ("transmission", k))
    for k, load in enumerate(values.get("side_loads", ())):
        if load:
            yield from side_load_faults(load, ("side_loads", k))
    if arm:
        yield from mechanical.arm_faults(arm)
        if arm.counterbalance:
            yield from counterbalance_faults(arm.counterbalance)
    if carriage:
        yield from carriage_faults(carriage)
    moves, load = values.get("moves"), arm or carriage
    if moves is not None:
        yield from mechanical.move_shape_faults(moves)
    if load and moves and all(moves) and "start" in values:
        yield from mechanical.travel_faults(moves, values["start"], load, values.get("repeat", 1))
    if moves and all(moves):
        yield from mechanical.profile_faults(moves)
        if load:
            yield from mechanical.handover_faults(moves, load, values.get("repeat", 1))
