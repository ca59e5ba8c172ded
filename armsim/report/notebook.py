"""A run or a study as a notebook shows it: answer, requirements, numbers, findings, and figures inside the text.

The HTML is a fragment that fetches nothing and runs no script; what people typed is escaped.
"""

import base64
from collections.abc import Iterable, Sequence
from html import escape
from typing import TYPE_CHECKING

from armsim.checks.assessment import Assessment, Finding, Level, Requirement
from armsim.checks.phrases import told_of
from armsim.report.marking import bullets, code, prose, table
from armsim.report.numbers import one_line, typeset
from armsim.report.tables import REQUIREMENT_HEAD, number_rows, requirement_cells
from armsim.report.telling import Shown, Table
from armsim.report.write import drawings, in_house_style, svg

if TYPE_CHECKING:
    from armsim.scenario import Scenario

FIGURES = ("motion", "currents", "torques")  #: the ones that answer most; a report has all
_NUMBER_HEAD = ("", "value")
_FINDING_HEAD = ("level", "where", "finding", "what would mend it")
_TABLE = "border-collapse:collapse;margin:0.6em 0"
_CELL = "padding:0.15em 0.8em;border-bottom:1px solid #ccc;text-align:left;vertical-align:top"


def as_markdown(scenario: "Scenario", assessment: Assessment) -> str:
    """The summary as Markdown, without figures."""
    tables = [
        table(head, [[_marked(head, k, cell) for k, cell in enumerate(row)] for row in rows], numeric=False)
        for head, rows in _tables(assessment)
    ]
    return "\n\n".join([f"**{prose(assessment.headline)}**", prose(scenario.title), *tables]) + "\n"


def _marked(head: Sequence[str], column: int, cell: str) -> str:
    return code(cell) if head is _FINDING_HEAD and column == 1 else prose(cell)


def as_html(scenario: "Scenario", assessment: Assessment) -> str:
    """The summary with the figures that answer most, as a fragment of HTML."""
    blocks = [
        f"<p><strong>{_shown(assessment.headline)}</strong><br>{_shown(scenario.title)}</p>",
        *(_html_table(head, rows) for head, rows in _tables(assessment)),
        *(_figure(picture.text, svg(picture)) for picture in drawings(assessment) if picture.name in FIGURES),
    ]
    return '<div class="armsim">\n' + "\n".join(blocks) + "\n</div>\n"


def study_as_markdown(shown: Shown) -> str:
    """Conclusion and tables as Markdown, without figures."""
    tables = [
        table(head, [list(map(prose, row)) for row in rows], numeric=False) for head, rows in shown.tables() if rows
    ]
    return "\n\n".join([bullets(map(prose, shown.conclusion)), *tables]) + "\n"


def study_as_html(shown: Shown) -> str:
    """Conclusion, tables and the figures as a fragment of HTML."""
    told = "\n".join(f"<li>{_shown(line)}</li>" for line in shown.conclusion)
    blocks = [
        f"<ul>\n{told}\n</ul>",
        *(_html_table(head, rows) for head, rows in shown.tables() if rows),
        *(_figure(picture.text, svg(picture)) for picture in in_house_style(shown.pictures)),
    ]
    return '<div class="armsim">\n' + "\n".join(blocks) + "\n</div>\n"


def _tables(assessment: Assessment) -> Iterable[Table]:
    """Heads and rows of every table that has any."""
    load = assessment.load
    numbers = [(told_of(load, row.name), told_of(load, row.value)) for row in number_rows(assessment)]
    found: list[Table] = [
        (REQUIREMENT_HEAD, [_requirement_cells(r) for r in assessment.requirements]),
        (_NUMBER_HEAD, [*numbers]),
        (_FINDING_HEAD, [_finding_cells(f) for f in assessment.findings if f.level is not Level.NOTE]),
    ]
    return [(head, rows) for head, rows in found if rows]


def _requirement_cells(requirement: Requirement) -> Sequence[str]:
    *cells, margin = requirement_cells(requirement)
    return (*cells, margin.removeprefix("margin "))


def _finding_cells(finding: Finding) -> tuple[str, ...]:
    return str(finding.level), finding.where, finding.text, finding.mend


def _html_table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    top = "".join(f'<th scope="col" style="{_CELL}">{escape(cell)}</th>' for cell in head)
    lines = ("".join(f'<td style="{_CELL}">{_shown(cell)}</td>' for cell in row) for row in rows)
    body = "\n".join(f"<tr>{line}</tr>" for line in lines)
    return f'<table style="{_TABLE}">\n<thead><tr>{top}</tr></thead>\n<tbody>\n{body}\n</tbody>\n</table>'


def _shown(text: str) -> str:
    return escape(typeset(one_line(text)))


def _figure(text: str, drawn: str) -> str:
    """As an image, so that nothing in one drawing can be taken for a part of another."""
    data = base64.b64encode(drawn.encode()).decode()
    return f'<p><img style="max-width:100%" alt="{_shown(text)}" src="data:image/svg+xml;base64,{data}"></p>'
