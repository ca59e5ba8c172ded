"""The search of a choice: bounds of all that fits, and what is left followed best bound first.

Rules and bounds put aside what cannot do before anything is simulated (`combinations`, `estimates`). What is left is
followed until no bound is better than the last of the best found.
"""

import math
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from armsim.studies.candidates import Candidate
from armsim.studies.choice import Order, Simulated, Table
from armsim.studies.chosen import Chosen, Confirm, confirmed
from armsim.studies.combinations import Found, Stages, Tally, combined, number_of, places_of, some
from armsim.studies.estimates import ALLOWANCE, Between, Grid, Range, between, grid_of
from armsim.studies.many import MEASURED, judge
from armsim.studies.pool import Best, Pool
from armsim.studies.shelf import Shelf
from armsim.studies.trials import Trials

Array = NDArray[np.float64]
KEPT = 200_000  #: combinations in hand at a time
FIRST, BATCH = 512, 4096  #: combinations followed at a time
EXACT_BATCH = 64  #: the same where each needs an exact run
GRID_WORTH = 1000  #: combinations of a motor from which on a grid of bounds pays
MOST = 300_000  #: combinations followed before the search is given up
CENTS = 6  #: decimals of prices and masses
APART = 1e6  #: between one stage more and any price, for the simplest


@dataclass(kw_only=True)
class Search:
    """A search as it goes on."""

    order: Order
    motors: tuple[Candidate, ...]
    shelf: Shelf
    stages: Stages
    depth: int
    trials: Trials
    confirm: Confirm
    told: Callable[[str], object]
    grids: dict[int, Grid] = field(default_factory=dict)
    rows: list[tuple[int, float, float, bool]] = field(default_factory=list)  #: number, key, key among equals, passes
    kept: list[tuple[NDArray[np.int64], dict[str, NDArray[Any]]]] = field(default_factory=list)
    missed: Counter[str] = field(default_factory=Counter)
    near: tuple[float, int, str] | None = None  #: by how much the nearest misses [-], its number, what it misses
    bounded: Counter[str] = field(default_factory=Counter)
    complete: bool = False
    interrupted: bool = False

    def answer(self, top: int, tally: Tally) -> tuple[Tally, list[Chosen]]:
        """What rules stopped, and the best, confirmed by exact runs; cut short by an interruption."""
        whole = tally.considered
        try:
            self.survey(tally)
            return replace(tally, considered=whole), self.best(top)
        except KeyboardInterrupt:
            self.interrupted = True
            return replace(tally, considered=whole), [one for one in self.confirm.all() if one.passes][:top]

    # ------------------------------------------------------------------------------------------- passes

    def found(self, tally: Tally) -> Iterator[Found]:
        """Every combination that no rule stops."""
        wanted = {Order.CHEAPEST: "price", Order.LIGHTEST: "mass"}.get(self.order, "")
        reaches = [one.reach for one in self.motors]
        for depth in range(1, self.depth + 1):
            self.told(f"trains of {depth} stage{'s' if depth > 1 else ''}")
            yield from combined(self.stages, reaches, depth, tally, wanted=wanted)

    def survey(self, tally: Tally) -> None:
        """Count what is left of each motor and where it lies, and calculate grids of bounds where that pays."""
        spans, counts = dict[int, Range](), Counter[int]()
        for found in self.found(tally):
            span = Range(
                reduction=(float(found.reduction.min()), float(found.reduction.max())),
                efficiency=(float(found.efficiency.min()), float(found.efficiency.max())),
                inertia=float(found.inertia.max()),
            )
            spans[found.motor] = span.joined(spans.get(found.motor))
            counts[found.motor] += len(found)
        for k, span in spans.items():
            question = self.motors[k].question
            if counts[k] >= GRID_WORTH and question.unsupported is None:
                self.told(f"bounds of {self.motors[k].motor.name}")
                self.grids[k] = grid_of(question, span)

    def pool(self, beyond: tuple[float, float, int] | None) -> Pool:
        """The best by their bounds beyond a place in their order."""
        best = Best(KEPT, beyond)
        if beyond is None:
            self.bounded.clear()
        for found in self.found(Tally()):
            left, first, second = self.bound(found, count=beyond is None)
            best.add(first, second, number_of(left, len(self.stages)))
        return best.pool()

    def bound(self, found: Found, *, count: bool) -> tuple[Found, Array, Array]:
        """What may still meet the requirements, with bounds of what it is ranked by."""
        grid = self.grids.get(found.motor)
        if grid is None:
            nothing = np.zeros(len(found))
            return found, *self.ranked(found, nothing, nothing)
        near = between(grid, found.reduction, found.efficiency, found.inertia)
        may = np.ones(len(found), dtype=bool)
        for rule, stops in self.misses(found, near):
            if count:
                self.bounded[rule] += int(np.count_nonzero(may & stops))
            may &= ~stops
        time, current = near.least("lift_time")[may], near.least("supply_current")[may]
        left = some(found, may)
        return left, *self.ranked(left, time, current)

    def misses(self, found: Found, near: Between) -> Iterator[tuple[str, NDArray[np.bool_]]]:
        """Rules on what is known of neighbours: that they arrive, and each requirement."""
        question = self.motors[found.motor].question
        yield "does not arrive", np.isinf(near.least("lift_time"))
        for wish in question.wishes:
            column = MEASURED[wish.name]
            if wish.sense == "is":
                if wish.name == "breaker_trips" and not wish.limit:
                    yield wish.name, near.least("trips") >= 1.0 - 2.0 * ALLOWANCE
                continue
            if column not in near.grid.values:
                continue
            scale = question.machine.arm.length if wish.name == "tip_speed" else 1.0
            limit = float(wish.limit) / scale
            stops = near.least(column) > limit if wish.sense == "max" else near.most(column) < limit
            if wish.name in ("tip_speed", "bus_voltage"):
                stops = stops & found.even
            yield wish.name, stops & np.isfinite(near.least(column))

    def ranked(self, found: Found, time: Array, current: Array) -> tuple[Array, Array]:
        """What combinations are ranked by, and among equals."""
        price = np.where(np.isfinite(found.price), found.price, APART / 2.0)
        if self.order is Order.CHEAPEST:
            return to_cents(price), time
        if self.order is Order.LIGHTEST:
            return to_cents(found.mass), time
        if self.order is Order.SIMPLEST:
            return found.at.shape[1] * APART + to_cents(price), time
        return (current if self.order is Order.LEAST_CURRENT else time), price

    # ------------------------------------------------------------------------------------------- following

    def best(self, top: int) -> list[Chosen]:
        """The first ones of all, each confirmed by an exact run of the whole cycle."""
        pool, at, size = self.pool(None), 0, FIRST
        if any(one.question.unsupported is not None for one in self.motors):
            size = EXACT_BATCH
        best: list[Chosen] = []
        while True:
            while not self.enough(best, pool, at, top):
                if at >= len(pool):
                    last = (float(pool.first[-1]), float(pool.second[-1]), int(pool.number[-1]))
                    pool, at = self.pool(last), 0
                    continue
                if self.trials.asked >= MOST:
                    return self.confirmed_best(top)
                part = slice(at, at + size)
                self.follow(pool.number[part])
                at, size = min(at + size, len(pool)), min(2 * size, BATCH) if size >= FIRST else size
                self.told(f"{self.trials.asked} followed")
                best = []
            confirmed_now = self.confirmed_best(top)
            if len(confirmed_now) >= top or self.enough(confirmed_now, pool, at, top):
                last_key = self.key_of_last(confirmed_now, top)
                if self.beyond(pool, at, last_key):
                    self.complete = True
                    return confirmed_now
            best = confirmed_now

    def enough(self, best: list[Chosen], pool: Pool, at: int, top: int) -> bool:
        """Whether nothing that is left can come among the first."""
        if at >= len(pool) and not pool.cut:
            return True
        return self.beyond(pool, at, self.key_of_last(best, top))

    def beyond(self, pool: Pool, at: int, key: tuple[float, float]) -> bool:
        """Whether every bound that is left lies behind a key."""
        if at >= len(pool):
            return not pool.cut
        return (float(pool.first[at]), float(pool.second[at])) > key

    def key_of_last(self, best: list[Chosen], top: int) -> tuple[float, float]:
        """Of the last that would be shown: of the confirmed, else of all that passed by their lift."""
        fallen = self.confirm.fallen
        keys = sorted((a, b) for number, a, b, passes in self.rows if passes and number not in fallen)
        return keys[top - 1] if len(keys) >= top else (math.inf, math.inf)

    def follow(self, numbers: NDArray[np.int64]) -> None:
        """Simulate some and keep what came of them."""
        columns = self.trials.columns(numbers)
        self.kept.append((numbers, {name: columns[name] for name in ("lift_time", "supply_current")}))
        places = [places_of(number, len(self.stages)) for number in numbers.tolist()]
        motors = np.array([motor for motor, _ in places])
        price, mass, depth = (np.array(part, dtype=float) for part in zip(*map(self.costs, places), strict=True))
        passes = columns["reached"] & ~(columns["verdict"] == 0.0) & ~columns["failed"]
        first, second = self.keys(columns, price, mass, depth)
        self.rows += list(zip(numbers.tolist(), first.tolist(), second.tolist(), passes.tolist(), strict=True))
        for motor in np.unique(motors).tolist():
            here = motors == motor
            self.note_misses(motor, numbers[here], {name: values[here] for name, values in columns.items()})

    def costs(self, place: tuple[int, tuple[int, ...]]) -> tuple[float, float, int]:
        """Price, mass [kg] (NaN: not known) and number of stages."""
        motor, at = place
        reach, index = self.motors[motor].reach, list(at)
        return (
            float(reach.price + self.stages.price[index].sum()),
            float(reach.mass + self.stages.mass[index].sum()),
            len(at),
        )

    def keys(self, columns: dict[str, Array], price: Array, mass: Array, depth: Array) -> tuple[Array, Array]:
        """What results are ranked by, as `ranked` does bounds."""
        known = np.where(np.isfinite(price), price, APART / 2.0)
        time = columns["lift_time"]
        if self.order is Order.CHEAPEST:
            return to_cents(known), time
        if self.order is Order.LIGHTEST:
            return to_cents(mass), time
        if self.order is Order.SIMPLEST:
            return depth * APART + to_cents(known), time
        return (columns["supply_current"] if self.order is Order.LEAST_CURRENT else time), known

    def note_misses(self, motor: int, numbers: NDArray[np.int64], columns: dict[str, NDArray[Any]]) -> None:
        """Count what is missed by how many, and keep the one that misses by least."""
        question = self.motors[motor].question
        shares = {"does not arrive": np.where(columns["reached"], 0.0, np.inf)}
        for wish, margin in zip(question.wishes, judge(question, question.machine, columns).values(), strict=True):
            scale = abs(float(wish.limit)) if wish.sense != "is" and wish.limit else 1.0
            shares[wish.name] = np.where(columns["reached"], np.maximum(-margin, 0.0) / scale, 0.0)
        for name, share in shares.items():
            self.missed[name] += int(np.count_nonzero(share > 0.0))
        worst = np.max(list(shares.values()), axis=0)
        worst = np.where(np.isnan(worst), np.inf, worst)
        k = int(np.argmin(worst))
        if math.isfinite(worst[k]) and worst[k] > 0.0 and (self.near is None or worst[k] < self.near[0]):
            self.near = float(worst[k]), int(numbers[k]), max(shares, key=lambda name: shares[name][k])

    def confirmed_best(self, top: int) -> list[Chosen]:
        """The first by their lift that pass in the whole cycle too, best first."""
        chosen: list[Chosen] = []
        for number, *_ in sorted((r for r in self.rows if r[3]), key=lambda r: (r[1], r[2], r[0])):
            if number in self.confirm.fallen:
                continue
            one = self.confirmed(number)
            if one.passes:
                chosen.append(one)
            if len(chosen) == top:
                break
        return chosen

    def confirmed(self, number: int) -> Chosen:
        """One combination by an exact run of its own scenario."""
        motor, at = places_of(number, len(self.stages))
        self.told(f"exact run {len(self.confirm.runs) + 1}")
        return confirmed(self.confirm, number, self.motors[motor].motor, tuple(self.shelf.choices[k] for k in at))

    def simulated(self, table: Table, row: int) -> Simulated:
        """A row of the table with its name."""
        motor, at = places_of(int(table.number[row]), len(self.stages))
        price, mass = float(table.price[row]), float(table.mass[row])
        return Simulated(
            name="; ".join([self.motors[motor].motor.name, *(self.shelf.choices[k].name for k in at)]),
            reduction=float(table.reduction[row]),
            lift_time=float(table.lift_time[row]),
            supply_current=float(table.supply_current[row]),
            price=price if math.isfinite(price) else None,
            mass=mass if math.isfinite(mass) else None,
        )


def to_cents(values: Array) -> Array:
    """Sums alike whatever the order in which they were added up."""
    alike: Array = np.round(values, CENTS)
    return alike
