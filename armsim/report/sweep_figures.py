"""Figures of a sweep: measures over one key, a map of two, or what is traded for what."""

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from armsim.report.drawing import GREY, PENS, Panel, Vertical
from armsim.report.layout import Happening, finish, stack
from armsim.report.numbers import show
from armsim.report.picture import Picture
from armsim.report.sweep_map import mapped
from armsim.report.sweep_words import axis_label, best_text, choice_of, conclusion, end_text, scale_of, short, value
from armsim.report.sweep_words import limit as limit_of
from armsim.report.wording import plain
from armsim.studies.sweep import Sweep
from armsim.studies.sweep_rows import CERTAIN, POSSIBLE, RESET, STALL, Row

Array = NDArray[np.float64]
SHADE = "#e4eee8"  #: of the range that meets everything: light enough for words and greys
FARTHEST = 1.6  #: a limit is drawn up to so many times the largest value
#: what is drawn over a key for every word of another
BY_WORD = {"lift_time": "Lift time (s)", "supply_current": "Peak supply current (A)", "static_margin": "Static margin"}
LEAST_MAPPED = 4  #: values of each of two keys from which on a map is drawn


def pictures(found: Sweep) -> Iterator[Picture]:
    """What can be drawn of it."""
    numeric = [variation.numbers is not None for variation in found.variations]
    if len(numeric) == 1 and numeric[0] and len([row for row in found.rows if not row.failed]) > 1:
        yield over_one_key(found)
    elif len(numeric) == 2 and all(numeric) and all(len(v.texts) >= LEAST_MAPPED for v in found.variations):
        yield mapped(found)
    elif sorted(numeric) == [False, True] and len(found.variations[numeric.index(False)].texts) <= len(PENS):
        yield by_word(found, numeric.index(False))
    elif len(found.feasible) > 1:
        yield traded(found)


# ---------------------------------------------------------------------------------------------------------- one key


def over_one_key(found: Sweep) -> Picture:
    """Lift time, supply current, winding and static margin over the key, what meets everything shaded."""
    (variation,) = found.variations
    rows = sorted({row.numbers[0]: row for row in _drawn(found)}.values(), key=lambda row: row.numbers[0] or 0.0)
    x = np.array([row.numbers[0] for row in rows], dtype=float)
    heat = any(row.winding is not None for row in rows)
    heights = (1.9, 1.9, 1.4, 1.4) if heat else (1.9, 1.9, 1.4)
    label = axis_label(variation, found.scenario.machine.arm.kind)
    figure, panels = stack(heights, label, (float(x[0]), float(x[-1])), _happenings(found), scale_of(variation))
    for panel in panels:
        for k, window in enumerate(found.windows):
            panel.axes.axvspan(
                window.low.number, window.high.number, color=SHADE, zorder=0, linewidth=0, gid=f"met-{k}"
            )
    _times(panels[0], x, rows, found)
    _currents(panels[1], x, rows, found)
    if heat:
        _windings(panels[2], x, rows, found)
    _margins(panels[-1], x, rows, found)
    finish(panels)
    shaded = "Shaded: all requirements met. " if found.scenario.requirements else "Shaded: lifts without trip. "
    text = (
        f"{conclusion(found)} {shaded if found.windows else ''}Dotted lines: where what is named over them is just met."
    )
    return Picture(name="sweep", heading=f"Over {variation.key}", text=text, figure=figure)


def _drawn(found: Sweep) -> list[Row]:
    extra = [row for row in (found.fastest, found.least_current) if row is not None]
    return [row for row in (*found.rows, *extra) if not row.failed]


def _happenings(found: Sweep) -> list[Happening]:
    """Edges by what binds there, at their numbers."""
    (variation,) = found.variations
    marks: dict[float, list[str]] = {}
    for window in found.windows:
        for end, up in ((window.low, True), (window.high, False)):
            if end.binds:
                names = list(dict.fromkeys(short(name) for name in end.binds))
                marks.setdefault(end.number, []).append(f"{', '.join(names)} {end_text(variation, end, up=up)}")
    for edge in found.edges:
        if edge.condition in (STALL, CERTAIN, POSSIBLE, RESET) and not any(
            abs(edge.met - number) <= 2e-3 * abs(number) for number in marks
        ):
            near = float(f"{edge.met:.3g}")
            marks.setdefault(edge.met, []).append(f"{short(edge.condition)} {value(variation, near)}")
    return [Happening(time=number, label=", ".join(names)) for number, names in sorted(marks.items())]


def _column(rows: Sequence[Row], name: str) -> Array:
    values = [getattr(row, name) for row in rows]
    return np.array([np.nan if v is None else float(v) for v in values])


def _wish(found: Sweep, name: str) -> float | None:
    return next((float(w.limit) for w in found.scenario.requirements if w.name == name), None)


def _limited(panel: Panel, y: Array, limit: float | None, text: str, name: str, *, beyond: int) -> list[float]:
    """Draw a limit where it is not far off; the numbers that the panel has to show."""
    known = y[np.isfinite(y)]
    top = float(known.max()) if known.size else 1.0
    if limit is None or limit > FARTHEST * top:
        return [top]
    panel.limit(limit, text, gid=f"{name}-limit", beyond=beyond)
    return [top, limit]


def _times(panel: Panel, x: Array, rows: Sequence[Row], found: Sweep) -> None:
    y = _column(rows, "lift_time")
    panel.curve(x, y, "", gid="lift-time")
    limit = _wish(found, "lift_time")
    shown = _limited(panel, y, limit, f"at most {show(limit, 'time')}", "lift-time", beyond=1)
    panel.frame("Lift time (s)", low=0.0, high=max(shown))
    if found.windows:
        middle = 0.5 * (found.windows[0].low.number + found.windows[0].high.number)
        panel.wishes.append((" all met", GREY, Vertical(middle)))
    if found.fastest is not None and found.fastest.lift_time is not None:
        told = f"fastest: {show(found.fastest.lift_time, 'time', 3)} at {best_text(found, found.fastest)}"
        panel.dot(float(found.fastest.numbers[0] or 0.0), found.fastest.lift_time, told, gid="fastest")


def _currents(panel: Panel, x: Array, rows: Sequence[Row], found: Sweep) -> None:
    y = _column(rows, "supply_current")
    panel.curve(x, y, "peak", gid="supply-peak")
    panel.curve(x, _column(rows, "supply_rms"), "rms", 1, gid="supply-rms")
    limit = _wish(found, "supply_current")
    shown = _limited(panel, y, limit, f"at most {show(limit, 'current')}", "supply-current", beyond=1)
    for k, device in enumerate(found.scenario.machine.protection):
        if not device.branch and device.rating <= FARTHEST * max(shown):
            panel.level(device.rating, f"{plain(device.kind)} {show(device.rating, 'current')}", gid=f"rating-{k}")
            shown.append(device.rating)
    panel.frame("Supply current (A)", low=0.0, high=max(shown))
    least = found.least_current
    if least is not None and least.supply_current is not None:
        told = f"least: {show(least.supply_current, 'current', 3)} at {best_text(found, least)}"
        panel.dot(float(least.numbers[0] or 0.0), least.supply_current, told, gid="least-current")


def _windings(panel: Panel, x: Array, rows: Sequence[Row], found: Sweep) -> None:
    y = _column(rows, "winding")
    panel.curve(x, y, "", gid="winding")
    limit = _wish(found, "winding_temperature")
    shown = _limited(panel, y, limit, f"at most {show(limit, 'temperature')}", "winding", beyond=1)
    panel.frame("Winding (°C)", high=max(shown))


def _margins(panel: Panel, x: Array, rows: Sequence[Row], found: Sweep) -> None:
    y = _column(rows, "static_margin")
    panel.curve(x, y, "", gid="static-margin")
    limit = _wish(found, "static_margin")
    _limited(panel, y, 1.0 if limit is None else limit, f"at least {limit or 1:g}", "static-margin", beyond=-1)
    panel.frame("Static margin", low=0.0)


# ------------------------------------------------------------------------------------------------------ several keys


def by_word(found: Sweep, place: int) -> Picture:
    """Lift time, supply current and static margin over the key with numbers, a line for every word of the other."""
    words, variation = found.variations[place], found.variations[1 - place]
    lines = []
    for word in words.texts:
        rows = [row for row in found.rows if row.texts[place] == word and not row.failed]
        lines.append((word, sorted(rows, key=lambda row: row.numbers[1 - place] or 0.0)))
    numbers = variation.numbers or ()
    label = axis_label(variation, found.scenario.machine.arm.kind)
    figure, panels = stack((2.2, 2.2, 1.8), label, (min(numbers), max(numbers)), scale=scale_of(variation))
    for panel, (name, axis) in zip(panels, BY_WORD.items(), strict=True):
        for pen, (word, rows) in enumerate(lines):
            x = np.array([row.numbers[1 - place] for row in rows], dtype=float)
            panel.curve(x, _column(rows, name), word, pen, gid=f"{name.replace('_', '-')}-{pen}")
        wish = next((wish for wish in found.scenario.requirements if wish.name == name), None)
        shown = [float(np.nanmax(y)) for _, y in panel.curves if np.isfinite(y).any()]
        if wish is not None:
            text = f"at {'most' if wish.sense == 'max' else 'least'} {limit_of(found, wish)}"
            beyond = 1 if wish.sense == "max" else -1
            every = np.concatenate([y for _, y in panel.curves])
            shown += _limited(panel, every, float(wish.limit), text, name.replace("_", "-"), beyond=beyond)
        panel.frame(axis, low=0.0, high=max(shown, default=1.0))
    finish(panels)
    told = f"{conclusion(found)} A line for each value of {words.key}."
    return Picture(name="sweep", heading=f"Over {variation.key}, by {words.key}", text=told, figure=figure)


def traded(found: Sweep) -> Picture:
    """Lift time against peak supply current of the rows that meet everything; a line through those none betters."""
    rows, best = found.feasible, found.best
    amps, times = _column(rows, "supply_current"), _column(rows, "lift_time")
    reach = float(np.ptp(amps)) or 1.0
    figure, (panel,) = stack(
        (3.8,), "Peak supply current (A)", (float(amps.min()) - 0.1 * reach, float(amps.max()) + 0.1 * reach)
    )
    panel.axes.plot(amps, times, "o", color="#b8b8b8", markersize=3.5, gid="rows", zorder=1.5)
    order = sorted(best, key=lambda row: row.supply_current or 0.0)
    panel.curve(_column(order, "supply_current"), _column(order, "lift_time"), "", gid="undominated")
    panel.curves.append((amps, np.full_like(amps, float(np.nanmax(times)))))
    panel.frame("Lift time (s)")
    panel.dots(_column(order, "supply_current"), _column(order, "lift_time"), gid="best")
    for row, name in ((order[-1], "fastest"), (order[0], "least current")):
        if row.lift_time is not None and row.supply_current is not None:
            panel.dot(row.supply_current, row.lift_time, name, gid="best")
    finish([panel])
    text = (
        f"{conclusion(found)} Grey: rows that meet everything; black: the {len(best)} of them that no other betters "
        f"both in time and in current, from {choice_of(found, order[-1])} to {choice_of(found, order[0])}."
    )
    return Picture(name="sweep", heading="Time against current", text=text, figure=figure)
