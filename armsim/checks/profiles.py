"""Can the drive follow the profile asked for: current and voltage along it, and the largest like it that fits.

Asked of the machine's own torque recursion before anything is simulated: along the reference the motor needs a current
and, behind its back-EMF, a duty. A profile is slowed as a whole, time stretched evenly, so that speed, acceleration and
jerk fall by a factor, its square and its cube.
"""

import math
from collections.abc import Iterator
from typing import NamedTuple

from armsim.checks.assessment import Finding, Level
from armsim.checks.codes import finding
from armsim.checks.phrases import number, place, rate, rounded_down
from armsim.checks.search import narrowed
from armsim.drivetrain.circuit import beside
from armsim.drivetrain.machine import Machine, loaded
from armsim.dynamics.plan import Follow, Going, Limits, Plan, payloads
from armsim.dynamics.profile import Profile, Reference
from armsim.dynamics.steering import along, back_emf, reference_current
from armsim.parts.battery import open_circuit_voltage
from armsim.parts.bridge import duty_for_current

POINTS = 60  #: along a profile, its knots aside
SLOWEST = 0.01  #: share of the speed asked for below which no profile is offered


class Unit(NamedTuple):
    """In which limits of a motion are shown."""

    name: str
    size: float  #: [rad, m]


UNITS = {"arm": Unit("deg", math.radians(1.0)), "carriage": Unit("m", 1.0)}


class Demand(NamedTuple):
    """The hardest instant of a profile."""

    share: float  #: of what controller and supply can give, 1 just fits [-]
    at: Reference
    current: float  #: per motor [A]
    by_limit: bool  #: the controller's current limit decides, not the voltage


def profile_findings(machine: Machine, plan: Plan) -> Iterator[Finding]:
    """A warning for each profile that motor, controller or supply cannot follow."""
    angle, carried = plan.start, payloads(machine.arm, plan)
    for k, move in enumerate(plan.moves):
        if isinstance(move, Follow):
            able = loaded(machine, carried[k])
            hardest = demand(able, along(angle, move.to, move.limits))
            if hardest.share > 1.0:
                where = f"moves[{k}].{move.name}.profile"
                yield finding(
                    Level.WARNING,
                    "profile-too-fast",
                    where,
                    wanting(machine, move, hardest),
                    fitting(able, angle, move),
                )
        if isinstance(move, Going):
            angle = move.to


def wanting(machine: Machine, move: Follow, hardest: Demand) -> str:
    """What a profile asks for that cannot be given."""
    at, share = hardest.at, hardest.share
    text = f"The {move.name}'s profile cannot be followed: at {place(machine, at.position)} and "
    text += f"{rate(machine, abs(at.speed))} it asks"
    lack = "the controller's current limit" if hardest.by_limit else "the voltage there is"
    if not math.isfinite(share):
        return f"{text} for a current of {number(abs(hardest.current))} A that the supply cannot give."
    return f"{text} for {number(abs(hardest.current))} A, {number(share)} times what {lack} allows."


def fitting(machine: Machine, start: float, move: Follow) -> str:
    """The largest profile of the same shape that fits, in words."""
    scale = largest_scale(machine, start, move)
    if scale is None:
        return "no slower profile fits either: the torque is missing"
    slower = scaled(move.limits, scale, UNITS[machine.arm.kind].size)
    unit, size = UNITS[machine.arm.kind]
    text = f"speed: {number(slower.speed / size)} {unit}/s, "
    text += f"acceleration: {number(slower.acceleration / size)} {unit}/s^2"
    if slower.jerk is not None:
        text += f", jerk: {number(slower.jerk / size)} {unit}/s^3"
    return f"{text} just fits (winding cold, source fresh)"


def largest_scale(machine: Machine, start: float, move: Follow) -> float | None:
    """Largest factor on the speed, at most 1, with which the profile can be followed; None if none can."""

    def fits(scale: float) -> bool:
        return (
            demand(machine, along(start, move.to, scaled(move.limits, scale, UNITS[machine.arm.kind].size))).share
            <= 1.0
        )

    if fits(1.0):
        return 1.0
    if not fits(SLOWEST):
        return None
    return narrowed(fits, SLOWEST, 1.0, 1e-4)[0]


def scaled(limits: Limits, scale: float, size: float = UNITS["arm"].size) -> Limits:
    """The limits of a motion slowed as a whole, rounded down in units of a size [rad, m]."""

    def down(value: float) -> float:
        return size * rounded_down(value / size, 4)

    return Limits(
        speed=down(limits.speed * scale),
        acceleration=down(limits.acceleration * scale**2),
        jerk=None if limits.jerk is None else down(limits.jerk * scale**3),
    )


def demand(machine: Machine, profile: Profile) -> Demand:
    """The instant of a profile that asks most of controller and supply."""
    times = [profile.duration * k / POINTS for k in range(POINTS)]
    times += [time for knot in profile.times for time in (knot, math.nextafter(knot, 0.0))]
    return max((demand_at(machine, profile.at(time)) for time in times), key=lambda one: one.share)


def demand_at(machine: Machine, at: Reference) -> Demand:
    """What one instant of a reference asks, winding at its reference temperature, source fresh."""
    motor, limit = machine.motor, machine.controller.current_limit
    current, emf = reference_current(machine, at), back_emf(machine, at.speed)
    duty = duty_for_current(
        current,
        emf,
        resistance=machine.loop_resistance,
        count=motor.count,
        open_circuit=open_circuit_voltage(machine.battery, 0.0),
        source_resistance=machine.source_resistance,
        other_loads=machine.other_loads,
        beside=beside(machine, at.speed).at(machine.loop_resistance * current + emf),
    )
    by_voltage = math.inf if duty is None else abs(duty)
    by_limit = 0.0 if limit is None else abs(current) / limit
    return Demand(share=max(by_voltage, by_limit), at=at, current=current, by_limit=by_limit > by_voltage)
