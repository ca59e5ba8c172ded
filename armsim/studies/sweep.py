"""One scenario over a range of values of one key, or of several: where it meets what is asked, and what binds there.

Between the rows of a single key the edges of every condition, the fastest lift and the one of least current are found
by the exact run, to a thousandth.
"""

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
    first_lift_of,
    run_rows,
)
from armsim.studies.sweep_search import SHARE, Edge, Line, line_of, meets, number_of, top_of

if TYPE_CHECKING:
    from armsim.scenario import Scenario
    from armsim.scenario.varied import Template
    from armsim.scenario.vary_options import Variation

ORDER = (STALL, CERTAIN, POSSIBLE, RESET, HEAT)  #: worst first; requirements follow


class SweepError(Exception):
    """A scenario that no sweep can be made of."""

    exit_status = 2


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


def _refined(found: Sweep, job: Job) -> Sweep:
    """Edges and windows of a single key."""
    variation = found.variations[0]
    rows = sorted(found.rows, key=number_of)
    line = line_of(job, variation, 0, rows[0])
    edges = []
    for one, other in pairwise(rows):
        if one.failed or other.failed:
            continue
        for condition in ordered(one.missed ^ other.missed):
            met, missed = (one, other) if meets(one, condition) else (other, one)
            if variation.between:
                edges.append(line.edge(met, missed, 0, condition))
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
    if not between or not 0 < k < len(tried) - 1:
        return tried[k]

    def good(number: float) -> float:
        row = line.runs(number)
        return -worth(row) if row.feasible and row.lift_time is not None else float("-inf")

    low, high = number_of(tried[k - 1]), number_of(tried[k + 1])
    number = top_of(good, low, number_of(tried[k]), high)
    found = line.runs(number)
    return found if found.feasible and worth(found) <= worth(tried[k]) else tried[k]


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
        met, missed = (a, b) if meets(a, STALL) else (b, a)
        edge = line_of(job, (across, up)[place], place, a).edge(met, missed, place, STALL, 10.0 * SHARE)
        fixed, moved = number_of(a, 1 - place), 0.5 * (edge.met + edge.missed)
        points.append((moved, fixed) if place == 0 else (fixed, moved))
    return tuple(points)


def _crosses(a: Row, b: Row) -> bool:
    return not a.failed and not b.failed and meets(a, STALL) != meets(b, STALL)
