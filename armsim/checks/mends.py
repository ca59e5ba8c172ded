"""What would make it lift: one change at a time, found on the static margin and proven by asking the machine again.

The value sought is the least with which the arm starts from rest anywhere on its way; a swing may carry it with less,
but not reliably. Where more than torque is in the way, the value goes on outward until the machine lifts.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

from armsim.checks.assessment import Mend
from armsim.checks.lifting import LiftTask, first_lift, static_margin, turning_points
from armsim.checks.phrases import number, rounded_down, rounded_up
from armsim.drivetrain.circuit import drive_point
from armsim.drivetrain.machine import Machine, loaded
from armsim.drivetrain.train import rest_torque
from armsim.dynamics.plan import Going, Plan, PowerCut, Travel, lifts
from armsim.parts.battery import open_circuit_voltage
from armsim.parts.stage import ConstantEfficiency, Stage

MOST_REDUCTION = 20.0  #: times the reduction as it is
MOST_VOLTAGE = 4.0  #: times the source as it is
LONGEST_TRIAL = 120.0  #: a lift that takes longer mends nothing [s]
TRIALS = 4  #: of runs while closing in on a value

Judge = Callable[[Machine], bool]  #: does this machine lift?


@dataclass(frozen=True, kw_only=True)
class Lever:
    """One thing to change: its value now, the furthest sensible one, and the machine with another value."""

    what: str
    dimension: str
    now: float
    furthest: float
    changed: Callable[[float], Machine]

    @property
    def upward(self) -> bool:
        """True where more of it helps."""
        return self.furthest > self.now

    def rounded(self, value: float) -> float:
        """A value to three digits, on the side that helps."""
        return rounded_up(value) if self.upward else rounded_down(value)


def with_reduction(machine: Machine, factor: float) -> Machine:
    """The machine geared down further by a factor, in its first true reduction; a lossless one if it has no stage."""
    if not machine.stages:
        added = Stage(kind="gears", name="added", reduction=factor, law=ConstantEfficiency(forward=1.0, reverse=1.0))
        return replace(machine, stages=(added,))
    stages = list(machine.stages)
    k = next((k for k, stage in enumerate(stages) if stage.reduction != 1.0), 0)
    stages[k] = replace(stages[k], reduction=stages[k].reduction * factor)
    return replace(machine, stages=tuple(stages))


def turning_reduction(machine: Machine) -> float:
    """Motor turns per turn of the last shaft: of the arm, or of what drives the carriage. [-]"""
    travels = machine.arm.kind == "carriage" and machine.stages
    return machine.reduction / machine.stages[-1].reduction if travels else machine.reduction


def with_voltage(machine: Machine, factor: float) -> Machine:
    """The machine on a source of a multiple of its voltage, inner resistance kept."""
    volts = tuple(factor * v for v in machine.battery.voltage_points)
    return replace(machine, battery=replace(machine.battery, voltage_points=volts))


def levers(machine: Machine) -> tuple[Lever, ...]:
    """Everything that is tried."""
    reduction, volts = turning_reduction(machine), open_circuit_voltage(machine.battery, 0.0)
    found = [
        Lever(
            what="reduction",
            dimension="ratio",
            now=reduction,
            furthest=MOST_REDUCTION * reduction,
            changed=lambda value: with_reduction(machine, value / reduction),
        )
    ]
    if machine.arm.payload_mass > 0.0:
        found.append(
            Lever(
                what="payload",
                dimension="mass",
                now=machine.arm.payload_mass,
                furthest=0.0,
                changed=lambda value: loaded(machine, value),
            )
        )
    found.append(
        Lever(
            what="voltage",
            dimension="voltage",
            now=volts,
            furthest=MOST_VOLTAGE * volts,
            changed=lambda value: with_voltage(machine, value / volts),
        )
    )
    return tuple(found)


def static_judge(plan: Plan) -> Judge:
    """Judges by torque alone: enough at every angle of the lift, from rest."""
    task = first_lift(plan)

    def judge(machine: Machine) -> bool:
        return task is None or _margin(machine, task) >= 1.0

    return judge


def running_judge(plan: Plan) -> Judge:
    """Judges by running the lift: it must arrive without a stall, a trip or a reset that it would have to wait out."""
    from armsim.dynamics.run import Kind
    from armsim.dynamics.trajectory import simulate

    task = first_lift(plan)
    limits = [move.time_limit for move in plan.moves if isinstance(move, Going) and lifts(move)]

    def judge(machine: Machine) -> bool:
        if task is None:
            return True
        move = Travel(to=task.to, duty=task.duty, patience=0.0, time_limit=min(LONGEST_TRIAL, *limits))
        run = simulate(machine, Plan(start=task.start, moves=(move,), power_cut=PowerCut()))
        return run.first(Kind.REACHED) is not None

    return judge


def find_mends(machine: Machine, plan: Plan, judge: Judge) -> tuple[Mend, ...]:
    """For each lever the least change, to three digits, with which the machine lifts as judged."""
    task = first_lift(plan)
    if task is None or task.to > machine.arm.upper_stop:
        return ()  # nothing to lift, or a stop in the way that no torque mends
    if judge(machine):
        return ()  # it lifts as it is, driven otherwise than the moves ask
    return tuple(_mend(lever, least_change(lever, task, judge)) for lever in levers(machine))


def least_change(lever: Lever, task: LiftTask, judge: Judge) -> float | None:
    """The value nearest to the present one, rounded on the safe side, that lifts; None if none does."""
    enough = _static_threshold(lever, task)
    if enough is None:
        return None
    value = lever.rounded(enough)
    if judge(lever.changed(value)):
        return value
    # torque is there, something else is in the way: a slow lift, a breaker, a reset
    failing, step = value, 0.004
    while True:
        trial = lever.rounded(value + step * (lever.furthest - value))
        if judge(lever.changed(trial)):
            break
        if step >= 1.0:
            return None
        failing, step = trial, min(1.0, 3.0 * step)
    working = trial
    for _ in range(TRIALS):
        middle = lever.rounded(0.5 * (failing + working))
        if middle in (failing, working):
            break
        if judge(lever.changed(middle)):
            working = middle
        else:
            failing = middle
    return working


def _margin(machine: Machine, task: LiftTask) -> float:
    margin = static_margin(machine, task)
    if margin is not None:
        return margin.value
    # gravity helps all the way; friction alone may still keep the motor from turning
    stalled = drive_point(machine, task.duty)
    moves = all(
        stalled.torque > rest_torque(machine, angle, 1, machine.companion_currents(stalled.volts))
        for angle in turning_points(machine, task.start, task.to)
    )
    return math.inf if moves else 0.0


def _static_threshold(lever: Lever, task: LiftTask) -> float | None:
    """Where the static margin crosses one between the present value and the furthest, by bisection."""
    if _margin(lever.changed(lever.now), task) > 1.0:
        return lever.now
    if _margin(lever.changed(lever.furthest), task) <= 1.0:
        return None
    short, enough = lever.now, lever.furthest
    while abs(enough - short) > 1e-12 * max(lever.now, lever.furthest):
        middle = 0.5 * (short + enough)
        if middle in (short, enough):
            break
        if _margin(lever.changed(middle), task) > 1.0:
            enough = middle
        else:
            short = middle
    return enough


UNITS = {"mass": "kg", "voltage": "V"}


def _mend(lever: Lever, needed: float | None) -> Mend:
    now = lever.now
    if needed is None:
        tried = {"reduction": "more reduction", "payload": "taking the payload off", "voltage": "more voltage"}
        text = f"{tried[lever.what]} alone does not help (tried as far as {_valued(lever, lever.furthest)})"
    elif lever.what == "payload" and needed == 0.0:
        text = f"no payload at all (now {_valued(lever, now)})"
    elif lever.what == "payload":
        text = f"a payload of {_valued(lever, needed)} or less (now {_valued(lever, now)})"
    elif lever.what == "voltage":
        text = f"a source of {_valued(lever, needed)} or more (now {_valued(lever, now)})"
    else:
        text = f"a reduction of {_valued(lever, needed)} or more (now {_valued(lever, now)})"
    return Mend(what=lever.what, now=now, needed=needed, dimension=lever.dimension, text=text)


def _valued(lever: Lever, value: float) -> str:
    return f"{number(value)}:1" if lever.dimension == "ratio" else f"{number(value)} {UNITS[lever.dimension]}"
