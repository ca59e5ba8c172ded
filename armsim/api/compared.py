"""Several scenarios side by side from Python."""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from armsim.api.single import Result, run
from armsim.report.files import write_new
from armsim.scenario import Scenario, load

if TYPE_CHECKING:
    from armsim.studies import compare as compared
    from armsim.studies.proposal import Failure, Keep, Proposal

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
        from armsim.report.telling import by_head

        return by_head(*comparison_rows(self.record))

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
        from armsim.report.notebook import study_as_html
        from armsim.report.telling import shown_comparison

        return study_as_html(shown_comparison(self.record))

    def _repr_markdown_(self) -> str:
        from armsim.report.notebook import study_as_markdown
        from armsim.report.telling import shown_comparison

        return study_as_markdown(shown_comparison(self.record))
