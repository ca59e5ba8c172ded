"""Figures of a choice: price and current against the time of the lift, and that time over the reduction."""

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from armsim.report.choose_words import many
from armsim.report.drawing import GREY, PENS, Panel
from armsim.report.layout import finish, stack
from armsim.report.numbers import show
from armsim.report.picture import Picture
from armsim.studies.choice import Choosing
from armsim.studies.chosen import Chosen

Array = NDArray[np.float64]
MOST_POINTS = 4000  #: drawn, evenly thinned
PALE = "#b8b8b8"
MARKERS, SHAPES = "os^Dv", ("round", "square", "pointing up", "diamond", "pointing down")
STEMS = ("trade-off", "reductions")


def choose_pictures(found: Choosing) -> Iterator[Picture]:
    """Every figure there is something for."""
    if np.isfinite(found.table.lift_time).any():
        yield trading(found)
        yield over_reduction(found)


def trading(found: Choosing) -> Picture:
    """Price and supply current against lift time, with the lines of those that none beats in both."""
    table = found.table
    arrived = np.isfinite(table.lift_time)
    priced = bool(np.isfinite(table.price[arrived]).any())
    own = _time(found.today)
    times = table.lift_time[arrived]
    low, high = _roomy(times if own is None else np.append(times, own))
    figure, panels = stack((2.7, 2.7) if priced else (3.2,), "Lift time (s)", (low, high))
    sides = [("Price", table.price, "price")] if priced else []
    sides.append(("Peak supply current (A)", table.supply_current, "supply_current"))
    for panel, (label, values, name) in zip(panels, sides, strict=True):
        _cloud(panel, table.lift_time, values, table.passed, name)
        _front(panel, table.lift_time, values, table.passed, name)
        _named(panel, found, name)
        panel.frame(label)
    finish(panels)
    passed = int(table.passed.sum())
    text = f"Each point is a combination that was simulated, {many(len(table.number))} in all: black ones meet every "
    text += f"requirement of the lift ({many(passed)}), grey ones miss one. "
    if passed:
        text += "The dashed line joins those that none other beats in both. "
    text += "Nearer to the lower left corner is better."
    return Picture(name="trade-off", heading="What is traded for what", text=text, figure=figure)


def over_reduction(found: Choosing) -> Picture:
    """Lift time of all simulated over their reduction, told apart by how many stages they have."""
    table = found.table
    arrived = np.isfinite(table.lift_time)
    figure, (panel,) = stack((3.4,), "Reduction of the train", _roomy(table.reduction[arrived]))
    for depth in sorted(set(table.stages[arrived].tolist()), reverse=True):
        here = _thinned(np.flatnonzero(arrived & (table.stages == depth)))
        pen = (depth - 1) % len(PENS)
        _points(panel, table.reduction[here], table.lift_time[here], PENS[pen]["color"], f"stages-{depth}", 3.0)
        panel.axes.lines[-1].set_marker(MARKERS[pen])
        panel.note(f"{depth} stage{'s' if depth > 1 else ''} ({SHAPES[pen]})", pen)
    if found.top and found.top[0].lift_time is not None:
        panel.dot(found.top[0].reduction, found.top[0].lift_time, "first", gid="first")
    panel.frame("Lift time (s)")
    finish([panel])
    text = "Lift time of every simulated combination over the reduction of its train, all motors together. "
    if found.top and found.top[0].lift_time is not None:
        first = found.top[0]
        text += f"The first has {show(first.reduction, 'ratio')}:1 and takes {show(first.lift_time, 'time')}. "
    text += "Only those were simulated that could still come among the best."
    return Picture(name="reductions", heading="Lift time over reduction", text=text, figure=figure)


def _time(one: Chosen | None) -> float | None:
    return None if one is None else one.lift_time


def _cloud(panel: Panel, x: Array, y: Array, passed: NDArray[np.bool_], name: str) -> None:
    known = np.isfinite(x) & np.isfinite(y)
    for which, colour, part in ((~passed, PALE, "missed"), (passed, "black", "passed")):
        here = _thinned(np.flatnonzero(known & which))
        if here.size:
            _points(panel, x[here], y[here], colour, f"{name}-{part}", 2.8 if part == "passed" else 2.2)


def _points(panel: Panel, x: Array, y: Array, colour: object, gid: str, size: float) -> None:
    """Small points; only their outermost are kept clear of labels."""
    panel.axes.plot(x, y, "o", color=colour, markersize=size, markeredgewidth=0, gid=gid)
    if len(x):
        order = np.argsort(x)
        panel.curves.append((x[order], y[order]))


def _front(panel: Panel, x: Array, y: Array, passed: NDArray[np.bool_], name: str) -> None:
    here = np.flatnonzero(passed & np.isfinite(x) & np.isfinite(y))
    here = here[np.lexsort((y[here], x[here]))]
    steps: list[tuple[float, float]] = []
    for k in here.tolist():
        if not steps or y[k] < steps[-1][1]:
            steps += [(x[k], steps[-1][1]), (x[k], y[k])] if steps else [(x[k], y[k])]
    if len(steps) > 1:
        line = np.array(steps)
        panel.axes.plot(line[:, 0], line[:, 1], color=GREY, linewidth=1.1, linestyle=(0, (4, 2.5)), gid=f"{name}-front")


def _named(panel: Panel, found: Choosing, name: str) -> None:
    """The first, where the table has it, and what the file has; of that only the cycle's current is known."""
    table, places = found.table, []
    if found.top:
        row = int(np.flatnonzero(table.number == found.top[0].number)[0])
        places.append(("1", float(table.lift_time[row]), float(getattr(table, name)[row])))
    own = found.today
    if own is not None and own.lift_time is not None and own.price is not None and name == "price":
        places.append(("today", own.lift_time, own.price))
    for label, x, y in places:
        if np.isfinite(y):
            panel.dot(x, y, label, gid=f"{name}-{label}")
            panel.curves.append((np.array([x]), np.array([y])))


def _thinned(index: NDArray[np.int64]) -> NDArray[np.int64]:
    if len(index) <= MOST_POINTS:
        return index
    return index[np.linspace(0, len(index) - 1, MOST_POINTS).astype(np.int64)]


def _roomy(values: Array) -> tuple[float, float]:
    low, high = float(values.min()), float(values.max())
    room = 0.06 * (high - low) or 0.05 * abs(high) or 1.0
    return low - room, high + room
