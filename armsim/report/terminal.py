"""What a run and a check print: the answer first, then the numbers that matter, in plain aligned ASCII.

Nothing is cut to a width; long sentences are wrapped. `dressed` paints the finished text where it goes to a terminal.
"""

import os
import re
import textwrap
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, TextIO

from armsim.checks.assessment import Assessment, Finding, Level, Requirement
from armsim.checks.phrases import told_of
from armsim.dynamics.run import Event, Run
from armsim.report.numbers import figure, of, one_line, show
from armsim.report.parts import fit_cells, play_text, strength_cells
from armsim.report.rows import aligned
from armsim.report.sizes import size_cells
from armsim.report.tables import (
    number_rows,
    requirement_cells,
    shaft_cells,
    stage_cells,
    stall_row,
    static_rows,
    torque_cells,
)
from armsim.report.view import kept_cycles
from armsim.report.wording import EVENT_LABELS, HEADLINE_KINDS

if TYPE_CHECKING:
    from armsim.scenario import Scenario

TEXT_WIDTH = 112  #: where sentences are wrapped
MOST_EVENTS = 9
MOST_WEAK = 5  #: checks of strength that a check of the scenario prints
MOST_WARNINGS, MOST_NOTES = 4, 1  #: after a run, whose report has all of them
ORDER = (Level.ERROR, Level.WARNING, Level.NOTE)


def summary(scenario: "Scenario", assessment: Assessment) -> str:
    """The text of a finished run."""
    failed = any(found.level is Level.ERROR for found in assessment.findings)  # notes then stand in the report alone
    blocks = [
        _head(scenario, assessment),
        _requirements(assessment.requirements),
        told_of(assessment.load, _numbers(assessment)),
        _events(assessment.run) if assessment.run else "",
        _findings(scenario, assessment.findings, MOST_WARNINGS, 0 if failed else MOST_NOTES),
    ]
    return "\n\n".join(block for block in blocks if block)


def check_summary(scenario: "Scenario", assessment: Assessment) -> str:
    """The text of a check without a run."""
    transmission = assessment.transmission
    where = "position" if assessment.load == "carriage" else "angle"
    at_rest = [*static_rows(assessment), *map(stall_row, assessment.protection)]
    blocks = [
        _head(scenario, assessment),
        _requirements(assessment.requirements),
        _block(told_of(assessment.load, "Torque at the arm"), _columns(torque_cells(assessment))),
        told_of(assessment.load, _block("At rest", aligned(at_rest, indent=2))),
        _block(
            f"Shafts, lifting steadily at the worst {where}",
            _columns(shaft_cells(transmission.shafts, assessment.load)),
        ),
        _block("Stages", _columns(stage_cells(transmission.stages))) if transmission.stages else "",
        _block("Other sizes", _columns(size_cells(assessment.sizes))) if assessment.sizes else "",
        _parts(assessment),
        _findings(scenario, assessment.findings, len(assessment.findings), len(assessment.findings)),
    ]
    return "\n\n".join(block for block in blocks if block)


def _parts(assessment: Assessment) -> str:
    """What does not fit, the weakest parts, and the play."""
    misfits, weak = fit_cells(assessment.fit), strength_cells(assessment.strength)
    lines = []
    if assessment.fit:
        lines.append(
            _columns(misfits, len(misfits[0])) if len(misfits) > 1 else "  every rule that could be judged is kept"
        )
    if assessment.strength:
        lines += ["", _columns(weak[: MOST_WEAK + 1], 4)]
    if assessment.play is not None:
        told = textwrap.fill(
            play_text(assessment.play, assessment.load), TEXT_WIDTH, initial_indent="  ", subsequent_indent="  "
        )
        lines += ["", told]
    return _block("Fit, strength and play", "\n".join(lines)) if lines else ""


def _head(scenario: "Scenario", assessment: Assessment) -> str:
    file = f" ({scenario.path.name})" if scenario.path else ""
    return f"{one_line(assessment.headline)}\n{one_line(scenario.title)}{file}"


def _block(title: str, body: str) -> str:
    return f"{title}\n{body}" if body else ""


def _columns(rows: Sequence[Sequence[str]], words: int = 1) -> str:
    """Cells in columns, the first ones, of words, left aligned, the others right."""
    widths = [max(len(row[k]) for row in rows) for k in range(len(rows[0]))]
    lines = []
    for row in rows:
        first, *others = (
            cell.ljust(width) if k < words else cell.rjust(width)
            for k, (cell, width) in enumerate(zip(row, widths, strict=True))
        )
        lines.append("  " + "   ".join([first, *others]).rstrip())
    return "\n".join(lines)


def _requirements(requirements: Iterable[Requirement]) -> str:
    cells = [requirement_cells(r) for r in requirements]
    if not cells:
        return ""
    widths = [max(len(row[k]) for row in cells) for k in range(5)]
    lines = [
        "  " + "   ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip() for row in cells
    ]
    return _block("Requirements", "\n".join(lines))


def _numbers(assessment: Assessment) -> str:
    return _block("Numbers", aligned(number_rows(assessment), indent=2))


def _events(run: Run) -> str:
    """What matters of what happened: an event that repeats on one line, and those that always come together."""
    groups: dict[tuple[str, str], list[Event]] = {}
    for e in run.events:
        if e.kind in HEADLINE_KINDS:
            groups.setdefault((e.kind, e.text), []).append(e)
    instants: dict[tuple[float, ...], list[Event]] = {}
    for same in groups.values():
        instants.setdefault(tuple(e.time for e in same), []).append(same[0])
    lines = []
    for times, together in instants.items():
        words = "; ".join(EVENT_LABELS[e.kind] + (f": {one_line(e.text)}" if e.text else "") for e in together)
        if len(times) > 1:
            words += f" ({len(times)} times, last at {show(times[-1], 'time')})"
        lines.append(
            f"  {figure(times[0]):>8} s  {show(together[0].angle, of(run.machine.arm.kind, 'angle')):>10}  {words}"
        )
    if len(lines) > MOST_EVENTS:
        lines[MOST_EVENTS:] = [f"  ... and {len(lines) - MOST_EVENTS} more"]
    kept = kept_cycles(run)
    return _block(f"What happened, {kept}" if kept else "What happened", "\n".join(lines))


def _findings(scenario: "Scenario", findings: Iterable[Finding], most_warnings: int, most_notes: int) -> str:
    ranked = sorted(findings, key=lambda f: ORDER.index(f.level))
    notes = [f for f in ranked if f.level is Level.NOTE]
    errors = [f for f in ranked if f.level is Level.ERROR]
    warnings = [f for f in ranked if f.level is Level.WARNING]
    said: set[str] = set()

    def told(some: Iterable[Finding]) -> list[str]:
        lines = []
        for f in some:
            lines.append(_sentence(str(f.level), f"{f.where}: {f.text}", "" if f.mend in said else f.mend))
            said.add(f.mend)
        return lines

    lines = told(errors)
    lines += [_sentence("warning", f"{w.key}: {w.text}", w.hint) for w in scenario.warnings]
    lines += told([*warnings[:most_warnings], *notes[:most_notes]])
    left = [(len(warnings) - most_warnings, "warning"), (len(notes) - most_notes, "note")]
    more = [f"{count} {word}{'s' if count > 1 else ''}" for count, word in left if count > 0]
    if more:
        lines.append(f"  ... and {' and '.join(more)} more in the report")
    return _block("Findings", "\n".join(lines))


def _sentence(level: str, text: str, mend: str) -> str:
    whole = one_line(text)
    if mend:
        whole += f"{'' if whole.endswith('.') else '.'} To mend: {one_line(mend)}"
    return textwrap.fill(
        whole,
        width=TEXT_WIDTH,
        initial_indent=f"  {level:<9}",
        subsequent_indent=" " * 11,
        break_long_words=False,
        break_on_hyphens=False,
    )


_BOLD, _RED, _GREEN, _YELLOW = "1", "31", "32", "33"
_PAINT = (
    (re.compile(r"^()(LIFTS|TORQUE TO LIFT)\b", re.M), _GREEN),
    (re.compile(r"^()(DOES NOT LIFT|SHORT OF TORQUE)\b", re.M), _RED),
    (re.compile(r"^(  )(PASS)(?=  )", re.M), _GREEN),
    (re.compile(r"^(  )(FAIL|error)(?=  )", re.M), _RED),
    (re.compile(r"^(  )(warning)(?=  )", re.M), _YELLOW),
    (
        re.compile(
            r"^()(Requirements|Numbers|Torque at the arm|Force at the carriage|Other sizes|"
            r"At rest|Shafts.*|Stages|What happened.*|Findings)$",
            re.M,
        ),
        _BOLD,
    ),
)


def coloured(text: str) -> str:
    """The text with the words of judgement painted; they stay words, so nothing is told by colour alone."""
    for pattern, code in _PAINT:
        text = pattern.sub(f"\\g<1>\x1b[{code}m\\g<2>\x1b[0m", text)
    return text


def dressed(text: str, stream: TextIO) -> str:
    """The text in colour for a terminal whose owner has not said no (NO_COLOR, TERM=dumb), else as it is."""
    wanted = stream.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"
    return coloured(text) if wanted else text
