"""What pinions or drums of other sizes would make of speed and force: a table, and its part of the result."""

from collections.abc import Sequence
from typing import Any

from armsim.checks.assessment import SizeRow
from armsim.report.marking import prose, table
from armsim.report.numbers import show


def size_cells(sizes: Sequence[SizeRow]) -> list[tuple[str, ...]]:
    """Head and rows of what other pinions or drums would do."""
    rows: list[tuple[str, ...]] = [
        ("size", "travel a motor turn", "steady lift", "force at stall", "over what it needs")
    ]
    rows += [
        (
            f"{s.name} (as given)" if s.own else s.name,
            show(s.travel, "length"),
            show(s.speed, "velocity", 3),
            show(s.force, "force", 3),
            show(s.margin, "ratio", 3),
        )
        for s in sizes
    ]
    return rows


def sizes_section(sizes: Sequence[SizeRow]) -> list[str]:
    """Markdown: the table with what it shows; nothing where no carriage is driven."""
    if not sizes:
        return []
    head, *rows = ([prose(cell) for cell in row] for row in size_cells(sizes))
    text = "Other sizes of what drives the carriage, all else as it is: smaller is slower and stronger."
    return [text, table(head, rows)]


def sizes_json(sizes: Sequence[SizeRow]) -> list[dict[str, Any]]:
    """One entry for each size, in order."""
    return [
        {
            "name": s.name,
            "own": s.own,
            "travel_per_motor_turn_m": s.travel,
            "speed_m_per_s": s.speed,
            "force_n": s.force,
            "static_margin": s.margin,
        }
        for s in sizes
    ]
