"""Panels that figures are made of: curves named where they run, levels, limits and marks."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any, NamedTuple

import matplotlib
import numpy as np
from matplotlib.axes import Axes
from matplotlib.ticker import FuncFormatter, LogLocator, MaxNLocator, NullLocator
from numpy.typing import NDArray

from armsim.report import placing
from armsim.report.placing import Box
from armsim.studies.thinning import thin

Array = NDArray[np.float64]

BLACK, BLUE, VERMILION, GREEN, PINK = "#000000", "#0072B2", "#D55E00", "#009E73", "#CC79A7"
#: colour and line style go together, so that a print in greys still tells curves apart
PENS: tuple[dict[str, Any], ...] = (
    {"color": BLACK, "linestyle": "-"},
    {"color": BLUE, "linestyle": (0, (6, 2))},
    {"color": VERMILION, "linestyle": (0, (7, 2, 1.5, 2))},
    {"color": GREEN, "linestyle": (0, (2, 1.5))},
    {"color": PINK, "linestyle": (0, (10, 3))},
)
GREY = "#595959"
#: colours of curves too light for words, and the same hue as dark as words must be on white (4.5 to 1)
WORDS = {VERMILION: "#B85000", GREEN: "#007F5C", PINK: "#A8508A"}

FONT = 10.5  #: [pt]
FEW_DECADES = 4.0  #: a range of a smaller ratio has even marks on a logarithmic axis too

STYLE: dict[Any, Any] = {
    "font.family": ["sans-serif"],
    "font.sans-serif": ["DejaVu Sans", "sans-serif"],
    "font.size": FONT,
    "axes.labelsize": FONT,
    "xtick.labelsize": FONT - 1,
    "ytick.labelsize": FONT - 1,
    "axes.linewidth": 0.8,
    "axes.grid": True,
    "axes.axisbelow": True,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.unicode_minus": True,
    "grid.color": "#e3e3e3",
    "grid.linewidth": 0.6,
    "lines.linewidth": 1.8,
    "hatch.linewidth": 0.4,
    "hatch.color": "#a0a0a0",
    "figure.facecolor": "white",
    "savefig.facecolor": "white",
    "svg.fonttype": "none",
    "svg.hashsalt": "armsim",
    "path.simplify": True,
    "text.usetex": False,
    "text.parse_math": False,
}


def along(values: Any, limits: tuple[float, float], scale: str) -> Any:
    """Which part of an axis from one limit to the other lies before each value; scale is linear or log."""
    low, high = limits
    if scale == "log":
        return np.log(np.asarray(values) / low) / np.log(high / low)
    return (values - low) / (high - low)


def ticks(axis: Any, count: int) -> None:
    """Marks at round numbers along an axis, about so many; its limits and scale are set."""
    low, high = axis.get_view_interval()
    if axis.get_scale() == "log" and high > FEW_DECADES * low:
        axis.set_major_locator(LogLocator(subs=(1.0, 2.0, 5.0), numticks=count))
    else:
        axis.set_major_locator(MaxNLocator(nbins=count, steps=[1, 2, 2.5, 5, 10]))
    if axis.get_scale() == "log":
        axis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:g}"))
        axis.set_minor_locator(NullLocator())


def of_words(colour: str) -> str:
    """The colour in which a curve of that colour is named."""
    return WORDS.get(colour, colour)


@contextmanager
def house_style() -> Iterator[None]:
    """Our settings for all drawing inside, whatever the person's own say."""
    with matplotlib.rc_context(STYLE):
        yield


class Curve(NamedTuple):
    """A label's subject: the n-th curve."""

    number: int


class Vertical(NamedTuple):
    """A label's subject: a vertical line."""

    x: float


class Anywhere(NamedTuple):
    """A label's subject: the panel as a whole."""


class Point(NamedTuple):
    """A label's subject: a dot."""

    x: float
    y: float


@dataclass
class Panel:
    """One set of axes whose labels are placed last, when all that they must keep clear of is there."""

    axes: Axes
    width: float  #: [pt]
    height: float  #: [pt]
    curves: list[tuple[Array, Array]] = field(default_factory=list)
    verticals: list[float] = field(default_factory=list)
    wishes: list[tuple[str, str, Curve | Vertical | Point | Anywhere]] = field(
        default_factory=list
    )  #: text, colour, subject

    def curve(self, x: Array, y: Array, label: str, pen: int = 0, *, gid: str) -> None:
        """A line with its name beside it."""
        x, y = thin(np.asarray(x, dtype=float), np.asarray(y, dtype=float))
        self.axes.plot(x, y, gid=gid, **PENS[pen])
        self.curves.append((x, y))
        if label and np.isfinite(y).any():
            self.wishes.append((label, of_words(PENS[pen]["color"]), Curve(len(self.curves) - 1)))

    def overlay(self, x: Array, y: Array, label: str, *, gid: str) -> None:
        """A thin dashed line over a curve that it is to be compared with."""
        self.curve(x, y, label, 2, gid=gid)
        self.axes.lines[-1].set(linestyle=(0, (4, 2.5)), linewidth=1.1)

    def dots(self, x: Array, y: Array, pen: int = 0, *, gid: str) -> None:
        """Points of a curve that stand out from it."""
        self.axes.plot(x, y, "o", color=PENS[pen]["color"], markersize=4.5, gid=gid, clip_on=False)

    def level(self, value: float, label: str, *, gid: str) -> None:
        """A dashed horizontal line with its name beside it."""
        self.axes.axhline(value, color=GREY, linestyle=(0, (4, 3)), linewidth=1.2, gid=gid)
        low, high = self.axes.get_xlim()
        self.curves.append((np.array([low, high]), np.array([value, value])))
        self.wishes.append((label, GREY, Curve(len(self.curves) - 1)))

    def limit(self, value: float, label: str, *, gid: str, beyond: int) -> None:
        """A level that is a limit, hatched on its far side: beyond +1 above it, -1 below."""
        self.level(value, label, gid=gid)
        self.axes.axhspan(
            value,
            value + beyond * 1e6 * max(1.0, abs(value)),
            facecolor="none",
            edgecolor="#b5b5b5",
            hatch="////",
            linewidth=0,
            zorder=0.5,
            gid=f"{gid}-beyond",
        )

    def mark(self, x: float, label: str = "", *, gid: str) -> None:
        """A dotted vertical line, named if it is the place to name it."""
        self.axes.axvline(x, color=GREY, linestyle=(0, (1, 2)), linewidth=1.1, gid=gid)
        self.verticals.append(x)
        if label:
            self.wishes.append((label, GREY, Vertical(x)))

    def dot(self, x: float, y: float, label: str, *, gid: str) -> None:
        """A point worth reading off."""
        self.axes.plot([x], [y], "o", color=BLACK, markersize=5, gid=gid, clip_on=False)
        self.wishes.append((label, BLACK, Point(x, y)))

    def note(self, text: str, pen: int) -> None:
        """A remark wherever there is room."""
        self.wishes.append((text, of_words(PENS[pen]["color"]), Anywhere()))

    def frame(self, label: str, *, low: float | None = None, high: float | None = None) -> None:
        """Name the y axis and leave headroom over and under all that is drawn or asked for."""
        values = [y[np.isfinite(y)] for _, y in self.curves]
        seen = np.concatenate([v for v in values if v.size] or [np.array([0.0, 1.0])])
        bottom = float(seen.min()) if low is None else low
        top = float(seen.max()) if high is None else high
        span = (top - bottom) or max(abs(top), 1.0)
        self.axes.set_ylim(bottom if low is not None else bottom - 0.15 * span, top + 0.15 * span)
        self.axes.set_ylabel(label)
        self.axes.yaxis.set_major_locator(MaxNLocator(nbins=max(3, int(self.height / 30)), steps=[1, 2, 2.5, 5, 10]))

    def place_labels(self) -> None:
        """Write every label where it hides least."""
        (x0, x1), (y0, y1) = self.axes.get_xlim(), self.axes.get_ylim()

        def across(x: Any) -> Any:
            return along(x, (x0, x1), self.axes.get_xscale()) * self.width

        def up(y: Any) -> Any:
            return along(y, (y0, y1), self.axes.get_yscale()) * self.height

        def points(x: Array, y: Array) -> Array:
            inside = (x >= x0) & (x <= x1)
            clipped = np.where(inside & (y >= y0) & (y <= y1), y, np.nan)
            return placing.trace(across(x), up(clipped))

        traces = [points(x, y) for x, y in self.curves]
        verticals = [across(x) for x in self.verticals]
        dots = [(across(s.x), up(s.y)) for _, _, s in self.wishes if isinstance(s, Point)]
        taken: list[Box] = []
        for text, colour, subject in self.wishes:
            size = placing.text_size(text, FONT)
            own = None
            match subject:
                case Curve(number):
                    own = traces[number]
                    candidates = placing.beside_curve(own, *size)
                case Point(x, y):
                    dot = dots.index((across(x), up(y)))
                    candidates = placing.among_points(dot, dots, *size)
                case Vertical(x):
                    candidates = placing.beside_vertical(across(x), self.height, *size)
                case Anywhere():
                    candidates = placing.all_over((self.width, self.height), *size)
            if not candidates:
                continue
            box = placing.best(
                candidates,
                panel=(self.width, self.height),
                curves=traces,
                verticals=verticals,
                taken=taken,
                own=own,
            )
            taken.append(box)
            if isinstance(subject, Point) and not placing.is_clear(box, dot, dots):
                self._lead(box, dots[dot])
            self.axes.text(
                (box.left + box.right) / 2 / self.width,
                (box.bottom + box.top) / 2 / self.height,
                text,
                transform=self.axes.transAxes,
                color=colour,
                ha="center",
                va="center",
                gid="label",
                bbox={"facecolor": "white", "alpha": 0.8, "edgecolor": "none", "pad": 0.5},
            )

    def _lead(self, box: Box, dot: tuple[float, float]) -> None:
        """A thin line from a point to a label that stands nearer to another."""
        x, y = dot
        ends = [min(max(x, box.left), box.right), x], [min(max(y, box.bottom), box.top), y]
        across, up = ([end / size for end in pair] for pair, size in zip(ends, (self.width, self.height), strict=True))
        self.axes.plot(across, up, transform=self.axes.transAxes, color=GREY, linewidth=0.8, zorder=1.5, gid="leader")
