"""Counterbalance judged: what it leaves of gravity, what would flatten it best, where it lifts the arm by itself."""

import math
from collections.abc import Iterator
from itertools import groupby

import numpy as np
from numpy.typing import NDArray

from armsim.checks.assessment import Finding, Level
from armsim.checks.codes import finding
from armsim.checks.lifting import POINTS, travel_range, turning_points
from armsim.checks.phrases import degrees, number, place
from armsim.drivetrain.machine import Machine, loaded
from armsim.drivetrain.train import cone
from armsim.dynamics.plan import Plan
from armsim.parts.arm import Arm, gravity_torque
from armsim.parts.counterbalance import (
    ConstantForceSpring,
    Counterbalance,
    ExtensionSpring,
    GasSpring,
    TorsionSpring,
)

Torques = NDArray[np.float64]

LEAST_TRAVEL = math.radians(1.0)  #: below which no curve of gravity is worth balancing
LEAST_IDLE = math.radians(0.05)  #: narrower than an angle is printed
ROUNDING = 1e-9  #: share of gravity below which what is left is nothing
WHERE = {"arm": "arm.counterbalance", "carriage": "carriage.counterweight"}
UPRIGHT = 1e-6  #: off the vertical, where gravity is on one side [rad]


def best_factor(gravity: Torques, helped: Torques) -> float:
    """Factor on a helper's torque that leaves least of gravity, in squares over the travel. [-]"""
    share = _shares(gravity.size)
    return float((share * gravity) @ helped / ((share * helped) @ helped))


def best_torsion_spring(angle: Torques, gravity: Torques) -> TorsionSpring | None:
    """The torsion spring that flattens gravity best in squares over the travel; None where gravity grows with angle."""
    slope, level = np.polyfit(angle, gravity, 1, w=np.sqrt(_shares(angle.size)))
    return TorsionSpring(rate=float(-slope), relaxed_at=float(-level / slope)) if slope < 0.0 < level else None


def _shares(points: int) -> Torques:
    """Weights of evenly spaced points in an integral over them, by the trapezoidal rule."""
    share = np.ones(points)
    share[[0, -1]] = 0.5
    return share


def balance_findings(machine: Machine, plan: Plan) -> Iterator[Finding]:
    """What the springs leave of gravity over the travel, or the spring that would help."""
    low, high = travel_range(plan)
    if isinstance(machine.arm, Arm) and high - low >= LEAST_TRAVEL:
        angle = np.linspace(low, high, POINTS)
        gravity = np.array([float(gravity_torque(machine.arm, theta)) for theta in angle])
        if machine.arm.counterbalances:
            yield _left(machine.arm.counterbalances, angle, gravity)
            yield from _idle(machine.arm.counterbalances, angle.tolist())
        else:
            yield from _would_help(angle, gravity)
    yield from _rises(machine, low, high)


def _left(helpers: tuple[Counterbalance, ...], angle: Torques, gravity: Torques) -> Finding:
    """What is left of gravity, and the strength that would leave less."""
    helped = np.array([sum(helper.torque(theta) for helper in helpers) for theta in angle])
    left = gravity - helped
    left[np.abs(left) < ROUNDING * np.max(np.abs(gravity))] = 0.0
    text = f"Of {number(float(np.max(np.abs(gravity))))} N*m of gravity at most, the counterbalance leaves "
    text += f"{number(float(left.min()))} to {number(float(left.max()))} N*m between {degrees(float(angle[0]))} and "
    text += f"{degrees(float(angle[-1]))}."
    factor = best_factor(gravity, helped) if np.any(helped != 0.0) else 0.0
    better, present = (" and ".join(strength(helper, x) for helper in helpers) for x in (factor, 1.0))
    mend = ""
    if better == present:
        text += " No other strength flattens it better (least squares)."
    elif factor > 0.0:
        rest = float(np.max(np.abs(gravity - factor * helped)))
        mend = f"{better} would flatten it best (least squares) and leave {number(rest)} N*m at most"
    return finding(Level.NOTE, "balance", "arm.counterbalance", text, mend)


def strength(helper: Counterbalance, factor: float) -> str:
    """A helper's strength times a factor, in the figures it is bought by."""
    if isinstance(helper, TorsionSpring):
        return f"a torsion_rate of {number(math.radians(factor * helper.rate))} N*m/deg"
    if isinstance(helper, ExtensionSpring):
        tension = f" with {number(factor * helper.initial_tension)} N wound in" if helper.initial_tension else ""
        return f"a rate of {number(factor * helper.rate / 1e3)} N/mm{tension}"
    if isinstance(helper, GasSpring):
        growth = f" with a rate of {number(factor * helper.rate / 1e3)} N/mm" if helper.rate else ""
        return f"a force of {number(factor * helper.force)} N{growth}"
    if isinstance(helper, ConstantForceSpring):
        return f"a force of {number(factor * helper.force)} N"
    return f"{number(factor)} times the strength"


def _would_help(angle: Torques, gravity: Torques) -> Iterator[Finding]:
    spring = best_torsion_spring(angle, gravity)
    if spring is None:
        return
    rest = float(np.max(np.abs(gravity - spring.rate * (spring.relaxed_at - angle))))
    text = f"Gravity asks up to {number(float(np.max(np.abs(gravity))))} N*m. A torsion spring with "
    text += f"{strength(spring, 1.0)}, relaxed at {degrees(spring.relaxed_at)}, would flatten it best (least squares) "
    text += f"and leave {number(rest)} N*m."
    yield finding(Level.NOTE, "balance-would-help", "arm.counterbalance", text)


def _idle(helpers: tuple[Counterbalance, ...], angles: list[float]) -> Iterator[Finding]:
    for helper in helpers:
        if not isinstance(helper, ExtensionSpring | GasSpring):
            continue
        ranges = " and ".join(
            f"between {degrees(first)} and {degrees(last)}"
            for first, last in idle_ranges(helper, angles)
            if last - first > LEAST_IDLE
        )
        if ranges and isinstance(helper, ExtensionSpring):
            text = f"The spring is slack {ranges} and carries nothing there."
            yield finding(Level.WARNING, "spring-idle", "arm.counterbalance", text, "move an end, or a shorter spring")
        elif ranges:
            text = f"The gas spring is past its full length {ranges}: it is taken to carry nothing there, where a real "
            text += "one would stop the arm or tear."
            yield finding(Level.WARNING, "spring-idle", "arm.counterbalance", text, "move an end, or a longer spring")


def idle_ranges(helper: Counterbalance, angles: list[float]) -> Iterator[tuple[float, float]]:
    """Ranges of angle in which a spring stores nothing, each edge narrowed down between two of the given angles."""
    idle = [helper.energy(theta) == 0.0 for theta in angles]
    for nothing, run in groupby(range(len(angles)), key=idle.__getitem__):
        if nothing:
            inside = list(run)
            first, last = inside[0], inside[-1]
            yield (
                _edge(helper, angles[first], angles[max(first - 1, 0)]),
                _edge(helper, angles[last], angles[min(last + 1, len(angles) - 1)]),
            )


def _edge(helper: Counterbalance, idle: float, beyond: float) -> float:
    """Where a spring begins to store energy, between an angle at which it is idle and its neighbour."""
    while abs(beyond - idle) > 1e-9:
        middle = 0.5 * (idle + beyond)
        idle, beyond = (middle, beyond) if helper.energy(middle) == 0.0 else (idle, middle)
    return idle


def _rises(machine: Machine, low: float, high: float) -> Iterator[Finding]:
    """Springs or a counterweight that lift the arm, loaded as it is or once its payload is off."""
    states = [("Unpowered", machine)]
    if machine.arm.payload_mass > 0.0:
        states.append(("Unpowered and with the payload off", loaded(machine, 0.0)))
    for state, one in states:
        rising = [theta for theta in _doubtful(one, low, high) if rises_unpowered(one, theta)]
        if rising:
            text = f"{state} the counterbalance raises the arm by itself, as at {place(machine, rising[0])}."
            mend = "lock the arm before the load is taken off or the drive is opened"
            yield finding(Level.WARNING, "rises-by-itself", WHERE[machine.arm.kind], text, mend)
            return


def rises_unpowered(machine: Machine, angle: float) -> bool:
    """True where the arm, at rest and unpowered, leaves its angle [rad] towards where it stands higher."""
    edges = cone(machine, angle)
    return edges.rise < 0.0 if machine.arm.rises_upward(angle) else edges.sink > 0.0


def _doubtful(machine: Machine, low: float, high: float) -> list[float]:
    """Angles one of which rises if any does: extremes of the load, and both sides of upright and of hanging."""
    quarters = [math.pi * (k + 0.5) for k in range(math.floor(low / math.pi) - 1, math.ceil(high / math.pi) + 1)]
    sides = [quarter + side for quarter in quarters for side in (-UPRIGHT, UPRIGHT)]
    return sorted({*turning_points(machine, low, high), *(side for side in sides if low < side < high)})
