"""The map of a sweep over two keys: lift time as contours, the edges of every condition named on their lines."""

from collections.abc import Iterator, Sequence
from typing import Any, NamedTuple

import numpy as np
from matplotlib.ticker import MaxNLocator
from numpy.typing import NDArray

from armsim.report.drawing import GREY, PENS, Panel, ticks
from armsim.report.layout import finish, stack
from armsim.report.numbers import show, typeset
from armsim.report.picture import Picture
from armsim.report.sweep_words import axis_label, conclusion, limit, scale_of, short
from armsim.studies.sweep import Sweep, deciding, ordered
from armsim.studies.sweep_rows import CERTAIN, HEAT, POSSIBLE, RESET, STALL, Row

Array = NDArray[np.float64]
FINE = 240  #: points across and up between which hatching is drawn
LEVELS = 8  #: of lift time, about


class Field(NamedTuple):
    """A condition over the grid: the room left to it, below zero where it is missed."""

    name: str
    room: Array


def mapped(found: Sweep) -> Picture:
    """Lift time over two keys, what does not meet everything hatched."""
    across, up = found.variations
    assert across.numbers is not None
    assert up.numbers is not None
    x, y = np.array(across.numbers), np.array(up.numbers)
    table = np.array(found.rows, dtype=object).reshape(x.size, y.size)
    if x[0] > x[-1]:
        x, table = x[::-1], table[::-1]
    if y[0] > y[-1]:
        y, table = y[::-1], table[:, ::-1]
    figure, (panel,) = stack((5.2,), _label(found, 0), (float(x[0]), float(x[-1])), scale=scale_of(across))
    axes = panel.axes
    axes.set_yscale(scale_of(up))
    axes.set_ylim(float(y[0]), float(y[-1]))
    axes.set_ylabel(_label(found, 1))
    ticks(axes.yaxis, 9)
    axes.grid(False)
    fields = list(_fields(found, x, y, table))
    _hatch(axes, x, y, [field for field in fields if field.name in deciding(found.scenario)])
    pen = 1
    for field in fields:
        lines = sorted(_lines(x, y, field.room), key=len, reverse=True)
        for k, line in enumerate(lines):
            panel.curve(line[:, 0], line[:, 1], "" if k else _name(found, field.name), pen, gid=f"edge-{field.name}")
        pen = pen % (len(PENS) - 1) + bool(lines)
        pen = pen or 1
    for row, name in ((found.fastest, "fastest"), (found.least_current, "least current")):
        if row is not None and None not in row.numbers:
            panel.dot(float(row.numbers[0] or 0.0), float(row.numbers[1] or 0.0), name, gid=name.replace(" ", "-"))
    wish = next((float(w.limit) for w in found.scenario.requirements if w.name == "lift_time"), None)
    _contours(panel, x, y, table, wish)
    finish([panel])
    text = (
        f"{conclusion(found)} Thin lines: lift time. Thick lines, named: where a condition is just met. "
        "Hatched: does not meet everything asked."
    )
    return Picture(name="sweep", heading=f"Over {across.key} and {up.key}", text=text, figure=figure)


def _name(found: Sweep, condition: str) -> str:
    """A condition with its limit, as a line is called."""
    wish = next((w for w in found.scenario.requirements if w.name == condition and w.sense != "is"), None)
    return short(condition) if wish is None else typeset(f"{short(condition)} {limit(found, wish)}")


def _label(found: Sweep, place: int) -> str:
    variation = found.variations[place]
    return axis_label(variation, found.scenario.machine.arm.kind)


def _fields(found: Sweep, x: Array, y: Array, table: NDArray[np.object_]) -> Iterator[Field]:
    """Every condition that is met in some rows and missed in others; one alike to another only once."""
    missed = set().union(*(row.missed for row in found.rows))
    names = [
        name for name in ordered(missed) if name in deciding(found.scenario) or name in (CERTAIN, POSSIBLE, RESET, HEAT)
    ]
    if "breaker_trips" in names and POSSIBLE in names:
        names.remove(POSSIBLE)
    for name in names:
        room = (
            _stall_room(found, x, y, table) if name == STALL else np.vectorize(lambda row, n=name: _room(row, n))(table)
        )
        known = room[np.isfinite(room)]
        if known.size and known.min() < 0.0 < known.max():
            yield Field(name, room)


def _room(row: Row, name: str) -> float:
    if not row.reached:  # where it stalls all else jumps, and the line of the stall is drawn for it
        return float("nan")
    return float(row.margins.get(name, -1.0 if name in row.missed else 1.0))


def _stall_room(found: Sweep, x: Array, y: Array, table: NDArray[np.object_]) -> Array:
    """How far along a key it is to the line where it just no longer lifts, over the range of that key."""
    lifts = np.vectorize(lambda row: 1.0 if row.reached else -1.0)(table)
    points = np.array(found.stall_line)
    if points.size == 0:
        return np.asarray(lifts, dtype=float)
    for place, (moved, fixed) in ((0, (x, y)), (1, (y, x))):
        at = points[:, 1 - place]
        if np.unique(at).size == at.size and np.isin(at, fixed).all():
            order = np.argsort(at)
            line = np.interp(fixed, at[order], points[order, place])
            distance = np.abs(moved[:, None] - line[None, :]) / float(np.ptp(moved))
            return np.asarray(lifts * (distance if place == 0 else distance.T), dtype=float)
    return np.asarray(lifts, dtype=float)


def _lines(x: Array, y: Array, room: Array) -> list[Array]:
    """Where a quantity over the grid is zero."""
    from contourpy import contour_generator

    lines: Any = contour_generator(x, y, np.ma.masked_invalid(room.T)).lines(0.0)
    return [np.asarray(line, dtype=float) for line in lines if len(line) > 1]


def _hatch(axes: Any, x: Array, y: Array, fields: Sequence[Field]) -> None:
    """Hatch where one of the fields is below zero, between the rows as straight as their lines."""
    if not fields:
        return
    fine_x, fine_y = _fine(x), _fine(y)
    least = np.full((FINE, FINE), np.inf)
    for field in fields:
        room = _filled(field.room)
        along = np.array([np.interp(fine_y, y, row) for row in room])
        least = np.minimum(least, np.array([np.interp(fine_x, x, column) for column in along.T]).T)
    if least.min() < 0.0:
        axes.contourf(
            fine_x,
            fine_y,
            least.T,
            levels=[min(-1e9, float(least.min())), 0.0],
            colors="none",
            hatches=["////"],
            zorder=0.5,
        )


def _fine(values: Array) -> Array:
    """Many numbers over the range of these, spaced as they are."""
    places = np.linspace(0.0, values.size - 1.0, FINE)
    return np.asarray(np.interp(places, np.arange(values.size), values), dtype=float)


def _filled(room: Array) -> Array:
    """The same with the nearest known value where none is known: what is missed beside a stall is missed up to it."""
    from scipy.ndimage import distance_transform_edt

    _, nearest = distance_transform_edt(~np.isfinite(room), return_indices=True)
    return np.asarray(room[tuple(nearest)], dtype=float)


def _contours(panel: Panel, x: Array, y: Array, table: NDArray[np.object_], limit: float | None) -> None:
    """Lines of equal lift time, but not along a limit, which has a line of its own."""
    times = np.vectorize(lambda row: np.nan if row.lift_time is None else float(row.lift_time))(table)
    known = times[np.isfinite(times)]
    if known.size < 4 or np.ptp(known) == 0.0:
        return
    low, high = np.percentile(known, (2.0, 85.0))
    levels = MaxNLocator(nbins=LEVELS, steps=[1, 2, 2.5, 5, 10]).tick_values(low, high)
    levels = levels[(levels > known.min()) & (levels < known.max())]
    if limit is not None:
        levels = levels[np.abs(levels - limit) > 1e-6 * limit]
    for level in levels:
        lines = sorted(_lines(x, y, times - level), key=len, reverse=True)
        for k, line in enumerate(lines):
            panel.curve(line[:, 0], line[:, 1], "" if k else show(float(level), "time"), gid="lift-time")
            panel.axes.lines[-1].set(color=GREY, linestyle="-", linewidth=0.9, zorder=1.2)
