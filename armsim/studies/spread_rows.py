"""The rows of a spread study read portion by portion: memory holds a portion and answers, however many there are."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from armsim.studies.lifts import MEASURES, Columns, Question
from armsim.studies.sensitivity import NEEDED

PORTION = 65_536  #: rows of a gap told at a time
SHOWN = 65_536  #: points kept in memory, the first ones: a sample of their own, from which figures are drawn


class Rows(Protocol):
    """Columns of rows in portions, each with the number of its first row, read as often as asked for."""

    def numbered(self, names: Sequence[str] | None = None) -> Iterable[tuple[int, Columns]]:
        """These columns, or all, in the order of rows; rows may be missing."""
        ...


class Held:
    """Rows that are in memory anyway, in any order."""

    def __init__(self, parts: Iterable[tuple[int, Columns]]) -> None:
        self._parts = sorted(parts, key=lambda part: part[0])

    def numbered(self, names: Sequence[str] | None = None) -> Iterator[tuple[int, Columns]]:
        """As of all rows."""
        for first, columns in self._parts:
            yield first, columns if names is None else {name: columns[name] for name in names}


@dataclass(frozen=True, kw_only=True)
class Points:
    """The first `count` of some rows; those that are missing count as machines whose run failed."""

    rows: Rows
    count: int
    question: Question

    def numbered(self, names: Sequence[str] | None = None) -> Iterator[tuple[int, Columns]]:
        """These columns of every point, in order."""
        wanted, told = tuple(names or self.question.columns), 0
        for first, columns in self.rows.numbered(wanted):
            yield from self._missing(wanted, told, min(first, self.count))
            told = max(told, min(first + len(columns[wanted[0]]), self.count))
            if first < self.count:
                yield first, {name: column[: self.count - first] for name, column in columns.items()}
            else:
                return
        yield from self._missing(wanted, told, self.count)

    def chunks(self, names: Sequence[str] | None = None) -> Iterator[Columns]:
        """The same without numbers; of measures only what is finite is known."""
        for _, columns in self.numbered(names):
            yield {name: _known(column) if name in MEASURES else column for name, column in columns.items()}

    def _missing(self, names: Sequence[str], start: int, stop: int) -> Iterator[tuple[int, Columns]]:
        for first in range(start, stop, PORTION):
            yield first, lost_rows(names, min(PORTION, stop - first))


def lost_rows(names: Iterable[str], count: int) -> Columns:
    """What stands for rows that nobody could evaluate."""
    instead = {"reached": 0.0, "failed": 1.0}
    return {name: np.full(count, instead.get(name, np.nan), dtype=np.float32) for name in names}


def _known(column: "NDArray[np.floating]") -> "NDArray[np.floating]":
    values = np.asarray(column, dtype=float)
    return np.where(np.isfinite(values), values, np.nan)


@dataclass(kw_only=True)
class Tally:
    """What is counted of all points."""

    lifting: int
    together: int
    single: dict[str, int]  #: points that meet each requirement that is judged of any
    known: dict[str, int]  #: points that have each measure
    failed: int
    worst: int  #: number of the point that misses by most, or comes nearest to it


def tally(points: Points) -> Tally:
    """Count in two readings: what is known at all, and then what is met."""
    question = points.question
    some, known, failed = dict.fromkeys(question.margins, False), dict.fromkeys(MEASURES, 0), 0
    for columns in points.chunks((*MEASURES, "failed", *question.margins)):
        failed += int(np.count_nonzero(columns["failed"] > 0.0))
        for name in MEASURES:
            known[name] += int(np.count_nonzero(~np.isnan(columns[name])))
        for name in question.margins:
            some[name] = some[name] or not bool(np.isnan(columns[name]).all())
    judged = tuple(name for name, any_known in some.items() if any_known)
    lifting, together, single = 0, 0, dict.fromkeys(judged, 0)
    worst, least = 0, (np.inf, np.inf)
    for first, columns in points.numbered(("reached", "failed", "static_margin", *judged)):
        lifting += int(np.count_nonzero(columns["reached"] > 0.0))
        together += int(np.count_nonzero(meeting_all(columns, judged)))
        for name in judged:
            single[name] += int(np.count_nonzero(columns[name] >= 0.0))
        number, score = _worst_of(columns, question, judged)
        if score < least:
            worst, least = first + number, score
    return Tally(lifting=lifting, together=together, single=single, known=known, failed=failed, worst=worst)


def meeting_all(columns: Columns, judged: Iterable[str]) -> NDArray[np.bool_]:
    """Of each row, whether it arrives and meets all that is judged."""
    met = np.asarray(columns["reached"] > 0.0)
    for name in judged:
        met &= columns[name] >= 0.0
    return met


def _worst_of(columns: Columns, question: Question, judged: tuple[str, ...]) -> tuple[int, tuple[float, float]]:
    """The row with the smallest margin, each over its limit, among equals that of the weakest stall torque; both."""
    limits = dict(zip(question.margins, question.wishes, strict=True))
    score = np.where(columns["reached"] > 0.0, np.inf, -np.inf)
    for name in judged:
        limit = limits[name].limit
        scale = 1.0 if isinstance(limit, bool) else abs(limit) or 1.0
        score = np.fmin(score, np.nan_to_num(columns[name].astype(float), nan=np.inf, neginf=-np.inf) / scale)
    score = np.where(columns["failed"] > 0.0, np.inf, score)
    weakness = np.nan_to_num(columns["static_margin"].astype(float), nan=np.inf)
    number = int(np.lexsort((weakness, score))[0])
    return number, (float(score[number]), float(weakness[number]))


def kept(points: Points) -> Columns:
    """The first points, in single precision."""
    held = lost_rows(points.question.columns, min(points.count, SHOWN))
    for first, columns in points.numbered():
        if first >= SHOWN:
            break
        for name, column in columns.items():
            held[name][first : first + len(column)] = column[: SHOWN - first]
    return held


def mixtures(rows: Rows, count: int, base: int, inputs: int) -> list[Columns]:
    """What serves the shares of variance, of the rows behind the points: the second sample, then each mixture."""
    size = base * (inputs + 1)
    held = lost_rows(NEEDED, size)
    for first, columns in rows.numbered(NEEDED):
        length = len(columns["failed"])
        low, high = max(first - count, 0), min(first + length - count, size)
        for name in NEEDED if low < high else ():
            held[name][low:high] = columns[name][low + count - first : high + count - first]
    return [{name: column.reshape(base, inputs + 1)[:, k] for name, column in held.items()} for k in range(inputs + 1)]
