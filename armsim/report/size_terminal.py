"""What `armsim size` prints."""

from typing import TYPE_CHECKING

from armsim.report.numbers import one_line
from armsim.report.rows import aligned
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
from armsim.report.terminal import block, columns, wrapped
from armsim.studies.limits import Limit, MotorTried
from armsim.studies.size import Sizing

if TYPE_CHECKING:
    from armsim.scenario.tasks import Task


def size_summary(task: "Task", sizing: Sizing) -> str:
    """The answer, what the lift asks, and each motor."""
    file = f" ({task.path.name})" if task.path else ""
    parts = [
        f"{one_line(conclusion(sizing))}\n{one_line(task.title)}{file}",
        block("What the lift asks, without anything that turns with the motor", aligned(demand_rows(sizing), indent=2)),
    ]
    if sizing.fits:
        parts.append(block("Motors", f"{columns(fit_cells(sizing))}\n{wrapped(premise(sizing))}"))
    parts.append("\n".join(wrapped(f"- {note}") for note in fit_notes(sizing)))
    return "\n\n".join(part for part in parts if part)


def limits_summary(task: "Task", limits: tuple[Limit, ...], tried: tuple[MotorTried, ...] | None) -> str:
    """How far one thing may go, and the smallest motor of a stock."""
    file = f" ({task.path.name})" if task.path else ""
    parts = [f"{one_line(task.title)}{file}"]
    if limits:
        parts.append(
            block("One thing changed at a time, judged by exact runs of the cycle", columns(limit_cells(limits), WORDS))
        )
    parts.append("\n".join(wrapped(f"- {note}") for note in limit_notes(limits)))
    if tried is not None:
        parts.append(
            block("Motors of the stock in this machine, the smallest first", columns(tried_cells(tried), WORDS))
        )
    return "\n\n".join(part for part in parts if part)
