"""Findings that need no run: torque, protection against a stall, heat, and the current of a hold."""

from collections.abc import Iterator
from dataclasses import replace

from armsim.checks.assessment import Assessment, Finding, Level
from armsim.checks.codes import finding
from armsim.checks.heat_rating import bearable_current
from armsim.checks.lifting import (
    LiftTask,
    available_torque,
    first_lift,
    hold_angles,
    needed_torque,
    shortfall,
    static_margin,
)
from armsim.checks.phrases import number, percent, place, rounded_up
from armsim.drivetrain.circuit import DrivePoint, drive_point
from armsim.drivetrain.machine import Machine
from armsim.drivetrain.train import rest_torque
from armsim.dynamics.plan import Plan
from armsim.dynamics.steering import balanced_current

PARTIAL = 0.75  #: share of a motor's current on the supply side below which that is worth a word
COLD_FERRITE = -10.0  #: below which ferrite magnets are at risk of a stall's current, by their makers' word [degC]
LOW_DUTY = 0.7  #: at stall, below which a limit on the supply side lets much more through the motor [-]
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
        text = f"At {place(machine, task.start)}, where it starts, the stalled drive gives the arm"
        yield finding(Level.ERROR, "cannot-start", "motor", f"{text} {shortfall(machine, plan, task.start)}.", mend)
    elif margin is not None and margin.value <= 1.0:
        text = f"At {place(machine, margin.angle)} the stalled drive gives the arm "
        text += f"{shortfall(machine, plan, margin.angle)}."
        if swings:
            text += " It passes there only by the swing it has gathered; from rest there it would not move."
            mend = mend_text(assessment)
        yield finding(Level.WARNING if swings else Level.ERROR, "static-margin-short", "motor", text, mend)
    elif margin is not None and margin.value < USUAL:
        text = (
            f"The stalled drive gives {number(margin.value)} times the torque needed at "
            f"{place(machine, margin.angle)}. Half of stall torque is the usual working point: less leaves little for "
            "a cold battery or dry bearings."
        )
        level = Level.WARNING if margin.value < LOW else Level.NOTE
        yield finding(level, "static-margin-low", "motor", text)
    yield from limit_findings(machine, plan)


def limit_findings(machine: Machine, plan: Plan) -> Iterator[Finding]:
    """A current limit that stands between a strong enough motor and the lift."""
    task = first_lift(plan)
    if task is None:
        return
    if task.duty < machine.controller.minimum_duty:
        text = f"The lift asks for a duty of {number(task.duty)}; below {number(machine.controller.minimum_duty)} "
        text += "the controller's output stays off, and the arm does not move."
        yield finding(Level.ERROR, "duty-below-minimum", "moves", text, "more duty")
        return
    point = drive_point(machine, task.duty)
    margin = static_margin(machine, task)
    if margin is not None and margin.value <= 1.0 and (point.limited or point.starved):
        yield from blocking_limit(machine, task, margin.angle)
    ration = machine.controller.supply_current_limit
    if ration is not None and point.limited and point.duty < LOW_DUTY:
        text = f"The limit of {number(ration)} A is on the supply's side: at stall it lets {number(point.current)} A "
        text += f"through each motor at a duty of {percent(point.duty)}. It guards the supply, not the winding."
        yield finding(
            Level.WARNING,
            "supply-side-limit",
            "controller.supply_current_limit",
            text,
            "a limit of the motor's current",
        )


def blocking_limit(machine: Machine, task: LiftTask, angle: float) -> Iterator[Finding]:
    """Each limit without which the stalled drive would raise the arm at its worst angle [rad], and what it must be."""
    controller, outlet = machine.controller, machine.outlet
    current = balanced_current(machine, lambda volts: rest_torque(machine, angle, 1, machine.companion_currents(volts)))

    def frees(other: Machine) -> bool:
        margin = static_margin(other, task)
        return margin is not None and margin.value > 1.0

    if controller.current_limit is not None and frees(
        replace(machine, controller=replace(controller, current_limit=None))
    ):
        yield finding(
            Level.ERROR,
            "current-limit-blocks",
            "controller.current_limit",
            f"At the limit of {number(controller.current_limit)} A the motor cannot raise the arm at "
            f"{place(machine, angle)}, though without it it could.",
            f"a limit of {number(rounded_up(current * 1.0001))} A or more",
        )
    ration = controller.supply_current_limit
    if ration is not None and frees(replace(machine, controller=replace(controller, supply_current_limit=None))):
        text = f"At {number(ration)} A from the supply the motor cannot raise the arm at {place(machine, angle)}, "
        text += "though without that limit it could."
        yield finding(Level.ERROR, "current-limit-blocks", "controller.supply_current_limit", text, "a higher limit")
    if outlet is not None and frees(replace(machine, outlet=None)):
        text = f"At its limit of {number(outlet.current_limit)} A the supply lets the bus fall until the motor cannot "
        text += f"raise the arm at {place(machine, angle)}, though a supply without that limit could."
        folds = "" if outlet.short_circuit_current is None else ", or one whose limit does not fold back"
        amps = rounded_up(machine.motor.count * task.duty * current + machine.other_loads)
        mend = f"a supply of {number(amps)} A or more"
        yield finding(Level.ERROR, "supply-limit-blocks", "supply.bench.current_limit", text, mend + folds)


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
    yield from magnet_findings(machine, point)
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


def magnet_findings(machine: Machine, stalled: DrivePoint) -> Iterator[Finding]:
    """Ferrite loses coercivity in the cold: there a stall's current may leave the motor weaker for good."""
    if machine.motor.magnet == "ferrite" and machine.ambient < COLD_FERRITE:
        text = f"At {number(machine.ambient)} degC ferrite magnets withstand less: {number(stalled.current)} A in a "
        text += "stalled motor may weaken them for good."
        mend = "a current limit near the rated current in the cold, or a warm-up without load"
        yield finding(Level.WARNING, "magnets-at-risk", "motor.magnet", text, mend)


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
    current, bearable = assessment.holding.holding_current, bearable_current(machine)
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
