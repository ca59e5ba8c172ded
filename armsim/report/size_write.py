"""The report of a sizing: report.md with its figures, motors.csv and result.json."""

import json
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from armsim.checks.phrases import told_of
from armsim.report.marking import alternative, bullets, escape, prose, table
from armsim.report.picture import Picture
from armsim.report.size_contract import fits_csv, size_json
from armsim.report.size_tables import (
    WORDS,
    conclusion,
    demand_rows,
    fit_cells,
    fit_notes,
    limit_cells,
    limit_notes,
    premise,
    tried_cells,
)
from armsim.report.write import (
    check_target,
    draw,
    in_house_style,
    move_in,
    workplace_in,
    write_page,
    write_text,
)
from armsim.studies.limits import Limit, MotorTried
from armsim.studies.size import Sizing

if TYPE_CHECKING:
    from armsim.scenario.stock import Stock
    from armsim.scenario.tasks import Task

NAMES = (
    "report.md", "report.html", "result.json", "motors.csv",
    *(f"{stem}.{kind}" for stem in ("demand", "plane") for kind in ("png", "svg")),
)  # fmt: skip

CAUTIONS = (
    "The reduction is one lossy stage: its wheels' inertia, play and strength are not in it. Write the scenario with "
    "the parts chosen and run it.",
    "The lift is driven fully from rest, whatever profile the file asks for; the cycle is run as the file has it.",
    "Power and lines of a motor are those of its cold winding; warm it gives less.",
)


def check_size_target(folder: Path, overwrite: bool = False) -> None:
    """Raise WriteError where such a report could not be written."""
    check_target(folder, overwrite, NAMES)


def write_size(
    task: "Task",
    stock: "Stock | None",
    sizing: Sizing | None,
    limits: tuple[Limit, ...] | None,
    tried: tuple[MotorTried, ...] | None,
    folder: Path,
    overwrite: bool = False,
    *,
    html: bool = False,
) -> list[Path]:
    """Write the report, whole or not at all, and give its paths; with `html` as one file too. Raises WriteError."""
    check_size_target(folder, overwrite)
    with workplace_in(folder) as workplace:
        drawn = _draw(sizing, workplace)
        write_text(workplace / "report.md", size_report(task, stock, sizing, limits, tried, drawn))
        result = json.dumps(size_json(task, stock, sizing, limits, tried), indent=2, allow_nan=False)
        write_text(workplace / "result.json", result + "\n")
        if sizing is not None:
            write_text(workplace / "motors.csv", fits_csv(sizing))
        if html:
            write_page(task.title, workplace)
        return move_in(workplace, folder, NAMES)


def _draw(sizing: Sizing | None, workplace: Path) -> list[Picture]:
    if sizing is None:
        return []

    def pictures() -> Iterator[Picture]:
        from armsim.report.size_figures import size_pictures

        return size_pictures(sizing)

    return draw(in_house_style(pictures), workplace)


def size_report(
    task: "Task",
    stock: "Stock | None",
    sizing: Sizing | None,
    limits: tuple[Limit, ...] | None,
    tried: tuple[MotorTried, ...] | None,
    pictures: Sequence[Picture] = (),
) -> str:
    """The document: the answer first."""
    parts = [f"# {escape(task.title)}: sizing the drive"]
    if sizing is not None:
        parts += _sizing(task, sizing, {picture.name: picture for picture in pictures})
    if limits:
        heads, *rows = limit_cells(limits)
        parts += ["## How far one thing may go", "Each changed alone, judged by exact runs of the whole cycle."]
        parts += [table(heads, [tuple(map(prose, row)) for row in rows], words=WORDS), bullets(limit_notes(limits))]
    if tried is not None:
        heads, *rows = tried_cells(tried)
        parts += [
            "## Motors of the stock in this machine",
            table(heads, [tuple(map(escape, r)) for r in rows], words=WORDS),
        ]
    parts += ["## Cautions", bullets(CAUTIONS), "## How to reproduce", _reproduction(task, stock)]
    return "\n\n".join(part for part in parts if part) + "\n"


def _sizing(task: "Task", sizing: Sizing, pictures: dict[str, Picture]) -> list[str]:
    def picture(name: str) -> str:
        one = pictures.get(name)
        return "" if one is None else f"![{alternative(one.text)}]({one.name}.png)\n\n{prose(one.text)}"

    asked = table(("", "value"), [(prose(row.name), prose(row.value)) for row in demand_rows(sizing)], numeric=False)
    heads, *rows = fit_cells(sizing)
    motors = table(heads, [(escape(row[0]), *map(prose, row[1:])) for row in rows]) if rows else ""
    kind = sizing.load.kind
    return [
        f"**{escape(conclusion(sizing))}**",
        f"## {told_of(kind, 'What the lift asks at the arm')}",
        "Without anything that turns with the motor.",
        asked,
        picture("demand"),
        "## Motors",
        motors,
        prose(premise(sizing)),
        bullets(fit_notes(sizing)),
        picture("plane"),
    ]


def _reproduction(task: "Task", stock: "Stock | None") -> str:
    rows = [("scenario", escape(task.path.name if task.path else "a text")), ("its SHA-256", f"`{task.sha256}`")]
    if stock is not None:
        rows += [("stock", escape(stock.path.name if stock.path else "a text")), ("its SHA-256", f"`{stock.sha256}`")]
    return table(("", "value"), rows, numeric=False)
