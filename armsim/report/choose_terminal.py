"""What `armsim choose` prints."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from armsim.report.choose_words import conclusion, count_rows, front_cells, notes, ranked_cells, side_cells
from armsim.report.numbers import one_line
from armsim.report.rows import aligned
from armsim.report.terminal import block, wrapped
from armsim.studies.choice import Choosing

if TYPE_CHECKING:
    from armsim.scenario.tasks import Task


def choose_summary(task: "Task", found: Choosing) -> str:
    """The answer, the best ones, what the same reduction costs with more stages, and what was looked at."""
    file = f" ({task.path.name})" if task.path else ""
    parts = [f"{one_line(conclusion(found))}\n{one_line(task.title)}{file}"]
    heads, *rows = ranked_cells(found)
    if rows:
        parts.append(block("The best, by exact runs of the whole cycle", told(heads, rows, 1)))
    heads, *rows = side_cells(found)
    if rows:
        parts.append(
            block(
                "The best one's motor and reduction, or the nearest, by more and by fewer stages", told(heads, rows, 1)
            )
        )
    heads, *rows = front_cells(found)
    if rows:
        parts.append(
            block(
                "Of all simulated, none other is better in time, current of the lift and price at once",
                told(heads, rows, 0),
            )
        )
    parts.append(block("What became of all combinations", aligned(count_rows(found), indent=2)))
    parts.append("\n".join(wrapped(f"- {note}") for note in notes(found)))
    return "\n\n".join(part for part in parts if part)


def told(heads: Sequence[str], rows: Sequence[Sequence[str]], made_of: int) -> str:
    """Numbers in columns, and what each is made of on the line below: names are long."""
    short = [[cell for k, cell in enumerate(row) if k != made_of] for row in (heads, *rows)]
    widths = [max(len(row[k]) for row in short) for k in range(len(short[0]))]
    lines = []
    for row, cells in zip((heads, *rows), short, strict=True):
        line = "   ".join(cell.ljust(width) for cell, width in zip(cells, widths, strict=True))
        lines.append(f"  {line}".rstrip())
        if row is not heads:
            lines.append(f"      {one_line(row[made_of])}")
    return "\n".join(lines)
