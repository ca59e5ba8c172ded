"""Motors and stages of a stock as the search takes them: arrays of stages, and what each motor asks of a train."""

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from armsim.checks.judged_parts import Loads, StrengthRow
from armsim.checks.lifting import LiftTask, first_lift, turning_points
from armsim.checks.strength import RULES
from armsim.drivetrain.circuit import stalled_torque
from armsim.drivetrain.machine import Machine
from armsim.drivetrain.train import arm_torque_raised
from armsim.parts.arm import load_torque
from armsim.parts.bridge import duty_out
from armsim.parts.stage import ConstantEfficiency, Stage
from armsim.studies.combinations import Reach, Stages
from armsim.studies.estimates import with_train
from armsim.studies.many import Question, up_to_lift
from armsim.studies.shelf import Choice

if TYPE_CHECKING:
    from armsim.scenario.stock import Stock, StockMotor
    from armsim.scenario.tasks import Task

FEW_MOTORS, UNUSABLE = "fewer motors than are needed", "a motor that cannot be taken here"
OVER_VOLTAGE = "a motor made for a lower voltage"
HIGHEST = 1.35  #: of its nominal voltage, that a motor is chosen for; beyond it a scenario is warned of [-]
POINTS = 201  #: angles at which the load is looked at
WARMER = 1.05  #: of the speed without load, for a motor whose magnets weaken as it warms up [-]
FAST = 1e4  #: sliding speed at which a worm rubs least, as a speed of its shaft [rad/s]


class NoChoice(Exception):
    """Nothing that could be chosen."""

    exit_status = 2


@dataclass(frozen=True, kw_only=True)
class Candidate:
    """A motor of the stock in the machine of the file, without a train."""

    motor: "StockMotor"
    question: Question
    reach: Reach


def candidates(task: "Task", stock: "Stock") -> tuple[tuple[Candidate, ...], dict[str, int]]:
    """Motors that can be taken, and how many cannot, by rule."""
    from armsim.scenario.tasks import with_motor

    found, refused = [], Counter[str]()
    for motor in stock.motors:
        if motor.available is not None and motor.available < motor.given.count:
            refused[FEW_MOTORS] += 1
            continue
        try:
            machine = with_motor(task, motor.given)
        except ValueError:
            refused[UNUSABLE] += 1
            continue
        nominal = machine.motor.nominal_voltage
        if nominal is not None and machine.highest_voltage > HIGHEST * nominal:
            refused[OVER_VOLTAGE] += 1
            continue
        question = Question(machine=machine, plan=up_to_lift(task.plan), wishes=task.requirements)
        found.append(Candidate(motor=motor, question=question, reach=reach_of(question, motor)))
    return tuple(found), dict(refused)


def reach_of(question: Question, motor: "StockMotor") -> Reach:
    """What a motor asks of its train. Raises NoChoice where nothing is lifted."""
    machine, task = question.machine, first_lift(question.plan)
    if task is None:
        raise NoChoice("no lift is asked for: add one to the moves, such as - lift: {to: 70 deg}")
    needed, stalled = torque_needed(question, task), stalled_torque(machine, task.duty)
    once, twice = (raised(machine, stalled, gain) for gain in (1.0, 2.0))
    slope = twice - once if math.isfinite(twice - once) else 0.0
    behind = machine.stages[-1:] if machine.arm.kind == "carriage" else ()
    beyond = math.prod(stage.reduction * best_efficiency(stage) for stage in behind)
    least = 0.0 if needed <= 0.0 else needed / slope if slope > 0.0 else math.inf
    count = machine.motor.count
    return Reach(
        torque=max(slope, 0.0) / beyond,
        least_gain=least,
        most_reduction=most_reduction(question, task),
        price=math.nan if motor.price is None else count * motor.price,
        mass=math.nan if motor.mass is None else count * motor.mass,
    )


def raised(machine: Machine, torque: float, gain: float) -> float:
    """Torque that an air-gap torque raises at the arm through an ideal stage of a reduction. [N*m]"""
    ideal = Stage(kind="gears", name="", reduction=gain, law=ConstantEfficiency(forward=1.0, reverse=1.0))
    return float(arm_torque_raised(with_train(machine, (ideal,)), torque)) + machine.arm_breakaway


def torque_needed(question: Question, task: LiftTask) -> float:
    """At the arm, without which no drive lifts: at the start, and on the mean up to any angle. [N*m]

    A drive's torque is nowhere above that of its stalled motor, so what it gave up to an angle is at most that times
    the way; it has to be what the load took. A margin that is asked for counts at the worst angle.
    """
    machine = question.machine
    angles = np.linspace(task.start, task.to, POINTS)
    load = np.array([float(load_torque(machine.arm, angle)) for angle in angles.tolist()])
    running = load + machine.arm.friction.coulomb
    taken = np.concatenate([[0.0], np.cumsum(0.5 * (running[1:] + running[:-1]) * np.diff(angles))])
    means = taken[1:] / (angles[1:] - angles[0])
    worst = max(float(load_torque(machine.arm, angle)) for angle in turning_points(machine, task.start, task.to))
    margin = max((float(wish.limit) for wish in question.wishes if wish.name == "static_margin"), default=0.0)
    starting = float(load[0]) + machine.arm_breakaway
    return max(starting, float(means.max()) * (1.0 - 1e-3), margin * (worst + machine.arm_breakaway))


def most_reduction(question: Question, task: LiftTask) -> float:
    """With which the motor without load is as quick as is asked for; infinite where a load may help it on. [-]"""
    machine = question.machine
    limit = min((float(w.limit) for w in question.wishes if w.name == "lift_time"), default=math.inf)
    helped = any(float(load_torque(machine.arm, a)) < 0.0 for a in np.linspace(task.start, task.to, POINTS).tolist())
    if helped or math.isinf(limit):
        return math.inf
    speed = WARMER * duty_out(machine.controller, task.duty) * machine.no_load_speed  # with what is inside the motor
    return speed * limit / (task.to - task.start)


def best_efficiency(stage: Stage) -> float:
    """The most a stage has forward, at rest or at any speed. [-]"""
    law = stage.law
    speeds = (0.0, *law.speed_edges, FAST)
    running = (law.running(speed, sum(1 for edge in law.speed_edges if speed > edge))[0] for speed in speeds)
    return float(max(law.static()[0], *running))


def stages_of(choices: Sequence[Choice]) -> Stages:
    """The stages a stock makes as arrays."""
    scarce = sorted({item.key: item for c in choices for item in c.items if item.available is not None}.items())
    places = {key: k for k, (key, _) in enumerate(scarce)}
    uses = np.zeros((len(choices), len(scarce)), dtype=np.int64)
    for k, choice in enumerate(choices):
        for item in choice.items:
            if item.key in places:
                uses[k, places[item.key]] += 1
    prints = [choice.stage.footprint for choice in choices]

    def column(
        values: Sequence[float | None], unknown: float = math.nan
    ) -> "np.ndarray[tuple[int], np.dtype[np.float64]]":
        return np.array([unknown if value is None else value for value in values], dtype=float)

    return Stages(
        reduction=column([c.stage.reduction for c in choices]),
        efficiency=column([best_efficiency(c.stage) for c in choices]),
        input_inertia=column([c.stage.input_inertia for c in choices]),
        output_inertia=column([c.stage.output_inertia for c in choices]),
        price=column([c.price for c in choices]),
        mass=column([c.mass for c in choices]),
        rated=column([borne(c) for c in choices]),
        even=np.array([plain(c.stage) and not c.stage.drag and not c.stage.viscous_drag for c in choices], dtype=bool),
        centres=column([None if p is None else p.centre_distance for p in prints]),
        driver_tip=column([None if p is None else p.driver_tip for p in prints]),
        driven_tip=column([None if p is None else p.driven_tip for p in prints]),
        uses=uses,
        available=np.array([item.available for _, item in scarce], dtype=np.int64),
    )


def borne(choice: Choice) -> float:
    """Torque at its output that a stage's rating and the first-pass strength of its parts allow; infinite: not known.

    What only wears is left out. Every check grows with a power of the torque, so two loads tell where it is used up.
    """
    least, stage = math.inf if choice.rated_torque is None else choice.rated_torque, choice.stage
    rules = None if stage.hardware is None else RULES.get(type(stage.hardware))
    if rules is None:
        return least

    def rows(torque: float) -> list[StrengthRow]:
        driver = torque / (stage.reduction * stage.law.static()[0])
        return list(rules(stage, stage.hardware, Loads(case="stall", output_torque=torque, driver_torque=driver)))

    for one, two in zip(rows(1.0), rows(2.0), strict=True):
        if not one.lasting and math.isfinite(one.safety) and one.safety > two.safety:
            least = min(least, one.safety ** (1.0 / math.log2(one.safety / two.safety)))
    return least


def plain(stage: Stage) -> bool:
    """Whether a stage's efficiencies are two numbers."""
    return isinstance(stage.law, ConstantEfficiency)
