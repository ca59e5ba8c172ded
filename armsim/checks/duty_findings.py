"""Findings on the motor's heat over many cycles, at a stall under its brushes, and on what its limit means."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from armsim.checks.assessment import Assessment, Finding, Level
from armsim.checks.codes import finding
from armsim.checks.drive import time_to_limit
from armsim.checks.duty import HeatRating
from armsim.checks.lifting import first_lift
from armsim.checks.phrases import number, rounded_down, rounded_up
from armsim.drivetrain.machine import Machine
from armsim.dynamics.plan import Plan
from armsim.dynamics.run import Kind, Run
from armsim.parts.duty import HOT_SPOT, thermal_class

SEALED = 1e9  #: thermal resistance through which nothing flows [K/W]


def cycle_findings(assessment: Assessment, run: Run) -> Iterator[Finding]:
    """Many cycles against the winding's limit: the one that first passes it, in the run or gone on with."""
    heat = run.machine.motor.heat
    if len(run.cycles) < 2 or heat is None or heat.winding_limit is None:
        return
    rating, limit = assessment.heat, heat.winding_limit
    seen = next((each.number for each in run.cycles if each.winding > limit), None)
    later = rating.passes_in if rating is not None else None
    if seen is None and later is None:
        return
    if seen is not None:
        text = f"In cycle {seen} of {len(run.cycles)} the winding passes its limit of {number(limit)} degC"
    else:
        text = (
            f"In the {len(run.cycles)} cycles of the run the winding stays within its limit of {number(limit)} degC; "
        )
        text += f"gone on with, it passes it in about cycle {later}"
    if rating is not None and rating.overload is not None:  # the cycle is one that can go on
        end = rating.settles_at
        text += "; it does not settle, for losses grow faster than the motor sheds heat" if end is None else ""
        text += "" if end is None else f"; it settles at {number(end)} degC"
    level = Level.WARNING if seen is None else Level.ERROR
    yield finding(level, "motor-past-limit", "motor.thermal", f"{text}.", mends(rating))


def mends(rating: HeatRating | None) -> str:
    """A smaller payload and a longer rest, each alone; what is to be cut where neither is known to help."""
    found = []
    if rating is not None and rating.cycle_payload:
        found.append(f"a payload of about {number(rounded_down(rating.cycle_payload))} kg")
    if rating is not None and rating.rest_needed:
        found.append(f"about {number(rounded_up(rating.rest_needed))} s more rest in each cycle")
    return ", or ".join(found) or "less current: more reduction, a counterbalance, or a larger motor"


def local_findings(machine: Machine, plan: Plan, run: Run) -> Iterator[Finding]:
    """A stall in the run, where the winding's heat is known: what its mean temperature does not show."""
    stall = run.first(Kind.STALL)
    if stall is None:
        return
    whole = sealed_time(machine, plan, float(np.interp(stall.time, run.time, run.winding)))
    if whole is not None:
        text = (
            f"The motor stalls at t = {number(stall.time)} s. With brushes, the coils under them get hotter than the "
        )
        text += f"mean: count on {number(0.5 * whole)} s from there, half the time that the winding would take sealed."
        yield finding(Level.NOTE, "stall-heats-locally", "motor", text, "a stall timer")


def sealed_time(machine: Machine, plan: Plan, start: float) -> float | None:
    """Time for the winding stalled at the drive of the first lift from a start [degC] to its limit, sealed. [s]"""
    heat, task = machine.motor.heat, first_lift(plan)
    if heat is None:
        return None
    sealed = replace(heat, winding_to_housing=SEALED, housing_to_air=SEALED)
    still = replace(machine, motor=replace(machine.motor, heat=sealed))
    return time_to_limit(still, task.duty if task else 1.0, (start, start))


def class_findings(machine: Machine) -> Iterator[Finding]:
    """A limit that is the figure of a thermal class."""
    heat = machine.motor.heat
    name = None if heat is None or heat.winding_limit is None else thermal_class(heat.winding_limit)
    if heat is None or heat.winding_limit is None or name is None:
        return
    text = f"The winding's limit of {number(heat.winding_limit)} degC is the figure of thermal class {name}, which is "
    text += f"that of the hottest spot; the mean temperature that is computed here lies about {number(HOT_SPOT, 2)} K "
    text += "below that."
    mend = f"a limit of {number(heat.winding_limit - HOT_SPOT)} degC, unless the maker means the mean"
    yield finding(Level.NOTE, "limit-is-hot-spot", "motor.thermal.winding_limit", text, mend)
