"""What a sweep prints: the conclusion, then the table, thinned to a screen."""

import textwrap

from armsim.report.numbers import one_line
from armsim.report.sweep_words import HEAD, cells, conclusion, thinned
from armsim.report.terminal import TEXT_WIDTH
from armsim.studies.sweep import Sweep


def sweep_text(found: Sweep) -> str:
    """The text of a finished sweep, in plain aligned ASCII."""
    file = f" ({found.scenario.path.name})" if found.scenario.path else ""
    told = textwrap.fill(one_line(conclusion(found)), TEXT_WIDTH, break_on_hyphens=False)
    return f"{told}\n{one_line(found.scenario.title)}{file}\n\n{_table(found)}\n\n{_left_out(found)}"


def _table(found: Sweep) -> str:
    rows = [[*found.keys, *HEAD], *(cells(found, row) for row in thinned(found))]
    rows = [[one_line(cell) for cell in row] for row in rows]
    widths = [max(len(row[k]) for row in rows) for k in range(len(rows[0]) - 1)]
    lines = ["   ".join([*(c.rjust(w) for c, w in zip(row, widths, strict=False)), row[-1]]).rstrip() for row in rows]
    return "\n".join(f"  {line}" for line in lines)


def _left_out(found: Sweep) -> str:
    shown, total = len(thinned(found)), len(found.rows)
    kind = "those that no other betters in time and current" if len(found.variations) > 1 and found.best else "thinned"
    cut = f"{shown} of {total} rows, {kind}; --csv FILE has all. " if shown < total else ""
    return f"{cut}Each row is the first lift alone; armsim run judges a whole cycle."
