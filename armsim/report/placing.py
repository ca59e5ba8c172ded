"""Where labels go inside a panel: beside what they name, clear of curves and of one another.

Everything is in points from the panel's lower left corner. Text is measured by a mean character width, which is all
that can be known of the font a viewer of an SVG will use.
"""

import math
from collections.abc import Iterable, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

CHARACTER_WIDTH = 0.6  #: of the font size, mean of a wide sans
LINE_HEIGHT = 1.25  #: of the font size
GAP = 4.0  #: between a label and what it names [pt]
MARGIN = 3.0  #: between a label and the panel's edge [pt]


class Box(NamedTuple):
    """A label's rectangle. [pt]"""

    left: float
    bottom: float
    right: float
    top: float

    def overlaps(self, other: "Box") -> bool:
        """True where two labels would touch."""
        return (
            self.left < other.right and other.left < self.right and self.bottom < other.top and other.bottom < self.top
        )


def text_size(text: str, size: float) -> tuple[float, float]:
    """Estimated width and height of one line of text. [pt]"""
    return CHARACTER_WIDTH * size * len(text), LINE_HEIGHT * size


def trace(x: Array, y: Array, samples: int = 300) -> Array:
    """A polyline resampled evenly along its length, so that jumps count as much as slopes. [pt, shape (n, 2)]"""
    known = np.isfinite(x) & np.isfinite(y)
    x, y = x[known], y[known]
    if x.size == 0:
        return np.empty((0, 2))
    along = np.concatenate(([0.0], np.cumsum(np.hypot(np.diff(x), np.diff(y)))))
    where = np.linspace(0.0, along[-1], samples)
    return np.column_stack((np.interp(where, along, x), np.interp(where, along, y)))


def beside_curve(points: Array, width: float, height: float) -> list[Box]:
    """Boxes above and below a curve, all along it."""
    boxes = []
    for x, y in points[:: max(1, len(points) // 60)]:
        for shift in (0.5, 0.0, 1.0):
            left = x - shift * width
            boxes.append(Box(left, y + GAP, left + width, y + GAP + height))
            boxes.append(Box(left, y - GAP - height, left + width, y - GAP))
    return boxes


def beside_point(x: float, y: float, width: float, height: float) -> list[Box]:
    """Boxes round a point: right, left, above, below, and farther off the same way; last straight beside it."""
    boxes = []
    for far in (GAP, 3 * GAP, 6 * GAP):
        for left, bottom in (
            (x + far, y + far / 2),
            (x + far, y - height - far / 2),
            (x - far - width, y + far / 2),
            (x - far - width, y - height - far / 2),
            (x - width / 2, y + far),
            (x - width / 2, y - height - far),
        ):
            boxes.append(Box(left, bottom, left + width, bottom + height))
    for left in (x + 3 * GAP, x - 3 * GAP - width):
        boxes.append(Box(left, y - height / 2, left + width, y + height / 2))
    return boxes


def among_points(own: int, points: Sequence[tuple[float, float]], width: float, height: float) -> list[Box]:
    """Boxes for one of several points, that hide none of them: first those nearest to their own, so that nobody reads
    them as another's, then those in rows over and under it, which may want a line to it."""
    x, y = points[own]
    near = [box for box in beside_point(x, y, width, height) if is_clear(box, own, points)]
    if len(points) == 1:
        return near
    rows = [
        Box(left, y + row * height, left + width, y + (row + 1) * height)
        for row in (1, -2, 2, -3, 3, -4, 4, -5, 5, -6, 6, -7)
        for left in (x + GAP, x - GAP - width, x - width / 2)
    ]
    return [*near, *(box for box in rows if all(gap(box, *point) > GAP for point in points))] or near or rows


def is_clear(box: Box, own: int, points: Sequence[tuple[float, float]]) -> bool:
    """True for a box that no other point is as near to as its own."""
    gaps = [gap(box, *point) for point in points]
    return all(gaps[own] < other for k, other in enumerate(gaps) if points[k] != points[own])


def gap(box: Box, x: float, y: float) -> float:
    """From a box to a point outside it; 0 inside."""
    return math.hypot(max(box.left - x, x - box.right, 0.0), max(box.bottom - y, y - box.top, 0.0))


def beside_vertical(x: float, panel_height: float, width: float, height: float) -> list[Box]:
    """Boxes right and left of a vertical line, from the top down."""
    boxes = []
    for bottom in np.linspace(panel_height - MARGIN - height, MARGIN, 12):
        boxes.append(Box(x + GAP, bottom, x + GAP + width, bottom + height))
        boxes.append(Box(x - GAP - width, bottom, x - GAP, bottom + height))
    return boxes


def all_over(panel: tuple[float, float], width: float, height: float) -> list[Box]:
    """Boxes on a grid over the panel, lowest first."""
    return [
        Box(left, bottom, left + width, bottom + height)
        for bottom in np.linspace(2 * GAP, panel[1] - height, 10)
        for left in np.linspace(2 * GAP, panel[0] - width, 10)
    ]


def best(
    candidates: Sequence[Box],
    *,
    panel: tuple[float, float],
    curves: Iterable[Array],
    verticals: Iterable[float],
    taken: Sequence[Box],
    own: Array | None = None,
) -> Box:
    """The candidate that hides least; earlier ones win ties. Boxes are pushed inside the panel first."""
    curves, verticals = list(curves), list(verticals)
    choice, lowest = None, np.inf
    for rank, candidate in enumerate(candidates):
        box = _inside(candidate, panel)
        cost = 0.01 * rank + 4.0 * abs(box.bottom - candidate.bottom) + 0.2 * abs(box.left - candidate.left)
        cost += 500.0 * sum(box.overlaps(other) for other in taken)
        cost += 5.0 * sum(box.left - 1 < x < box.right + 1 for x in verticals)
        if cost < lowest:
            for curve in curves:
                cost += 10.0 * _inside_count(box, curve, 2.0)
                if curve is not own:  # near another curve it could be read as that one's
                    cost += 1.0 * _inside_count(box, curve, 2.5 * GAP)
        if cost < lowest:
            choice, lowest = box, cost
    if choice is None:
        raise ValueError("a label needs at least one place to stand")
    return choice


def _inside(box: Box, panel: tuple[float, float]) -> Box:
    width, height = box.right - box.left, box.top - box.bottom
    left = max(min(box.left, panel[0] - MARGIN - width), MARGIN)
    bottom = max(min(box.bottom, panel[1] - MARGIN - height), MARGIN)
    return Box(left, bottom, left + width, bottom + height)


def _inside_count(box: Box, points: Array, room: float) -> int:
    if not len(points):
        return 0
    x, y = points[:, 0], points[:, 1]
    near = (x > box.left - room) & (x < box.right + room) & (y > box.bottom - room) & (y < box.top + room)
    return int(np.count_nonzero(near))


class Flag(NamedTuple):
    """A label in the event strip: its row from the top, and where its text begins. [pt]"""

    row: int
    left: float


def rows_of_flags(positions: Sequence[float], widths: Sequence[float], panel_width: float) -> list[Flag]:
    """Rows for event labels, never two in one place, and their dotted lines crossing as few of them as can be.

    A line runs down from its label. Early labels stand right of their line, late ones left of it; where early ends is
    tried at every gap.
    """
    order = sorted(range(len(positions)), key=lambda k: positions[k])
    tries = [_arranged(order[:cut], order[cut:], positions, widths, panel_width) for cut in range(len(order), -1, -1)]
    _, flags = min(tries, key=lambda found: (found[0], max((f.row for f in found[1].values()), default=0)))
    return [flags[k] for k in range(len(positions))]


def _arranged(
    rightward: Sequence[int],
    leftward: Sequence[int],
    positions: Sequence[float],
    widths: Sequence[float],
    panel_width: float,
) -> tuple[int, dict[int, Flag]]:
    """Labels put down one by one, each in the highest row that fits; and how many fit nowhere without a crossing."""
    crossings = 0
    placed: dict[int, Flag] = {}
    for k in [*rightward, *reversed(leftward)]:
        wanted = positions[k] + GAP if k in rightward else positions[k] - GAP - widths[k]
        left = max(min(wanted, panel_width - MARGIN - widths[k]), MARGIN)
        crossings += left != wanted  # pushed back into the panel it lies on its own line
        rows = max((flag.row for flag in placed.values()), default=-1) + 1
        fitting = [row for row in range(rows + 1) if _fits(Flag(row, left), k, positions, widths, placed)]
        crossings += not fitting
        placed[k] = Flag(fitting[0] if fitting else rows, left)
    return crossings, placed


def _fits(flag: Flag, k: int, positions: Sequence[float], widths: Sequence[float], placed: dict[int, Flag]) -> bool:
    """True where a label touches none that is placed, crosses none with its line, and is crossed by no line."""
    for j, other in placed.items():
        if (
            flag.row == other.row
            and flag.left < other.left + widths[j] + GAP
            and other.left < flag.left + widths[k] + GAP
        ):
            return False
        if other.row < flag.row and flag.left - 1 < positions[j] < flag.left + widths[k] + 1:
            return False
        if other.row > flag.row and other.left - 1 < positions[k] < other.left + widths[j] + 1:
            return False
    return True
