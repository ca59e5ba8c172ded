"""Runs of wire as table, row and part of the result."""

import math
from collections.abc import Sequence
from typing import Any

from armsim.checks.wire_heat import WireResult
from armsim.checks.wires import LARGE_DROP
from armsim.report.marking import prose, table
from armsim.report.numbers import UNKNOWN, show
from armsim.report.rows import Row

NEAR = 10.0  #: distance to the insulation's limit from which on a wire is told of in the first lines [K]
HEAD = ("run", "peak, rms", "drop at peak", "drop at rms", "heat", "hottest in the run", "repeated for ever", "limit")
EXPLANATION = (
    "Each run there and back with its joints; shares are of the source without load. Temperatures are of the "
    "conductor, one node a metre, begun at ambient; its cooling is that of a single conductor free in air (a marine "
    "table for 105 degC insulation), so in a bundle or a conduit it gets hotter. The simulation itself keeps each "
    "resistance as given. Bears: the current that settles at the insulation's limit in this ambient."
)


def wiring_section(wiring: Sequence[WireResult]) -> list[str]:
    """Table of the runs, where there is any."""
    if not wiring:
        return []
    rows = [[prose(cell) for cell in _cells(wire)] for wire in wiring]
    return [prose(EXPLANATION), table((*HEAD, "bears"), rows, numeric=False)]


def _cells(wire: WireResult) -> tuple[str, ...]:
    return (
        called(wire),
        f"{show(wire.peak, 'current', 3)}, {show(wire.rms, 'current', 3)}",
        _drop(wire.peak_drop, wire.peak_drop_share),
        _drop(wire.rms_drop, wire.rms_drop_share),
        show(wire.heat, "power", 3),
        show(wire.hottest, "temperature", 3),
        settling(wire.settles),
        show(wire.limit, "temperature", 3),
        show(wire.ampacity, "current", 3),
    )


def called(wire: WireResult) -> str:
    """A run's own name, or where it is given."""
    place = "motor leads" if wire.where == "motor.leads" else wire.where.replace("supply.", "")
    return wire.name or place


def _drop(volts: float | None, share: float | None) -> str:
    return UNKNOWN if volts is None else f"{show(volts, 'voltage', 3)} ({show(share, 'share', 2)})"


def settling(temperature: float | None) -> str:
    """Where a wire settles, or that it does not."""
    if temperature is not None and math.isinf(temperature):
        return "runs away"
    return show(temperature, "temperature", 3)


def wiring_rows(wiring: Sequence[WireResult]) -> list[Row]:
    """A line for each run that is near its limit or loses much."""
    rows = []
    for wire in wiring:
        warmest = max((t for t in (wire.hottest, wire.settles) if t is not None), default=-math.inf)
        near = wire.limit is not None and warmest > wire.limit - NEAR
        if near or (wire.peak_drop_share or 0.0) > LARGE_DROP:
            text = f"loses up to {_drop(wire.peak_drop, wire.peak_drop_share)}"
            if wire.hottest is not None:
                text += f"; {show(wire.hottest, 'temperature', 3)} at most, repeated for ever {settling(wire.settles)}"
                text += f", limit {show(wire.limit, 'temperature', 3)}"
            rows.append(Row(f"wire, {called(wire)}", text))
    return rows


def wiring_json(wiring: Sequence[WireResult]) -> list[dict[str, Any]]:
    """The part of the result that tells of wires."""
    return [
        {
            "where": wire.where,
            "name": wire.name or None,
            "resistance_ohm": wire.resistance,
            "current_peak_a": wire.peak,
            "current_rms_a": wire.rms,
            "drop_peak_v": wire.peak_drop,
            "drop_peak_share": wire.peak_drop_share,
            "drop_rms_v": wire.rms_drop,
            "drop_rms_share": wire.rms_drop_share,
            "heat_w": wire.heat,
            "hottest_c": wire.hottest,
            "hottest_at_s": wire.hottest_at,
            "settles_c": wire.settles,
            "runs_away": None if wire.settles is None else math.isinf(wire.settles),
            "limit_c": wire.limit,
            "ampacity_a": wire.ampacity,
            "next_size": wire.remedy.name if wire.remedy else None,
        }
        for wire in wiring
    ]
