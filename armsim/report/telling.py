"""How each study is told from Python: conclusion, tables, rows, text, report, in one form for all."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from armsim.report.picture import Picture

if TYPE_CHECKING:
    from armsim.scenario.stock import Stock
    from armsim.scenario.tasks import Task
    from armsim.studies.compare import Comparison
    from armsim.studies.limits import Limit
    from armsim.studies.size import Sizing
    from armsim.studies.spread import SpreadStudy
    from armsim.studies.sweep import Sweep

Row = Sequence[str]
Table = tuple[Row, Sequence[Row]]  #: head and rows


def _none() -> Iterable[Picture]:
    return ()


@dataclass(frozen=True, kw_only=True)
class Shown:
    """What a notebook shows of a study; what costs something is a function."""

    conclusion: Sequence[str]  #: sentences, the answer first
    tables: Callable[[], Iterable[Table]]
    pictures: Callable[[], Iterable[Picture]] = _none


@dataclass(frozen=True, kw_only=True)
class Telling:
    """One study in every form that it is shown in."""

    kind: str  #: such as sweep
    title: str
    shown: Shown
    columns: Callable[[], dict[str, Any]]  #: by head, an entry a row
    csv: Callable[[], Iterable[str]]
    contract: Callable[[], dict[str, Any]]  #: what --json prints
    text: Callable[[], str]  #: what a terminal shows
    write: Callable[[Path, bool, bool], list[Path]]  #: into a folder; over older files; as a page too


def by_head(head: Sequence[str], rows: Sequence[Sequence[Any]]) -> dict[str, Any]:
    """Rows as columns."""
    return {name: [row[k] for row in rows] for k, name in enumerate(head)}


def _cut(rows: Sequence[Row]) -> Table:
    """Rows whose first is the head."""
    return rows[0], rows[1:]


def shown_comparison(found: "Comparison") -> Shown:
    """Scenarios side by side."""
    from armsim.report.compare_table import difference_lines, labels, measure_lines
    from armsim.report.compare_words import conclusion

    def tables() -> list[Table]:
        names = labels(found)
        told = [("measure", measure_lines(found)), ("input", difference_lines(found))]
        return [((head, *names), [(line.name, *line.cells) for line in lines]) for head, lines in told if names]

    def pictures() -> Iterable[Picture]:
        from armsim.report.compare_figures import pictures

        return pictures(found)

    return Shown(conclusion=conclusion(found), tables=tables, pictures=pictures)


def of_sweep(found: "Sweep") -> Telling:
    """One scenario over values of its keys."""
    from armsim.report import sweep_contract as contract
    from armsim.report.sweep_terminal import sweep_text
    from armsim.report.sweep_words import HEAD, cells, conclusion, thinned

    def pictures() -> Iterable[Picture]:
        from armsim.report.sweep_figures import pictures

        return pictures(found)

    def write(folder: Path, overwrite: bool, html: bool) -> list[Path]:
        from armsim.report.sweep_write import write_sweep

        return write_sweep(found, folder, overwrite, html=html)

    return Telling(
        kind="sweep",
        title=found.scenario.title,
        shown=Shown(
            conclusion=(conclusion(found),),
            tables=lambda: [((*found.keys, *HEAD), [cells(found, row) for row in thinned(found)])],
            pictures=pictures,
        ),
        columns=lambda: by_head(*contract.sweep_rows(found)),
        csv=lambda: contract.sweep_csv(found),
        contract=lambda: contract.sweep_json(found),
        text=lambda: sweep_text(found),
        write=write,
    )


def of_spread(found: "SpreadStudy") -> Telling:
    """Machines of what is not known exactly."""
    from armsim.report import spread_contract as contract
    from armsim.report import spread_words as words
    from armsim.report.spread_terminal import spread_text

    def pictures() -> Iterable[Picture]:
        from armsim.report.spread_figures import pictures

        return pictures(found)

    def columns() -> dict[str, Any]:
        parts = list(contract.spread_table(found))
        return {name: np.concatenate([part[name] for part in parts]) for name in parts[0]}

    def write(folder: Path, overwrite: bool, html: bool) -> list[Path]:
        from armsim.report.spread_write import write_spread

        return write_spread(found, folder, overwrite, html=html)

    rows = (words.requirement_rows, words.measure_rows, words.input_rows)
    return Telling(
        kind="spread",
        title=found.scenario.title,
        shown=Shown(
            conclusion=words.conclusion(found), tables=lambda: [_cut(made(found)) for made in rows], pictures=pictures
        ),
        columns=columns,
        csv=lambda: contract.spread_csv(found),
        contract=lambda: contract.spread_json(found),
        text=lambda: spread_text(found),
        write=write,
    )


def of_size(task: "Task", stock: "Stock | None", found: "Sizing") -> Telling:
    """Motors and reductions for a lift."""
    from armsim.report import size_contract as contract
    from armsim.report.size_tables import conclusion, demand_rows, fit_cells, fit_notes
    from armsim.report.size_terminal import size_summary

    def pictures() -> Iterable[Picture]:
        from armsim.report.size_figures import size_pictures

        return size_pictures(found)

    def tables() -> list[Table]:
        asked = [(row.name, row.value) for row in demand_rows(found)]
        return [(("what the lift asks", ""), asked), _cut(fit_cells(found))]

    def write(folder: Path, overwrite: bool, html: bool) -> list[Path]:
        from armsim.report.size_write import write_size

        return write_size(task, stock, found, None, None, folder, overwrite, html=html)

    return Telling(
        kind="size",
        title=task.title,
        shown=Shown(conclusion=(conclusion(found), *fit_notes(found)), tables=tables, pictures=pictures),
        columns=lambda: by_head(*contract.fit_rows(found)),
        csv=lambda: contract.fits_csv(found),
        contract=lambda: contract.size_json(task, stock, found, None, None),
        text=lambda: size_summary(task, found),
        write=write,
    )


def of_limits(task: "Task", found: "tuple[Limit, ...]") -> Telling:
    """How far things may go."""
    from armsim.report import size_contract as contract
    from armsim.report.size_tables import limit_cells, limit_notes, limits_told
    from armsim.report.size_terminal import limits_summary

    def write(folder: Path, overwrite: bool, html: bool) -> list[Path]:
        from armsim.report.size_write import write_size

        return write_size(task, None, None, found, None, folder, overwrite, html=html)

    return Telling(
        kind="limits",
        title=task.title,
        shown=Shown(conclusion=(*limits_told(found), *limit_notes(found)), tables=lambda: [_cut(limit_cells(found))]),
        columns=lambda: by_head(*contract.limit_rows(found)),
        csv=lambda: contract.limits_csv(found),
        contract=lambda: contract.size_json(task, None, None, found, None),
        text=lambda: limits_summary(task, found, None),
        write=write,
    )
