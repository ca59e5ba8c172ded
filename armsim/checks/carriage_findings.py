"""What only a carriage has: a rope that cannot push, a constant weight, and a pinion or drum of another size."""

import math
from collections.abc import Iterator
from dataclasses import replace

from armsim.checks.assessment import Finding, Level, SizeRow
from armsim.checks.codes import finding
from armsim.checks.lifting import LiftTask, available_torque, first_lift, static_margin
from armsim.checks.phrases import number
from armsim.checks.transmission import steady_speed
from armsim.drivetrain.machine import Machine, loaded
from armsim.dynamics.plan import Follow, Going, Plan, payloads
from armsim.parts.carriage import Carriage
from armsim.parts.rack import Drum, Rack, drum_radius, pinion_radius

TEETH = (-2, -1, 0, 1, 2)  #: beside a pinion's own
SHARES = (0.8, 0.9, 1.0, 1.1, 1.2)  #: of a drum's own diameter


def other_sizes(machine: Machine, plan: Plan) -> tuple[SizeRow, ...]:
    """Speed, force and margin with pinions of a few teeth less and more, or drums of other diameters; of none, none."""
    made = machine.stages[-1].hardware if machine.stages else None
    if isinstance(made, Rack):
        sizes = [
            (f"{z} teeth", pinion_radius(z, made.module, made.helix_angle), z == made.teeth)
            for z in (made.teeth + k for k in TEETH)
        ]
    elif isinstance(made, Drum):
        layer = 0.5 * (1 + made.layers)
        sizes = [
            (
                f"{number(1e3 * share * made.diameter)} mm",
                drum_radius(share * made.diameter, made.rope_diameter, layer),
                share == 1.0,
            )
            for share in SHARES
        ]
    else:
        return ()
    task = first_lift(plan)
    return tuple(_size_row(machine, task, name, radius, own) for name, radius, own in sizes)


def _size_row(machine: Machine, task: LiftTask | None, name: str, radius: float, own: bool) -> SizeRow:
    last = replace(machine.stages[-1], reduction=1.0 / radius, driver_radius=radius)
    other = replace(machine, stages=(*machine.stages[:-1], last))
    duty = 1.0 if task is None else task.duty
    margin = None if task is None else static_margin(other, task)
    return SizeRow(
        name=name,
        own=own,
        travel=math.tau / other.reduction,
        speed=steady_speed(other, 0.0 if task is None else task.start, duty),
        force=max(available_torque(other, duty), 0.0),
        margin=None if margin is None else margin.value,
    )


def carriage_findings(machine: Machine, plan: Plan) -> Iterator[Finding]:
    """A rope that goes slack, and the counterweight that would carry the load."""
    load = machine.arm
    if not isinstance(load, Carriage):
        return
    if load.weight > 0.0:
        text = f"Gravity asks for {number(load.weight)} N all the way up"
        text += " beside the counterweight." if load.counterweight else "."
        mend = f"a counterweight of {number(load.carried * math.sin(load.incline))} kg would carry all of it"
        yield finding(Level.NOTE, "balance-would-help", "carriage.counterweight", text, mend)
    if machine.stages and machine.stages[-1].kind == "drum":
        yield from rope_findings(machine, plan)


def rope_findings(machine: Machine, plan: Plan) -> Iterator[Finding]:
    """A rope pulls and never pushes: the carriage must sink by itself, and as fast as it is let down."""
    masses, at = payloads(machine.arm, plan), plan.start
    where = f"transmission: {machine.stages[-1].name}"
    for k, move in enumerate(plan.moves):
        if not isinstance(move, Going):
            continue
        sense, at = (1.0 if move.to > at else -1.0), move.to
        load = loaded(machine, masses[k]).arm
        assert isinstance(load, Carriage)
        left = load.weight + sense * load.friction.coulomb  #: against the way up it helps to keep the rope tight
        name = "lift" if sense > 0.0 else "lower"
        if left <= 0.0:
            text = (
                f"moves[{k}]: gravity does not take the carriage down against friction, {number(-left)} N are short; "
            )
            text += "the rope goes slack, which the run does not follow."
            yield finding(Level.WARNING, "rope-slackens", where, text, "a weight on it, a rope both ways, or a rack")
        elif isinstance(move, Follow) and move.limits.acceleration > left / load.inertia:
            text = (
                f"moves[{k}]: the {name}'s acceleration of {number(move.limits.acceleration)} m/s^2 is more than the "
            )
            text += f"{number(left / load.inertia)} m/s^2 that the carriage follows by itself; the rope goes slack, "
            text += "which the run does not follow."
            yield finding(Level.WARNING, "rope-slackens", where, text, "less acceleration")
