"""One lift of many designs at once."""

import math
from collections import defaultdict
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from armsim.drivetrain.machine import Machine
from armsim.dynamics.ensemble.designs import Designs
from armsim.dynamics.ensemble.law import Index
from armsim.dynamics.ensemble.rows import (
    ENDED,
    LOW_BUS,
    REACHED,
    SQUARED,
    STALLED,
    SUPPLIED,
    SUPPLY_SQUARED,
    SURE,
    TIME,
    TOP_CURRENT,
    TOP_HOUSING,
    TOP_SPEED,
    TOP_SUPPLY,
    TOP_WINDING,
    Array,
    fresh,
    places,
)
from armsim.dynamics.ensemble.scope import unsupported
from armsim.dynamics.ensemble.stretch import Stance, follow
from armsim.dynamics.ensemble.turns import EDGE, Batch, after, begin
from armsim.dynamics.plan import Plan, Travel
from armsim.dynamics.state import ANGLE

BATCH = 8192  #: designs that are advanced together: half of what a step costs 4096 is calls

Flags = NDArray[np.bool_]


@dataclass(frozen=True, kw_only=True)
class Lifts:
    """How the lift of each design went; what is not known of one that is not sure is not to be used."""

    sure: Flags  #: False where the exact run has to decide
    reached: Flags
    stalled: Flags  #: stood still under drive at some time before the end
    lift_time: Array  #: NaN where it does not arrive [s]
    duration: Array  #: until it arrived or was given up [s]
    final_angle: Array  #: [rad]
    motor_peak: Array  #: of each motor [A]
    supply_peak: Array  #: other loads included [A]
    motor_rms: Array  #: [A]
    supply_rms: Array  #: [A]
    energy: Array  #: given by the source's electromotive force [J]
    bus_least: Array  #: [V]
    speed_peak: Array  #: of the arm [rad/s]
    winding_peak: Array  #: [degC]
    housing_peak: Array  #: [degC]
    heat_peak: tuple[Array, ...]  #: of each device's earliest edge, over its trip level [-]
    earliest: tuple[Array, ...]  #: when each device's earliest edge trips, NaN if it does not [s]
    latest: tuple[Array, ...]  #: likewise of its latest edge [s]


def lift_many(machine: Machine, plan: Plan, count: int) -> Lifts:
    """Follow the one lift of a plan for `count` designs of a machine of arrays, from rest at the plan's start.

    Raises ValueError where `unsupported` has a reason.
    """
    reason = unsupported(machine, plan)
    if reason is not None:
        raise ValueError(reason)
    (task,) = plan.moves
    assert isinstance(task, Travel)
    with np.errstate(all="ignore"):  # designs out of bounds become NaN and are left to the exact run
        designs = Designs.of(machine)
        tables = [lift_batch(designs.some(ids), plan.start, task, len(ids)) for ids in batches(count)]
    return told(machine, np.concatenate(tables, axis=1))


def batches(count: int) -> list[Index]:
    """Designs by number, in batches of like size."""
    parts = max(1, math.ceil(count / BATCH))
    return np.array_split(np.arange(count), parts)


def lift_batch(designs: Designs, start: float, task: Travel, count: int) -> Array:
    """The table of a batch at its end: the fullest stance goes on first, so that designs gather in the others."""
    machine = designs.machine
    final = fresh(machine, start, count)
    waiting: dict[Stance, list[tuple[Index, Array]]] = defaultdict(list)

    def put(batch: Batch) -> None:
        stance, ids, table = batch
        over = table[ENDED] > 0.0
        final[:, ids[over]] = table[:, over]
        if not over.all():
            waiting[stance].append((ids[~over], table[:, ~over]))

    for batch in begin(designs, task, np.arange(count), final.copy()):
        put(batch)
    while waiting:
        stance = max(waiting, key=lambda one: sum(len(ids) for ids, _ in waiting[one]))
        parts = waiting.pop(stance)
        ids, table = np.concatenate([i for i, _ in parts]), np.concatenate([t for _, t in parts], axis=1)
        for left in follow(designs, stance, ids, table, task):
            for batch in after(designs, stance, left, task):
                put(batch)
    return final


def told(machine: Machine, table: Array) -> Lifts:
    """What a finished table says."""
    devices, span = places(machine), np.maximum(table[TIME], 1e-300)
    reached = table[REACHED] > 0.0
    sure = table[SURE] > 0.0
    for pair in devices:
        for place in pair:
            sure &= np.abs(table[place.top] - 1.0) > EDGE
    lowest = machine.controller.undervoltage
    if lowest is not None:
        sure &= np.abs(table[LOW_BUS] - lowest) > EDGE * np.abs(lowest)
    return Lifts(
        sure=sure,
        reached=reached,
        stalled=np.isfinite(table[STALLED]),
        lift_time=np.where(reached, table[TIME], np.nan),
        duration=table[TIME],
        final_angle=table[ANGLE],
        motor_peak=table[TOP_CURRENT],
        supply_peak=table[TOP_SUPPLY],
        motor_rms=np.sqrt(table[SQUARED] / span),
        supply_rms=np.sqrt(table[SUPPLY_SQUARED] / span),
        energy=table[SUPPLIED],
        bus_least=table[LOW_BUS],
        speed_peak=table[TOP_SPEED],
        winding_peak=table[TOP_WINDING],
        housing_peak=table[TOP_HOUSING],
        heat_peak=tuple(table[pair[0].top] for pair in devices),
        earliest=tuple(table[pair[0].tripped] for pair in devices),
        latest=tuple(table[pair[1].tripped] for pair in devices),
    )
