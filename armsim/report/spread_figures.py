"""Figures of a spread study: inputs one by one, how long lifts take, and which machines fail."""

import math
from collections.abc import Iterator

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from armsim.report.drawing import BLACK, BLUE, GREY, Panel
from armsim.report.layout import WIDTH, finish, stack
from armsim.report.numbers import DISPLAY, figure, show, typeset
from armsim.report.picture import Picture
from armsim.report.spread_contract import in_units
from armsim.report.spread_words import (
    MEASURES,
    in_unit,
    main_influence,
    met_rows,
    name_of,
    percent,
    ranked,
    unit_of,
    value_text,
)
from armsim.studies.spread import SpreadStudy, Turn

DARK, LIGHT = "#404040", "#c9c9c9"
BAR = 0.62  #: height of a bar, of the room for it
MOST_DOTS = 1500
MOST_INPUTS = 12
LIMITED = {"lift_time": "lift_time", "supply_current": "supply_current"}  #: measure -> its requirement


def pictures(study: SpreadStudy) -> Iterator[Picture]:
    """Every figure that the study has data for, in the order of the report."""
    if np.isfinite(study.columns["lift_time"]).any():
        yield lift_times(study)
    for name in ("lift_time", "supply_current"):
        if not math.isnan(study.drawn[name]):
            yield tornado(study, name)
    if main_influence(study) is not None:
        yield shares_of_variance(study)
    if len(study.inputs) > 1:
        yield pairs(study)


def limit_of(study: SpreadStudy, name: str) -> float | None:
    """What a requirement allows of a measure, in the unit it is shown in; None: nothing is asked."""
    wishes = {wish.name: wish for wish in study.sampling.question.wishes}
    wish = wishes.get(name)
    return None if wish is None or isinstance(wish.limit, bool) else in_unit(name, float(wish.limit))


# -------------------------------------------------------------------------------------------------- lift times


def lift_times(study: SpreadStudy) -> Picture:
    """How often which lift time, and the share that has arrived by then."""
    times = np.sort(in_units(study, "lift_time").astype(float))
    times = times[np.isfinite(times)]
    limit = limit_of(study, "lift_time")
    ends = [times[0], times[-1], *([] if limit is None else [limit])]
    room = 0.04 * ((max(ends) - min(ends)) or 1.0)
    drawn, (often, arrived) = stack((1.9, 1.9), "Lift time (s)", (min(ends) - room, max(ends) + room))
    count = len(study.columns["failed"])
    bins = int(np.clip(round(2.0 * times.size ** (1 / 3)), 6, 60))
    heights, edges = np.histogram(times, bins=bins)
    outline = np.repeat(edges, 2), np.concatenate(([0.0], np.repeat(100.0 * heights / count, 2), [0.0]))
    often.axes.fill_between(*outline, color=LIGHT, linewidth=0, gid="lift-times")
    often.curve(*outline, "", gid="lift-time-outline")
    often.axes.lines[-1].set(linewidth=0.9)
    steps = np.arange(1, times.size + 1) * (100.0 / count)
    arrived.curve(np.repeat(times, 2)[1:], np.repeat(steps, 2)[:-1], "arrived by then", gid="arrived")
    for panel in (often, arrived):
        if limit is not None:
            _beyond(panel.axes, limit, max(ends) + 2 * room)
            panel.mark(limit, f"asked: at most {figure(limit)} s" if panel is often else "", gid="limit")
        panel.mark(
            study.drawn["lift_time"] if not math.isnan(study.drawn["lift_time"]) else min(ends),
            "as drawn" if panel is arrived else "",
            gid="drawn",
        )
    often.frame("Machines (%)", low=0.0)
    arrived.frame("Machines (%)", low=0.0, high=100.0)
    finish([often, arrived])
    low, middle, high = np.quantile(times, (0.05, 0.5, 0.95))
    whose = "all machines" if count == study.sampling.count else f"the first {count} machines"
    text = f"Above, how many of {whose} take how long; below, how many have arrived by then. Of those that "
    text += f"arrive, nine of ten take {show(float(low), 'time', 3)} to {show(float(high), 'time', 3)}, half of them "
    text += f"no more than {show(float(middle), 'time', 3)}. "
    if times.size < count:
        text += f"{percent(1.0 - times.size / count)} never arrive, so that the curve ends below 100 %. "
    if limit is not None:
        late = 1.0 - float(np.count_nonzero(times <= limit)) / count
        text += f"{percent(late)} are not there by the {figure(limit)} s asked for (hatched beyond)."
    return Picture(name="lift-times", heading="How long the lift takes", text=text, figure=drawn)


# ----------------------------------------------------------------------------------------------------- tornado


def tornado(study: SpreadStudy, name: str) -> Picture:
    """A measure with each input alone at its 5 and 95 %, the one that moves it most on top."""
    told, middle = MEASURES[name], in_unit(name, study.drawn[name])
    turns = sorted(study.turns, key=lambda turn: -_span(turn, name))[:MOST_INPUTS]
    figure_, axes = _bars(len(turns), f"{told.name.capitalize()} ({DISPLAY[told.dimension].unit})")
    limit = limit_of(study, name)
    ends = [middle, *([] if limit is None else [limit])]
    ends += [in_unit(name, row[name]) for turn in turns for row in (turn.at_low, turn.at_high)]
    known = [value for value in ends if math.isfinite(value)]
    width = (max(known) - min(known)) or 1.0
    left, right = min(known) - 0.3 * width, max(known) + 0.3 * width
    axes.set_xlim(left, right)
    for k, turn in enumerate(turns):
        _bar(axes, k, turn, name, middle, (left, right))
    axes.axvline(middle, color=BLACK, linewidth=1.2, gid="drawn")
    if limit is not None:
        _beyond(axes, limit, right)
        axes.axvline(limit, color=GREY, linestyle=(0, (1, 2)), linewidth=1.2, gid="limit")
        asked = f"asked: at most {figure(limit)} {DISPLAY[told.dimension].unit}"
        _label(axes, len(turns) - 0.45, limit, asked, leftward=True)
    axes.set_ylim(len(turns) - (0.1 if limit is not None else 0.4), -0.6)
    axes.set_yticks(range(len(turns)), [name_of(turn.input) for turn in turns])
    most = turns[0]
    lows, highs = (_told(row[name], name) for row in (most.at_low, most.at_high))
    text = f"{told.name.capitalize()} with each input alone at the value below which 5 % of all lie (light) and above "
    text += (
        f"which 5 % lie (dark, written at the bar's ends), the others as drawn (line: {_told(study.drawn[name], name)})"
    )
    text += f". {name_of(most.input).capitalize()} moves it most: {lows} at {value_text(most.input, most.low, 3)}, "
    text += f"{highs} at {value_text(most.input, most.high, 3)}."
    if limit is not None:
        text += f" Hatched: beyond the {figure(limit)} {DISPLAY[told.dimension].unit} asked for."
    heading = f"Each input alone: {told.name}"
    return Picture(name=f"each-alone-{name.replace('_', '-')}", heading=heading, text=text, figure=figure_)


def _beyond(axes: Axes, limit: float, end: float) -> None:
    """What a limit forbids, hatched."""
    axes.axvspan(
        limit, end, facecolor="none", edgecolor="#b5b5b5", hatch="////", linewidth=0, zorder=0.5, gid="limit-beyond"
    )


def _told(value: float, name: str) -> str:
    return "never arrives" if math.isnan(value) else show(value, MEASURES[name].dimension, 3)


def _span(turn: Turn, name: str) -> float:
    ends = (turn.at_low[name], turn.at_high[name])
    return math.inf if any(map(math.isnan, ends)) else abs(ends[1] - ends[0])


def _bars(count: int, label: str) -> tuple[Figure, Axes]:
    height = 0.75 + 0.36 * count
    drawn = Figure(figsize=(WIDTH, height))
    axes = drawn.add_axes((0.24, 0.55 / height, 0.73, 1.0 - 0.65 / height))
    axes.set_ylim(count - 0.4, -0.6)
    axes.set_xlabel(label)
    axes.tick_params(axis="y", length=0)
    axes.grid(visible=False, axis="y")
    return drawn, axes


def _bar(axes: Axes, k: int, turn: Turn, name: str, middle: float, room: tuple[float, float]) -> None:
    """Both ends of one input; one that never arrives runs to the edge."""
    ends = []
    for row, value, colour in ((turn.at_low, turn.low, LIGHT), (turn.at_high, turn.high, DARK)):
        at = in_unit(name, row[name])
        at = room[1] if math.isnan(at) else at
        axes.barh(k, at - middle, left=middle, height=BAR, color=colour, edgecolor=DARK, linewidth=0.7)
        never = math.isnan(row[name])
        ends.append((at, f"{typeset(value_text(turn.input, value, 3))}{' (never)' if never else ''}"))
    (a, first), (b, second) = ends
    if (a - middle) * (b - middle) > 0.0:  # both on one side: one label tells both
        far = max(a, b, key=lambda at: abs(at - middle))
        _label(axes, k, far, f"{first}, {second}", far < middle)
        return
    for at, text, other in ((a, first, b), (b, second, a)):
        _label(axes, k, at, text, at < middle or (at == middle and other > middle))


def _label(axes: Axes, k: float, at: float, text: str, leftward: bool) -> None:
    low, high = axes.get_xlim()
    shift = 0.012 * (high - low)
    inside = at >= high - shift
    x, side = (at - shift, "right") if leftward or inside else (at + shift, "left")
    pad = {"facecolor": "white", "alpha": 0.85, "edgecolor": "none", "pad": 0.8}
    axes.text(x, k, text, ha=side, va="center", size=9, color=BLACK, gid="label", bbox=pad)


# ------------------------------------------------------------------------------------------------ what matters


def shares_of_variance(study: SpreadStudy) -> Picture:
    """Bars of the shares of variance of the main measure, by each input alone and with others."""
    main = main_influence(study)
    assert main is not None
    order = ranked(study)[:MOST_INPUTS]
    told = MEASURES[main.name].name
    drawn, axes = _bars(len(order), f"Share of the variance of {told} (%)")
    for row, k in enumerate(order):
        alone, whole = (100.0 * min(max(share[k], 0.0), 1.0) for share in (main.first, main.total))
        axes.barh(row, max(whole, alone), height=BAR, facecolor="#d9d9d9", edgecolor=DARK, linewidth=1.0)
        axes.barh(row, alone, height=BAR, color=DARK)
        error = 100.0 * main.error[k]
        axes.plot([max(whole - error, 0.0), min(whole + error, 100.0)], [row, row], color=GREY, linewidth=1.4)
        axes.text(max(whole + error, alone) + 1.5, row, f"{whole:.0f} %", va="center", size=9, color=BLACK, gid="label")
    axes.set_xlim(0.0, 112.0)
    axes.set_yticks(range(len(order)), [name_of(study.inputs[k]) for k in order])
    first = order[0]
    text = f"What each input brings about of the variance of {told}: alone (dark) and together with others (light, "
    text += "written; the line is its standard error). "
    text += f"{name_of(study.inputs[first]).capitalize()} brings about {percent(min(1.0, max(0.0, main.total[first])))}"
    text += "; were it known exactly, that share would go."
    return Picture(name="what-matters", heading="What matters", text=text, figure=drawn)


# ------------------------------------------------------------------------------------------------------- pairs


def pairs(study: SpreadStudy) -> Picture:
    """Machines over the two inputs that matter most: those that meet everything and those that do not."""
    first, second = ranked(study)[:2]
    met = met_rows(study)
    x, y = (study.columns[f"input {k}"] / unit_of(study.inputs[k]).size for k in (first, second))
    kept = np.arange(min(met.size, MOST_DOTS))
    labels = [_axis(study, k) for k in (first, second)]
    drawn, (key, panel) = stack((0.14, 3.6), labels[0], (float(x.min()), float(x.max())))
    key.axes.set_axis_off()
    good, bad = kept[met[kept]], kept[~met[kept]]
    panel.axes.plot(
        x[good], y[good], "o", markersize=3.6, markerfacecolor="none", markeredgecolor="#9a9a9a", gid="meets"
    )
    panel.axes.plot(x[bad], y[bad], "x", markersize=5.5, color=BLACK, markeredgewidth=1.4, gid="fails")
    inputs = [study.inputs[k] for k in (first, second)]
    at = [one.nominal / unit_of(one).size for one in inputs]
    panel.axes.plot(at[:1], at[1:], "D", markersize=7, color=BLUE, markeredgecolor="white", gid="drawn")
    names = ("meets all", f"fails ({percent(1.0 - study.together.share)})", "as drawn")
    marks = [mark for mark in panel.axes.lines if mark.get_gid() in ("meets", "fails", "drawn")]
    panel.axes.legend(
        marks, names, loc="lower left", bbox_to_anchor=(0.0, 1.0), ncols=3, frameon=False, borderaxespad=0.1
    )
    _frame(panel, y, labels[1])
    shown = "" if kept.size == study.sampling.count else f" The first {kept.size} are shown."
    text = f"Each machine by {name_of(inputs[0])} and {name_of(inputs[1])}, the two inputs that matter "
    text += "most: a pale ring meets everything "
    text += f"asked for, a dark cross does not ({percent(1.0 - study.together.share)}).{shown}"
    return Picture(name="which-fail", heading="Which machines fail", text=text, figure=drawn)


def _axis(study: SpreadStudy, k: int) -> str:
    one = study.inputs[k]
    unit = typeset(unit_of(one).name)
    return f"{name_of(one).capitalize()} ({unit})" if unit else name_of(one).capitalize()


def _frame(panel: Panel, y: "np.ndarray", label: str) -> None:
    low, high = float(y.min()), float(y.max())
    room = 0.04 * ((high - low) or 1.0)
    panel.axes.set_ylim(low - room, high + room)
    left, right = panel.axes.get_xlim()
    panel.axes.set_xlim(left - 0.02 * (right - left), right + 0.02 * (right - left))
    panel.axes.set_ylabel(label)
