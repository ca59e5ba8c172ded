"""Panels one over the other on a page, under a strip that names events once for all of them."""

from collections.abc import Sequence
from dataclasses import dataclass

from matplotlib.figure import Figure

from armsim.report import placing
from armsim.report.drawing import BLACK, FONT, GREY, Panel, along, ticks

WIDTH = 7.4  #: of a figure [in]
LEFT, RIGHT, TOP, BOTTOM, BETWEEN = 0.78, 0.22, 0.1, 0.55, 0.16  #: [in]
ROW = 15.0  #: height of a row in the event strip [pt]
POINTS = 72.0  #: a inch


def finish(panels: Sequence[Panel]) -> None:
    """Write the labels of panels on which everything else is drawn."""
    for panel in panels:
        panel.place_labels()


@dataclass(frozen=True)
class Happening:
    """An event as a time figure shows it."""

    time: float
    label: str


def stack(
    heights: Sequence[float],
    x_label: str,
    x_range: tuple[float, float],
    events: Sequence[Happening] = (),
    scale: str = "linear",
) -> tuple[Figure, list[Panel]]:
    """Panels over one shared x axis, of the given heights [in], under a strip that names the events once.

    The axis is of a scale, linear or log.
    """
    across = (WIDTH - LEFT - RIGHT) * POINTS
    low, high = x_range
    high = high if high > low else low + 1.0
    flags = placing.rows_of_flags(
        [float(along(e.time, (low, high), scale)) * across for e in events],
        [placing.text_size(e.label, FONT - 1)[0] for e in events],
        across,
    )
    strip = ((max(f.row for f in flags) + 1) * ROW + 4) / POINTS if flags else 0.0
    total = BOTTOM + sum(heights) + BETWEEN * (len(heights) - 1) + strip + TOP
    figure = Figure(figsize=(WIDTH, total))
    top = total - TOP - strip
    panels: list[Panel] = []
    for height in heights:
        axes = figure.add_axes(
            (LEFT / WIDTH, (top - height) / total, (WIDTH - LEFT - RIGHT) / WIDTH, height / total),
            sharex=panels[0].axes if panels else None,
        )
        axes.set_xscale(scale)
        axes.set_xlim(low, high)
        panels.append(Panel(axes, across, height * POINTS))
        top -= height + BETWEEN
    for panel in panels[:-1]:
        panel.axes.tick_params(labelbottom=False)
    panels[-1].axes.set_xlabel(x_label)
    ticks(panels[-1].axes.xaxis, 9)
    if flags:
        _strip(figure, (total - TOP - strip) / total, strip / total, panels, events, flags)
    return figure, panels


def _strip(
    figure: Figure,
    bottom: float,
    height: float,
    panels: Sequence[Panel],
    events: Sequence[Happening],
    flags: Sequence[placing.Flag],
) -> None:
    axes = figure.add_axes((LEFT / WIDTH, bottom, (WIDTH - LEFT - RIGHT) / WIDTH, height), gid="events")
    axes.set_axis_off()
    across, up = panels[0].width, height * figure.get_size_inches()[1] * POINTS
    axes.set_xlim(0, across)
    axes.set_ylim(0, up)
    limits, scale = panels[0].axes.get_xlim(), panels[0].axes.get_xscale()
    for event, flag in zip(events, flags, strict=True):
        x = float(along(event.time, limits, scale)) * across
        y = up - (flag.row + 0.5) * ROW
        axes.plot([x, x], [0, y + 0.35 * ROW], color=GREY, linestyle=(0, (1, 2)), linewidth=1.1)
        axes.text(
            flag.left,
            y,
            event.label,
            size=FONT - 1,
            color=BLACK,
            ha="left",
            va="center",
            gid="event-label",
            bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.5},
        )
        for panel in panels:
            panel.mark(event.time, gid="event")
