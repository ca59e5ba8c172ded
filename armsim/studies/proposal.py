"""One scenario as a comparison keeps it: its measures and what stands behind them, small enough to hold many."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from armsim.checks.assessment import Assessment, Finding, Requirement
from armsim.checks.judged_parts import StrengthRow
from armsim.checks.requirements import Value, worst_trip
from armsim.checks.stalls import travel_outcomes
from armsim.checks.strength import weakest
from armsim.dynamics.run import Run, Series
from armsim.studies.thinning import thin

if TYPE_CHECKING:
    from armsim.scenario import Assumption, Entry, PartsRow, Problem, Scenario

Line = tuple[Series, Series]  #: across and up
Keep = Callable[[str, "Scenario", Assessment], object]  #: does more with a result while it is there: label, both


@dataclass(frozen=True, kw_only=True)
class Entrant:
    """A scenario to be compared."""

    label: str  #: what it is called in the comparison, not twice
    source: "Path | Scenario"

    @property
    def path(self) -> Path | None:
        """Its file, None for one built in code."""
        return self.source if isinstance(self.source, Path) else self.source.path


@dataclass(frozen=True, kw_only=True)
class Inputs:
    """What was written, and what was taken where nothing was."""

    title: str
    sha256: str
    entries: tuple["Entry", ...]
    assumptions: tuple["Assumption", ...]
    warnings: tuple["Problem", ...]
    parts_list: tuple["PartsRow", ...]


@dataclass(frozen=True, kw_only=True)
class Course:
    """What a figure shows of the first cycle, thinned."""

    angle: Line  #: over time [s, rad, or m of a carriage]
    supply: Line  #: current over time [s, A]
    margin: Line  #: available over needed, over angle; NaN where nothing is needed [rad, -]
    lift_ends: float | None  #: first lift reached or stalled; None: there is none [s]
    ratings: tuple[float, ...]  #: of the devices in the supply line [A]


@dataclass(frozen=True, kw_only=True)
class Proposal:
    """One scenario judged."""

    label: str
    path: Path | None
    load: str  #: arm or carriage
    verdict: str  #: pass, fail, none
    headline: str
    arrives: bool  #: every move arrives
    values: dict[str, Value]  #: by name of the measure, SI; None: not known
    requirements: tuple[Requirement, ...]
    weakest: StrengthRow | None
    findings: tuple[Finding, ...]
    inputs: Inputs
    course: Course


@dataclass(frozen=True, kw_only=True)
class Failure:
    """One that gave no answer."""

    label: str
    path: Path | None
    status: int  #: exit status that a run of it alone would end with
    text: str
    problems: tuple["Problem", ...] = ()


def judged(entrant: Entrant, keep: Keep | None = None) -> Proposal | Failure:
    """One scenario read, run and judged; whatever stands in the way becomes the answer."""
    try:
        from armsim.scenario import load
        from armsim.studies.single import assess

        scenario = load(entrant.source) if isinstance(entrant.source, Path) else entrant.source
        assessment = assess(scenario)
        if keep is not None:
            keep(entrant.label, scenario, assessment)
        return proposal_of(entrant.label, scenario, assessment)
    except Exception as fault:
        return failure_of(entrant, fault)


def failure_of(entrant: Entrant, fault: Exception) -> Failure:
    """A fault as a record that can be sent to another process."""
    status = getattr(fault, "exit_status", None)
    text = str(fault) if status is not None else f"a fault of armsim itself: {type(fault).__name__}: {fault}"
    return Failure(
        label=entrant.label,
        path=entrant.path,
        status=70 if status is None else int(status),
        text=text,
        problems=getattr(fault, "problems", ()),
    )


def proposal_of(label: str, scenario: "Scenario", assessment: Assessment) -> Proposal:
    """What is kept of one that was simulated."""
    run = assessment.run
    if run is None:
        raise ValueError("a comparison is of runs, not of checks at rest")
    arrives = all(outcome.reached for outcome in travel_outcomes(run))
    return Proposal(
        label=label,
        path=scenario.path,
        load=assessment.load,
        verdict=assessment.verdict,
        headline=assessment.headline,
        arrives=arrives,
        values=_values(scenario, assessment, run, arrives),
        requirements=assessment.requirements,
        weakest=weakest(assessment.strength),
        findings=assessment.findings,
        inputs=Inputs(
            title=scenario.title,
            sha256=scenario.sha256,
            entries=scenario.entries,
            assumptions=scenario.assumptions,
            warnings=scenario.warnings,
            parts_list=scenario.parts_list,
        ),
        course=_course(assessment, run),
    )


def _values(scenario: "Scenario", assessment: Assessment, run: Run, arrives: bool) -> dict[str, Value]:
    from armsim.scenario.records import mass_of, price_of

    parts, row = scenario.parts_list, weakest(assessment.strength)
    return {
        "lift_time": assessment.lift.time if assessment.lift.reached else None,
        "motor_current_peak": max(abs(peak.value) for peak in (run.peaks.motor_current, *run.peaks.companion_currents)),
        "motor_current_rms": max((run.motor_current_rms, *run.companion_currents_rms)),
        "supply_current_peak": run.peaks.supply_current.value,
        "supply_current_rms": run.supply_current_rms,
        "breaker_trips": worst_trip(assessment.protection) if assessment.protection else None,
        "bus_voltage_min": run.peaks.bus_voltage.value,
        "winding_peak": None if run.machine.motor.heat is None else run.peaks.winding.value,
        "holds_unpowered": assessment.holding.stays_up,
        "static_margin": assessment.lift.static_margin,
        "weakest_part_safety": None if row is None or not np.isfinite(row.safety) else row.safety,
        # of moves that break off it would tell how little was done
        "energy_per_cycle": run.energy.supplied / max(1, len(run.cycles)) if arrives else None,
        "mass": mass_of(parts),
        "price": price_of(parts),
        "parts": sum(part.quantity for part in parts) if parts else None,
    }


def _course(assessment: Assessment, run: Run) -> Course:
    first = slice(None)
    if len(run.cycles) > 1:
        first = slice(0, int(np.searchsorted(run.time, run.cycles[0].begun + run.cycles[0].duration, "right")))
    curves = assessment.curves
    asked = curves.needed > 0.0
    margin = np.divide(curves.available, curves.needed, out=np.full(curves.needed.shape, np.nan), where=asked)
    lifts = [outcome for outcome in travel_outcomes(run) if outcome.name == "lift"]
    ends = lifts[0].ended if lifts and lifts[0].reached else lifts[0].stall if lifts else None
    return Course(
        angle=_own(thin(run.time[first], run.angle[first])),
        supply=_own(thin(run.time[first], run.supply_current[first])),
        margin=_own((curves.angle, margin)),
        lift_ends=None if ends is None else ends.time,
        ratings=tuple(sorted({device.rating for device in assessment.protection})),
    )


def _own(line: Line) -> Line:
    """Copies, which do not keep the whole series alive."""
    return line[0].copy(), line[1].copy()
