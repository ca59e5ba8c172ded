"""What follows an event, for many designs: the stance each is in afterwards, or word that the exact run must go on.

Rare events (a fall back, a stop met on the way, a spring that goes slack, a reset, a device that opens, a jam) are left
to the exact run.
"""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from armsim.drivetrain.circuit import Warmth, stalled_torque
from armsim.drivetrain.machine import Machine
from armsim.drivetrain.train import VANISHING, all_driving, cone, forms, respond
from armsim.dynamics.electrics import electrics
from armsim.dynamics.ensemble.designs import Designs, pick
from armsim.dynamics.ensemble.law import Index, entries
from armsim.dynamics.ensemble.rows import (
    DUTY,
    ENDED,
    RATE,
    REACHED,
    SINCE,
    SPAN,
    STALLED,
    SURE,
    TIME,
    VISITS,
    Array,
)
from armsim.dynamics.ensemble.stretch import Exit, Stance
from armsim.dynamics.field import physics
from armsim.dynamics.guards import Signal
from armsim.dynamics.modes import Contact, Drive, Duty, Mode
from armsim.dynamics.motion import SLOW_DECAY
from armsim.dynamics.plan import Travel
from armsim.dynamics.state import ANGLE, CHARGE, CURRENT, HOUSING, SPEED, WINDING
from armsim.parts.arm import load_torque
from armsim.parts.bridge import duty_out

EDGE = 1e-3  #: share of an edge within which the exact run decides
MANY = 80  #: changes of mode after which a design is left to the exact run

Batch = tuple[Stance, Index, Array]


def after(designs: Designs, stance: Stance, left: Exit, task: Travel) -> Iterator[Batch]:
    """The stances in which designs go on after an exit; those that end or are given up are marked in their tables."""
    table, mode = left.table, stance.mode
    table[VISITS] += 1.0
    table[SPAN] *= 0.5
    if left.signal is None:
        yield from doubted(left.ids, table)
        return
    crowd = table[VISITS] > MANY
    if crowd.any():
        yield from doubted(left.ids[crowd], table[:, crowd])
        left = replace(left, ids=left.ids[~crowd], table=table[:, ~crowd])
        table = left.table
        if not left.ids.size:
            return
    if left.signal is Signal.TARGET:
        table[REACHED] = table[ENDED] = 1.0
        yield stance, left.ids, table
        return
    match left.signal:
        case Signal.CLOCK:
            yield from clock(designs, stance, left, task)
        case Signal.RESTS:
            yield from to_rest(designs, stance, left.ids, table, task, settled=False)
        case Signal.CREEPS:
            yield from creep(designs, stance, left, task)
        case Signal.RISES:
            yield from set_off(designs, stance, left.ids, table)
        case Signal.BRANCH:
            yield from turn_branch(designs, stance, left)
        case Signal.REGIME:
            yield from turn_regime(designs, stance, left)
        case Signal.LIMIT:
            yield from limit(designs, stance, left, task)
        case Signal.RATION:
            part = designs.pick(left.ids)
            given = electrics(part, own_duty(mode, table, stance.ramping))(table[TIME], entries(table))[4]  # type: ignore[arg-type]
            table[CURRENT] = part.controller.supply_current_limit / given  # type: ignore[operator]
            yield from at_rest_again(designs, turned(stance, drive=Drive.RATIONED), left.ids, table, task)
        case Signal.RELEASED:
            yield from at_rest_again(designs, turned(stance, drive=Drive.DRIVING), left.ids, table, task)
        case _:
            yield from doubted(left.ids, table)


def doubted(ids: Index, table: Array) -> Iterator[Batch]:
    """Designs that the exact run has to follow."""
    table[SURE], table[ENDED] = 0.0, 1.0
    yield Stance(Mode()), ids, table


def turned(stance: Stance, **changes: object) -> Stance:
    """The stance with some of its mode changed."""
    return stance._replace(mode=replace(stance.mode, **changes))  # type: ignore[arg-type]


def own_duty(mode: Mode, table: Array, ramping: bool) -> Mode:
    """The mode with each design's duty."""
    rate = table[RATE] if ramping else 0.0
    return replace(mode, duty=Duty(start=table[DUTY], rate=rate, since=table[SINCE]))


def split(mask: NDArray[np.bool_], ids: Index, table: Array) -> tuple[tuple[Index, Array], tuple[Index, Array]]:
    """Designs for which something holds, and the others."""
    return (ids[mask], table[:, mask]), (ids[~mask], table[:, ~mask])


def clock(designs: Designs, stance: Stance, left: Exit, task: Travel) -> Iterator[Batch]:
    """A ramp's end, or the time is up."""
    give_up = np.minimum(task.time_limit, left.table[STALLED] + task.patience)
    over = left.table[TIME] >= give_up - 1e-9
    (ended, lost), (ids, table) = split(over, left.ids, left.table)
    if ended.size:
        lost[ENDED] = 1.0
        yield stance, ended, lost
    if ids.size:
        table[DUTY], table[RATE], table[SINCE] = duty_out(designs.machine.controller, task.duty), 0.0, table[TIME]
        yield from at_rest_again(designs, stance._replace(ramping=False), ids, table, task)


def begin(designs: Designs, task: Travel, ids: Index, table: Array) -> Iterator[Batch]:
    """Every design under drive from rest on its support."""
    controller = designs.machine.controller
    wanted = duty_out(controller, task.duty)
    now = min(controller.minimum_duty, wanted)
    ramping = controller.ramp > 0.0 and now != wanted
    table[DUTY], table[RATE] = (now, 1.0 / controller.ramp) if ramping else (wanted, 0.0)
    stance = Stance(Mode(contact=Contact.BELOW, drive=Drive.DRIVING), ramping)
    yield from leave_rest(designs, stance, ids, table, task)


def leave_rest(designs: Designs, stance: Stance, ids: Index, table: Array, task: Travel) -> Iterator[Batch]:
    """Off at once where the torque is above the friction cone; else at rest, and stalled where that is for good."""
    machine = designs.pick(ids)
    edges, torque = cone(machine, table[ANGLE]), air_gap(machine, table)
    rises = (torque > edges.rise) | np.zeros(len(ids), dtype=bool)
    sinks = (
        torque < edges.sink - EDGE * np.abs(edges.sink) if stance.mode.contact is not Contact.BELOW else rises & False
    )
    for mask, go in ((rises, set_off), (sinks & ~rises, None)):
        if mask.any():
            if go is None:
                yield from doubted(ids[mask], table[:, mask])
            else:
                yield from go(designs, stance, ids[mask], table[:, mask])
    stays = ~(rises | sinks)
    if stays.any():
        yield from at_rest_again(designs, stance, ids[stays], table[:, stays], task)


def at_rest_again(designs: Designs, stance: Stance, ids: Index, table: Array, task: Travel) -> Iterator[Batch]:
    """On in a stance; at rest it is asked whether that is a stall."""
    mode = stance.mode
    if mode.sense == 0 and not stance.ramping:
        machine = designs.pick(ids)
        edge = cone(machine, table[ANGLE]).rise
        warmth = Warmth(table[WINDING], table[HOUSING])
        settled = stalled_torque(machine, task.duty, warmth, table[CHARGE])
        stalls = (settled <= edge) | mode.settled | (mode.contact is Contact.ABOVE)
        near = np.abs(settled - edge) < EDGE * np.abs(edge)
        table[SURE] = np.where(near, 0.0, table[SURE])
        table[STALLED] = np.where(stalls & np.isinf(table[STALLED]), table[TIME], table[STALLED])
        table[ENDED] = np.where(near, 1.0, table[ENDED])
    yield stance, ids, table


def air_gap(machine: Machine, table: Array) -> Array:
    """Torque of all motors now. [N*m]"""
    core = physics(machine, Mode(drive=Drive.SHORTED))
    torque: Array = core(0.0, entries(table))[6]  # type: ignore[arg-type, assignment]
    return torque


def to_rest(
    designs: Designs, stance: Stance, ids: Index, table: Array, task: Travel, *, settled: bool
) -> Iterator[Batch]:
    """Speed to zero, and at rest where the friction cone holds it."""
    table[SPEED] = 0.0
    arm = designs.pick(ids).arm
    leans = (table[ANGLE] >= arm.upper_stop) | (table[ANGLE] <= arm.lower_stop)
    if leans.any():
        yield from doubted(ids[leans], table[:, leans])
        ids, table = ids[~leans], table[:, ~leans]
    if not ids.size:
        return
    rest = turned(stance, sense=0, branch=(), regimes=(), contact=Contact.NONE, settled=settled, passing=False)
    yield from leave_rest(designs, rest, ids, table, task)


def creep(designs: Designs, stance: Stance, left: Exit, task: Travel) -> Iterator[Batch]:
    """A very slow motion: on where it only passes through, and near an edge where it dies away."""
    core = physics(designs.pick(left.ids), own_duty(stance.mode, left.table, stance.ramping))
    slowing = -stance.mode.sense * np.asarray(core(left.table[TIME], entries(left.table))[1])  # type: ignore[arg-type]
    passes = (slowing > 0.0) & (stance.mode.sense * left.table[SPEED] < slowing * SLOW_DECAY)
    (on, there), (rest, dying) = split(passes, left.ids, left.table)
    if on.size:
        yield turned(stance, passing=True), on, there
    if rest.size:
        yield from doubted(rest, dying)


def set_off(designs: Designs, stance: Stance, ids: Index, table: Array) -> Iterator[Batch]:
    """From rest upwards, each stage on the branch that agrees with its torque."""
    table[STALLED] = np.inf
    machine = designs.pick(ids)
    regimes, branch = speed_regimes_at_rest(machine), all_driving(machine)
    walk = forms(machine, 0.0, +1, branch, regimes)
    load, torque = load_torque(machine.arm, table[ANGLE]) + machine.arm.friction.excess(0.0), air_gap(machine, table)
    slope, per_load, constant, *_ = walk.motor
    acceleration = (torque - per_load * load - constant) / slope
    drives = np.ones(len(ids), dtype=bool)
    for line in walk.outputs:
        drives &= line.slope * acceleration + line.load * load + line.constant >= 0.0
    moving = turned(stance, sense=1, branch=branch, regimes=regimes, contact=Contact.NONE, settled=False, passing=False)
    if drives.any():
        yield moving, ids[drives], table[:, drives]
    for k in np.flatnonzero(~drives).tolist():
        one = respond(pick(machine, k), float(table[ANGLE, k]), 0.0, +1, float(torque[k]), regimes)
        if one is None:
            yield from doubted(ids[[k]], table[:, [k]])
        else:
            yield turned(moving, branch=one.branch), ids[[k]], table[:, [k]]


def speed_regimes_at_rest(machine: Machine) -> tuple[int, ...]:
    """The pieces of every stage's efficiency law that hold at standstill."""
    return (0,) * len(machine.stages)


def turn_branch(designs: Designs, stance: Stance, left: Exit) -> Iterator[Batch]:
    """A stage's torque has changed sign: its other branch, unless that jams."""
    machine, mode = designs.pick(left.ids), stance.mode
    branch = tuple(-b if k == left.index else b for k, b in enumerate(mode.branch))
    speed: float = left.table[SPEED]
    slope = forms(machine, speed, mode.sense, branch, mode.regimes).motor.slope
    driving = forms(machine, speed, mode.sense, all_driving(machine), mode.regimes).motor.slope
    goes = (slope > VANISHING * driving) | np.zeros(len(left.ids), dtype=bool)
    (on, there), (jam, stuck) = split(goes, left.ids, left.table)
    if on.size:
        yield turned(stance, branch=branch), on, there
    if jam.size:
        yield from doubted(jam, stuck)


def turn_regime(designs: Designs, stance: Stance, left: Exit) -> Iterator[Batch]:
    """A stage's speed has passed an edge of its efficiency law, and the motion is chosen again."""
    machine, mode, k = designs.pick(left.ids), stance.mode, left.index
    edges, piece = machine.stages[k].law.speed_edges, mode.regimes[k]
    speed = np.abs(left.table[SPEED]) * machine.shaft_turns[k]
    ups = np.zeros(len(left.ids), dtype=bool)
    if piece < len(edges):
        ups |= (piece == 0) | (np.abs(speed - edges[piece]) <= np.abs(speed - edges[piece - 1]))
    for (ids, table), move in zip(split(ups, left.ids, left.table), (1, -1), strict=True):
        if ids.size:
            regimes = tuple(p + move if j == k else p for j, p in enumerate(mode.regimes))
            yield turned(stance, regimes=regimes, passing=False), ids, table


def limit(designs: Designs, stance: Stance, left: Exit, task: Travel) -> Iterator[Batch]:
    """The current is at the controller's limit: held there, or only touched by a current that falls already."""
    table = left.table
    back = table[CURRENT] < 0.0
    if back.any():
        yield from doubted(left.ids[back], table[:, back])
    ahead = np.flatnonzero(~back)
    if not ahead.size:
        return
    ids, table = left.ids[ahead], table[:, ahead]
    part = designs.pick(ids)
    table[CURRENT] = part.controller.current_limit
    held = turned(stance, drive=Drive.REGULATING, current=1.0, saturated=False)
    mode = own_duty(held.mode, table, stance.ramping)
    needed = electrics(part, mode)(table[TIME], entries(table))[4]  # type: ignore[arg-type]
    wished = mode.duty.at(table[TIME])
    keeps = (wished - needed > 0.0) | np.zeros(len(ids), dtype=bool)
    for mask, stance_after in ((keeps, held), (~keeps, turned(stance, drive=Drive.DRIVING))):
        if mask.any():
            yield from at_rest_again(designs, stance_after, ids[mask], table[:, mask], task)
