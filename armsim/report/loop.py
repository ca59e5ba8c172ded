"""How the position loop kept to its references: a line, a table, and its part of the result."""

from collections.abc import Sequence
from typing import Any

from armsim.dynamics.run import Run, Track
from armsim.report.marking import bullets, prose, table
from armsim.report.numbers import DISPLAY, degrees, in_display, of, show
from armsim.report.rows import Row
from armsim.report.view import kept_cycles

FINEST = 1e-3  #: of an angle worth telling from none [deg, mm]
MOST = 40  #: rows of the table
HEAD = ("begins", "move", "target", "tracking error", "overshoot", "settling time", "steady error", "limited")
COLUMNS = (
    "Tracking error: the farthest that the arm was from the angle asked for while that angle moved.",
    "Overshoot: how far the arm went past the target in the sense of the move; in a hold, past the angle held.",
    "Settling time: from the end of the profile until the arm was within the loop's tolerance for good.",
    "Steady error: target less angle at the end, that of a hold at the same target included.",
    "Limited: the bridge or the current limit gave less than the loop asked for, at some time.",
)


def position_loop_json(run: Run | None) -> list[dict[str, Any]]:
    """One entry for each reference followed or held, in order; of many cycles those whose series are kept."""
    return [
        {
            "name": t.name,
            "begun_s": t.begun,
            "ended_s": t.ended,
            "target_deg": degrees(t.target),
            "reference_ends_s": t.reference_ends,
            "tracking_error_deg": degrees(t.tracking_error),
            "overshoot_deg": degrees(t.overshoot),
            "settling_time_s": t.settling_time,
            "steady_error_deg": degrees(t.steady_error),
            "limited": t.limited,
        }
        for t in (run.tracks if run else ())
    ]


def worst_tracking(tracks: Sequence[Track]) -> float | None:
    """Largest tracking error of all moves that have one. [rad]"""
    return max((t.tracking_error for t in tracks if t.tracking_error is not None), default=None)


def loop_rows(run: Run | None) -> list[Row]:
    """The worst of all tracks on one line; none where no loop was at work."""
    if run is None or not run.tracks:
        return []
    tracks, lag, load = run.tracks, worst_tracking(run.tracks), run.machine.arm.kind
    parts = [] if lag is None else [f"{fine(lag, load)} off on the way"]
    parts.append(f"{fine(max(t.overshoot for t in tracks), load)} past the target")
    parts.append(f"{fine(max(abs(t.steady_error) for t in tracks), load)} off at the end")
    limited = "; at its limits" if any(t.limited for t in tracks) else ""
    return [Row("position loop", f"up to {', '.join(parts)}{limited}")]


def loop_section(run: Run | None) -> list[str]:
    """Markdown: the table of tracks with what its columns mean; nothing where no loop was at work."""
    if run is None or not run.tracks:
        return []
    rows = [[prose(cell) for cell in track_cells(t, run.machine.arm.kind)] for t in run.tracks[:MOST]]
    kept = kept_cycles(run)
    opening = "Each move or hold under the position loop, against the angle that the loop was asked for; a hold where "
    opening += "a move ended goes on with it"
    opening += f" ({kept} of {len(run.cycles)})." if kept else "."
    if len(run.tracks) > MOST:
        opening += f" The first {MOST} of {len(run.tracks)} are listed; result.json has all."
    return [prose(opening), table(HEAD, rows, numeric=False), bullets(COLUMNS)]


def track_cells(t: Track, load: str = "arm") -> tuple[str, ...]:
    """The row of one track, in plain text."""
    return (
        show(t.begun, "time"),
        t.name,
        show(t.target, of(load, "angle")),
        "-" if t.tracking_error is None else fine(t.tracking_error, load),
        fine(t.overshoot, load),
        "not settled" if t.settling_time is None else show(t.settling_time, "time", 3),
        fine(t.steady_error, load),
        "yes" if t.limited else "no",
    )


def fine(angle: float, load: str = "arm") -> str:
    """A small angle, what is too small to matter told as such."""
    dimension = of(load, "angle")
    if 0.0 < abs(in_display(angle, dimension)) < FINEST:
        return f"under {FINEST:g} {DISPLAY[dimension].unit}"
    return show(angle, dimension, 3)
