"""Writing the folder of a comparison, with each scenario's own report in it: whole or not at all."""

import json
from collections.abc import Callable, Iterator
from contextlib import suppress
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from armsim.checks.assessment import Assessment
from armsim.report.compare_contract import comparison_csv, comparison_json
from armsim.report.compare_markdown import RUNS, comparison_report, title_of
from armsim.report.picture import Picture
from armsim.report.write import (
    NAMES,
    check_target,
    draw,
    in_house_style,
    move_in,
    workplace_in,
    write_page,
    write_report,
    write_text,
)
from armsim.studies.compare import Comparison
from armsim.studies.proposal import Keep

if TYPE_CHECKING:
    from armsim.scenario import Scenario

STEMS = ("trade-off", "courses", "margins-arm", "margins-carriage")
OWN = (
    "report.md",
    "report.html",
    "result.json",
    "compare.csv",
    *(f"{stem}.{kind}" for stem in STEMS for kind in ("png", "svg")),
)


def check_comparison_target(folder: Path, overwrite: bool = False) -> None:
    """Raise WriteError where a comparison could not be written, before anything is computed."""
    check_target(folder, overwrite, [*OWN, *_runs_in(folder)])


def write_comparison(
    folder: Path, overwrite: bool, compare: Callable[[Keep], Comparison], *, html: bool = False
) -> Comparison:
    """Compare, and write report.md, figures, compare.csv, result.json and each one's report in `runs`.

    With `html` report.html stands beside each report.md: the same in one file.
    `compare` hands what it is given on to the processes, which write the single reports as they go. Raises WriteError.
    Where not one could be judged, nothing is written.
    """
    check_comparison_target(folder, overwrite)
    own = not folder.exists()
    try:
        with workplace_in(folder) as workplace:
            comparison = compare(partial(write_own, folder=workplace / RUNS, html=html))
            if comparison.proposals:
                _write_files(comparison, workplace)
                if html:
                    write_page(
                        title_of(comparison), workplace, lambda text: text.replace("/report.md)", "/report.html)")
                    )
                move_in(workplace, folder, [*OWN, *dict.fromkeys([*_runs_in(workplace), *_runs_in(folder)])])
    finally:
        _prune(folder / RUNS)
        if own:
            with suppress(OSError):  # never one that something has been put in
                folder.rmdir()
    return comparison


def comparison_files(folder: Path) -> list[Path]:
    """Every file of a comparison that stands in its folder."""
    return [folder / name for name in (*OWN, *_runs_in(folder)) if (folder / name).exists()]


def write_own(label: str, scenario: "Scenario", assessment: Assessment, *, folder: Path, html: bool) -> None:
    """The report of one, in a folder of its own, as a run alone would write it."""
    write_report(scenario, assessment, folder / label, overwrite=True, html=html)


def _write_files(comparison: Comparison, workplace: Path) -> None:
    drawn = draw(in_house_style(lambda: _pictures(comparison)), workplace)
    write_text(workplace / "report.md", comparison_report(comparison, drawn))
    write_text(workplace / "compare.csv", comparison_csv(comparison))
    result = json.dumps(comparison_json(comparison), indent=2, allow_nan=False)
    write_text(workplace / "result.json", result + "\n")


def _pictures(comparison: Comparison) -> Iterator[Picture]:
    from armsim.report.compare_figures import pictures

    return pictures(comparison)


def _runs_in(folder: Path) -> list[str]:
    """Every file of a single report that stands in a comparison's folder."""
    runs = folder / RUNS
    labels = sorted(p.name for p in runs.iterdir() if p.is_dir()) if runs.is_dir() else []
    return [f"{RUNS}/{label}/{name}" for label in labels for name in NAMES if (runs / label / name).exists()]


def _prune(runs: Path) -> None:
    """Take away folders that are left empty."""
    for path in (*runs.glob("*"), runs):
        with suppress(OSError):
            path.rmdir()
