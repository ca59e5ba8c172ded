"""Does it lift: torque needed and available over the asked angles, and how each travel of a run ended.

The static margin is the arm torque that the stalled motor can put out through the train over the torque needed there,
at the worst angle of the lift. Below one the arm cannot start from rest at that angle; it may still swing through it.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial

import numpy as np

from armsim.checks.assessment import Lift, Mend, StallKind, TorqueCurves
from armsim.checks.phrases import effort, percent
from armsim.checks.search import top
from armsim.checks.stalls import stall_cause, stall_kind, travel_outcomes
from armsim.drivetrain.circuit import drive_point
from armsim.drivetrain.machine import Machine
from armsim.drivetrain.train import arm_torque_overhauling, arm_torque_raised
from armsim.dynamics.plan import Going, Hold, Plan, Travel, lifts, targets
from armsim.dynamics.run import Run
from armsim.parts.arm import gravity_torque, load_torque

POINTS = 181  #: of a torque curve, its corners aside


@dataclass(frozen=True, kw_only=True)
class LiftTask:
    """One lift as the plan asks for it."""

    start: float  #: [rad]
    to: float  #: [rad]
    duty: float  #: [-]


@dataclass(frozen=True, kw_only=True)
class Margin:
    """Static torque margin at the worst angle of a range; None where nothing needs lifting."""

    value: float
    angle: float  #: [rad]


# ---------------------------------------------------------------------------------------------------- plan


def first_lift(plan: Plan) -> LiftTask | None:
    """The first lift of the plan, from the angle at which the moves before it end."""
    angle = plan.start
    for move in plan.moves:
        if isinstance(move, Going):
            if lifts(move):
                return LiftTask(start=angle, to=move.to, duty=move.duty if isinstance(move, Travel) else 1.0)
            angle = move.to
    return None


def travel_range(plan: Plan) -> tuple[float, float]:
    """Lowest and highest angle that the moves ask for, start included. [rad]"""
    angles = (plan.start, *targets(plan))
    return min(angles), max(angles)


def hold_angles(plan: Plan) -> tuple[float, ...]:
    """Angles at which the plan asks for a hold. [rad]"""
    angle, held = plan.start, []
    for move in plan.moves:
        if isinstance(move, Going):
            angle = move.to
        elif isinstance(move, Hold):
            held.append(angle)
    return tuple(held)


# ---------------------------------------------------------------------------------------------------- statics


def turning_points(machine: Machine, low: float, high: float) -> list[float]:
    """Both ends of a range of angles, and where the load torque peaks between them. [rad]"""
    if machine.arm.counterbalances:
        return sorted({low, high, *_peaks(machine, low, high)})
    return sorted({low, high, *machine.arm.load_peaks(low, high)})


def _peaks(machine: Machine, low: float, high: float) -> Iterator[float]:
    """Extremes of the load torque inside a range, each narrowed down between its neighbours on a grid."""
    grid = np.linspace(low, high, 4 * POINTS).tolist()
    values = [float(load_torque(machine.arm, angle)) for angle in grid]
    for k in range(1, len(grid) - 1):
        sign = 1.0 if values[k] > values[k - 1] else -1.0
        if sign * (values[k] - values[k - 1]) > 0.0 <= sign * (values[k] - values[k + 1]):
            yield top(partial(_signed_load, machine, sign), grid[k - 1], grid[k + 1], 1e-9)


def _signed_load(machine: Machine, sign: float, angle: float) -> float:
    return sign * float(load_torque(machine.arm, angle))


def needed_torque(machine: Machine, angle: float) -> float:
    """Torque on the arm that just raises it from rest: gravity less counterbalance, and what holds its shaft. [N*m]"""
    return float(load_torque(machine.arm, angle)) + machine.arm_breakaway


def available_torque(machine: Machine, duty: float) -> float:
    """Torque that reaches the arm with the motor stalled at a duty, every friction static. [N*m]

    Negative where the motor cannot overcome the drag of the train. -inf where in addition a stage locks.
    """
    stalled = drive_point(machine, duty)
    return arm_torque_raised(machine, stalled.torque, machine.companion_currents(stalled.volts)) + machine.arm_breakaway


def static_margin(machine: Machine, task: LiftTask) -> Margin | None:
    """Available over needed torque at the angle of the lift that asks most; None where nothing needs lifting."""
    angle = max(turning_points(machine, task.start, task.to), key=lambda theta: needed_torque(machine, theta))
    needed = needed_torque(machine, angle)
    if needed <= 0.0:
        return None
    return Margin(value=max(available_torque(machine, task.duty), 0.0) / needed, angle=angle)


def torque_curves(machine: Machine, plan: Plan) -> TorqueCurves:
    """Torques over the angles of the lift, or of all moves where none lifts.

    What is held unpowered is capped at the highest of the other curves: a locking stage holds without end.
    """
    task = first_lift(plan)
    low, high = (task.start, task.to) if task else travel_range(plan)
    angle = np.array(sorted({*np.linspace(low, high, POINTS).tolist(), *turning_points(machine, low, high)}))
    gravity = np.array([float(gravity_torque(machine.arm, theta)) for theta in angle])
    load = np.array([float(load_torque(machine.arm, theta)) for theta in angle])
    needed = load + machine.arm_breakaway
    available = max(available_torque(machine, task.duty if task else 1.0), 0.0)
    cap = max(available, float(np.max(np.abs(needed))), float(np.max(np.abs(gravity))))
    reverse = arm_torque_overhauling(machine)
    holdable = cap if reverse is None else min(reverse, cap)
    return TorqueCurves(
        angle=angle,
        gravity=gravity,
        load=load,
        needed=needed,
        available=np.full_like(angle, available),
        holdable=np.full_like(angle, holdable),
    )


# ---------------------------------------------------------------------------------------------------- runs


def lift_of_run(machine: Machine, plan: Plan, run: Run, mends: tuple[Mend, ...] = ()) -> Lift:
    """The lift as simulated: reached only if every lift of the cycle is; the time is that of the slowest."""
    task = first_lift(plan)
    if task is None:
        return Lift()
    tried = [outcome for outcome in travel_outcomes(run) if outcome.name == "lift"]
    failed = next((outcome for outcome in tried if not outcome.reached), None)
    reached = failed is None and len(tried) >= sum(1 for move in plan.moves if lifts(move))
    times = [outcome.duration for outcome in tried]
    times += [cycle.lift_time for cycle in run.cycles if cycle.lift_time is not None]
    shown = failed or max(tried, key=lambda outcome: outcome.duration, default=None)
    targets = [move.to for move in plan.moves if isinstance(move, Going) and lifts(move)]
    stall = next((outcome.stall for outcome in tried if outcome.stall is not None), None)
    margin = static_margin(machine, task)
    return Lift(
        reached=reached,
        time=max(times) if reached else None,
        target=None if shown is None else targets[tried.index(shown) % len(targets)],
        final_angle=None if shown is None else shown.during[-1].angle,
        stalled=stall is not None,
        stall_time=None if stall is None else stall.time,
        stall_angle=None if stall is None else stall.angle,
        stall_kind=None if failed is None else stall_kind(machine, failed),
        stall_cause=None if failed is None else stall_cause(machine, failed),
        static_margin=None if margin is None else margin.value,
        worst_angle=None if margin is None else margin.angle,
        mends=mends,
    )


def lift_at_rest(machine: Machine, plan: Plan, mends: tuple[Mend, ...] = ()) -> Lift:
    """What statics alone can say: an arm that cannot start does not lift; for the rest a run must decide."""
    task = first_lift(plan)
    if task is None:
        return Lift()
    margin = static_margin(machine, task)
    starts = available_torque(machine, task.duty) > needed_torque(machine, task.start)
    return Lift(
        reached=None if starts else False,
        stalled=None if starts else True,
        stall_angle=None if starts else task.start,
        stall_kind=None if starts else StallKind.CANNOT_START,
        stall_cause=None if starts else "the arm cannot start",
        static_margin=None if margin is None else margin.value,
        worst_angle=None if margin is None else margin.angle,
        mends=mends,
    )


def shortfall(machine: Machine, plan: Plan, angle: float) -> str:
    """The share of the torque needed at an angle that the drive can give, as a phrase."""
    task = first_lift(plan)
    needed = needed_torque(machine, angle)
    if task is None or needed <= 0.0:
        return ""
    available = max(available_torque(machine, task.duty), 0.0)
    return f"{effort(machine, available)} of the {effort(machine, needed)} it needs ({percent(available / needed)})"
