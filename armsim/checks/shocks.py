"""The hardest loads of every stage: in the run, in the power cuts, stalled against a block, and in sudden stops.

What stops at once loads the train without bound, unless something is known to give way. With a stiffness K between two
inertias, of which one stops dead while the other, J, moves at w under a steady torque T0, energy gives the peak

    T = T0 + sqrt(T0^2 + K J w^2),

reached at once where T0 drives on, on the swing back where it brakes. It counts no loss and begins slack.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from armsim.checks.assessment import Blow, Finding, Level, Shocks, StageRow, StageShocks
from armsim.checks.codes import finding
from armsim.checks.lifting import LiftTask, first_lift, static_margin
from armsim.checks.phrases import effort, number, place, rounded_down
from armsim.checks.search import narrowed
from armsim.checks.transmission import inside_motor
from armsim.drivetrain.circuit import drive_point
from armsim.drivetrain.machine import Machine
from armsim.drivetrain.shafts import reflected_inertias, train_stiffness
from armsim.dynamics.plan import Plan
from armsim.dynamics.run import Event, Kind, Run
from armsim.parts.arm import load_torque

GENTLE = math.radians(5.0)  #: meeting a stop slower than this is no impact [rad/s]
HARD = 3.0  #: times a steady lift from which on a load is worth a word
CASES = ("run", "cut", "stall", "motor_stop", "impact")


def judge_shocks(
    machine: Machine, duty: float, rows: Sequence[StageRow], run: Run | None, cuts: Sequence[Run] = ()
) -> Shocks:
    """Loads of every stage behind the motor, next to those of its steady lift (`rows`), stalled at a duty."""
    own, runs = inside_motor(machine), ([] if run is None else [run])
    stopped = None if run is None else motor_stop_torque(machine, run)
    blows = list(impacts([*runs, *cuts]))
    known = [torque for _, torque in blows if torque is not None]
    struck = max(known) if known else None
    cases = {
        "run": run_loads(machine, runs),
        "cut": run_loads(machine, cuts),
        "stall": stall_loads(machine, duty),
        "motor_stop": carried(machine, stopped),
        "impact": carried(machine, struck),
    }
    stages = tuple(
        StageShocks(stage=row.name, steady=abs(row.output_torque), **{case: cases[case][own + k] for case in CASES})
        for k, row in enumerate(rows)
    )
    ratios = {shocks.stage: shocks.ratio for shocks in stages if shocks.ratio is not None}
    buffered = [] if machine.arm.stop.rigid else [*runs, *cuts]
    pushed = max((one.peaks.stop_torque.value for one in buffered), default=None)
    at = machine.arm.stop.at
    return Shocks(
        stages=stages,
        most_loaded=max(ratios, key=lambda name: ratios[name]) if ratios else None,
        train_stiffness=train_stiffness(machine),
        motor_stop_torque=stopped,
        impact_torque=struck,
        unbounded=tuple(sorted({name for name, torque in blows if torque is None})),
        stop_torque=pushed,
        stop_force=None if pushed is None or at is None else pushed / at,
        stop_travel=max((deepest(one) for one in buffered), default=None),
    )


def run_loads(machine: Machine, runs: Sequence[Run]) -> list[Blow | None]:
    """Largest torque and force of every stage in some runs while the arm moves; None where it never does."""
    found: list[Blow | None] = []
    for k in range(len(machine.stages)):
        torques = [one.peaks.stage_torques[k].value for one in runs]
        pushes = [one.peaks.driver_torques[k].value for one in runs]
        moving = [j for j, torque in enumerate(torques) if math.isfinite(torque)]
        found.append(
            _blow(machine, k, max(torques[j] for j in moving), max(pushes[j] for j in moving)) if moving else None
        )
    return found


def _blow(machine: Machine, k: int, torque: float, push: float) -> Blow:
    radius = machine.stages[k].driver_radius
    return Blow(torque=torque, force=None if radius is None else push / radius)


def stall_loads(machine: Machine, duty: float) -> list[Blow | None]:
    """Every stage with the motor stalled at a duty and the arm blocked, by the harder of two ways friction can act.

    It takes from the motor's torque where the motor has turned last, and adds to it where the arm presses back. A stage
    that locks is taken without loss then: what more it holds is not the motor's.
    """
    motor, stalled = machine.motor, drive_point(machine, duty)
    torque, rotor = stalled.torque, motor.count * motor.breakaway_torque
    hindered, helped = max(torque - rotor, 0.0), torque + rotor
    found: list[Blow | None] = []
    asides = machine.companion_pushes(machine.companion_currents(stalled.volts))
    for k, stage in enumerate(machine.stages):
        (forward, reverse), drag = stage.law.static(), machine.shaft_breakaways[k]
        pushes = (max(hindered + asides[k] - drag, 0.0), helped + asides[k] + drag)
        hindered = pushes[0] * stage.reduction * forward
        helped = pushes[1] * stage.reduction / (reverse if reverse > 0.0 else 1.0)
        found.append(_blow(machine, k, max(hindered, helped), max(pushes)))
    return found


def carried(machine: Machine, torque: float | None) -> list[Blow | None]:
    """Every stage under a torque at the arm, without the losses that would lighten those nearer to the motor."""
    if torque is None:
        return [None] * len(machine.stages)
    turns = machine.shaft_turns
    return [_blow(machine, k, torque / turns[k + 1], torque / turns[k]) for k in range(len(machine.stages))]


def sudden(steady: float, stiffness: float, inertia: float, speed: float) -> float:
    """Peak torque T0 + sqrt(T0^2 + K J w^2) where something stops dead. [N*m]"""
    return steady + math.sqrt(steady * steady + stiffness * inertia * speed * speed)


def motor_stop_torque(machine: Machine, run: Run) -> float | None:
    """Peak torque at the arm if the motor's shaft locked at the fastest moment of a run; None: no stiffness. [N*m]"""
    stiffness, peak = train_stiffness(machine), run.peaks.speed
    if stiffness is None:
        return None
    load = abs(float(load_torque(machine.arm, float(np.interp(peak.time, run.time, run.angle)))))
    return sudden(load, stiffness, sum(reflected_inertias(machine)[1:]), peak.value)


def impacts(runs: Sequence[Run]) -> Iterator[tuple[str, float | None]]:
    """Every jam and every meeting with a rigid stop, and its torque at the arm; None: nothing is known to give way."""
    for one in runs:
        machine = one.machine
        stiffness, inertias = train_stiffness(machine), reflected_inertias(machine)
        for event in one.events:
            if event.kind is Kind.STOP_HIT and machine.arm.stop.rigid and abs(event.speed) > GENTLE * machine.arm.small:
                # the arm is stopped, the motor runs on
                torque = (
                    None
                    if stiffness is None
                    else sudden(driving_on(one, event), stiffness, sum(inertias[:-1]), event.speed)
                )
                yield "rigid stop", torque
            elif event.kind is Kind.JAM:
                load = abs(float(load_torque(machine.arm, event.angle)))
                torque = None if stiffness is None else sudden(load, stiffness, sum(inertias[1:]), event.speed)
                yield "jam", torque


def driving_on(run: Run, event: Event) -> float:
    """Torque of the motors at the arm, without losses, where they push on into a stop; else nothing. [N*m]"""
    torque = float(np.interp(event.time, run.time, run.motor_torque)) * run.machine.reduction
    return max(math.copysign(torque, torque * event.speed), 0.0)


def deepest(run: Run) -> float:
    """How far the arm goes beyond a stop in a run. [rad]"""
    arm = run.machine.arm
    return max(float(np.max(run.angle)) - arm.upper_stop, arm.lower_stop - float(np.min(run.angle)), 0.0)


# ---------------------------------------------------------------------------------------------------- findings

NAMES = {
    "run": "in the run",
    "cut": "when power goes",
    "stall": "stalled against a block",
    "motor_stop": "if the motor locks at its fastest",
    "impact": "in the hardest blow",
}


def shock_findings(machine: Machine, plan: Plan, shocks: Shocks, run: Run | None) -> Iterator[Finding]:
    """Loads far above those of a steady lift, blows of the work cycle without bound, and what buffers take.

    That an arm which falls strikes its stop is told with the fall.
    """
    worst = next((stage for stage in shocks.stages if stage.stage == shocks.most_loaded), None)
    if worst is not None and worst.ratio is not None and worst.case is not None and worst.ratio >= HARD:
        blow = getattr(worst, worst.case)
        text = f"{worst.stage} carries {_carried(machine, worst.stage, blow.torque)} {NAMES[worst.case]}, "
        text += f"{number(worst.ratio)} times that of a steady lift, the most of all stages."
        mend = stall_mend(machine, first_lift(plan), shocks) if worst.case == "stall" else _mend(worst.case)
        level = Level.WARNING if worst.case in ("run", "cut") else Level.NOTE
        yield finding(level, "shock-load", "transmission", text, mend)
    yield from overload_findings(machine, shocks)
    unbounded = sorted({name for name, torque in impacts([] if run is None else [run]) if torque is None})
    if unbounded:
        text = (
            f"The force of a {' and of a '.join(unbounded)} in the run is not bounded by what is known: nothing in the "
        )
        text += "way of the blow is said to give way."
        yield finding(Level.NOTE, "shock-unbounded", "arm.stops", text, "give arm.stops or the stages a stiffness")
    if shocks.stop_torque:
        travel = place(machine, shocks.stop_travel or 0.0)
        text = f"In run or power cut a buffer gives way by up to {travel} and pushes back with up to "
        text += effort(machine, shocks.stop_torque)
        if machine.arm.kind == "arm" and shocks.stop_force is not None:
            text += f", {number(shocks.stop_force)} N where the arm meets it"
        text += "."
        yield finding(Level.NOTE, "shock-buffer", "arm.stops", text)


def _carried(machine: Machine, stage: str, torque: float) -> str:
    """What comes out of a stage, a force where that moves the carriage."""
    return effort(machine, torque) if stage == machine.stages[-1].name else f"{number(torque)} N*m"


def overload_findings(machine: Machine, shocks: Shocks) -> Iterator[Finding]:
    """Stages that carry more than the peak torque they are known to bear: at work if they do there, else at worst."""
    for stage, loads in zip(machine.stages[inside_motor(machine) :], shocks.stages, strict=True):
        limit = stage.peak_torque
        if limit is None:
            continue
        torques = {"steady": loads.steady}
        torques |= {case: blow.torque for case in CASES if (blow := getattr(loads, case)) is not None}
        over = {case: torque for case, torque in torques.items() if torque > limit}
        working = {case: torque for case, torque in over.items() if case in ("steady", "run", "cut")}
        if not over:
            continue
        case = max(working or over, key=lambda one: over[one])
        text = (
            f"{stage.name} carries {_carried(machine, stage.name, over[case])} {NAMES.get(case, 'in a steady lift')}, "
        )
        text += f"{number(over[case] / limit)} times the {_carried(machine, stage.name, limit)} that it may carry."
        level = Level.WARNING if working else Level.NOTE
        yield finding(level, "gears-overloaded", "transmission", text, "a lower current limit, or stronger gears")


def _mend(case: str) -> str:
    return {
        "run": "a ramp of the controller, or a lower current limit",
        "cut": "a damper at the arm, or buffers at its stops",
        "motor_stop": "a coupling that slips or gives way",
        "impact": "buffers at the stops, or less speed before them",
    }[case]


def stall_mend(machine: Machine, task: LiftTask | None, shocks: Shocks) -> str:
    """The current limit that keeps a blocked stall below what is hard, if the machine still lifts with it."""
    duty, own = (task.duty if task else 1.0), inside_motor(machine)
    steady = [stage.steady for stage in shocks.stages]

    def limited(current: float) -> Machine:
        return replace(machine, controller=replace(machine.controller, current_limit=current))

    def hard(current: float) -> bool:
        loads = stall_loads(limited(current), duty)[own:]
        return any(blow is not None and blow.torque > HARD * s for blow, s in zip(loads, steady, strict=True) if s > 0)

    soft, _ = narrowed(lambda current: not hard(current), 0.0, drive_point(machine, duty).current, 1e-6)
    current = rounded_down(soft)
    margin = None if task is None or current == 0.0 else static_margin(limited(current), task)
    if margin is None or margin.value <= 1.0:
        return "a coupling that slips: a current limit low enough would leave too little to lift"
    kept = f"a current limit of {number(current)} A keeps it to {number(HARD)} times"
    return f"{kept} and leaves {number(margin.value)} times the torque to lift"
