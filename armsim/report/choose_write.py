"""The folder of a choice: report.md with its figures, best.csv, result.json, and a scenario of each of the best."""

import json
import re
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from armsim.report.choose_contract import choose_csv, choose_json
from armsim.report.choose_figures import STEMS
from armsim.report.choose_words import (
    CAUTIONS,
    conclusion,
    count_rows,
    front_cells,
    notes,
    ranked_cells,
    side_cells,
)
from armsim.report.marking import alternative, bullets, code, escape, prose, table
from armsim.report.numbers import figure
from armsim.report.picture import Picture
from armsim.report.write import (
    check_target,
    draw,
    in_house_style,
    move_in,
    workplace_in,
    write_page,
    write_text,
)
from armsim.studies.choice import Choosing
from armsim.studies.chosen import OF_THE_DRIVE, Chosen, drive_of, last_of, lines_of, typed

if TYPE_CHECKING:
    from armsim.scenario.stock import Stock
    from armsim.scenario.tasks import Task
    from armsim.scenario.variants import Document

SCENARIOS = "scenarios"
BASE = "task.yaml"
OWN = (
    "report.md", "report.html", "result.json", "best.csv",
    *(f"{stem}.{kind}" for stem in STEMS for kind in ("png", "svg")),
)  # fmt: skip
LONGEST = 40  #: of a motor's name in that of a file


def check_choose_target(folder: Path, overwrite: bool = False) -> None:
    """Raise WriteError where such a folder could not be written."""
    check_target(folder, overwrite, [*OWN, *_scenarios_in(folder)])


def write_choose(
    task: "Task",
    document: "Document",
    stock: "Stock",
    found: Choosing,
    folder: Path,
    overwrite: bool = False,
    *,
    html: bool = False,
) -> list[Path]:
    """Write everything, whole or not at all, and give the paths. Raises WriteError."""
    check_choose_target(folder, overwrite)
    with workplace_in(folder) as workplace:
        drawn = _draw(found, workplace)
        files = _write_scenarios(task, document, found, workplace / SCENARIOS)
        write_text(workplace / "report.md", choose_report(task, stock, found, drawn, files))
        result = json.dumps(choose_json(task, stock, found), indent=2, allow_nan=False)
        write_text(workplace / "result.json", result + "\n")
        write_text(workplace / "best.csv", choose_csv(found))
        if html:
            write_page(task.title, workplace)
        names = dict.fromkeys([*_scenarios_in(workplace), *_scenarios_in(folder)])
        return move_in(workplace, folder, [*OWN, *names])


def _scenarios_in(folder: Path) -> list[str]:
    """Scenario files of an earlier choice."""
    here = folder / SCENARIOS
    ours = re.compile(r"\d\d-.*\.yaml")
    names = sorted(path.name for path in here.glob("*.yaml")) if here.is_dir() else []
    return [f"{SCENARIOS}/{name}" for name in names if name == BASE or ours.fullmatch(name)]


def _draw(found: Choosing, workplace: Path) -> list[Picture]:
    def pictures() -> Iterator[Picture]:
        from armsim.report.choose_figures import choose_pictures

        return choose_pictures(found)

    return draw(in_house_style(pictures), workplace)


# ---------------------------------------------------------------------------------------------------- scenarios


def _write_scenarios(task: "Task", document: "Document", found: Choosing, folder: Path) -> list[str]:
    """The task, and a variant of it for each of the best; gives the names of these."""
    if not found.top:
        return []
    folder.mkdir()
    write_text(folder / BASE, base_text(task, document))
    names = []
    for place, one in enumerate(found.top, 1):
        names.append(file_name(place, one))
        write_text(folder / names[-1], variant_text(task, document, place, one))
    return names


def base_text(task: "Task", document: "Document") -> str:
    """The file that was asked about, without a drive: what a variant does not say it would take over from that."""
    given = typed(document.tree)
    if task.path is not None and not any(key in given for key in OF_THE_DRIVE):
        text = task.path.read_text(encoding="utf-8")
        if not re.search(r"^[\"']?variant_of\b", text, re.MULTILINE):
            return text
    return lines_of({key: value for key, value in given.items() if key not in OF_THE_DRIVE})


def variant_text(task: "Task", document: "Document", place: int, one: Chosen) -> str:
    """A scenario of one of the best: the task with a motor and a transmission of its own."""
    assert one.motor is not None
    told = {"variant_of": BASE, "title": f"{task.title}: {one.name}"[:200]}
    drive = drive_of(task, one.motor, one.choices, last_of(document))
    return f"# choice {place}: {one.name}\n{lines_of(told | drive)}"


def file_name(place: int, one: Chosen) -> str:
    """Place, motor and reduction."""
    motor = one.motor.name if one.motor is not None else "own"
    words = re.sub(r"[^a-z0-9]+", "-", motor.lower()).strip("-")[:LONGEST].strip("-")
    return f"{place:02d}-{words or 'motor'}-{figure(one.reduction, 3).replace('.', '_')}.yaml"


# ---------------------------------------------------------------------------------------------------- the report


def choose_report(
    task: "Task", stock: "Stock", found: Choosing, pictures: Sequence[Picture] = (), files: Sequence[str] = ()
) -> str:
    """The document: the answer first."""
    drawn = {picture.name: picture for picture in pictures}

    def picture(name: str) -> str:
        one = drawn.get(name)
        return "" if one is None else f"![{alternative(one.text)}]({one.name}.png)\n\n{prose(one.text)}"

    heads, *rows = ranked_cells(found)
    best = [
        (f"[{row[0]}]({SCENARIOS}/{files[k]})" if k < len(files) else row[0], escape(row[1]), *map(prose, row[2:]))
        for k, row in enumerate(rows)
    ]
    parts = [f"# {escape(task.title)}: choosing the drive", f"**{escape(conclusion(found))}**"]
    if best:
        parts += [
            "## The best",
            "By exact runs of the whole cycle. Each number leads to a scenario that is ready to run.",
            table(heads, best, words=2),
            bullets(notes(found)),
            picture("trade-off"),
            picture("reductions"),
        ]
    else:
        parts += [bullets(notes(found)), picture("trade-off"), picture("reductions")]
    parts += _tables(found)
    counted = [(prose(row.name.removeprefix("- ")), prose(row.value)) for row in count_rows(found)]
    parts += ["## What became of all combinations", COUNTED, table(("", "combinations"), counted)]
    parts += ["## Cautions", bullets(CAUTIONS), "## How to reproduce", _reproduction(task, stock, found)]
    return "\n\n".join(part for part in parts if part) + "\n"


COUNTED = (
    "Each combination is counted at the first rule that stops it. Bounds come from designs on a grid over reduction, "
    "efficiency and inertia, calculated beforehand for each motor."
)


def _tables(found: Choosing) -> list[str]:
    parts = []
    heads, *rows = side_cells(found)
    if rows:
        cells = [(row[0], escape(row[1]), *map(prose, row[2:])) for row in rows]
        parts += [
            "## The same reduction by fewer and by more stages",
            "The first one's motor and reduction, or the nearest that fits: what a stage more costs.",
            table(heads, cells, words=2),
        ]
    heads, *rows = front_cells(found)
    if rows:
        cells = [(escape(row[0]), *map(prose, row[1:])) for row in rows]
        parts += [
            "## What is traded for what",
            "Of all simulated that pass none other is better in lift time, current of the lift and price at once.",
            table(heads, cells),
        ]
    return parts


def _reproduction(task: "Task", stock: "Stock", found: Choosing) -> str:
    file, shelf = task.path.name if task.path else "a text", stock.path.name if stock.path else "a text"
    rows = [
        ("command", code(f"armsim choose {file} --stock {shelf} --for {found.order.value}")),
        ("scenario", escape(file)),
        ("its SHA-256", code(task.sha256)),
        ("stock", escape(shelf)),
        ("its SHA-256", code(stock.sha256)),
    ]
    return table(("", "value"), rows, numeric=False)
