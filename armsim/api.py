"""armsim from Python: read a scenario, change it, run it, and look at what came out.

All is in SI but where a name says otherwise: angles in rad (places of a carriage in m), temperatures in degC.
"""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from armsim.checks.assessment import Assessment, Finding, Requirement
from armsim.dynamics.run import Event, Run, Series
from armsim.dynamics.segment import SolverError
from armsim.report.files import WriteError, write_new
from armsim.scenario import Scenario, ScenarioError, changed, load, loads

__all__ = [
    "Comparison",
    "Result",
    "Scenario",
    "ScenarioError",
    "SolverError",
    "WriteError",
    "changed",
    "compare",
    "load",
    "loads",
    "run",
]

if TYPE_CHECKING:
    from armsim.studies import compare as compared
    from armsim.studies.proposal import Failure, Keep, Proposal


def run(scenario: Scenario) -> "Result":
    """Simulate a scenario and judge it. Raises SolverError where the run fails or cannot be trusted."""
    if not isinstance(scenario, Scenario):
        raise TypeError(f"run wants a Scenario, not {scenario!r:.60}; armsim.load gives one of a file")
    from armsim.studies.single import assess

    assessment = assess(scenario)
    assert assessment.run is not None  # an assessment that was simulated
    return Result(scenario=scenario, assessment=assessment, series=assessment.run)


@dataclass(frozen=True, kw_only=True, repr=False)
class Result:
    """A scenario, what was judged of it, and its run.

    The series share `time` and repeat an instant in which a quantity jumps. A notebook shows the summary with figures.
    """

    scenario: Scenario
    assessment: Assessment  #: every judgement and number of the report
    series: Run  #: the run itself, with its energy account, peaks and cycles

    @property
    def verdict(self) -> str:
        """pass, fail, or none where nothing was required or something is not known."""
        return self.assessment.verdict

    @property
    def headline(self) -> str:
        """The answer in a sentence."""
        return self.assessment.headline

    @property
    def requirements(self) -> Sequence[Requirement]:
        """Every requirement with its value, limit and margin."""
        return self.assessment.requirements

    @property
    def findings(self) -> Sequence[Finding]:
        """What is wrong or worth knowing, and what would mend it."""
        return self.assessment.findings

    @property
    def events(self) -> Sequence[Event]:
        """What happened, in order."""
        return self.series.events

    @property
    def time(self) -> Series:
        """From the start of the run. [s]"""
        return self.series.time

    @property
    def angle(self) -> Series:
        """Of the arm, up from the horizontal [rad]; of a carriage its place on the guide [m]."""
        return self.series.angle

    @property
    def speed(self) -> Series:
        """Of the arm [rad/s] or carriage [m/s], positive upwards."""
        return self.series.speed

    @property
    def motor_current(self) -> Series:
        """Of each motor. [A]"""
        return self.series.motor_current

    @property
    def supply_current(self) -> Series:
        """Drawn from the source, other loads included. [A]"""
        return self.series.supply_current

    @property
    def bus_voltage(self) -> Series:
        """At the controller; NaN while a breaker is open. [V]"""
        return self.series.bus_voltage

    @property
    def duty(self) -> Series:
        """Of the bridge; NaN while it is off. [-]"""
        return self.series.duty

    @property
    def motor_torque(self) -> Series:
        """In the air gaps of all motors. [N*m]"""
        return self.series.motor_torque

    @property
    def winding(self) -> Series:
        """Temperature of the winding. [degC]"""
        return self.series.winding

    @property
    def housing(self) -> Series:
        """Temperature of the housing. [degC]"""
        return self.series.housing

    def to_table(self) -> dict[str, Series]:
        """The series by name with its unit, in the units of series.csv: what a data frame can be made of."""
        from armsim.report.series import columns

        return columns(self.series)

    def to_csv(self, path: str | Path, overwrite: bool = False) -> Path:
        """Write the series as a CSV file and give its path. Raises WriteError, also where one is there already."""
        from armsim.report.series import series

        return write_new(Path(path), series(self.series), overwrite)

    def to_dict(self) -> dict[str, Any]:
        """The result as `armsim run --json` prints it; names carry units, what is not known is None."""
        from armsim.report.contract import as_json

        return as_json(self.scenario, self.assessment)

    def report(self, folder: str | Path, overwrite: bool = False, *, html: bool = False) -> list[Path]:
        """Write the report with its figures and give the paths; with `html` also as one page. Raises WriteError."""
        from armsim.report.write import write_report

        return write_report(self.scenario, self.assessment, Path(folder), overwrite, html=html)

    def __repr__(self) -> str:
        return f"<Result of {self.scenario.title!r}: {self.headline}>"

    def __str__(self) -> str:
        from armsim.report.terminal import summary

        return summary(self.scenario, self.assessment)

    def _repr_html_(self) -> str:
        from armsim.report.notebook import as_html

        return as_html(self.scenario, self.assessment)

    def _repr_markdown_(self) -> str:
        from armsim.report.notebook import as_markdown

        return as_markdown(self.scenario, self.assessment)


Source = str | Path | Scenario | Result


def compare(sources: Iterable[Source] | Mapping[str, Source]) -> "Comparison":
    """Run and judge two or more and set them side by side: which to take, and why.

    Each is a file, a folder of files, a pattern, a Scenario, or a Result that is there already. They are called by
    their files, or in a mapping as it says. All runs are made in this process, one after the other. Whatever stands in
    the way of one becomes its failure and stops no other. Raises FileNotFoundError for folders and patterns without
    scenarios, ValueError for fewer than two or a name that cannot be a folder's.
    """
    from armsim.studies.compare import Comparison as Record
    from armsim.studies.proposal import Entrant, failure_of, proposal_of

    given = _given(sources)
    if len(given) < 2:
        raise ValueError("compare wants two scenarios or more; for one: armsim.run")
    results: dict[str, Result] = {}
    outcomes: list[Proposal | Failure] = []
    for label, source in given.items():
        entrant = Entrant(label=label, source=source.scenario if isinstance(source, Result) else source)
        try:
            result = source if isinstance(source, Result) else run(load(source) if isinstance(source, Path) else source)
            outcomes.append(proposal_of(label, result.scenario, result.assessment))
            results[label] = result
        except Exception as fault:
            outcomes.append(failure_of(entrant, fault))
    return Comparison(record=Record(outcomes=tuple(outcomes)), results=results)


def _given(sources: Iterable[Source] | Mapping[str, Source]) -> dict[str, Path | Scenario | Result]:
    """What is compared by its name, files found."""
    from armsim.scenario.files import scenario_files
    from armsim.studies.compare import entrants_of

    if isinstance(sources, str | Path):
        raise TypeError(f"compare wants a list; for the files of one folder or pattern: [{str(sources)!r}]")
    if isinstance(sources, Mapping):
        wrong = [name for name in sources if not re.fullmatch(r"\w[\w .+-]*", name)]
        if wrong or len({name.casefold() for name in sources}) < len(sources):
            raise ValueError(f"names want letters, digits, -, + and no two alike: {', '.join(wrong or sources)}")
        return {name: _one(source) for name, source in sources.items()}
    found: list[Path | Scenario | Result] = []
    for source in sources:
        found += scenario_files([source]) if isinstance(source, str | Path) else [_one(source)]
    entrants = entrants_of([one.scenario if isinstance(one, Result) else one for one in found])
    return {entrant.label: one for entrant, one in zip(entrants, found, strict=True)}


def _one(source: Source) -> Path | Scenario | Result:
    if isinstance(source, str | Path):
        return Path(source)
    if not isinstance(source, Scenario | Result):
        raise TypeError(f"compare wants files, Scenarios and Results, not {source!r:.60}")
    return source


@dataclass(frozen=True, kw_only=True, repr=False)
class Comparison:
    """Several results side by side. A notebook shows the conclusion, tables and figures."""

    record: "compared.Comparison"  #: every judgement and number of the report
    results: Mapping[str, Result]  #: by name, those that could be run

    @property
    def conclusion(self) -> Sequence[str]:
        """What it comes to, in sentences, the answer first."""
        from armsim.report.compare_words import conclusion

        return conclusion(self.record)

    @property
    def choice(self) -> Sequence[str]:
        """Names of those that meet every requirement and that no other leaves no reason to take."""
        return self.record.ranking.choice

    @property
    def failures(self) -> Mapping[str, str]:
        """What stood in the way, by name, of those that could not be run."""
        return {failure.label: failure.text for failure in self.record.failures}

    def to_table(self) -> dict[str, list[Any]]:
        """The columns of compare.csv by head, an entry a scenario: what a data frame can be made of."""
        from armsim.report.compare_contract import comparison_rows

        head, rows = comparison_rows(self.record)
        return {name: [row[k] for row in rows] for k, name in enumerate(head)}

    def to_csv(self, path: str | Path, overwrite: bool = False) -> Path:
        """Write the table as a CSV file and give its path. Raises WriteError, also where one is there already."""
        from armsim.report.compare_contract import comparison_csv

        return write_new(Path(path), comparison_csv(self.record), overwrite)

    def to_dict(self) -> dict[str, Any]:
        """The comparison as `armsim compare --json` prints it."""
        from armsim.report.compare_contract import comparison_json

        return comparison_json(self.record)

    def report(self, folder: str | Path, overwrite: bool = False, *, html: bool = False) -> list[Path]:
        """Write the report, and in `runs` that of each, and give the paths; none where nothing could be run.

        With `html` every report also as one page. Raises WriteError.
        """
        from armsim.report.compare_write import comparison_files, write_comparison

        def compare(keep: "Keep") -> "compared.Comparison":
            for label, result in self.results.items():
                keep(label, result.scenario, result.assessment)
            return self.record

        write_comparison(Path(folder), overwrite, compare, html=html)
        return comparison_files(Path(folder)) if self.results else []

    def __repr__(self) -> str:
        return f"<Comparison of {', '.join(one.label for one in self.record.outcomes)}: {self.conclusion[0]}>"

    def __str__(self) -> str:
        from armsim.report.compare_terminal import comparison_text

        return comparison_text(self.record, 112)

    def _repr_html_(self) -> str:
        from armsim.report.notebook import comparison_as_html

        return comparison_as_html(self.record)

    def _repr_markdown_(self) -> str:
        from armsim.report.notebook import comparison_as_markdown

        return comparison_as_markdown(self.record)
