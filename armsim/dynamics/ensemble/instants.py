"""Instants inside steps: of events, and of the peaks of currents, for many designs at once."""

from collections.abc import Iterator
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from armsim.dynamics.ensemble.accounts import advance
from armsim.dynamics.ensemble.designs import Designs
from armsim.dynamics.ensemble.law import (
    BUS_VOLTS,
    SUPPLY,
    Index,
    Law,
    Step,
    joined,
    law_of,
    part_of,
    some,
    take_step,
    within_step,
)
from armsim.dynamics.ensemble.margins import Flags, guards_of_many
from armsim.dynamics.ensemble.rows import TIME, Array, places
from armsim.dynamics.field import Look
from armsim.dynamics.guards import Guard, Signal
from armsim.dynamics.plan import Travel
from armsim.dynamics.segment import ZERO
from armsim.dynamics.state import CURRENT, SPEED

if TYPE_CHECKING:
    from armsim.dynamics.ensemble.stretch import Stance

TURNS = 40  #: at most, of the search for an instant
EVENT, CREST = (
    1e-11,
    1e-5,
)  #: share of a step to which that of an event is found, and of a peak, near which little changes


class Aside(NamedTuple):
    """Designs set aside with the step in which something happened to them."""

    ids: Index
    table: Array  #: before the step
    step: Step
    fired: Flags  #: by guard
    early: Flags  #: those in the first half


Crests = tuple[list[Aside], list[Aside]]  #: of the motor's current and of the speed


def at_events(
    designs: Designs, stance: "Stance", task: Travel, asides: list[Aside], crests: Crests
) -> Iterator[tuple[Signal | None, int, Index, Array]]:
    """The first event of each design set aside, and its table brought there; a peak before it is set aside too."""
    ids, table, step, fired, early = joined(asides)
    machine = designs.pick(ids)
    law = law_of(machine, stance.mode, table, stance.ramping)
    guards = guards_of_many(law, table, task)
    share, first = np.full(len(ids), np.inf), np.zeros(len(ids), dtype=np.intp)
    for k in np.flatnonzero(fired.any(axis=1)):
        rows = np.flatnonzero(fired[k])
        part = (
            law
            if len(rows) == len(ids)
            else law_of(designs.pick(ids[rows]), stance.mode, table[:, rows], stance.ramping)
        )
        guard = guards[k] if part is law else guards_of_many(part, table[:, rows], task)[k]
        at = instant(part, guard, table[TIME, rows], some(step, rows), np.where(early[k, rows], 0.5, 1.0))
        sooner = rows[at < share[rows]]
        share[sooner], first[sooner] = at[at < share[rows]], k
    ended = take_step(law, table[TIME], step.start, share * step.span, step.lean, step.spectrum)
    for turns, kept in zip(turning(ended), crests, strict=True):
        peaks = np.flatnonzero(turns & (ended.span > 0.0))
        if peaks.size:
            kept.append(Aside(ids[peaks], table[:, peaks], some(ended, peaks), fired[:, peaks], early[:, peaks]))
    advance(law, table, ended)
    both = zip(machine.protection, places(machine), strict=True)
    opens = [pair[0 if device.opens_at_earliest else 1].tripped for device, pair in both]
    opened = ~np.isnan(table[opens]).all(axis=0)
    if opened.any():
        yield None, 0, ids[opened], table[:, opened]
    for k in np.unique(first[~opened]):
        rows = np.flatnonzero((first == k) & ~opened)
        yield guards[k].signal, guards[k].index, ids[rows], table[:, rows]


def turning(step: Step) -> tuple[Flags, Flags]:
    """Designs whose motor current, and whose speed, peaks inside a step."""
    start, nodes = step.start, step.nodes
    return (
        (start.slope > 0.0) & (part_of(nodes.slope, 1) < 0.0),
        (start.acceleration > 0.0) & (part_of(nodes.acceleration, 1) < 0.0),
    )


def at_crests(designs: Designs, stance: "Stance", asides: list[Aside], which: int) -> tuple[Index, tuple[Array, ...]]:
    """Motor current, speed, supply current and the negative bus voltage where the first or second peaks in a step."""
    ids, table, step, _, _ = joined(asides)
    law = law_of(designs.pick(ids), stance.mode, table, stance.ramping)
    slopes = (lambda _t, _y, now: now.current_slope), (lambda _t, _y, now: now.acceleration)
    slope = Guard(Signal.CLOCK, slopes[which], 0.0)
    share = instant(law, slope, table[TIME], step, np.ones(len(ids)), CREST)
    y = within_step(law, step, share)
    now = law.core(table[TIME] + share * step.span, y)  # type: ignore[arg-type]
    like = 0.0 * share
    return ids, (np.abs(y[CURRENT]), np.abs(y[SPEED]), now[SUPPLY] + like, like - now[BUS_VOLTS])


def instant(law: Law, guard: Guard, time: Array, step: Step, high: Array, near: float = EVENT) -> Array:
    """Share of a step at which a margin is used up, by false position that halves the weight of an end that stays."""

    def margin(share: Array) -> Array:
        y, now = within_step(law, step, share), time + share * step.span
        value: Array = guard.margin(now, y, Look(*law.core(now, y)))  # type: ignore[arg-type, assignment]
        return value + 0.0 * now

    low = np.zeros_like(high)
    start: Array = guard.margin(time, step.start.y, Look(*step.start.now)) + 0.0 * time  # type: ignore[arg-type]
    under, over = start, margin(high)
    begins = start <= ZERO * guard.scale
    at, side = high, np.zeros_like(high)
    for _ in range(TURNS):
        drop = under - over
        guess = low + (high - low) * np.clip(under / np.where(drop == 0.0, 1.0, drop), 0.0, 1.0)
        moved = np.max(np.abs(guess - at) * (over <= 0.0) * ~begins)
        at = guess
        if moved < near:
            break
        value = margin(at)
        left = value > 0.0
        under, over = (
            np.where(left, value, np.where(side < 0, 0.5 * under, under)),
            np.where(left, np.where(side > 0, 0.5 * over, over), value),
        )
        low, high, side = np.where(left, at, low), np.where(left, high, at), np.where(left, 1, -1)
    return np.where(begins, 0.0, at)
