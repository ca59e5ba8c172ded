"""Writing the folder of a spread study: whole or not at all."""

import json
from collections.abc import Iterable
from pathlib import Path

from armsim.report.files import write_new
from armsim.report.picture import Picture
from armsim.report.spread_contract import spread_csv, spread_json
from armsim.report.spread_markdown import WORST_FILE, spread_report
from armsim.report.write import (
    check_target,
    draw,
    in_house_style,
    move_in,
    workplace_in,
    write_page,
    write_text,
)
from armsim.studies.spread import SpreadStudy, scenario_of_worst

STEMS = ("lift-times", "each-alone-lift-time", "each-alone-supply-current", "what-matters", "which-fail")
OWN = (
    "report.md",
    "report.html",
    "result.json",
    "spread.csv",
    WORST_FILE,
    *(f"{stem}.{kind}" for stem in STEMS for kind in ("png", "svg")),
)


def check_spread_target(folder: Path, overwrite: bool = False) -> None:
    """Raise WriteError where the study could not be written, before anything is computed."""
    check_target(folder, overwrite, OWN)


def write_spread(study: SpreadStudy, folder: Path, overwrite: bool = False, *, html: bool = False) -> list[Path]:
    """Write report.md, figures, spread.csv, result.json and the worst machine's scenario; give their paths.

    With `html` report.html stands beside report.md: the same in one file. Raises WriteError.
    """
    check_spread_target(folder, overwrite)
    with workplace_in(folder) as workplace:
        drawn = draw(in_house_style(lambda: _pictures(study)), workplace)
        write_text(workplace / "report.md", spread_report(study, drawn))
        write_text(workplace / "result.json", json.dumps(spread_json(study), indent=2, allow_nan=False) + "\n")
        write_text(workplace / WORST_FILE, scenario_of_worst(study))
        write_spread_csv(study, workplace / "spread.csv")
        if html:
            write_page(study.scenario.title, workplace)
        return move_in(workplace, folder, OWN)


def write_spread_csv(study: SpreadStudy, path: Path, overwrite: bool = False) -> None:
    """Every machine sampled, a line each, whole or not at all. Raises WriteError."""
    write_new(path, spread_csv(study), overwrite)


def _pictures(study: SpreadStudy) -> Iterable[Picture]:
    from armsim.report.spread_figures import pictures

    return pictures(study)
