"""Designs that are in one mode, followed until each leaves it: by a guard, or as its time is up.

Where a guard is used up inside a step the design is set aside, and the instants of all of them are sought together once
every design has left; so are the instants at which currents peak.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from armsim.drivetrain.machine import Machine
from armsim.dynamics.ensemble.accounts import advance
from armsim.dynamics.ensemble.designs import Designs
from armsim.dynamics.ensemble.exponential import Spectrum, spectrum
from armsim.dynamics.ensemble.instants import Aside, Crests, at_crests, at_events, turning
from armsim.dynamics.ensemble.law import Index, Law, Node, entries, law_of, lean_of, node_at, part_of, some, take_step
from armsim.dynamics.ensemble.margins import crossings, dips, guards_of_many, margins_of
from armsim.dynamics.ensemble.rows import (
    DUTY,
    LOW_BUS,
    RATE,
    SINCE,
    SPAN,
    STALLED,
    TIME,
    TOP_CURRENT,
    TOP_SPEED,
    TOP_SUPPLY,
    Array,
    places,
)
from armsim.dynamics.guards import Guard, Signal
from armsim.dynamics.modes import Mode
from armsim.dynamics.plan import Travel
from armsim.dynamics.state import ANGLE, SPEED

BEGINS = 0.5  #: first step of a design, in time constants of its fastest motion
EXACT, ROUGH = 5e-5, 5e-4  #: expected corrections and misses of Simpson's rule allowed in a step, of the scales
LEAST, MOST = 0.2, 3.0  #: by which a step may shrink or grow
TINIEST = 1e-9  #: step that is taken whatever its error [s]
FARTHEST = 0.5  #: largest turn of the arm in a step, of what counts as large for it [-]
CROWDED = 0.75  #: share of designs still in the mode below which the others are cleared away


class Stance(NamedTuple):
    """A mode as designs share it: their duties are their own."""

    mode: Mode
    ramping: bool = False


@dataclass(frozen=True, kw_only=True)
class Exit:
    """Designs that left a stance together."""

    signal: Signal | None  #: None: the exact run has to follow them
    index: int  #: of the stage concerned
    ids: Index
    table: Array


def follow(designs: Designs, stance: Stance, ids: Index, table: Array, task: Travel) -> list[Exit]:
    """Follow designs in a stance until every one has left it."""
    exits: list[Exit] = []
    events: list[Aside] = []
    crests: Crests = ([], [])
    opens = opening_rows(designs.machine)
    machine, law, guards, start = set_up(designs, stance, ids, table, task)
    horizon, here = known_time(stance, table, task), np.ones(len(ids), dtype=bool)
    margins = margins_of(guards, table[TIME], start)
    while True:
        lean = lean_of(law, table[TIME], start)
        found = spectrum(*lean.matrix)
        span = np.minimum(next_span(table, start, found, FARTHEST * machine.arm.small), horizon - table[TIME])
        span = np.maximum(span, 0.0)
        step = take_step(law, table[TIME], start, span, lean, found)
        taken, factor = judged(step.error, step.roughness, span)
        table[SPAN] = span * factor
        after_margins = margins_of(guards, table[TIME] + np.array([[0.5], [1.0]]) * span, step.nodes)
        unseen = dips(guards, margins, after_margins) & (span > TINIEST)
        taken, table[SPAN] = taken & ~unseen, np.where(unseen, 0.3 * span, table[SPAN])
        fired, early = crossings(guards, margins, after_margins)
        hit = fired.any(axis=0) & taken & here
        tops = [taken & here & ~hit & turns for turns in turning(step)]
        for mask, kept in zip((hit, *tops), (events, *crests), strict=True):
            if mask.any():
                index = np.flatnonzero(mask)
                parts = ids[index], table[:, index], some(step, index), fired[:, index], early[:, index]
                kept.append(Aside(*parts))
        again = np.flatnonzero(~taken)
        before = table[:, again]
        advance(law, table, step)
        table[:, again] = before
        lost = here & ~hit & (~np.isfinite(table[ANGLE]) | ~np.isnan(table[opens]).all(axis=0))
        done = here & ~hit & ~lost & (horizon - table[TIME] <= 1e-12 * (1.0 + table[TIME]))
        for mask, signal in ((lost, None), (done, Signal.CLOCK)):
            if mask.any():
                exits.append(Exit(signal=signal, index=0, ids=ids[mask], table=table[:, mask]))
        here &= ~(hit | lost | done)
        left = int(here.sum())
        if not left:
            break
        margins = np.where(taken, after_margins[:, 1], margins)
        if left < CROWDED * len(ids):
            keep = np.flatnonzero(here)
            ids, table, horizon, margins = ids[keep], table[:, keep], horizon[keep], margins[:, keep]
            here = np.ones(len(ids), dtype=bool)
            machine, law, guards, start = set_up(designs, stance, ids, table, task)
        else:
            start = part_of(step.nodes, 1) if not again.size else node_at(law, law.core, table[TIME], entries(table))
    return finished(designs, stance, task, exits, events, crests)


def finished(
    designs: Designs, stance: Stance, task: Travel, exits: list[Exit], events: list[Aside], crests: Crests
) -> list[Exit]:
    """All exits, those by events brought to their instants, and the peaks of currents in every table."""
    if events:
        exits += [
            Exit(signal=signal, index=index, ids=ids, table=table)
            for signal, index, ids, table in at_events(designs, stance, task, events, crests)
        ]
    crowns = np.full((4, 1 + max(int(one.ids.max()) for one in exits)), -np.inf)
    for which, asides in enumerate(crests):
        if asides:
            ids, values = at_crests(designs, stance, asides, which)
            for crown, found in zip(crowns, values, strict=True):
                np.maximum.at(crown, ids, found)
    for one in exits:
        current, speed, supply, sag = crowns[:, one.ids]
        for row, value in ((TOP_CURRENT, current), (TOP_SPEED, speed), (TOP_SUPPLY, supply)):
            one.table[row] = np.maximum(one.table[row], value)
        one.table[LOW_BUS] = np.minimum(one.table[LOW_BUS], -sag)
    return exits


def judged(error: Array, roughness: Array, span: Array) -> tuple[NDArray[np.bool_], Array]:
    """Which steps are taken, and by what factor the next ones differ."""
    bad = np.maximum(error / EXACT, roughness / ROUGH)
    bad = np.where(np.isfinite(bad), bad, np.where(span > 0.0, 1e6, 0.0))
    return (bad <= 1.0) | (span < TINIEST), np.clip(0.85 * (bad + 1e-9) ** -0.2, LEAST, MOST)


def opening_rows(machine: Machine) -> list[int]:
    """Where the trip time of each device's edge that opens it stands."""
    both = zip(machine.protection, places(machine), strict=True)
    return [pair[0 if device.opens_at_earliest else 1].tripped for device, pair in both]


def set_up(
    designs: Designs, stance: Stance, ids: Index, table: Array, task: Travel
) -> tuple[Machine, Law, list[Guard], Node]:
    """Machine, law and guards of some designs, and the field where they are."""
    machine = designs.pick(ids)
    law = law_of(machine, stance.mode, table, stance.ramping)
    return machine, law, guards_of_many(law, table, task), node_at(law, law.core, table[TIME], entries(table))


def known_time(stance: Stance, table: Array, task: Travel) -> Array:
    """When something happens whatever the machine does: the ramp's end, or the operator gives up. [s]"""
    known: Array = np.minimum(task.time_limit, table[STALLED] + task.patience)
    if stance.ramping:
        known = np.minimum(known, table[SINCE] + (task.duty - table[DUTY]) / table[RATE])
    return known


def next_span(table: Array, start: Node, found: Spectrum, far: float) -> Array:
    """How long the next step shall be, by what the last one said; at first by the fastest motion. [s]"""
    span = table[SPAN]
    if (span <= 0.0).any():
        quickest = np.where(found.turning, np.hypot(found.first, found.second), np.abs(found.first))
        span = np.where(span <= 0.0, BEGINS / np.maximum(quickest, 1e-6), span)
    shorter: Array = np.minimum(span, far / np.maximum(np.abs(start.y[SPEED]), 1e-12))
    return shorter
