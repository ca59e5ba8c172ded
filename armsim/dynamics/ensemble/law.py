"""The law of a mode for many designs, and one exponential step of it.

The electromechanical pair is taken exactly, whatever else the field holds as a forcing that is cubic over a step: it
is evaluated by the field itself at both ends and half way, predicted straight and corrected twice. Slow states
follow by the same nodes. Both nodes of a step are evaluated at once: their arrays have two rows, half way and end.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from armsim.drivetrain.machine import Machine
from armsim.dynamics.ensemble.exponential import Flow, Matrix, Spectrum, flow_of, pairs
from armsim.dynamics.ensemble.rows import DUTY, RATE, SINCE, STATES, Array
from armsim.dynamics.field import Core, Numbers, physics, slow_rates
from armsim.dynamics.modes import Duty, Mode
from armsim.dynamics.state import ANGLE, CHARGE, CURRENT, HOUSING, RELAXATION, SPEED, WINDING
from armsim.parts.protection import Edge, heating_along, heating_of

Heating = Callable[[float], float]
Index = NDArray[np.intp]
SLOW = (WINDING, HOUSING, CHARGE, RELAXATION)
PROBE = 1e-3  #: share of its scale by which a state is moved to find the slopes of the field
QUARTIC = 0.03  #: share of its cubic part by which the forcing may be no cubic
FAINT = 0.03  #: share of its scale below which a state counts as if it were so large
HOT = 100.0  #: size of a temperature rise [K]
MOMENT = 1e-6  #: time over which its drift is found [s]
SLOPE, ACCELERATION, EMF, BUS_VOLTS, SUPPLY, DUTY_NOW = range(6)  #: places in what the field's core gives
SHARES = np.array([[0.5], [1.0]])  #: of a step at which its nodes stand


@dataclass(frozen=True, kw_only=True)
class Law:
    """A mode's field over a batch, in the sense of one design for each entry of its arrays."""

    machine: Machine
    mode: Mode
    core: Core  #: with the torques of the stages
    bare: Core  #: without
    rates: Callable[[Numbers, list[Array]], tuple[Array, Array, Array, Array]]  #: of the slow states
    heats: tuple[tuple[Heating, Heating], ...]  #: of each device's edges
    probes: tuple[Array, Array]  #: by which current and speed are moved [A, rad/s]


def law_of(machine: Machine, mode: Mode, table: Array, ramping: bool) -> Law:
    """The law of designs in a mode, each with its own duty."""
    rate = table[RATE] if ramping else 0.0
    mode = replace(mode, duty=Duty(start=table[DUTY], rate=rate, since=table[SINCE]))
    stall = machine.highest_voltage / machine.loop_resistance
    ones = np.ones(table.shape[1])
    return Law(
        machine=machine,
        mode=mode,
        core=physics(machine, mode),
        bare=physics(machine, mode, lambda *_: ()),
        rates=slow_rates(machine, mode),  # type: ignore[arg-type]
        heats=tuple((_heating(one.earliest), _heating(one.latest)) for one in machine.protection),
        probes=(PROBE * stall * ones, PROBE * machine.no_load_speed * ones),
    )


def _heating(edge: Edge) -> Heating:
    """What gives an edge's heating; one of plain numbers is known from before."""
    plain = all(isinstance(one, float) for one in (edge.ultimate_multiple, *edge.time_constants, *edge.weights))
    return heating_of(edge) if plain else heating_along(edge.corrections)


def entries(table: Array) -> list[Array]:
    """A table's state as the field wants it."""
    return [*table[:STATES].copy(), np.zeros(table.shape[1])]  # the table goes on in place


class Node(NamedTuple):
    """The field at an instant of a step, or at both of its nodes."""

    y: list[Array]
    now: Numbers
    slope: Array  #: [A/s]
    acceleration: Array  #: [rad/s2]
    slow: tuple[Array, Array, Array, Array]  #: rates of the slow states


def node_at(law: Law, core: Core, time: Array, y: list[Array]) -> Node:
    """The field at a time and a state."""
    now = core(time, y)  # type: ignore[arg-type]
    like = 0.0 * y[CURRENT]
    return Node(y, now, now[SLOPE] + like, now[ACCELERATION] + like, law.rates(now, y))


Forcing = tuple[Array, ...]  #: coefficients of s and, once corrected, of s^2 and s^3


class Lean(NamedTuple):
    """The field's straight part about a node: its derivatives by current and speed, and by time along all else."""

    matrix: Matrix  #: a11, a12, a21, a22
    drift: tuple[Array, Array]  #: [A/s2, rad/s3]


class Step(NamedTuple):
    """A step of every design: where it began, its nodes half way and at its end, and what it can be trusted by."""

    span: Array  #: [s]
    start: Node
    nodes: Node
    lean: Lean
    spectrum: Spectrum
    bends: tuple[Forcing, Forcing]  #: of current and of speed
    error: Array  #: what another correction would change, as the last two let expect, in shares of its scales
    roughness: Array  #: by which Simpson's rule misses the means of current and speed, likewise


def part_of(value: Any, k: int) -> Any:
    """What stands at one of a step's nodes."""
    if isinstance(value, np.ndarray):
        return value[k] if value.ndim == 2 else value
    if isinstance(value, tuple):
        return _made(value, [part_of(one, k) for one in value])
    return [part_of(one, k) for one in value] if isinstance(value, list) else value


def some(value: Any, index: Index) -> Any:
    """The same of some of the designs."""
    if isinstance(value, np.ndarray):
        return value.take(index, axis=-1)
    if isinstance(value, tuple):
        return _made(value, [some(one, index) for one in value])
    return [some(one, index) for one in value] if isinstance(value, list) else value


def joined(parts: list[Any]) -> Any:
    """Designs of several in one."""
    first = parts[0]
    if isinstance(first, np.ndarray):
        return np.concatenate(parts, axis=-1)
    if isinstance(first, tuple):
        return _made(first, [joined(list(column)) for column in zip(*parts, strict=True)])
    return [joined(list(column)) for column in zip(*parts, strict=True)] if isinstance(first, list) else first


def _made(like: Any, values: list[Any]) -> Any:
    return type(like)(*values) if hasattr(like, "_fields") else tuple(values)


def lean_of(law: Law, time: Array, start: Node) -> Lean:
    """The field's straight part about a node, by moving its states a little."""
    moving = law.mode.sense != 0
    by_current, by_speed = law.probes
    count = 3 if moving else 2
    moved = []
    for state, rate in zip(start.y, drifts(start), strict=True):
        rows = np.empty((count, len(time)))
        rows[:] = state
        if rate is not None:
            rows[1] += MOMENT * rate
        moved.append(rows)
    moved[CURRENT][0] += by_current
    if moving:
        moved[SPEED][2] += by_speed
    times = np.empty((count, len(time)))
    times[:] = time
    times[1] += MOMENT
    now = law.bare(times, moved)  # type: ignore[arg-type]
    electrical = now[SLOPE] - start.slope + 0.0 * times
    zero = 0.0 * by_current
    if not moving:
        return Lean((electrical[0] / by_current, zero, zero, zero), (electrical[1] / MOMENT, zero))
    mechanical = now[ACCELERATION] - start.acceleration + 0.0 * times
    matrix = electrical[0] / by_current, electrical[2] / by_speed, mechanical[0] / by_current, mechanical[2] / by_speed
    return Lean(matrix, (electrical[1] / MOMENT, mechanical[1] / MOMENT))


def drifts(start: Node) -> list[Array | None]:
    """Rates of all states but the pair."""
    return [None, None, start.y[SPEED], *start.slow, None]


def take_step(law: Law, time: Array, start: Node, span: Array, lean: Lean, found: Spectrum) -> Step:
    """One step of every design from a node: predicted with what is straight, corrected with what bends."""
    functions = pairs(found, span, both=True)
    flow = flow_of(lean.matrix, functions, SHARES * span, SHARES, law.mode.sense != 0)
    bends: tuple[Forcing, Forcing] = (span * lean.drift[0],), (span * lean.drift[1],)
    slow = [SHARES * span * rate for rate in start.slow]
    reached = []
    times = time + SHARES * span
    for correction in range(3):
        y, integral = _moved(law, flow, start, bends, whole=correction == 2)
        for row, gain in zip(SLOW, slow, strict=True):
            y[row] = start.y[row] + gain
        nodes = node_at(law, law.core if correction == 2 else law.bare, times, y)
        reached.append([part_of(one, 1) for one in y])
        if correction < 2:
            bends, slow = _bends(lean.matrix, bends, start, nodes), _slow_moves(span, start, nodes)
    sizes = _sizes(law, start, nodes)
    first, second = _apart(law, reached[1], reached[0], sizes), _apart(law, reached[2], reached[1], sizes)
    error = second * np.minimum(1.0, second / np.maximum(first, 1e-12))
    roughness = _missed(start.y[CURRENT], nodes.y[CURRENT], integral[1] / span) / sizes[0]
    if law.mode.sense:
        way = (nodes.y[ANGLE][1] - start.y[ANGLE]) / span - start.y[SPEED]
        roughness = np.maximum(roughness, _missed(start.y[SPEED], nodes.y[SPEED], way) / sizes[1])
        error = np.maximum(error, QUARTIC * np.abs(_cubic(flow, bends)) / sizes[1])
    return Step(span, start, nodes, lean, found, bends, error, roughness)


def within_step(law: Law, step: Step, share: Array) -> list[Array]:
    """The state at a share of a step, as exact as its end."""
    functions = pairs(step.spectrum, share * step.span, both=False)
    flow = flow_of(step.lean.matrix, functions, (share * step.span)[None, :], share[None, :], law.mode.sense != 0)
    y, _ = _moved(law, flow, step.start, step.bends, whole=False)
    y = [part_of(one, 0) for one in y]
    nodes, span = step.nodes, share * step.span
    for row, a, rates in zip(SLOW, step.start.slow, nodes.slow, strict=True):
        b, c = part_of(rates, 0), part_of(rates, 1)
        rise, bend = 4.0 * b - 3.0 * a - c, 2.0 * (a - 2.0 * b + c)
        y[row] = step.start.y[row] + span * (a + share * (0.5 * rise + share * bend / 3.0))
    return y


def _cubic(flow: Flow, bends: tuple[Forcing, Forcing]) -> Array:
    """What the cubic part of the forcing adds to the speed at a step's end."""
    by_current, by_speed = flow.mechanic
    added: Array = flow.factors[3][-1] * (by_current[3, -1] * bends[0][2] + by_speed[3, -1] * bends[1][2])
    return added


def _missed(before: Array, nodes: Array, gain: Array) -> Array:
    """By how much Simpson's rule misses the mean gain of a quantity over a step."""
    missed: Array = np.abs((4.0 * nodes[0] + nodes[1] - 5.0 * before) / 6.0 - gain)
    return missed


def _sizes(law: Law, start: Node, nodes: Node) -> list[Array]:
    """What current and speed are measured against in a step: their own size, or a share of their scales."""
    sizes = []
    for row, probe in zip((CURRENT, SPEED), law.probes, strict=True):
        size = np.maximum(np.abs(start.y[row]), np.abs(nodes.y[row]).max(axis=0))
        sizes.append(np.maximum(size, probe * (FAINT / PROBE)))
    return sizes


def _apart(law: Law, one: list[Array], other: list[Array], sizes: list[Array]) -> Array:
    """How far two states are apart, in shares of the sizes of current, speed and temperature."""
    far = np.abs(one[CURRENT] - other[CURRENT]) / sizes[0]
    far = np.maximum(far, np.abs(one[WINDING] - other[WINDING]) / HOT)
    if law.mode.sense:
        far = np.maximum(far, np.abs(one[SPEED] - other[SPEED]) / sizes[1])
    return far


def _moved(law, flow, start, bends, *, whole):  # type: ignore[no-untyped-def]
    """State at shares of the step but for the slow ones, and with `whole` the integral of the current's change."""
    spans, factors = flow.spans, flow.factors
    count = len(bends[0]) + 1

    def forces(rate, bend):  # type: ignore[no-untyped-def]
        found = np.empty((count, *spans.shape))
        for row, factor, coefficient in zip(found, factors, (rate, *bend), strict=False):
            np.multiply(factor, coefficient, out=row)
        return found

    def gain(by, k):  # type: ignore[no-untyped-def]
        """Of index k, by each force's flow."""
        found = np.einsum("jkn,jkn->kn", by[0][k : k + count], electric)
        if moving:
            found += np.einsum("jkn,jkn->kn", by[1][k : k + count], mechanic)
        return found

    y, moving = list(start.y), law.mode.sense != 0
    electric = forces(start.slope, bends[0])
    mechanic = forces(start.acceleration, bends[1]) if moving else electric
    y[CURRENT] = start.y[CURRENT] + gain(flow.electric, 0)
    if moving:
        y[SPEED] = start.y[SPEED] + gain(flow.mechanic, 0)
        y[ANGLE] = start.y[ANGLE] + spans * (start.y[SPEED] + gain(flow.mechanic, 1))
    else:
        for row in (SPEED, ANGLE):
            y[row] = np.broadcast_to(start.y[row], spans.shape)
    return y, spans * gain(flow.electric, 1) if whole else None


def _bends(matrix: Matrix, before: tuple[Forcing, Forcing], start: Node, nodes: Node) -> tuple[Forcing, Forcing]:
    """Coefficients of s, s^2 and s^3 in what the field is beyond its linear part: its drift is known at the start."""
    a11, a12, a21, a22 = matrix
    i, w = nodes.y[CURRENT] - start.y[CURRENT], nodes.y[SPEED] - start.y[SPEED]
    electric = nodes.slope - start.slope - a11 * i - a12 * w
    mechanic = nodes.acceleration - start.acceleration - a21 * i - a22 * w
    found = []
    for beyond, (first, *_) in zip((electric, mechanic), before, strict=True):
        second = 8.0 * beyond[0] - beyond[1] - 3.0 * first
        found.append((first, second, beyond[1] - first - second))
    return found[0], found[1]


def _slow_moves(span: Array, start: Node, nodes: Node) -> list[Array]:
    """Changes of the slow states at both nodes, their rates quadratic over the step."""
    before, rates = np.empty((len(SLOW), len(span))), np.empty((len(SLOW), 2, len(span)))
    for k, (at_start, at_nodes) in enumerate(zip(start.slow, nodes.slow, strict=True)):
        before[k], rates[k] = at_start, at_nodes
    b, c = rates[:, 0], rates[:, 1]
    moves = np.empty_like(rates)
    moves[:, 0] = (span / 24.0) * (5.0 * before + 8.0 * b - c)
    moves[:, 1] = (span / 6.0) * (before + 4.0 * b + c)
    return list(moves)
