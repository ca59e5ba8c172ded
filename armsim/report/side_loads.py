"""What shafts of the train drive beside the arm: a table, and its part of the result."""

from collections.abc import Sequence
from typing import Any

from armsim.checks.assessment import SideLoadRow
from armsim.dynamics.run import Energy
from armsim.report.marking import prose, table
from armsim.report.numbers import show


def side_load_cells(loads: Sequence[SideLoadRow], energy: Energy | None) -> list[tuple[str, ...]]:
    """Head and rows of the side loads, with what each took in the run."""
    taken = [None] * len(loads) if energy is None else energy.side_losses
    rows: list[tuple[str, ...]] = [("side load", "shaft", "torque", "power", "energy in the run")]
    rows += [
        (s.name, s.shaft, show(s.torque, "torque"), show(s.power, "power"), show(joules, "energy"))
        for s, joules in zip(loads, taken, strict=True)
    ]
    return rows


def side_loads_section(loads: Sequence[SideLoadRow], energy: Energy | None) -> list[str]:
    """Markdown: the table with what it shows; nothing where no shaft drives anything else."""
    if not loads:
        return []
    head, *rows = ([prose(cell) for cell in row] for row in side_load_cells(loads, energy))
    text = "What shafts drive beside the arm in the same lift; a drag whichever way the shaft turns, it holds at rest."
    return [text, table(head, rows, numeric=False)]


def side_loads_json(loads: Sequence[SideLoadRow]) -> list[dict[str, Any]]:
    """One entry for each load, in order."""
    return [{"name": s.name, "shaft": s.shaft, "torque_nm": s.torque, "power_w": s.power} for s in loads]
