"""report.md of a comparison: what to take and why, then what it rests on, as it goes into the minutes of a review."""

from collections.abc import Sequence
from urllib.parse import quote

from armsim.checks.assessment import Level
from armsim.report.cautions import CAUTIONS
from armsim.report.compare_table import (
    Line,
    assumption_lines,
    blocks,
    difference_lines,
    labels,
    measure_lines,
    parts_lines,
)
from armsim.report.compare_words import conclusion
from armsim.report.marking import alternative, bullets, code, escape, prose, table
from armsim.report.picture import Picture
from armsim.report.versions import SAME_FILES, version_rows
from armsim.studies.compare import Comparison
from armsim.studies.proposal import Failure

COLUMNS = 6  #: of scenarios in one table
RUNS = "runs"  #: folder of each one's own report


def title_of(comparison: Comparison) -> str:
    """What the report is called."""
    return f"{len(comparison.outcomes) + len(comparison.left)} scenarios compared"


def comparison_report(comparison: Comparison, drawn: Sequence[Picture]) -> str:
    """The whole document."""
    shared, apart = assumption_lines(comparison)
    figures = {p.name: _picture(p) for p in drawn}
    sections: list[tuple[str, list[str]]] = [
        ("Conclusion", [_conclusion(comparison)]),
        ("What is compared", [_entrants(comparison)]),
        ("Measures", [MEASURES_TEXT, *_tables("", measure_lines(comparison), comparison)]),
        ("Trade-off", [figures.get("trade-off", "")]),
        ("Over time", [figures.get("courses", "")]),
        ("Margin over the travel", [text for name, text in figures.items() if name.startswith("margins")]),
        ("What differs between the inputs", _differences(comparison)),
        ("Findings", _findings(comparison)),
        ("Parts lists", _tables("item", parts_lines(comparison), comparison)),
        ("Assumptions that differ", _tables("key", [_as_code(x) for x in apart], comparison, keyed=True)),
        ("Assumptions shared by all", [_shared(shared)]),
        ("Cautions", [bullets(CAUTIONS)]),
        ("How to reproduce", [_reproduction(comparison)]),
    ]
    parts = [f"# {title_of(comparison)}"]
    parts.append("An estimate for comparing designs, not a safety assessment: read [Cautions](#cautions).")
    for title, told in sections:
        kept = [text for text in told if text]
        parts += [f"## {title}", *(kept or [NOTHING_TOLD])]
    return "\n\n".join(parts) + "\n"


NOTHING_TOLD = "Nothing to show: no scenario has it, or fewer than two could be judged."
MEASURES_TEXT = (
    "Requirements stand with the room left; measures with `best` where one is best of those whose moves all arrive, "
    "and `-` where nothing is known or asked. All in each one's own inputs: see what differs."
)


def _conclusion(comparison: Comparison) -> str:
    first, *others = conclusion(comparison)
    return "\n".join([f"- **{prose(first)}**", *(f"- {prose(text)}" for text in others)])


def _own(label: str) -> str:
    return f"[{escape(label)}]({RUNS}/{quote(label)}/report.md)"


def _entrants(comparison: Comparison) -> str:
    rows = []
    for number, outcome in enumerate(comparison.outcomes, 1):
        if isinstance(outcome, Failure):
            rows.append((str(number), escape(outcome.label), "", "could not be run"))
        else:
            told = escape(outcome.inputs.title), prose(outcome.headline)
            rows.append((str(number), _own(outcome.label), *told))
    rows += [("", escape(label), "", "not done") for label in comparison.left]
    return table(("", "scenario, with its own report", "title", "in a line"), rows, numeric=False)


def _picture(picture: Picture) -> str:
    return f"![{alternative(picture.text)}]({picture.name}.png)\n\n{prose(picture.text)}"


def _tables(head: str, lines: Sequence[Line], comparison: Comparison, keyed: bool = False) -> list[str]:
    """One table, or several of so many columns; a name that is `keyed` is marked already, others are text."""
    if not lines:
        return []
    names = labels(comparison)
    made = []
    for block in blocks(len(names), COLUMNS):
        rows = [(x.name if keyed else prose(x.name), *(prose(cell) for cell in x.cells[block])) for x in lines]
        made.append(table((head, *(escape(name) for name in names[block])), rows, numeric=False))
    return made


def _as_code(line: Line) -> Line:
    return Line(code(line.name), line.cells)


def _differences(comparison: Comparison) -> list[str]:
    lines = [_as_code(line) for line in difference_lines(comparison)]
    if not lines:
        return ["Nothing, beside titles and parts lists."] if len(comparison.proposals) > 1 else []
    text = "Keys that not all have, or not with the same meaning; values as typed. Where each stands is in result.json."
    return [text, *_tables("key", lines, comparison, keyed=True)]


def _findings(comparison: Comparison) -> list[str]:
    parts = []
    for outcome in comparison.outcomes:
        if isinstance(outcome, Failure):
            told = outcome.problems or (outcome.text,)
            texts = "\n\n".join(map(str, told)).replace("`", "'")
            parts += [f"### {escape(outcome.label)}", f"Could not be run:\n\n```text\n{texts}\n```"]
            continue
        graver = [f for f in outcome.findings if f.level is not Level.NOTE]
        graver.sort(key=lambda f: list(Level).index(f.level))
        notes = len(outcome.findings) - len(graver)
        rows = [("warning", code(w.code), code(w.key), prose(w.text), prose(w.hint)) for w in outcome.inputs.warnings]
        rows += [(str(f.level), code(f.code), code(f.where), prose(f.text), prose(f.mend)) for f in graver]
        parts.append(f"### {escape(outcome.label)}")
        if rows:
            parts.append(table(("level", "code", "where", "finding", "what would mend it"), rows, numeric=False))
        more = f"{'and ' if rows else ''}{notes} note{'' if notes == 1 else 's'} in {_own(outcome.label)}"
        parts.append(f"{'No error and no warning; ' if not rows else '... '}{more}.")
    return parts


def _shared(lines: Sequence[Line]) -> str:
    if not lines:
        return ""
    return table(("key", "assumed"), [(code(x.name), prose(x.cells[0])) for x in lines], numeric=False)


def _reproduction(comparison: Comparison) -> str:
    files = [outcome.path.name if outcome.path else outcome.label for outcome in comparison.outcomes]
    rows = [("command", code(f"armsim compare {' '.join(files)} --output DIR"))]
    rows += [(f"SHA-256 of {escape(p.label)}", code(p.inputs.sha256)) for p in comparison.proposals]
    return table(("", ""), [*rows, *version_rows()], numeric=False) + f"\n\n{SAME_FILES}"
