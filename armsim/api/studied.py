"""Studies of one scenario from Python: swept over values, how sure its answer is, its drive sized, its limits."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from armsim.report.files import write_new
from armsim.scenario import Scenario

if TYPE_CHECKING:
    from armsim.report.telling import Telling
    from armsim.scenario.stock import Stock
    from armsim.scenario.tasks import Task


def sweep(scenario: Scenario, vary: Mapping[str, str | Iterable[str]]) -> "Study":
    """Follow the lift over values of one key or a grid of several, in this process.

    Values by key as `armsim sweep --vary` takes them: `{"reduction": "20:200:60"}`, or a list of texts. Raises
    ScenarioError for values that cannot be, SweepError for a scenario that lifts nothing.
    """
    from armsim.report.telling import of_sweep
    from armsim.scenario.varied import Template
    from armsim.studies.sweep import sweep as swept

    template = Template.of(scenario)
    options = [f"{key}={values if isinstance(values, str) else ','.join(values)}" for key, values in vary.items()]
    found = swept(template, template.variations(options))
    return Study(record=found, telling=of_sweep(found))


def spread(scenario: Scenario, count: int = 2048, seed: int = 1) -> "Study":
    """The share of machines that meet what is asked, of what is not known exactly, in this process.

    All machines are held in memory, a hundred bytes or two each; `armsim spread` keeps very many on the disk. Raises
    NothingToStudy where nothing is uncertain or no lift is asked for, ValueError for a count out of range.
    """
    from armsim.report.telling import of_spread
    from armsim.studies.spread import LEAST_COUNT, MOST_COUNT, study

    if not LEAST_COUNT <= count <= MOST_COUNT:
        raise ValueError(f"count is {count}, it has to be {LEAST_COUNT} to {MOST_COUNT}")
    found = study(scenario, count, seed)
    return Study(record=found, telling=of_spread(found))


def size(
    scenario: str | Path | Scenario,
    stock: str | Path | None = None,
    *,
    time: float | None = None,
    efficiency: float | None = None,
) -> "Study":
    """What a lift asks of any drive, and which reductions of which motor make it in a time [s].

    A file may lack motor, supply and transmission; motors are those of a stock list and the file's own. Raises
    ScenarioError, SizeError where no lift or no time is asked for.
    """
    from armsim.report.telling import of_size
    from armsim.studies.size import size as sized

    task, shelf = _task(scenario), _stock(stock)
    found = sized(task, shelf, time=time, efficiency=efficiency)
    return Study(record=found, telling=of_size(task, shelf, found))


def limits(scenario: str | Path | Scenario, keys: Sequence[str] = ()) -> "Study":
    """How far payload, arm, charge and efficiency may go, or some of them by key, in this process.

    Raises LimitError for keys without a limit.
    """
    from armsim.report.telling import of_limits
    from armsim.studies.limits import asked_limits, known_limits

    task = _task(scenario)
    found, _ = asked_limits(task, None, known_limits(task, tuple(keys)), workers=1)
    return Study(record=found, telling=of_limits(task, found))


def _task(source: str | Path | Scenario) -> "Task":
    from armsim.scenario.tasks import load_task, task_of

    return task_of(source) if isinstance(source, Scenario) else load_task(Path(source))


def _stock(source: str | Path | None) -> "Stock | None":
    from armsim.scenario.stock import load_stock

    return None if source is None else load_stock(Path(source))


@dataclass(frozen=True, kw_only=True, repr=False)
class Study:
    """What a study found, shown alike whichever it was. A notebook shows the conclusion, tables and figures."""

    record: Any  #: every number of the report: a Sweep, SpreadStudy, Sizing, or Limits in a tuple
    telling: "Telling"  #: how it is told

    @property
    def conclusion(self) -> Sequence[str]:
        """What it comes to, in sentences, the answer first."""
        return self.telling.shown.conclusion

    def to_table(self) -> dict[str, Any]:
        """The columns of the study's CSV by head, an entry a row: what a data frame can be made of."""
        return self.telling.columns()

    def to_csv(self, path: str | Path, overwrite: bool = False) -> Path:
        """Write the rows as a CSV file and give its path. Raises WriteError, also where one is there already."""
        return write_new(Path(path), "".join(self.telling.csv()), overwrite)

    def to_dict(self) -> dict[str, Any]:
        """The result as the command prints it with --json."""
        return self.telling.contract()

    def report(self, folder: str | Path, overwrite: bool = False, *, html: bool = False) -> list[Path]:
        """Write the report with its figures and give the paths; with `html` also as one page. Raises WriteError."""
        return self.telling.write(Path(folder), overwrite, html)

    def __repr__(self) -> str:
        return f"<Study, {self.telling.kind} of {self.telling.title!r}: {self.conclusion[0]}>"

    def __str__(self) -> str:
        return self.telling.text()

    def _repr_html_(self) -> str:
        from armsim.report.notebook import study_as_html

        return study_as_html(self.telling.shown)

    def _repr_markdown_(self) -> str:
        from armsim.report.notebook import study_as_markdown

        return study_as_markdown(self.telling.shown)
