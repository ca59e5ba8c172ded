"""The guards of the exact run over many designs, and which of them are used up in a step."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from armsim.drivetrain.machine import Machine
from armsim.dynamics.ensemble.law import Law, Node
from armsim.dynamics.ensemble.rows import Array
from armsim.dynamics.field import Look
from armsim.dynamics.guards import Guard, Signal, drive_guards, moving_guards, regulation_guards, rest_guards
from armsim.dynamics.plan import Travel
from armsim.dynamics.segment import ZERO
from armsim.dynamics.state import ANGLE, SPEED
from armsim.parts.counterbalance import ExtensionSpring, GasSpring

Flags = NDArray[np.bool_]
AHEAD = 1e-6  #: time by which is looked ahead for the side of a corner on which a motion is [s]


def guards_of_many(law: Law, table: Array, task: Travel) -> list[Guard]:
    """The guards of a mode, without those of devices, by precedence."""
    machine, mode = law.machine, law.mode
    angle: float = table[ANGLE]
    goal = Guard(Signal.TARGET, lambda _t, y, _: task.to - y[ANGLE], 1.0)
    motion = moving_guards(machine, mode) if mode.sense else rest_guards(machine, mode, angle)
    motion += corner_guards(machine, table) if mode.sense else []
    found = [goal, *motion, *drive_guards(machine, mode), *regulation_guards(mode)]
    return sorted(found, key=lambda guard: guard.signal.value)


def corner_guards(machine: Machine, table: Array) -> list[Guard]:
    """Where a spring goes slack or catches: its force jumps, which no step of many designs can follow."""
    ahead: float = table[ANGLE] + AHEAD * table[SPEED]
    guards = []
    for spring in machine.arm.counterbalances:
        if isinstance(spring, ExtensionSpring | GasSpring):
            side = np.sign(spring.corner(ahead))
            guards.append(Guard(Signal.SLACK, lambda _t, y, _, s=side, of=spring: s * of.corner(y[ANGLE]), 1.0))  # type: ignore[misc]
    return guards


def margins_of(guards: Sequence[Guard], time: Array, node: Node) -> Array:
    """Every guard's margin at a node, or at both nodes of a step."""
    now = Look(*node.now)
    found = np.empty((len(guards), *time.shape))
    for k, guard in enumerate(guards):
        found[k] = guard.margin(time, node.y, now)  # type: ignore[arg-type]
    return found


def crossings(guards: Sequence[Guard], before: Array, nodes: Array) -> tuple[Flags, Flags]:
    """Which guards are used up in a step, and which of them in its first half; one that begins at zero if it falls."""
    fired, early = np.zeros(before.shape, dtype=bool), np.zeros(before.shape, dtype=bool)
    for k in np.flatnonzero((nodes <= 0.0).any(axis=(1, 2))).tolist():
        tiny = ZERO * guards[k].scale
        positive, not_negative = before[k] > tiny, before[k] >= -tiny
        used = (positive & (nodes[k] <= 0.0)) | (not_negative & (nodes[k] < -tiny))
        early[k], fired[k] = used[0], used[0] | used[1]
    return fired, early


DIPPING = (Signal.RESTS, Signal.LIMIT, Signal.UNDERVOLTAGE, Signal.SLACK)  #: whose margins may come back within a step


def dips(guards: Sequence[Guard], before: Array, nodes: Array) -> Flags:
    """Designs in whose step a margin may go below zero and come back: its parabola does, though no node shows it."""
    found = np.zeros(before.shape[1], dtype=bool)
    for k, guard in enumerate(guards):
        if guard.signal in DIPPING:
            a, b, c = before[k], nodes[k, 0], nodes[k, 1]
            bend, slope = 2.0 * (a - 2.0 * b + c), 4.0 * b - 3.0 * a - c
            inside = (a > 0.0) & (b > 0.0) & (c > 0.0) & (slope < 0.0) & (-slope < 2.0 * bend)
            found |= inside & (slope * slope > DEEP * bend * a)
    return found


DEEP = 4.0 * 0.9  #: a parabola that comes this near to zero counts: it is no more than a guess
