"""One scenario over a range of values of one key, or of several: where it meets what is asked, and what binds there.

Between the rows of a single key the edges of every condition, the fastest lift and the one of least current are found
by the exact run, to a thousandth.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING

from armsim.studies.sweep_job import Job, job_of, rows_evaluated
from armsim.studies.sweep_rows import ORDER, STALL, Columns, Point, Row, lost, rows_of
from armsim.studies.sweep_search import SHARE, Edge, Line, Pair, halved, line_of, meets, number_of

if TYPE_CHECKING:
    from armsim.scenario import Scenario
    from armsim.scenario.varied import Template
    from armsim.scenario.vary_options import Variation

CHUNK = 4096  #: rows followed at once
LOST = "its process was ended"  #: why a row that never came was not run


@dataclass(frozen=True, kw_only=True)
class End:
    """An end of a window: its last number inside, and the conditions missed beyond; none where the range ends."""

    number: float
    binds: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Window:
    """Numbers from one to another between which everything asked is met."""

    low: End
    high: End


@dataclass(frozen=True, kw_only=True)
class Sweep:
    """Everything that a sweep found. Rows in the order of the grid: the last key runs fastest."""

    scenario: "Scenario"
    variations: "tuple[Variation, ...]"
    rows: tuple[Row, ...]
    edges: tuple[Edge, ...] = ()  #: of a single key with numbers
    windows: tuple[Window, ...] = ()  #: likewise, rising
    fastest: Row | None = None  #: of the rows that meet everything, and of what was found between them
    least_current: Row | None = None  #: likewise, by the peak of the supply's
    stall_line: tuple[tuple[float, float], ...] = ()  #: of two keys: where it just no longer lifts

    @property
    def keys(self) -> tuple[str, ...]:
        """The keys that were varied."""
        return tuple(variation.key for variation in self.variations)

    @property
    def feasible(self) -> tuple[Row, ...]:
        """The rows that meet everything asked."""
        return tuple(row for row in self.rows if row.feasible)

    @property
    def failed(self) -> tuple[Row, ...]:
        """The rows that could not be run."""
        return tuple(row for row in self.rows if row.failed)

    @property
    def best(self) -> tuple[Row, ...]:
        """The feasible rows that no other betters both in lift time and in peak supply current, fastest first."""
        return tuple(undominated(self.feasible))


def sweep(template: "Template", variations: "Sequence[Variation]") -> Sweep:
    """Calculate every row of the grid in this process, and judge them. Raises SweepError."""
    job = job_of(template, variations)
    starts = range(0, job.count, CHUNK)
    return judged(job, ((start, rows_evaluated(job, (start, min(start + CHUNK, job.count)))) for start in starts))


def judged(job: Job, parts: Iterable[tuple[int, Columns]], why: Mapping[int, str] | None = None) -> Sweep:
    """What the rows of a grid say; of a single key edges, windows and best values between the rows too.

    Parts are columns with the number of their first row, in order. Rows that are missing could not be run; `why` is by
    the first of them.
    """
    rows = _gathered(job, parts, why or {})
    found = Sweep(scenario=job.template.base, variations=job.variations, rows=rows)
    if len(job.variations) == 1 and job.variations[0].numbers is not None:
        found = _refined(found, job)
    elif len(job.variations) == 2 and all(variation.between for variation in job.variations):
        found = replace(found, stall_line=_stall_line(found, job))
    return _with_best(found, job)


def _gathered(job: Job, parts: Iterable[tuple[int, Columns]], why: Mapping[int, str]) -> tuple[Row, ...]:
    rows: list[Row] = []

    def missing(stop: int) -> list[Row]:
        return lost(job.points(len(rows), stop), why.get(len(rows), LOST)) if stop > len(rows) else []

    for first, columns in parts:
        rows += missing(first)
        rows += rows_of(job.points(first, first + len(columns["reached"])), columns)
    return (*rows, *missing(job.count))


def undominated(rows: Sequence[Row]) -> list[Row]:
    """Rows that no other betters in both lift time and peak supply current, fastest first."""
    kept: list[Row] = []
    timed = [row for row in rows if row.lift_time is not None and row.supply_current is not None]
    for row in sorted(timed, key=lambda row: (row.lift_time, row.supply_current)):
        if not kept or _current(row) < _current(kept[-1]):
            kept.append(row)
    return kept


def _current(row: Row) -> float:
    assert row.supply_current is not None
    return row.supply_current


def _time(row: Row) -> float:
    assert row.lift_time is not None
    return row.lift_time


# ---------------------------------------------------------------------------------------------------- one key


def _refined(found: Sweep, job: Job) -> Sweep:
    """Edges and windows of a single key."""
    variation = found.variations[0]
    rows = sorted(found.rows, key=number_of)
    line = line_of(job, 0, rows[0])
    edges = []
    for one, other in pairwise(rows):
        if one.failed or other.failed:
            continue
        for condition in ordered(one.missed ^ other.missed):
            met, missed = (one, other) if meets(one, condition) else (other, one)
            if variation.between:
                edges.append(line.edge(met, missed, condition))
            else:
                edges.append(Edge(condition=condition, met=number_of(met), missed=number_of(missed), refined=False))
    inside = tuple(_windows(rows, edges, deciding(found.scenario)))
    ends = [line.runs(end.number) for w in inside for end in (w.low, w.high)] if variation.between else []
    tried = [row for row in (*rows, *ends) if row.feasible and row.lift_time is not None]
    if not tried:
        return replace(found, edges=tuple(edges), windows=inside)
    tried.sort(key=number_of)
    fastest = _best(tried, _time, line, variation.between)
    least = _best(tried, _current, line, variation.between)
    return replace(found, edges=tuple(edges), windows=inside, fastest=fastest, least_current=least)


def ordered(conditions: "frozenset[str] | set[str]") -> list[str]:
    """Conditions, the worst first, requirements after them by name."""
    return sorted(conditions, key=lambda name: (ORDER.index(name) if name in ORDER else len(ORDER), name))


def deciding(scenario: "Scenario") -> frozenset[str]:
    """The conditions that a row must meet to be feasible: the requirements and that it lifts; with none, all."""
    names = frozenset(wish.name for wish in scenario.requirements)
    return names | {STALL} if names else frozenset(ORDER)


def _windows(rows: Sequence[Row], edges: Sequence[Edge], deciding: frozenset[str]) -> list[Window]:
    """Runs of feasible rows, each end moved out to the nearest edge that binds."""
    windows: list[Window] = []
    low: End | None = None
    for k, row in enumerate(rows):
        if row.feasible and low is None:
            low = _end(row, rows[k - 1] if k else None, edges, deciding)
        if row.feasible and (k + 1 == len(rows) or not rows[k + 1].feasible):
            assert low is not None
            windows.append(Window(low=low, high=_end(row, rows[k + 1] if k + 1 < len(rows) else None, edges, deciding)))
            low = None
    return windows


def _end(inside: Row, outside: Row | None, edges: Sequence[Edge], deciding: frozenset[str]) -> End:
    if outside is None:
        return End(number=number_of(inside))
    a, b = number_of(inside), number_of(outside)
    between = [e for e in edges if min(a, b) <= e.met <= max(a, b) and min(a, b) <= e.missed <= max(a, b)]
    between = [e for e in between if e.above == (b > a) and e.condition in deciding]
    if not between:
        return End(number=a, binds=tuple(c for c in ordered(outside.missed) if c in deciding))
    nearest = min(between, key=lambda e: abs(e.met - a))
    near = [e for e in between if abs(e.met - nearest.met) <= 2.0 * SHARE * max(abs(nearest.met), abs(e.met))]
    return End(number=nearest.met, binds=tuple(ordered({e.condition for e in near})))


def _best(tried: Sequence[Row], worth: Callable[[Row], float], line: Line, between: bool) -> Row:
    """The row of least worth, sought between its neighbours too where they are as good a place."""
    k = min(range(len(tried)), key=lambda k: worth(tried[k]))
    there = line.runs(number_of(tried[k])) if between else tried[k]
    if not between or not 0 < k < len(tried) - 1:
        return there

    def good(row: Row) -> float:
        return -worth(row) if row.feasible and row.lift_time is not None else float("-inf")

    found = line.top(good, *tried[k - 1 : k + 2])
    return found if found.feasible and worth(found) <= worth(there) else there


# ------------------------------------------------------------------------------------------------------- several keys


def _with_best(found: Sweep, job: Job) -> Sweep:
    """With the fastest row and that of least current, both by the exact run."""
    rows = [row for row in found.feasible if row.lift_time is not None]
    if found.fastest is not None or not rows:
        return found
    fastest, least = min(rows, key=_time), min(rows, key=_current)
    return replace(found, fastest=_exact(job, fastest), least_current=_exact(job, least))


def _exact(job: Job, row: Row) -> Row:
    """The same by the exact run; itself where that no longer meets everything, as only a row at an edge may."""
    if row.exact:
        return row
    run = job.exact(Point(row.texts, row.numbers))
    return run if run.feasible else row


def _stall_line(found: Sweep, job: Job) -> tuple[tuple[float, float], ...]:
    """Where a grid of two keys just no longer lifts, along whichever key crosses it more often."""
    width = job.shape[1]
    table = [found.rows[k : k + width] for k in range(0, len(found.rows), width)]
    ways = [(1, row) for row in table], [(0, column) for column in zip(*table, strict=True)]
    crossings = [[(place, a, b) for place, line in way for a, b in pairwise(line) if _crosses(a, b)] for way in ways]
    pairs = [Pair(place, a, b) if meets(a, STALL) else Pair(place, b, a) for place, a, b in max(crossings, key=len)]
    return tuple(
        (pair.middle, number_of(pair.met, 1)) if pair.place == 0 else (number_of(pair.met, 0), pair.middle)
        for pair in halved(job, pairs, STALL, 2.0 * SHARE)
    )


def _crosses(a: Row, b: Row) -> bool:
    return not a.failed and not b.failed and meets(a, STALL) != meets(b, STALL)
