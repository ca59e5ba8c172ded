"""Figures of a comparison: the courses of all over one another, their margins, and what is traded for what."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.figure import Figure

from armsim.report import placing
from armsim.report.compare_words import few, listed
from armsim.report.drawing import BLACK, FONT, GREY, PENS, Panel
from armsim.report.layout import LEFT, POINTS, RIGHT, ROW, WIDTH, finish, stack
from armsim.report.numbers import of, show, shown_in
from armsim.report.picture import Picture
from armsim.report.wording import axis_of
from armsim.studies.compare import Comparison, as_shown, trade_off
from armsim.studies.proposal import Line, Proposal

MOST_NAMED = 5  #: curves told apart by pen and name; others are thin and grey
MOST_POINTS = 12  #: with more in the trade-off, their numbers stand for their names
PALE = "#b8b8b8"
SAMPLE, SPACE = 34.0, 5.0  #: of a line in the key, and between it and its name [pt]
LOADS, RATIO = ("arm", "carriage"), "ratio"


@dataclass(frozen=True, kw_only=True)
class Sign:
    """How a scenario's curves are told apart: the same in every figure."""

    number: int  #: place in the order given, from 1
    pen: int | None  #: None: one of many, thin and grey


def pictures(comparison: Comparison) -> Iterator[Picture]:
    """Every figure that what is compared has data for, in the order of the report."""
    if not comparison.proposals:
        return
    signs = signs_of(comparison)
    if sum(p.values["lift_time"] is not None for p in comparison.proposals) > 1:
        yield trading(comparison, signs)
    yield courses(comparison.proposals, signs)
    for load in LOADS:
        same = [p for p in comparison.proposals if p.load == load and np.isfinite(p.course.margin[1]).any()]
        if same:
            yield margins(same, load, signs)


def signs_of(comparison: Comparison) -> dict[str, Sign]:
    """Pens go first to those to choose from, then in the order given."""
    numbers = {outcome.label: k for k, outcome in enumerate(comparison.outcomes, 1)}
    choice = comparison.ranking.choice
    ordered = sorted(comparison.proposals, key=lambda p: p.label not in choice)
    return {p.label: Sign(number=numbers[p.label], pen=k if k < MOST_NAMED else None) for k, p in enumerate(ordered)}


def _curves(panel: Panel, lines: Sequence[tuple[str, Line]], signs: dict[str, Sign], stem: str) -> None:
    """Curves with their numbers; the pale ones lie below."""
    for label, (x, y) in sorted(lines, key=lambda line: signs[line[0]].pen is not None):
        sign = signs[label]
        if sign.pen is None:
            panel.curve(x, y, "", gid=f"{stem}-{label}")
            panel.axes.lines[-1].set(color=PALE, linewidth=0.8, linestyle="-")
        else:
            panel.curve(x, y, str(sign.number), sign.pen, gid=f"{stem}-{label}")


def _keyed(
    heights: Sequence[float], x_label: str, x_range: tuple[float, float], signs: dict[str, Sign], shown: set[str]
) -> tuple[Figure, list[Panel]]:
    """Panels under a key of the curves that have a pen."""
    named = [(label, sign) for label, sign in signs.items() if sign.pen is not None and label in shown]
    if not named:
        return stack(heights, x_label, x_range)
    named.sort(key=lambda pair: pair[1].number)
    across = (WIDTH - LEFT - RIGHT) * POINTS
    places: list[tuple[float, int]] = []
    left, row = 0.0, 0
    for label, sign in named:
        width = SAMPLE + placing.text_size(f"{sign.number} {label}", FONT)[0] + 2 * SPACE
        if left and left + width > across:
            left, row = 0.0, row + 1
        places.append((left, row))
        left += width
    height = (row + 1) * ROW
    figure, (key, *panels) = stack((height / POINTS, *heights), x_label, x_range)
    key.axes.set_axis_off()
    for (label, sign), (left, row) in zip(named, places, strict=True):
        assert sign.pen is not None
        y = 1.0 - (row + 0.5) * ROW / height
        ends = [left / across, (left + SAMPLE) / across]
        key.axes.plot(ends, [y, y], transform=key.axes.transAxes, gid=f"key-{label}", **PENS[sign.pen])
        start, text = (left + SAMPLE + SPACE) / across, f"{sign.number} {label}"
        key.axes.text(start, y, text, transform=key.axes.transAxes, size=FONT, color=BLACK, va="center", gid="key")
    return figure, panels


def _unnamed(proposals: Sequence[Proposal], signs: dict[str, Sign]) -> str:
    count = sum(signs[p.label].pen is None for p in proposals)
    return f" {count} more {'is' if count == 1 else 'are'} drawn thin and grey." if count else ""


def courses(proposals: Sequence[Proposal], signs: dict[str, Sign]) -> Picture:
    """Angle and supply current over time, of the lift where the whole cycle would hide it."""
    until, whole = span(proposals)
    loads = [load for load in LOADS if any(p.load == load for p in proposals)]
    everyone = {p.label for p in proposals}
    figure, panels = _keyed((*(2.3 for _ in loads), 2.3), "Time (s)", (0.0, until), signs, everyone)
    for panel, load in zip(panels[:-1], loads, strict=True):
        own = [p for p in proposals if p.load == load]
        lines = [(p.label, _until(p.course.angle, until)) for p in own]
        _curves(panel, [(label, (x, shown_in(y, of(load, "angle")))) for label, (x, y) in lines], signs, "angle")
        panel.frame(axis_of(load, "angle"))
    amps = panels[-1]
    lines = [(p.label, _until(p.course.supply, until)) for p in proposals]
    _curves(amps, lines, signs, "supply")
    top = max(float(np.nanmax(y)) for _, (_, y) in lines)
    bottom = min(0.0, *(float(np.nanmin(y)) for _, (_, y) in lines))
    top = _ratings(amps, proposals, top)
    amps.frame("Supply current (A)", low=1.15 * bottom, high=top)
    finish(panels)
    kind = "Arm angle" if loads == ["arm"] else "Carriage position" if loads == ["carriage"] else "Angle or position,"
    text = f"{kind} and supply current against time, "
    text += "the first cycle. " if whole else "the first lift; the rest of the cycle stands in each one's own report. "
    lifts = [(p.label, p.values["lift_time"]) for p in proposals if signs[p.label].pen is not None]
    told = [f"{label} in {show(t, 'time')}" for label, t in lifts if t is not None]
    late = [label for label, t in lifts if t is None]
    text += f"Lifts: {listed(told)}." if told else ""
    text += f" No lift that arrives: {listed(late)}." if late else ""
    return Picture(name="courses", heading="Over time", text=text + _unnamed(proposals, signs), figure=figure)


def span(proposals: Sequence[Proposal]) -> tuple[float, bool]:
    """How far to draw, and whether that is the whole first cycle."""
    end = max(float(p.course.angle[0][-1]) for p in proposals)
    lifts = [p.course.lift_ends for p in proposals if p.course.lift_ends is not None]
    window = 1.25 * max(lifts, default=end)
    return (window, False) if end > 3.0 * window else (end or 1.0, True)


def _until(line: Line, until: float) -> Line:
    """A line up to and with the first sample past the end of the figure."""
    x, y = line
    stop = int(np.searchsorted(x, until, "right")) + 1
    return x[:stop], y[:stop]


def _ratings(panel: Panel, proposals: Sequence[Proposal], seen: float) -> float:
    """Draw the ratings that are near; gives the highest of all that is drawn."""
    whose: dict[float, list[str]] = {}
    for p in proposals:
        for rating in p.course.ratings:
            whose.setdefault(rating, []).append(p.label)
    near = sorted(rating for rating in whose if rating < 2.5 * seen)
    for k, rating in enumerate(near):
        alone = len(whose[rating]) < len(proposals)
        owner = f" of {whose[rating][0]}" if alone and len(whose[rating]) == 1 else ""
        label = f"rating {show(rating, 'current')}{owner}"
        if len(near) == 1:
            panel.limit(rating, label, gid=f"rating-{k}", beyond=1)
        else:
            panel.level(rating, label, gid=f"rating-{k}")
    return max([seen, *near])


def margins(proposals: Sequence[Proposal], load: str, signs: dict[str, Sign]) -> Picture:
    """What the stalled motor gives over what is needed, over angle."""
    shown = of(load, "angle")
    lines = [(p.label, (shown_in(p.course.margin[0], shown), p.course.margin[1])) for p in proposals]
    low = min(float(x.min()) for _, (x, _) in lines)
    high = max(float(x.max()) for _, (x, _) in lines)
    least = {label: float(np.nanmin(y)) for label, (_, y) in lines}
    top = ceiling(list(least.values()))
    inside = [(label, (x, np.where(y <= 1.15 * top, y, np.nan))) for label, (x, y) in lines if least[label] <= top]
    figure, (panel,) = _keyed((3.0,), axis_of(load, "angle"), (low, high), signs, {label for label, _ in inside})
    _curves(panel, inside, signs, "margin")
    panel.limit(1.0, "1: lifts only above", gid="margin-one", beyond=-1)
    panel.frame("Available / needed (1)", low=0.0, high=top)
    finish([panel])
    what = "Torque" if load == "arm" else "Force"
    text = f"{what} available with the motor stalled over what is needed to lift, against {shown_name(load)}. Least: "
    ranked = sorted(least, key=lambda label: (signs[label].pen is None, signs[label].number))[:MOST_NAMED]
    text += f"{listed([f'{label} {show(least[label], RATIO, 3)}' for label in ranked])}."
    above = [label for label, value in least.items() if value > top]
    text += f" Above the figure all the way: {listed(above)}." if above else ""
    return Picture(name=f"margins-{load}", heading="Margin", text=text + _unnamed(proposals, signs), figure=figure)


def ceiling(least: Sequence[float]) -> float:
    """How high margins are drawn: all that are not far above the others, and 1 well inside."""
    lowest = min(least)
    near = [value for value in least if value <= 5.0 * max(lowest, 1.0)]
    return max(2.0, 1.6 * max(near))


def shown_name(load: str) -> str:
    """What stands along the axis, in a sentence."""
    return "angle" if load == "arm" else "position"


def trading(comparison: Comparison, signs: dict[str, Sign]) -> Picture:
    """Lift time against peak supply current, with the line of those not failed that no other such beats in both."""
    known = [p for p in comparison.proposals if p.values["lift_time"] is not None]
    points = [(_read_off(p, "lift_time"), _read_off(p, "supply_current_peak")) for p in known]
    takeable = [k for k, p in enumerate(known) if p.verdict != "fail"]
    front = [takeable[k] for k in trade_off([points[k] for k in takeable])]
    (x0, x1), (y0, y1) = (_roomy([point[k] for point in points]) for k in (0, 1))
    x1 += 0.25 * (x1 - x0)  # for the names of the latest
    figure, (panel,) = stack((3.2,), "Lift time (s)", (x0, x1))
    if len(front) > 1:
        steps = [points[front[0]]]
        for k in front[1:]:
            steps += [(points[k][0], steps[-1][1]), points[k]]
        panel.curve(np.array([x for x, _ in steps]), np.array([y for _, y in steps]), "", gid="front")
        panel.axes.lines[-1].set(color=GREY, linewidth=1.1, linestyle=(0, (4, 2.5)))
    many = len(known) > MOST_POINTS
    for k, (p, (x, y)) in enumerate(zip(known, points, strict=True)):
        panel.dot(x, y, str(signs[p.label].number) if many else _point_name(p), gid=f"point-{p.label}")
        panel.axes.lines[-1].set(**_mark(p, k in front))
    panel.frame("Peak supply current (A)", low=y0, high=y1)
    panel.axes.set_ylim(y0, y1)
    finish([panel])
    text = "Lift time against peak supply current: nearer to the lower left corner is better in both."
    if front:
        joined = ", joined by the dashed line)" if len(front) > 1 else ")"
        others = " of those that do not fail" if len(takeable) < len(known) else ""
        text += f" No other{others} is as good in both as {few([known[k].label for k in front], 'or')} (filled{joined}."
    text += " A cross marks one that fails a requirement." if len(takeable) < len(known) else ""
    text += " Numbers are those of the list of what is compared." if many else ""
    return Picture(name="trade-off", heading="Trade-off", text=text, figure=figure)


def _read_off(p: Proposal, measure: str) -> float:
    """A measure as far as it is shown: what reads alike lies on one line."""
    return as_shown(float(p.values[measure] or 0.0))


def _mark(p: Proposal, on_front: bool) -> dict[str, object]:
    if p.verdict == "fail":
        return {"marker": "x", "markersize": 8}
    return {"marker": "o", "markersize": 7, "markerfacecolor": "black" if on_front else "white"}


def _point_name(p: Proposal) -> str:
    price = p.values["price"]
    return p.label if price is None else f"{p.label}, price {show(price, 'number', 6)}"


def _roomy(values: Sequence[float]) -> tuple[float, float]:
    """A range with room for names round the outermost points."""
    low, high = min(values), max(values)
    room = max(0.25 * (high - low), 0.02 * abs(high)) or 1.0  # no difference of a thousandth is to look large
    return low - room, high + room
