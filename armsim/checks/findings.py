"""All findings of an assessment, gravest first. What each code means stands in `codes.CODES`."""

from collections.abc import Iterator
from dataclasses import replace
from functools import partial

from armsim.checks.assessment import Assessment, Finding, Level
from armsim.checks.balance import balance_findings
from armsim.checks.carriage_findings import carriage_findings
from armsim.checks.charge import battery_findings
from armsim.checks.codes import finding
from armsim.checks.duty_findings import class_findings, cycle_findings, local_findings
from armsim.checks.fit import fit_findings
from armsim.checks.holding_findings import holding_findings
from armsim.checks.phrases import told_of
from armsim.checks.profiles import profile_findings
from armsim.checks.rest_findings import asked_hold_findings, stall_findings, torque_findings
from armsim.checks.run_findings import (
    fall_findings,
    heat_findings,
    motion_findings,
    protection_findings,
    supply_findings,
    travel_findings,
    trust_findings,
)
from armsim.checks.selectivity import selectivity_findings
from armsim.checks.sharing import sharing_findings
from armsim.checks.shocks import shock_findings
from armsim.checks.strength import strength_findings
from armsim.checks.wires import drop_findings, warm_findings, wire_findings
from armsim.drivetrain.machine import Machine
from armsim.dynamics.plan import Plan

ORDER = (Level.ERROR, Level.WARNING, Level.NOTE)


def find(machine: Machine, plan: Plan, assessment: Assessment) -> tuple[Finding, ...]:
    """Everything worth saying about a machine at rest and, where there is one, its run."""
    return tuple(sorted(map(partial(_told, machine), _all(machine, plan, assessment)), key=_rank))


def _rank(found: Finding) -> int:
    return ORDER.index(found.level)


def _told(machine: Machine, found: Finding) -> Finding:
    """The finding in words for what the machine moves."""
    if machine.arm.kind == "arm":
        return found
    where, text, mend = (told_of(machine.arm.kind, words) for words in (found.where, found.text, found.mend))
    return replace(found, where=where, text=text, mend=mend)


def _all(machine: Machine, plan: Plan, assessment: Assessment) -> Iterator[Finding]:
    run = assessment.run
    if run is not None:
        yield from trust_findings(run)
        yield from travel_findings(machine, assessment, run)
    yield from torque_findings(machine, plan, assessment)
    if assessment.motors is not None:
        yield from sharing_findings(machine, assessment.motors)
    yield from profile_findings(machine, plan)
    if run is not None:
        yield from protection_findings(machine, assessment, run)
        yield from supply_findings(machine, run)
        yield from heat_findings(machine, run)
        yield from cycle_findings(assessment, run)
        yield from motion_findings(machine, run)
        yield from fall_findings(machine, assessment)
    yield from battery_findings(machine, plan, assessment)
    yield from wire_findings(machine)
    yield from warm_findings(assessment.wiring)
    yield from drop_findings(assessment.wiring)
    yield from selectivity_findings(machine)
    yield from stall_findings(machine, plan, assessment)
    yield from holding_findings(machine, assessment)
    yield from balance_findings(machine, plan)
    yield from carriage_findings(machine, plan)
    yield from asked_hold_findings(machine, plan, assessment)
    yield from shock_findings(machine, plan, assessment.shocks, run)
    if run is not None:
        yield from local_findings(machine, plan, run)
    yield from class_findings(machine)
    yield from _unjudged(assessment)
    yield from fit_findings(assessment.fit)
    yield from strength_findings(assessment.strength)


def _unjudged(assessment: Assessment) -> Iterator[Finding]:
    if assessment.run is None:
        return
    for requirement in assessment.requirements:
        if requirement.met is None:
            text = "It cannot be judged: the scenario does not give what it needs."
            yield finding(Level.WARNING, "not-judged", f"requirements.{requirement.name}", text)
