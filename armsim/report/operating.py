"""The motor's working points: a table, and its part of the result."""

from collections.abc import Sequence
from typing import Any

from armsim.checks.assessment import OperatingPoint
from armsim.report.marking import prose, table
from armsim.report.numbers import show, turns_per_minute

HEAD = ("one motor at", "speed", "torque", "current", "power", "efficiency")


def operating_json(points: Sequence[OperatingPoint]) -> list[dict[str, Any]]:
    """One entry for each point."""
    return [
        {
            "name": p.name,
            "speed_rpm": turns_per_minute(p.speed),
            "torque_nm": p.torque,
            "current_a": p.current,
            "power_w": p.power,
            "efficiency": p.efficiency,
        }
        for p in points
    ]


def operating_table(points: Sequence[OperatingPoint]) -> str:
    """Markdown, nothing where the motor cannot turn itself."""
    if not points:
        return ""
    rows = [
        (
            prose(p.name),
            show(p.speed, "shaft_speed", 3),
            prose(show(p.torque, "torque", 3)),
            show(p.current, "current", 3),
            show(p.power, "power", 3),
            prose(show(p.efficiency, "share", 3)),
        )
        for p in points
    ]
    text = "On this source, fresh, with wires and bridge, winding at ambient; efficiency counts what the source gives."
    return f"{prose(text)}\n\n{table(HEAD, rows)}"
