"""Findings that need no run: torque, protection against a stall, heat, and the current of a hold."""

import math
from collections.abc import Iterator
from dataclasses import replace

from armsim.checks.assessment import Assessment, Finding, Level
from armsim.checks.codes import finding
from armsim.checks.lifting import available_torque, first_lift, hold_angles, needed_torque, shortfall, static_margin
from armsim.checks.phrases import degrees, number, percent, rounded_up
from armsim.drivetrain.circuit import DrivePoint, drive_point, winding_resistance
from armsim.drivetrain.machine import Machine
from armsim.drivetrain.train import rest_torque
from armsim.dynamics.plan import Plan

PARTIAL = 0.75  #: share of a motor's current on the supply side below which that is worth a word
LOW, USUAL = 1.3, 2.0  #: static margins below which a lift is short of reserve, and is still below the trade's habit


def torque_findings(machine: Machine, plan: Plan, assessment: Assessment) -> Iterator[Finding]:
    """Static margin over the lift."""
    task = first_lift(plan)
    if task is None:
        return
    mend = mend_text(assessment) if assessment.run is None else ""  # said with the lift that failed
    margin = static_margin(machine, task)
    swings = assessment.lift.reached is True
    if available_torque(machine, task.duty) <= needed_torque(machine, task.start):
        text = f"At {degrees(task.start)}, where it starts, the stalled drive gives the arm"
        yield finding(Level.ERROR, "cannot-start", "motor", f"{text} {shortfall(machine, plan, task.start)}.", mend)
    elif margin is not None and margin.value <= 1.0:
        text = f"At {degrees(margin.angle)} the stalled drive gives the arm {shortfall(machine, plan, margin.angle)}."
        if swings:
            text += " It passes there only by the swing it has gathered; from rest there it would not move."
            mend = mend_text(assessment)
        yield finding(Level.WARNING if swings else Level.ERROR, "static-margin-short", "motor", text, mend)
    elif margin is not None and margin.value < USUAL:
        text = (
            f"The stalled drive gives {number(margin.value)} times the torque needed at {degrees(margin.angle)}. "
            "Half of stall torque is the usual working point: less leaves little for a cold battery or dry bearings."
        )
        level = Level.WARNING if margin.value < LOW else Level.NOTE
        yield finding(level, "static-margin-low", "motor", text)
    yield from limit_findings(machine, plan)


def limit_findings(machine: Machine, plan: Plan) -> Iterator[Finding]:
    """A current limit that stands between a strong enough motor and the lift."""
    task = first_lift(plan)
    if task is None or not drive_point(machine, task.duty).limited:
        return
    unlimited = replace(machine, controller=replace(machine.controller, current_limit=None))
    margin, free = static_margin(machine, task), static_margin(unlimited, task)
    if margin is None or free is None or margin.value > 1.0 or free.value <= 1.0:
        return
    motor = machine.motor
    current = rest_torque(machine, margin.angle, 1) / (motor.count * motor.torque_constant)
    yield finding(
        Level.ERROR,
        "current-limit-blocks",
        "controller.current_limit",
        f"At the limit of {number(machine.controller.current_limit or 0.0)} A the motor cannot raise the arm at "
        f"{degrees(margin.angle)}, though without it it could.",
        f"a limit of {number(rounded_up(current * 1.0001))} A or more",
    )


def mend_text(assessment: Assessment) -> str:
    """Everything that would make it lift, as one sentence."""
    helping = [mend.text for mend in assessment.lift.mends if mend.needed is not None]
    vain = [mend.text for mend in assessment.lift.mends if mend.needed is None]
    return "; ".join([" or ".join(helping), *vain] if helping else vain)


def stall_findings(machine: Machine, plan: Plan, assessment: Assessment) -> Iterator[Finding]:
    """What happens electrically while the motor stands still under full drive."""
    task = first_lift(plan)
    point, limit = drive_point(machine, task.duty if task else 1.0), assessment.time_to_limit
    level = machine.controller.undervoltage
    if level is not None and point.bus < level:
        yield finding(
            Level.WARNING,
            "undervoltage-at-stall",
            "supply.undervoltage",
            f"With the motor stalled the bus falls to {number(point.bus)} V, below the {number(level)} V at which the "
            "controller resets: it would reset over and over instead of pushing.",
            "a lower current limit, thicker or shorter wires, or a stronger battery",
        )
    if not machine.protection:
        yield finding(
            Level.WARNING,
            "no-protection",
            "supply.protection",
            f"No fuse or breaker is given; stalled, {number(point.supply_current)} A flow for as long as it is driven.",
            "a device at the battery, rated for the wire",
        )
    elif not (
        bears_stall(machine, limit) or any(sees_stall(result.stall_latest, limit) for result in assessment.protection)
    ):
        yield unseen_stall(assessment, point, machine.motor.count)
    if limit is not None:
        yield finding(
            Level.WARNING if limit < 5.0 else Level.NOTE,
            "stall-heats",
            "motor.thermal",
            f"Stalled at {number(point.current)} A the winding goes from {number(machine.ambient)} degC to its limit "
            f"in {number(limit)} s.",
        )


def bears_stall(machine: Machine, limit: float | None) -> bool:
    """True where the winding is known never to reach its limit in a stall."""
    heat = machine.motor.heat
    return heat is not None and heat.winding_limit is not None and limit is None


def sees_stall(latest: float | None, limit: float | None) -> bool:
    """True where a device opens for certain in a stall, before the winding reaches its limit if that is known."""
    return latest is not None and (limit is None or latest < limit)


def unseen_stall(assessment: Assessment, point: DrivePoint, motors: int) -> Finding:
    """The breaker guards the wire, not the motor; at partial duty it sees the less of its current."""
    motor, supply = point.current, point.supply_current
    share = point.duty * motors if point.duty * motors < PARTIAL else None
    times = [result.stall_latest for result in assessment.protection if result.stall_latest is not None]
    wait = f"opens for certain only after {number(min(times))} s" if times else "may never open"
    limit = assessment.time_to_limit
    heat = "" if limit is None else f", while the winding is at its limit after {number(limit)} s"
    return finding(
        Level.WARNING,
        "stall-unseen",
        "supply.protection",
        f"With {number(motor)} A in each stalled motor {number(supply)} A pass the protection, which {wait}{heat}."
        + ("" if share is None else f" At this duty the supply carries only {percent(share)} of a motor's current."),
        "a stall timer or a lower current limit in the controller",
    )


def asked_hold_findings(machine: Machine, plan: Plan, assessment: Assessment) -> Iterator[Finding]:
    """Whether the drive can hold where a hold is asked, and for how long the winding bears it."""
    current, bearable = assessment.holding.holding_current, continuous_current(machine)
    if not hold_angles(plan) or current is None:
        return
    most = drive_point(machine, 1.0).current
    if abs(current) > most and assessment.run is None:
        text = f"Holding takes {number(abs(current))} A in each motor; the drive gives {number(most)} A at most."
        yield finding(Level.ERROR, "cannot-hold", "moves", text)
    if bearable is not None and abs(current) > bearable:
        text = f"Holding takes {number(abs(current))} A in each motor; the winding bears {number(bearable)} A for good."
        yield finding(
            Level.WARNING, "hold-overheats", "motor.thermal", text, "a brake or a counterweight for long holds"
        )


def continuous_current(machine: Machine) -> float | None:
    """Motor current at rest that brings the winding just to its limit in the end, None where heat is unknown. [A]"""
    heat = machine.motor.heat
    if heat is None or heat.winding_limit is None:
        return None
    hot = winding_resistance(machine, heat.winding_limit)
    room = max(heat.winding_limit - machine.ambient, 0.0)
    return math.sqrt(room / (hot * (heat.winding_to_housing + heat.housing_to_air)))
