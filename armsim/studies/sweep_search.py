"""What lies between the rows of one key: where a condition stops to be met, and where a measure is best."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from armsim.studies.sweep_rows import Job, Row, exact_row

if TYPE_CHECKING:
    from armsim.scenario.vary_options import Variation

GOLDEN = (3.0 - math.sqrt(5.0)) / 2.0  #: the shorter part of a golden section
SHARE = 1e-3  #: to which edges and best values are found, of the value


@dataclass(frozen=True, kw_only=True)
class Edge:
    """Where a condition begins to be missed, between two neighbouring rows of one key."""

    condition: str  #: stall, trip_certain, trip_possible, reset, heat, or the name of a requirement
    met: float  #: nearest number at which it is met
    missed: float  #: nearest at which it is not
    refined: bool  #: by the exact run; else these are the rows themselves

    @property
    def above(self) -> bool:
        """True where larger numbers miss it."""
        return self.missed > self.met


@dataclass(frozen=True)
class Line:
    """Rows of one key by number, run where they are asked for, with the other values fixed."""

    runs: Callable[[float], Row]

    def edge(self, met: Row, missed: Row, place: int, condition: str, share: float = SHARE) -> Edge:
        """Where a condition stops to be met between two rows."""
        good, bad = met, missed
        same = 0  #: how often in a row the same end has moved
        while abs(number_of(bad, place) - number_of(good, place)) > share * _size(good, bad, place):
            row = self.runs(_next(good, bad, place, condition, share, same))
            good, bad, same = (row, bad, max(same, 0) + 1) if meets(row, condition) else (good, row, min(same, 0) - 1)
        return Edge(condition=condition, met=number_of(good, place), missed=number_of(bad, place), refined=True)


def _size(good: Row, bad: Row, place: int) -> float:
    return max(abs(number_of(good, place)), abs(number_of(bad, place)))


def _next(good: Row, bad: Row, place: int, condition: str, share: float, same: int) -> float:
    """Where to look next between two rows: on the chord of the room left, where there is such a measure.

    An end that has moved twice leaves the other where it was, so the third look goes just past the chord; where that
    does not help, the interval is halved.
    """
    a, b = number_of(good, place), number_of(bad, place)
    room, lack = good.margins.get(condition), bad.margins.get(condition)
    if room is None or lack is None or not lack < 0.0 <= room or abs(same) > 3:
        return 0.5 * (a + b)
    at, least = room / (room - lack), 0.4 * share * _size(good, bad, place) / abs(b - a)
    at += least * (0.5 if abs(same) < 2 else 1.6) * (1.0 if same >= 0 else -1.0)
    return a + min(max(at, least), 1.0 - least) * (b - a)


def line_of(job: Job, variation: "Variation", place: int, fixed: Row) -> Line:
    """Rows along one key, with the values of a row at the others."""
    seen: dict[float, Row] = {}

    def runs(number: float) -> Row:
        if number not in seen:
            texts, numbers = list(fixed.texts), list(fixed.numbers)
            texts[place], numbers[place] = variation.text_at(number), number
            seen[number] = exact_row(job.template, job.keys, texts, numbers)
        return seen[number]

    return Line(runs)


def number_of(row: Row, place: int = 0) -> float:
    """What a row has of a key with numbers."""
    number = row.numbers[place]
    assert number is not None
    return number


def meets(row: Row, condition: str) -> bool:
    """True for a row that could be run and does not miss a condition."""
    return not row.failed and condition not in row.missed


def top_of(worth: Callable[[float], float], low: float, inside: float, high: float) -> float:
    """Where a function with one top between two numbers is highest, to a thousandth, by golden sections."""
    while high - low > 2.0 * SHARE * max(abs(low), abs(high)):
        wide = high - inside > inside - low
        probe = inside + GOLDEN * (high - inside) if wide else inside - GOLDEN * (inside - low)
        better = worth(probe) > worth(inside)
        if better:
            low, high = (inside, high) if wide else (low, inside)
            inside = probe
        else:
            low, high = (low, probe) if wide else (probe, high)
    return inside
