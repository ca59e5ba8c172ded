"""What a step adds to a batch's table: integrals, extremes, and the thermal states of protective devices."""

from typing import cast

import numpy as np

from armsim.dynamics.ensemble.exponential import phis
from armsim.dynamics.ensemble.law import BUS_VOLTS, DUTY_NOW, EMF, SUPPLY, Law, Node, Step, part_of
from armsim.dynamics.ensemble.rows import (
    LOW_BUS,
    SQUARED,
    STATES,
    SUPPLIED,
    SUPPLY_SQUARED,
    TIME,
    TOP_CURRENT,
    TOP_HOUSING,
    TOP_SPEED,
    TOP_SUPPLY,
    TOP_WINDING,
    Array,
    Place,
    places,
)
from armsim.dynamics.state import CURRENT, HOUSING, SPEED, WINDING
from armsim.parts.protection import Edge


def advance(law: Law, new: Array, step: Step) -> None:
    """Bring a table over a step, in place."""
    start, span, nodes = step.start, step.span, step.nodes
    heat_devices(law, new, step)
    for row in range(STATES):
        new[row] = part_of(nodes.y[row], 1)
    new[TIME] += span
    current, sixth = nodes.y[CURRENT], span / 6.0
    (before, emf_before, bus_before), (supply, emf, bus) = supplied(start), supplied(nodes)
    new[SQUARED] += simpson(start.y[CURRENT] ** 2, current * current, sixth)
    new[SUPPLY_SQUARED] += simpson(before * before, supply * supply, sixth)
    new[SUPPLIED] += simpson(emf_before * before, emf * supply, sixth)
    raise_to(new[TOP_CURRENT], np.maximum(np.abs(start.y[CURRENT]), np.abs(current[1])))
    # where the duty stands still supply and bus peak with the motor's current, which is sought apart
    highest = top if isinstance(law.mode.duty.rate, np.ndarray) else ends
    raise_to(new[TOP_SUPPLY], highest(before, *supply))
    np.minimum(new[LOW_BUS], -highest(-bus_before, *(-bus)), out=new[LOW_BUS])
    raise_to(new[TOP_SPEED], np.abs(new[SPEED]))  # peaks between are sought apart as well
    raise_to(new[TOP_WINDING], new[WINDING])
    raise_to(new[TOP_HOUSING], new[HOUSING])


def supplied(node: Node) -> tuple[Array, Array, Array]:
    """Supply current, electromotive force and bus voltage at a node, design by design."""
    now, like = cast(tuple[Array, ...], node.now), 0.0 * node.y[CURRENT]
    return now[SUPPLY] + like, now[EMF] + like, now[BUS_VOLTS] + like


def simpson(before: Array, nodes: Array, sixth: Array) -> Array:
    """Integral over a step of a quantity known at its start and its nodes."""
    total: Array = sixth * (before + 4.0 * nodes[0] + nodes[1])
    return total


def raise_to(row: Array, values: Array) -> None:
    """A row of extremes brought up to new values."""
    np.maximum(row, values, out=row)


def top(a, b, c):  # type: ignore[no-untyped-def]
    """Highest of a quantity over a step, by the parabola through its start, middle and end."""
    bend, lean = a - 2.0 * b + c, c - a
    inside = (bend < 0.0) & (np.abs(lean) < -2.0 * bend)
    vertex = b - lean * lean / (8.0 * np.where(inside, bend, -1.0))
    return np.where(inside, vertex, np.maximum(np.maximum(a, b), c))


def ends(a, _, c):  # type: ignore[no-untyped-def]
    """The higher of both ends."""
    return np.maximum(a, c)


def crest(start, end, rise, fall):  # type: ignore[no-untyped-def]
    """Highest of the cubic between two values with its slopes there, per share of the way."""
    higher = np.maximum(start, end)
    inside = np.flatnonzero((rise > 0.0) & (fall < 0.0))
    if not inside.size:
        return higher
    a, b, r, f = start[inside], end[inside], rise[inside], fall[inside]
    square, cube = 3.0 * (b - a) - 2.0 * r - f, r + f - 2.0 * (b - a)
    at = r / (np.sqrt(np.maximum(square * square - 3.0 * cube * r, 0.0)) - square)
    at = np.clip(at, 0.0, 1.0)
    higher[inside] = np.maximum(higher[inside], a + at * (r + at * (square + at * cube)))
    return higher


def heat_devices(law: Law, table: Array, step: Step) -> None:
    """Thermal states of both edges of each device after a step, their heat exact for a quadratic one."""
    for device, pair, heats in zip(law.machine.protection, places(law.machine), law.heats, strict=True):
        multiples = []
        for node in (step.start, step.nodes):
            current = node.now[DUTY_NOW] * node.y[CURRENT] if device.branch else node.now[SUPPLY]
            multiples.append(np.abs(current) / device.in_force + 0.0 * node.y[CURRENT])
        for edge, place, heat in zip((device.earliest, device.latest), pair, heats, strict=True):
            heat_edge(edge, place, [heat(multiple) for multiple in multiples], table, step.span)  # type: ignore[arg-type, misc]


def heat_edge(edge: Edge, place: Place, heats: list[Array], table: Array, span: Array) -> None:
    """One edge's states, its highest state over its trip level, and the time it first tripped."""
    a, (b, c) = heats[0], heats[1]
    taus, weights = column(edge.time_constants), column(edge.weights)
    x = table[place.states]
    y = warmed(x, (a, b, c), span, taus)
    pace = weights / taus
    total = pace.sum(axis=0)
    (before, slow_before), (after, slow_after) = sums(weights, pace, x), sums(weights, pace, y)
    slope_before, slope_after = span * (total * a - slow_before), span * (total * c - slow_after)
    table[place.states] = y
    level = edge.trip_level
    raise_to(table[place.top], crest(before, after, slope_before, slope_after) / level)
    tripping = after >= level
    if tripping.any():
        trips = np.flatnonzero(tripping & np.isnan(table[place.tripped]))
        parts = (row[trips] for row in (before - level, after - level, slope_before, slope_after))
        share = crossing(*parts)
        table[place.tripped, trips] = table[TIME, trips] + share * span[trips]


def warmed(x: Array, heats: tuple[Array, Array, Array], span: Array, taus: Array) -> Array:
    """Thermal states after a step: by Simpson's rule where slow against it, else exact for a quadratic heat."""
    a, b, c = heats
    slow = span.max() / taus.max(axis=1) < SLUGGISH if taus.shape[1] == 1 else (span / taus).max(axis=1) < SLUGGISH
    if slow.all():
        return sluggish(x, heats, span, taus)
    y = np.empty_like(x)
    y[slow] = sluggish(x[slow], heats, span, taus[slow])
    ratio = span / taus[~slow]
    zero, one, two, three, *_ = phis(-ratio)
    rise, bend = 4.0 * b - 3.0 * a - c, 2.0 * (a - 2.0 * b + c)
    y[~slow] = zero * x[~slow] + ratio * (one * a + two * rise + (2.0 * three) * bend)
    return y


SLUGGISH = 0.25  #: step in time constants up to which Simpson's rule holds: r^5/2880 of the heat, r^4/720 of its rise


def sluggish(x: Array, heats: tuple[Array, Array, Array], span: Array, taus: Array) -> Array:
    """y = e^-r x + r/6 (e^-r a + 4 e^-r/2 b + c)."""
    a, b, c = heats
    half, sixth = np.exp(span * (-0.5 / taus)), span * (1.0 / (6.0 * taus))
    y = sixth * a
    y += x
    y *= half
    y += sixth * (4.0 * b)
    y *= half
    sixth *= c
    y += sixth
    return y


def sums(weights: Array, pace: Array, states: Array) -> tuple[Array, Array]:
    """Sum of states by their weights, and by their weights over their time constants."""
    if weights.shape[1] == 1 and pace.shape[1] == 1:
        level, slope = np.hstack((weights, pace)).T @ states
        return level, slope
    return (weights * states).sum(axis=0), (pace * states).sum(axis=0)


def column(values):  # type: ignore[no-untyped-def]
    """Numbers, or arrays of designs, below each other."""
    if all(isinstance(one, float) for one in values):
        return np.array(values)[:, None]
    return np.array(np.broadcast_arrays(*values))


def crossing(start, end, rise, fall):  # type: ignore[no-untyped-def]
    """Share of a step at which a cubic that begins below zero and ends above it passes it."""
    low, high = np.zeros_like(end), np.ones_like(end)
    at = np.clip(-start / np.where(end == start, 1.0, end - start), 0.0, 1.0)
    cube, square = rise + fall - 2.0 * (end - start), 3.0 * (end - start) - 2.0 * rise - fall
    for _ in range(12):
        value = start + at * (rise + at * (square + at * cube))
        low, high = np.where(value < 0.0, at, low), np.where(value < 0.0, high, at)
        slope = rise + at * (2.0 * square + 3.0 * at * cube)
        newton = at - value / np.where(slope == 0.0, 1.0, slope)
        at = np.where((newton > low) & (newton < high), newton, 0.5 * (low + high))
    return at
