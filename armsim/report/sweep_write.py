"""The report of a sweep: its words, and the folder it is written to, whole or not at all."""

import json
from pathlib import Path

from armsim.report.marking import alternative, bullets, code, escape, paragraphs, prose, table
from armsim.report.numbers import typeset
from armsim.report.picture import Picture
from armsim.report.sweep_contract import sweep_csv, sweep_json
from armsim.report.sweep_words import HEAD, asked, cells, conclusion, limit, missed, thinned
from armsim.report.versions import SAME_FILES, version_rows
from armsim.report.wording import plain
from armsim.report.write import (
    check_target,
    draw,
    in_house_style,
    move_in,
    workplace_in,
    write_page,
    write_text,
)
from armsim.scenario.varied import is_ratio
from armsim.scenario.vary_options import Variation
from armsim.studies.sweep import Sweep

NAMES = ("report.md", "report.html", "result.json", "sweep.csv", "sweep.png", "sweep.svg")


def check_sweep_target(folder: Path, overwrite: bool = False) -> None:
    """Raise WriteError where a sweep could not be written, before anything is computed."""
    check_target(folder, overwrite, NAMES)


def write_sweep(found: Sweep, folder: Path, overwrite: bool = False, *, html: bool = False) -> list[Path]:
    """Write report.md, its figure, sweep.csv and result.json, with `html` report.html too. Raises WriteError."""
    check_sweep_target(folder, overwrite)
    with workplace_in(folder) as workplace:
        pictures = draw(in_house_style(lambda: _pictures(found)), workplace)
        write_text(workplace / "report.md", sweep_report(found, pictures))
        write_text(workplace / "sweep.csv", sweep_csv(found))
        result = json.dumps(sweep_json(found), indent=2, allow_nan=False)
        write_text(workplace / "result.json", result + "\n")
        if html:
            write_page(title_of(found), workplace)
        return move_in(workplace, folder, NAMES)


def _pictures(found: Sweep) -> list[Picture]:
    from armsim.report.sweep_figures import pictures

    return list(pictures(found))


def title_of(found: Sweep) -> str:
    """What the report is called."""
    return f"{found.scenario.title}: sweep of {' and '.join(found.keys)}"


def sweep_report(found: Sweep, pictures: list[Picture]) -> str:
    """The whole document."""
    sections = [f"# {escape(title_of(found))}", prose(conclusion(found)), paragraphs(found.scenario.about)]
    sections += ["## What was varied", table(("key", "from", "to", "values"), map(_varied, found.variations), words=1)]
    sections += ["## What is asked", _asked(found)]
    for picture in pictures:
        sections += [f"## {escape(picture.heading)}"]
        sections += [f"![{alternative(picture.text)}]({picture.name}.png)", prose(picture.text)]
    if found.edges:
        sections += ["## Edges", _edges(found)]
    if len(found.variations) > 1 and found.best:
        sections += ["## Choices that no other betters in lift time and current", _table(found, undominated=True)]
    sections += ["## Rows" if len(thinned(found)) == len(found.rows) else "## Some of the rows", _table(found)]
    sections += ["## What the numbers rest on", bullets(_basis(found)), "## How to reproduce", _reproduction(found)]
    return "\n\n".join(section for section in sections if section) + "\n"


def _varied(variation: Variation) -> list[str]:
    count = f"{len(variation.texts)}, {'by ratio' if variation.log else 'evenly'}"
    if not variation.between:
        count = f"{len(variation.texts)}"
    return [code(variation.key), escape(variation.texts[0]), escape(variation.texts[-1]), count]


def _asked(found: Sweep) -> str:
    rows = []
    for wish in found.scenario.requirements:
        sense = {"max": "at most ", "min": "at least ", "is": ""}[wish.sense]
        rows.append([plain(wish.name), typeset(f"{sense}{limit(found, wish)}")])
    if not rows:
        return prose(f"No requirement is in the scenario: {asked(found)} counts as met.")
    return table(("requirement", "limit"), rows, numeric=False)


def _edges(found: Sweep) -> str:
    head = ("what is missed", "just met at", "just missed at", "found by")
    rows = []
    for edge in found.edges:
        by = "exact runs between the rows" if edge.refined else "the rows themselves"
        rows.append([prose(missed(found, edge.condition)), f"{edge.met:.5g}", f"{edge.missed:.5g}", by])
    return table(head, rows, numeric=False)


def _table(found: Sweep, *, undominated: bool = False) -> str:
    head = [*(code(key) for key in found.keys), *HEAD]
    rows = found.best if undominated else tuple(thinned(found))
    return table(head, [[prose(cell) for cell in cells(found, row)] for row in rows], words=len(found.keys))


def _basis(found: Sweep) -> list[str]:
    told = [
        "Each row is the scenario with other values and its first lift from rest; holds, lowering and repeated cycles "
        "are not in it. Run the choice by itself with armsim run before it is built.",
        _followed(found),
        "Edges and best values of a single key are found between the rows to a thousandth of the value, each by a run.",
    ]
    if any(map(is_ratio, found.keys)):
        told.append(
            "A reduction is changed with its stage's efficiencies, drag and inertias kept; teeth for it are not chosen "
            "and their fit is not judged. The reduction of the whole train is set through its last turning stage."
        )
    thin = len(thinned(found))
    if thin < len(found.rows):
        told.append(f"The table shows {thin} of {len(found.rows)} rows; sweep.csv has all.")
    return told


def _followed(found: Sweep) -> str:
    """How many rows the exact run has calculated, and how near the others are to it."""
    exact, count = sum(row.exact for row in found.rows), len(found.rows)
    if exact == count:
        return "Every row is followed by itself, event by event: an exact run."
    return (
        "The rows are followed many at once by the laws of the exact run: lift times are within 0.01 % of it, peaks "
        "and energy within 0.1 %. Rows too near to an edge for that are run exactly: "
        f"{exact} of {count}; the column exact of sweep.csv tells which."
    )


def _reproduction(found: Sweep) -> str:
    file = found.scenario.path.name if found.scenario.path else "FILE"
    options = " ".join(f"--vary {_option(variation)}" for variation in found.variations)
    lines = [f"    armsim sweep {file} {options} --output DIR", f"Scenario, SHA-256: {code(found.scenario.sha256)}"]
    return "\n\n".join([*lines, table(("made with", "version"), version_rows(), numeric=False), SAME_FILES])


def _option(variation: Variation) -> str:
    if not variation.ranged:
        text = ",".join(variation.texts)
    else:
        text = f"{variation.texts[0]}:{variation.texts[-1]}:{len(variation.texts)}{':log' if variation.log else ''}"
    return f'"{variation.key}={text}"' if " " in text else f"{variation.key}={text}"
