"""More motors on shafts of the train from their sections."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace

from armsim.parts.companion import Companion
from armsim.parts.motor import Motor, resistance_ratio
from armsim.parts.stage import Stage
from armsim.scenario import schema
from armsim.scenario.faults import Faults
from armsim.scenario.motor_agreement import motor_faults
from armsim.scenario.motor_data import constants
from armsim.scenario.motors import ROTOR_LOSS_FREE, motor
from armsim.scenario.notes import Notes
from armsim.scenario.numbers import shown
from armsim.scenario.problems import Misreading
from armsim.scenario.side_loads import driven_shaft
from armsim.scenario.validate import Path
from armsim.scenario.wires import leads, run_faults


def companion_faults(given: schema.MoreMotor, path: Path) -> Faults:
    """The motor's figures like any other's, and none that its simpler law has no place for."""
    for place, fault in motor_faults(given.motor):
        yield (*path, *place), fault
    if given.motor.leads:
        yield from run_faults(given.motor.leads, (*path, "motor", "leads"), "controller to motor")
    if given.motor.brush_drop is not None:
        text = "the brushes of a further motor are not told apart from its resistance"
        yield (*path, "motor", "brush_drop"), Misreading("SCN122", text, "leave it out")
    if given.motor.built_in_reduction is not None:
        hint = f"give the bare motor's figures, and reduction: {shown(given.motor.built_in_reduction)} beside motor"
        text = "gears of a further motor are its reduction to the shaft"
        yield (*path, "motor", "built_in_reduction"), Misreading("SCN122", text, hint)


def shared_faults(given: Sequence[schema.MoreMotor], controller: schema.Controller | None) -> Faults:
    """What the controller of several motors cannot have."""
    if given and controller is not None and controller.supply_current_limit is not None:
        text = "more_motors follow the first motor's duty, and a limit of each bridge's draw would part them"
        yield ("controller", "supply_current_limit"), Misreading("SCN122", text, "give current_limit, of the motor")


def companions(
    given: Sequence[schema.MoreMotor],
    inside: int,
    stages: Sequence[Stage],
    bridge: float,
    ambient: float,
    notes: Notes,
    *,
    carriage: bool,
) -> tuple[Companion, ...]:
    """The motors on their shafts; `inside` of the machine's stages stand before those of the transmission.

    `bridge`: resistance of each one's bridge [ohm].
    """
    names = list(_names(given))
    built = []
    for k, one in enumerate(given):
        try:
            shaft = inside + driven_shaft(one.shaft, stages, carriage=carriage)
        except Misreading as fault:
            notes.faults.append((("more_motors", k, "shaft"), fault))
            continue
        found = _motor(one, k, notes)
        wires = None if one.motor.leads is None else leads(one.motor.leads, Notes())
        path = (bridge, 0.0 if wires is None else wires.resistance)
        built.append(_companion(found, names[k], shaft, one.reduction, path, ambient))
    if built:
        text = "their bridges follow the first motor's duty; windings at ambient"
        notes.default("more_motors", text)
    return tuple(built)


def _names(given: Sequence[schema.MoreMotor]) -> Iterator[str]:
    counts = Counter(one.name for one in given)
    for k, one in enumerate(given, start=2):
        yield one.name if one.name and counts[one.name] == 1 else f"{one.name or 'motor'} {k}"


def _motor(given: schema.MoreMotor, k: int, notes: Notes) -> Motor:
    """The motor as if it were the only one, what was assumed of it noted at its own place."""
    own = Notes()
    found = motor(given.motor, own)
    share = constants(given.motor).torque_share
    if share <= ROTOR_LOSS_FREE:
        text = f"{100.0 * (1.0 - share):.2g} % of torque that its figures lack at stall are left out of account"
        own.derived("motor.stall_torque", text)
    for one in own.assumptions:
        notes.assumptions.append(replace(one, key=f"more_motors[{k}].{one.key}"))
    notes.faults.extend((("more_motors", k, *path), fault) for path, fault in own.faults)
    return found


def _companion(
    found: Motor, name: str, shaft: int, reduction: float, path: tuple[float, float], ambient: float
) -> Companion:
    warm = 1.0 if found.heat is None else float(resistance_ratio(ambient, found.reference_temperature))
    return Companion(
        name=name,
        shaft=shaft,
        count=found.count,
        reduction=reduction,
        resistance=found.resistance * warm,
        inductance=found.inductance,
        bridge_resistance=path[0],
        lead_resistance=path[1],
        constant=found.back_emf_constant * reduction,
        coulomb_torque=found.coulomb_torque * reduction,
        viscous_drag=found.viscous_drag * reduction**2,
        breakaway_torque=found.breakaway_torque * reduction,
        inertia=found.rotor_inertia * reduction**2,
    )
