"""What lies between the rows of one key: where a condition stops to be met, and where a measure is best."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from armsim.studies.sweep_rows import Point, Row

if TYPE_CHECKING:
    from armsim.studies.sweep_job import Job

SHARE = 1e-3  #: to which edges and best values are found, of the value
AT_ONCE = 16  #: parts that a range is cut into to look where in it a search is worth exact runs


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


class Pair(NamedTuple):
    """Rows between which a condition stops to be met, alike but for one key."""

    place: int  #: of that key
    met: Row
    missed: Row

    @property
    def width(self) -> float:
        """How far apart they are."""
        return abs(number_of(self.met, self.place) - number_of(self.missed, self.place))

    @property
    def middle(self) -> float:
        """The number half way between them."""
        return 0.5 * (number_of(self.met, self.place) + number_of(self.missed, self.place))


@dataclass(frozen=True)
class Line:
    """Rows of one key by number, with the other values fixed."""

    runs: Callable[[float], Row]  #: by the exact run
    follows: Callable[[Sequence[float]], list[Row]]  #: many at once

    def edge(self, met: Row, missed: Row, condition: str) -> Edge:
        """Where a condition stops to be met between two rows: from many rows at once, then by exact runs."""
        good, bad = self._nearer(met, missed, condition)
        same = 0  #: how often in a row the same end has moved
        while abs(number_of(bad) - number_of(good)) > SHARE * _size(good, bad):
            row = self.runs(_next(good, bad, condition, same))
            good, bad, same = (row, bad, max(same, 0) + 1) if meets(row, condition) else (good, row, min(same, 0) - 1)
        return Edge(condition=condition, met=number_of(good), missed=number_of(bad), refined=True)

    def _nearer(self, met: Row, missed: Row, condition: str) -> tuple[Row, Row]:
        """Two rows between which the condition stops to be met, as near as many at once show it."""
        if abs(number_of(missed) - number_of(met)) <= AT_ONCE * SHARE * _size(met, missed):
            return met, missed
        rows = [met, *self.follows(_between(number_of(met), number_of(missed))), missed]
        first = next(k for k, row in enumerate(rows) if not meets(row, condition))
        return rows[first - 1], rows[first]

    def top(self, worth: Callable[[Row], float], low: Row, inside: Row, high: Row) -> Row:
        """The row of highest worth, by the exact run, near one that is between two others; to a thousandth."""
        while number_of(high) - number_of(low) > 2.0 * SHARE * _size(low, high):
            ends = [number_of(row) for row in (low, inside, high)]
            rows = self.follows([*_between(*ends[:2]), *_between(*ends[1:])])
            rows = [low, *rows[: AT_ONCE - 1], inside, *rows[AT_ONCE - 1 :], high]
            k = max(range(1, len(rows) - 1), key=lambda k: worth(rows[k]))
            low, inside, high = rows[k - 1 : k + 2]
        return self.runs(number_of(inside))


def _between(one: float, other: float) -> list[float]:
    """Numbers that part a range evenly."""
    return [one + (other - one) * k / AT_ONCE for k in range(1, AT_ONCE)]


def halved(job: "Job", pairs: Sequence[Pair], condition: str, share: float) -> list[Pair]:
    """Many pairs of rows drawn together to where a condition stops to be met, all at once, by halves."""
    found = list(pairs)
    while wide := [k for k, pair in enumerate(found) if pair.width > share * _size(pair.met, pair.missed, pair.place)]:
        points = [moved(job, found[k].place, found[k].met, found[k].middle) for k in wide]
        for k, row in zip(wide, job.rows(points), strict=True):
            found[k] = found[k]._replace(met=row) if meets(row, condition) else found[k]._replace(missed=row)
    return found


def _size(good: Row, bad: Row, place: int = 0) -> float:
    return max(abs(number_of(good, place)), abs(number_of(bad, place)))


def _next(good: Row, bad: Row, condition: str, same: int) -> float:
    """Where to look next between two rows: on the chord of the room left, where there is such a measure.

    An end that has moved twice leaves the other where it was, so the third look goes just past the chord; where that
    does not help, the interval is halved.
    """
    a, b = number_of(good), number_of(bad)
    room, lack = good.margins.get(condition), bad.margins.get(condition)
    if room is None or lack is None or not lack < 0.0 <= room or abs(same) > 3:
        return 0.5 * (a + b)
    at, least = room / (room - lack), 0.4 * SHARE * _size(good, bad) / abs(b - a)
    at += least * (0.5 if abs(same) < 2 else 1.6) * (1.0 if same >= 0 else -1.0)
    return a + min(max(at, least), 1.0 - least) * (b - a)


def line_of(job: "Job", place: int, fixed: Row) -> Line:
    """Rows along one key, with the values of a row at the others."""
    seen: dict[float, Row] = {}

    def runs(number: float) -> Row:
        if number not in seen:
            seen[number] = job.exact(moved(job, place, fixed, number))
        return seen[number]

    def follows(numbers: Sequence[float]) -> list[Row]:
        return job.rows([moved(job, place, fixed, number) for number in numbers])

    return Line(runs, follows)


def moved(job: "Job", place: int, fixed: Row, number: float) -> Point:
    """The values of a row, but for one key."""
    texts, numbers = list(fixed.texts), list(fixed.numbers)
    texts[place], numbers[place] = job.variations[place].text_at(number), number
    return Point(tuple(texts), tuple(numbers))


def number_of(row: Row, place: int = 0) -> float:
    """What a row has of a key with numbers."""
    number = row.numbers[place]
    assert number is not None
    return number


def meets(row: Row, condition: str) -> bool:
    """True for a row that could be run and does not miss a condition."""
    return not row.failed and condition not in row.missed
