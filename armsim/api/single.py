"""One scenario run from Python, and what came out."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from armsim.checks.assessment import Assessment, Finding, Requirement
from armsim.dynamics.run import Event, Run, Series
from armsim.report.files import write_new
from armsim.scenario import Scenario


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
