"""One scenario over a range of values of one key, or of several: where it meets what is asked, and what binds there.

Between the rows of a single key the edges of every condition, the fastest lift and the one of least current are found
by the exact run, to a thousandth.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise, product
from typing import TYPE_CHECKING

from armsim.studies.processes import Told
from armsim.studies.sweep_rows import (
    CERTAIN,
    HEAT,
    POSSIBLE,
    RESET,
    STALL,
    Job,
    Row,
    exact_row,
    first_lift_of,
    run_rows,
)

if TYPE_CHECKING:
    from armsim.scenario import Scenario
    from armsim.scenario.varied import Template, Variation

GOLDEN = (3.0 - math.sqrt(5.0)) / 2.0  #: the shorter part of a golden section
SHARE = 1e-3  #: to which edges and best values are found, of the value
ORDER = (STALL, CERTAIN, POSSIBLE, RESET, HEAT)  #: worst first; requirements follow


class SweepError(Exception):
    """A scenario that no sweep can be made of."""

    exit_status = 2


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


def sweep(template: "Template", variations: "Sequence[Variation]", workers: int = 1, told: Told | None = None) -> Sweep:
    """Run every row of the grid; of a single key find edges, windows and best values between the rows too.

    Raises SweepError for a scenario that lifts nothing.
    """
    if first_lift_of(template.base.plan) is None:
        raise SweepError(f"{template.file} has no lift among its moves; a sweep follows the first lift of each row.")
    job = Job(template=template, keys=tuple(variation.key for variation in variations))
    rows = tuple(run_rows(job, grid(variations), workers, told))
    found = Sweep(scenario=template.base, variations=tuple(variations), rows=rows)
    if len(variations) == 1 and variations[0].numbers is not None:
        found = _refined(found, job)
    elif len(variations) == 2 and all(variation.between for variation in variations):
        found = replace(found, stall_line=_stall_line(found, job))
    return _with_best(found)


def grid(variations: "Sequence[Variation]") -> list[tuple[tuple[str, ...], tuple[float | None, ...]]]:
    """Texts and numbers of every row; the last key runs fastest."""
    axes = []
    for variation in variations:
        numbers: Sequence[float | None] = variation.numbers or (None,) * len(variation.texts)
        axes.append(list(zip(variation.texts, numbers, strict=True)))
    return [(tuple(text for text, _ in point), tuple(number for _, number in point)) for point in product(*axes)]


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


@dataclass(frozen=True)
class _Line:
    """Rows of one key by number, run where they are asked for, with the other values fixed."""

    runs: Callable[[float], Row]

    def edge(self, met: Row, missed: Row, place: int, condition: str, share: float = SHARE) -> Edge:
        """Where a condition stops to be met between two rows."""
        good, bad = met, missed
        same = 0  #: how often in a row the same end has moved
        while abs(_number(bad, place) - _number(good, place)) > share * _size(good, bad, place):
            row = self.runs(_next(good, bad, place, condition, share, same))
            good, bad, same = (row, bad, max(same, 0) + 1) if _meets(row, condition) else (good, row, min(same, 0) - 1)
        return Edge(condition=condition, met=_number(good, place), missed=_number(bad, place), refined=True)


def _size(good: Row, bad: Row, place: int) -> float:
    return max(abs(_number(good, place)), abs(_number(bad, place)))


def _next(good: Row, bad: Row, place: int, condition: str, share: float, same: int) -> float:
    """Where to look next between two rows: on the chord of the room left, where there is such a measure.

    An end that has moved twice leaves the other where it was, so the third look goes just past the chord; where that
    does not help, the interval is halved.
    """
    a, b = _number(good, place), _number(bad, place)
    room, lack = good.margins.get(condition), bad.margins.get(condition)
    if room is None or lack is None or not lack < 0.0 <= room or abs(same) > 3:
        return 0.5 * (a + b)
    at, least = room / (room - lack), 0.4 * share * _size(good, bad, place) / abs(b - a)
    at += least * (0.5 if abs(same) < 2 else 1.6) * (1.0 if same >= 0 else -1.0)
    return a + min(max(at, least), 1.0 - least) * (b - a)


def _line(job: Job, variation: "Variation", place: int, fixed: Row) -> _Line:
    seen: dict[float, Row] = {}

    def runs(number: float) -> Row:
        if number not in seen:
            texts, numbers = list(fixed.texts), list(fixed.numbers)
            texts[place], numbers[place] = variation.text_at(number), number
            seen[number] = exact_row(job.template, job.keys, texts, numbers)
        return seen[number]

    return _Line(runs)


def _number(row: Row, place: int = 0) -> float:
    number = row.numbers[place]
    assert number is not None
    return number


def _meets(row: Row, condition: str) -> bool:
    return not row.failed and condition not in row.missed


def _refined(found: Sweep, job: Job) -> Sweep:
    """Edges and windows of a single key."""
    variation = found.variations[0]
    rows = sorted(found.rows, key=_number)
    line = _line(job, variation, 0, rows[0])
    edges = []
    for one, other in pairwise(rows):
        if one.failed or other.failed:
            continue
        for condition in ordered(one.missed ^ other.missed):
            met, missed = (one, other) if _meets(one, condition) else (other, one)
            if variation.between:
                edges.append(line.edge(met, missed, 0, condition))
            else:
                edges.append(Edge(condition=condition, met=_number(met), missed=_number(missed), refined=False))
    inside = tuple(_windows(rows, edges, deciding(found.scenario)))
    ends = [line.runs(end.number) for w in inside for end in (w.low, w.high)] if variation.between else []
    tried = [row for row in (*rows, *ends) if row.feasible and row.lift_time is not None]
    if not tried:
        return replace(found, edges=tuple(edges), windows=inside)
    tried.sort(key=_number)
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
        return End(number=_number(inside))
    a, b = _number(inside), _number(outside)
    between = [e for e in edges if min(a, b) <= e.met <= max(a, b) and min(a, b) <= e.missed <= max(a, b)]
    between = [e for e in between if e.above == (b > a) and e.condition in deciding]
    if not between:
        return End(number=a, binds=tuple(c for c in ordered(outside.missed) if c in deciding))
    nearest = min(between, key=lambda e: abs(e.met - a))
    near = [e for e in between if abs(e.met - nearest.met) <= 2.0 * SHARE * max(abs(nearest.met), abs(e.met))]
    return End(number=nearest.met, binds=tuple(ordered({e.condition for e in near})))


def _best(tried: Sequence[Row], worth: Callable[[Row], float], line: _Line, between: bool) -> Row:
    """The row of least worth, sought between its neighbours too where they are as good a place."""
    k = min(range(len(tried)), key=lambda k: worth(tried[k]))
    if not between or not 0 < k < len(tried) - 1:
        return tried[k]

    def good(number: float) -> float:
        row = line.runs(number)
        return -worth(row) if row.feasible and row.lift_time is not None else float("-inf")

    low, high = _number(tried[k - 1]), _number(tried[k + 1])
    number = _top(good, low, _number(tried[k]), high)
    found = line.runs(number)
    return found if found.feasible and worth(found) <= worth(tried[k]) else tried[k]


def _top(worth: Callable[[float], float], low: float, inside: float, high: float) -> float:
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


# ------------------------------------------------------------------------------------------------------- several keys


def _with_best(found: Sweep) -> Sweep:
    rows = [row for row in found.feasible if row.lift_time is not None]
    if found.fastest is not None or not rows:
        return found
    return replace(found, fastest=min(rows, key=_time), least_current=min(rows, key=_current))


def _stall_line(found: Sweep, job: Job) -> tuple[tuple[float, float], ...]:
    """Where a grid of two keys just no longer lifts, along whichever key crosses it more often."""
    across, up = found.variations
    width = len(up.texts)
    table = [found.rows[k : k + width] for k in range(0, len(found.rows), width)]
    lines = [(1, row) for row in table], [(0, column) for column in zip(*table, strict=True)]
    crossings = [[(place, a, b) for place, line in way for a, b in pairwise(line) if _crosses(a, b)] for way in lines]
    points = []
    for place, a, b in max(crossings, key=len):
        met, missed = (a, b) if _meets(a, STALL) else (b, a)
        edge = _line(job, (across, up)[place], place, a).edge(met, missed, place, STALL, 10.0 * SHARE)
        fixed, moved = _number(a, 1 - place), 0.5 * (edge.met + edge.missed)
        points.append((moved, fixed) if place == 0 else (fixed, moved))
    return tuple(points)


def _crosses(a: Row, b: Row) -> bool:
    return not a.failed and not b.failed and _meets(a, STALL) != _meets(b, STALL)
