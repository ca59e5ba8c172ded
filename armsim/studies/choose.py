"""Choosing motor and transmission from a stock: the best ten of every combination that fits together."""

import math
from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from armsim.studies.best_first import APART, Search
from armsim.studies.candidates import FEW_MOTORS, OVER_VOLTAGE, UNUSABLE, Candidate, NoChoice, candidates, stages_of
from armsim.studies.choice import Choosing, Counts, Order, Table
from armsim.studies.chosen import Chosen, Confirm, today
from armsim.studies.combinations import RULES, Tally, combined, number_of, places_of, some
from armsim.studies.shelf import REFUSED, UNFIT, UNMESHED, Shelf, shelf_of
from armsim.studies.trials import Trials

if TYPE_CHECKING:
    from armsim.scenario.stock import Stock
    from armsim.scenario.tasks import Task
    from armsim.scenario.variants import Document

#: every rule that stops a combination before bounds, in the order in which they are asked
ALL_RULES = (FEW_MOTORS, UNUSABLE, OVER_VOLTAGE, UNMESHED, REFUSED, UNFIT, *RULES)
TOP = 10
DEEPEST = 3  #: stages, unless asked otherwise
DIGITS = 4  #: to which what is traded is looked at: closer is alike


def choose(
    task: "Task",
    document: "Document",
    stock: "Stock",
    order: Order = Order.FASTEST,
    *,
    stages: int = DEEPEST,
    top: int = TOP,
    workers: int = 1,
    told: Callable[[str], object] = str,
) -> Choosing:
    """The best combinations for a task. Raises NoChoice where the stock has no motor or no stage, or nothing lifts."""
    told("putting wheels together")
    shelf = shelf_of(stock)
    motors, refused = candidates(task, stock)
    if not stock.motors or not shelf.choices:
        raise NoChoice(f"the stock has no {'stages' if stock.motors else 'motors'} to choose from")
    if not motors:
        raise NoChoice(f"no motor of the stock can be taken: {', '.join(refused)}")
    with Trials(candidates=motors, choices=shelf.choices, workers=workers) as trials:
        search = Search(
            order=order, motors=motors, shelf=shelf, stages=stages_of(shelf.choices), depth=stages, trials=trials,
            confirm=Confirm(task=task, document=document), told=told,
        )  # fmt: skip
        tally, best = search.answer(top, first_rules(stock, shelf, motors, refused, stages))
        return conclude(search, tally, best)


def first_rules(
    stock: "Stock", shelf: Shelf, motors: tuple[Candidate, ...], refused: dict[str, int], depth: int
) -> Tally:
    """Everything that could be put together, and what falls with its motor or with one of its stages alone."""
    tally, stages = Tally(), shelf.raw
    trains = sum(stages**k for k in range(1, depth + 1))
    tally.considered = len(stock.motors) * trains
    for rule, count in refused.items():
        tally.stop(rule, count * trains)
    for rule, count in shelf.refused.items():
        fewer = stages - count
        tally.stop(rule, len(motors) * sum(stages**k - fewer**k for k in range(1, depth + 1)))
        stages = fewer
    return tally


def conclude(search: Search, tally: Tally, best: list[Chosen]) -> Choosing:
    """Everything beside the first ones."""
    table = table_of(search)
    confirm = search.confirm
    fell, nearest, misses = len(confirm.fallen), None, ""
    ladder: tuple[Chosen, ...] = ()
    unbeaten = tuple(search.simulated(table, row) for row in unbeaten_of(table, confirm.fallen))
    if not search.interrupted:
        if best:
            ladder = tuple(rungs(search, best[0]))
        elif search.near is not None:
            nearest, misses = search.confirmed(search.near[1]), search.near[2]
    return Choosing(
        order=search.order,
        top=tuple(best),
        unbeaten=unbeaten,
        ladder=ladder,
        today=None if search.interrupted else today(confirm),
        nearest=nearest,
        nearest_misses=misses,
        counts=Counts(
            considered=tally.considered,
            stopped={rule: tally.stopped[rule] for rule in ALL_RULES if rule in tally.stopped},
            left=tally.left,
            bounded=dict(search.bounded),
            gridded=sum(grid.rows for grid in search.grids.values()),
            simulated=search.trials.asked,
            different=search.trials.followed,
            passed=int(table.passed.sum()),
            missed={name: count for name, count in search.missed.items() if count},
            exact=len(confirm.runs),
            fell=fell,
            complete=search.complete,
        ),
        table=table,
        interrupted=search.interrupted,
    )


def table_of(search: Search) -> Table:
    """Everything simulated."""
    numbers = np.array([row[0] for row in search.rows], dtype=np.int64)
    places = [places_of(number, len(search.stages)) for number in numbers.tolist()]
    costs = np.array([search.costs(place) for place in places]).reshape(-1, 3)
    reductions = [float(np.prod(search.stages.reduction[list(at)])) for _, at in places]
    names = ("lift_time", "supply_current")
    columns = {name: np.concatenate([c[name] for _, c in search.kept] or [np.zeros(0)]) for name in names}
    return Table(
        number=numbers,
        reduction=np.array(reductions),
        stages=costs[:, 2].astype(np.int64),
        price=costs[:, 0],
        mass=costs[:, 1],
        passed=np.array([row[3] for row in search.rows], dtype=bool),
        **columns,
    )


def unbeaten_of(table: Table, fallen: frozenset[int], most: int = TOP) -> list[int]:
    """Rows of those that none beats in time, price and current at once, fastest first, thinned to some."""
    from armsim.studies.engine.collect import unbeaten

    here = np.flatnonzero(table.passed & ~np.isin(table.number, list(fallen)))
    if not here.size:
        return []
    price = table.price[here] if np.isfinite(table.price[here]).all() else np.zeros(len(here))
    costs = np.column_stack([table.lift_time[here], price, table.supply_current[here]])
    costs = np.array([[float(f"{value:.{DIGITS}g}") for value in row] for row in costs.tolist()])
    _, once = np.unique(costs, axis=0, return_index=True)
    front = once[unbeaten(costs[once])]
    front = front[np.argsort(costs[front, 0], kind="stable")]
    if len(front) > most:
        front = front[np.unique(np.linspace(0, len(front) - 1, most).round().astype(int))]
    rows: list[int] = here[front].tolist()
    return rows


def rungs(search: Search, best: Chosen) -> Iterator[Chosen]:
    """The best one's motor and reduction by one stage, by two, and so on: what fits and comes nearest."""
    motor = next(k for k, one in enumerate(search.motors) if one.motor is best.motor)
    reach = replace(search.motors[motor].reach, least_gain=0.0, most_reduction=math.inf, torque=0.0)
    for depth in range(1, search.depth + 1):
        if depth == len(best.choices):
            yield best
            continue
        nearest: tuple[float, float, int] | None = None
        for found in combined(search.stages, [reach], depth, Tally()):
            off = np.round(np.abs(np.log(found.reduction / best.reduction)), 9)
            price = np.where(np.isfinite(found.price), found.price, APART)
            k = int(np.lexsort((price, off))[0])
            here = replace(some(found, np.array([k])), motor=motor)
            rung = (float(off[k]), float(price[k]), int(number_of(here, len(search.stages))[0]))
            nearest = rung if nearest is None else min(nearest, rung)
        if nearest is not None:
            yield with_strength(search, motor, search.confirmed(nearest[2]))


def with_strength(search: Search, motor: int, one: Chosen) -> Chosen:
    """The same, with what breaks at stall standing against it."""
    _, at = places_of(one.number, len(search.stages))
    torque = search.motors[motor].reach.torque
    for k in at:
        torque *= float(search.stages.gain[k])
        if torque > search.stages.rated[k]:
            text = f"{search.shelf.choices[k].name} breaks at stall"
            against = "; ".join(part for part in (one.stands_against, text) if part)
            return replace(one, passes=False, stands_against=against)
    return one
