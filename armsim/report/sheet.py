"""A sheet that a drawing to scale goes on: its places in points, lines that labels keep clear of, and the labels."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from numpy.typing import NDArray

from armsim.drivetrain.layout_parts import Point
from armsim.report import placing
from armsim.report.drawing import BLACK, GREY, VERMILION, of_words
from armsim.report.placing import Box

Array = NDArray[np.float64]

LETTERS = 11.5  #: [pt]: read at half size too
APART = 7.0  #: between numbers side by side, which else would read as one [pt]
FAR = 14.0  #: from which on a label has a line to what it names [pt]
ROUND = (90, 60, 120, 30, 150, 0, 180, -30, -150, -60, -120, -90)  #: where round a wheel its number may stand [deg]
UNDER = (-90, -120, -60, -150, -30, 180, 0, 135, 45, 90)  #: and round a shaft [deg]


@dataclass
class Sheet:
    """Axes in points from the lower left corner, and what stands there so far."""

    axes: Axes
    scale: float  #: [pt/m]
    left: float  #: of the drawing's origin [pt]
    bottom: float  #: [pt]
    width: float  #: [pt]
    height: float  #: [pt]
    curves: list[Array] = field(default_factory=list)
    taken: list[Box] = field(default_factory=list)

    def at(self, point: Point) -> tuple[float, float]:
        """Where a place of the drawing is on the sheet. [pt]"""
        return self.left + self.scale * point.x, self.bottom + self.scale * point.y

    def path(self, points: Sequence[tuple[float, float]] | Array, **style: Any) -> Array:
        """A line through points [pt], which labels keep clear of."""
        line = np.asarray(points, dtype=float)
        self.axes.plot(line[:, 0], line[:, 1], **style)
        return self.note(line)

    def note(self, points: Sequence[tuple[float, float]] | Array) -> Array:
        """Have labels keep clear of a line through points that is drawn otherwise. [pt]"""
        line = np.asarray(points, dtype=float)
        self.curves.append(placing.trace(line[:, 0], line[:, 1]))
        return self.curves[-1]

    def circle(self, centre: Point, radius: float, **style: Any) -> Array:
        """A circle of the drawing: its trace."""
        from matplotlib.patches import Circle

        x, y = self.at(centre)
        self.axes.add_patch(Circle((x, y), radius * self.scale, fill=False, **style))
        turn, r = np.linspace(0.0, math.tau, 181), radius * self.scale
        return self.note(np.column_stack((x + r * np.cos(turn), y + r * np.sin(turn))))

    def arrow(self, tail: tuple[float, float], head: tuple[float, float], bend: float = 0.0, *, gid: str) -> None:
        """An arrow that bends to the left for +, by a share of its length. [pt]"""
        from matplotlib.patches import FancyArrowPatch

        patch = FancyArrowPatch(
            tail,
            head,
            connectionstyle=f"arc3,rad={bend}",
            arrowstyle="-|>",
            mutation_scale=12,
            linewidth=1.6 if bend else 2.2,
            shrinkA=0,
            shrinkB=0,
            color=of_words(VERMILION),
            zorder=7,
            gid=gid,
        )
        self.axes.add_patch(patch)

    def keep_clear(self, x: float, y: float, half_width: float, half_height: float) -> None:
        """No label is to stand there. [pt]"""
        self.taken.append(Box(x - half_width, y - half_height, x + half_width, y + half_height))

    def write(self, text: str, places: Sequence[Box], own: Array | None = None, **style: Any) -> Box:
        """A label where it hides least; `own` is the line that it may stand on."""
        curves = [curve for curve in self.curves if curve is not own]
        size = (self.width, self.height)
        together = [np.concatenate(curves)] if curves else []
        box = placing.best(places, panel=size, curves=together, verticals=(), taken=self.taken)
        self.put(text, box, **style)
        return box

    def put(self, text: str, box: Box, **style: Any) -> None:
        """A label in its box."""
        self.taken.append(Box(box.left - APART, box.bottom, box.right + APART, box.top))
        look: dict[str, Any] = {"facecolor": "white", "edgecolor": "none", "pad": 0.8}
        look |= style.pop("bbox", {})
        middle = ((box.left + box.right) / 2.0, (box.bottom + box.top) / 2.0)
        style = {"color": BLACK, "size": LETTERS, "zorder": 8, "gid": "label", **style}
        self.axes.text(*middle, text, ha="center", va="center", bbox=look, **style)

    def is_open(self, box: Box, x: float, y: float) -> bool:
        """True where a label lies on the sheet, on no other, and a line to it from a shaft crosses none."""
        if box.left < 3.0 or box.bottom < 3.0 or box.right > self.width - 3.0 or box.top > self.height - 3.0:
            return False
        if any(box.overlaps(other) for other in self.taken):
            return False
        end = ((box.left + box.right) / 2.0, (box.bottom + box.top) / 2.0)
        line = placing.trace(np.array([x, end[0]]), np.array([y, end[1]]), samples=40)
        left, bottom, right, top = np.array(
            [b for b in self.taken if placing.gap(b, x, y) > 0.0] or [Box(0.0, 0.0, 0.0, 0.0)]
        ).T
        across, up = line[:, :1], line[:, 1:]
        return not bool(((across > left) & (across < right) & (up > bottom) & (up < top)).any())

    def lead(self, box: Box, x: float, y: float, **style: Any) -> None:
        """A thin line from a place to a label that stands away from it."""
        if placing.gap(box, x, y) < FAR:
            return
        end = ((box.left + box.right) / 2.0, (box.bottom + box.top) / 2.0)  # the label covers what is under it
        self.path(((x, y), end), **{"color": GREY, "linewidth": 0.9, "zorder": 4.5, "gid": "lead", **style})


def letters(text: str) -> tuple[float, float]:
    """Width and height of a label of one line or more. [pt]"""
    lines = text.split("\n")
    return max(placing.text_size(line, LETTERS)[0] for line in lines) + 3.0, 1.2 * LETTERS * len(lines)


def box_at(x: float, y: float, size: tuple[float, float]) -> Box:
    """A label's box about its middle. [pt]"""
    return Box(x - size[0] / 2.0, y - size[1] / 2.0, x + size[0] / 2.0, y + size[1] / 2.0)


def round_a_wheel(x: float, y: float, radius: float, size: tuple[float, float]) -> Iterator[Box]:
    """Boxes on a wheel's rim where it is large enough, then just outside, inside, and farther out. [pt]"""
    if radius > 1.6 * size[1]:
        yield from (_beside(x, y, radius, angle, size, 0.0) for angle in ROUND)
    for away in (1.0, 5.0, 12.0, 20.0, 30.0, 42.0):
        yield from (_beside(x, y, radius + away, angle, size, 1.0) for angle in ROUND)
    if radius > 2.5 * size[1]:
        yield from (_beside(x, y, radius - 1.0, angle, size, -1.0) for angle in ROUND)


def round_a_shaft(x: float, y: float, hub: float, size: tuple[float, float]) -> Iterator[Box]:
    """Boxes beside a hub, below first, then farther off. [pt]"""
    for away in (2.0, 6.0, 11.0, 17.0, 24.0, 32.0, 42.0, 54.0, 70.0):
        yield from (_beside(x, y, hub + away, angle, size, 1.0) for angle in UNDER)


def far_from(x: float, y: float, size: tuple[float, float]) -> Iterator[Box]:
    """Boxes well away from a hub, all round. [pt]"""
    for away in (24.0, 38.0, 54.0, 72.0, 92.0, 114.0, 140.0, 170.0, 205.0, 245.0):
        yield from (_beside(x, y, away, angle, size, 1.0) for angle in range(-150, 210, 15))


def _beside(x: float, y: float, radius: float, angle: float, size: tuple[float, float], side: float) -> Box:
    """A box that touches a circle from outside (+1), inside (-1), or stands on it (0)."""
    cosine, sine = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    reach = radius + side * (abs(cosine) * size[0] + abs(sine) * size[1]) / 2.0
    return box_at(x + reach * cosine, y + reach * sine, size)
