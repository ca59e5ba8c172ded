"""What a run and a check print: the answer first, then the numbers that matter, in plain aligned ASCII.

Nothing is cut to a width; long sentences are wrapped. `dressed` paints the finished text where it goes to a terminal.
"""

import math
import os
import re
import textwrap
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, TextIO

from armsim.checks.assessment import Assessment, Finding, Level, Requirement
from armsim.checks.judged_parts import Fit, FitRow
from armsim.checks.phrases import told_of
from armsim.dynamics.run import Event, Run
from armsim.report.motors import motor_cells
from armsim.report.numbers import figure, of, one_line, show
from armsim.report.parts import fit_cells, fit_text, play_text, strength_cells, wanting
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
from armsim.report.turning import motor_text, views_text
from armsim.report.view import kept_cycles
from armsim.report.wording import EVENT_LABELS, HEADLINE_KINDS

if TYPE_CHECKING:
    from armsim.scenario import Scenario

TEXT_WIDTH = 112  #: where sentences are wrapped
MOST_EVENTS = 9
MOST_WEAK = 3  #: checks of strength that a check of the scenario prints
MOST_WARNINGS, MOST_NOTES = 4, 1  #: after a run, whose report has all of them
SCREEN = 55  #: lines to which those give way
ORDER = (Level.ERROR, Level.WARNING, Level.NOTE)


def summary(scenario: "Scenario", assessment: Assessment) -> str:
    """The text of a finished run."""
    failed = any(found.level is Level.ERROR for found in assessment.findings)  # notes then stand in the report alone
    blocks = [
        _head(scenario, assessment),
        _requirements(assessment.requirements),
        told_of(assessment.load, _numbers(assessment)),
        _events(assessment.run) if assessment.run else "",
    ]
    answer = "\n\n".join(block for block in blocks if block)
    room = SCREEN - len(answer.splitlines()) - 1
    found = _findings(scenario, assessment.findings, MOST_WARNINGS, 0 if failed else MOST_NOTES, room)
    return "\n\n".join(block for block in (answer, found) if block)


def check_summary(scenario: "Scenario", assessment: Assessment) -> str:
    """The text of a check without a run."""
    transmission = assessment.transmission
    where = "position" if assessment.load == "carriage" else "angle"
    at_rest = [*static_rows(assessment), *map(stall_row, assessment.protection)]
    blocks = [
        _head(scenario, assessment),
        _requirements(assessment.requirements),
        block(told_of(assessment.load, "Torque at the arm"), columns(torque_cells(assessment))),
        told_of(assessment.load, block("At rest", aligned(at_rest, indent=2))),
        block(
            f"Shafts, lifting steadily at the worst {where}",
            columns(shaft_cells(transmission.shafts, assessment.load))
            + "\n"
            + wrapped(views_text(transmission.shafts, transmission.motor.seen))
            + "\n"
            + wrapped(motor_text(transmission.motor)),
        ),
        block("Stages", columns(stage_cells(transmission.stages))) if transmission.stages else "",
        _motors(assessment),
        block("Other sizes", columns(size_cells(assessment.sizes))) if assessment.sizes else "",
        _fit(assessment.fit),
        block("Strength, weakest first", _strength(assessment)),
        block("Play", _play(assessment)),
        _findings(scenario, assessment.findings, len(assessment.findings), len(assessment.findings), math.inf),
    ]
    return "\n\n".join(block for block in blocks if block)


def _motors(assessment: Assessment) -> str:
    """How several motors share the same lift."""
    if assessment.motors is None:
        return ""
    return block("Motors, in the same lift", columns(motor_cells(assessment.motors.lifting, assessment.load)))


def _fit(rows: Sequence[FitRow]) -> str:
    """What does not fit or is doubtful; of what is not known, what to give."""
    if not rows:
        return ""
    misfits, wanted = fit_cells([row for row in rows if row.fit is not Fit.UNKNOWN]), wanting(rows)
    lines = [f"Fit: {fit_text(rows)}"]
    lines += [columns(misfits, len(misfits[0]))] if len(misfits) > 1 else []
    lines += [wrapped(f"to judge the rest: {'; '.join(wanted)}")] if wanted else []
    return "\n".join(lines)


def _strength(assessment: Assessment) -> str:
    return columns(strength_cells(assessment.strength)[: MOST_WEAK + 1], 4) if assessment.strength else ""


def _play(assessment: Assessment) -> str:
    return "" if assessment.play is None else wrapped(play_text(assessment.play, assessment.load))


def wrapped(text: str) -> str:
    """A sentence on indented lines of a readable width."""
    return textwrap.fill(
        one_line(text), TEXT_WIDTH, initial_indent="  ", subsequent_indent="  ", break_on_hyphens=False
    )


def _head(scenario: "Scenario", assessment: Assessment) -> str:
    file = f" ({scenario.path.name})" if scenario.path else ""
    return f"{one_line(assessment.headline)}\n{one_line(scenario.title)}{file}"


def block(title: str, body: str) -> str:
    """A title over its body; nothing without a body."""
    return f"{title}\n{body}" if body else ""


def columns(rows: Sequence[Sequence[str]], words: int = 1) -> str:
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
    return block("Requirements", "\n".join(lines))


def _numbers(assessment: Assessment) -> str:
    return block("Numbers", aligned(number_rows(assessment), indent=2))


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
    return block(f"What happened, {kept}" if kept else "What happened", "\n".join(lines))


def _findings(
    scenario: "Scenario", findings: Iterable[Finding], most_warnings: int, most_notes: int, room: float
) -> str:
    """Errors and what is odd about the file whatever room [lines] there is; others as long as they go into it."""
    ranked = {level: [f for f in findings if f.level is level] for level in ORDER}
    said: set[str] = set()

    def told(f: Finding) -> str:
        line = _sentence(str(f.level), f"{f.where}: {f.text}", "" if f.mend in said else f.mend)
        said.add(f.mend)
        return line

    lines = [told(f) for f in ranked[Level.ERROR]]
    lines += [_sentence("warning", f"{w.key}: {w.text}", w.hint) for w in scenario.warnings]
    left = {level: len(ranked[level]) for level in (Level.WARNING, Level.NOTE)}
    room -= 2 + sum(line.count("\n") + 1 for line in lines)  # the title, and what is left out
    for f in [*ranked[Level.WARNING][:most_warnings], *ranked[Level.NOTE][:most_notes]]:
        line = told(f)
        room -= line.count("\n") + 1
        if room < 0:
            break
        lines.append(line)
        left[f.level] -= 1
    more = [f"{count} {level}{'s' if count > 1 else ''}" for level, count in left.items() if count]
    if more:
        lines.append(f"  ... and {' and '.join(more)} more in the report")
    return block("Findings", "\n".join(lines))


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
            r"At rest|Shafts.*|Stages|Fit: .*|Strength.*|Play|What happened.*|Findings)$",
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
