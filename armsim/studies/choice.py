"""What a choice from a stock is: its answer, what became of all combinations, and everything simulated."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from armsim.studies.chosen import Chosen

Array = NDArray[np.float64]


class Order(StrEnum):
    """What the best are the best in."""

    FASTEST = "fastest"
    CHEAPEST = "cheapest"
    LIGHTEST = "lightest"
    SIMPLEST = "simplest"
    LEAST_CURRENT = "least-current"


@dataclass(frozen=True, kw_only=True)
class Counts:
    """What became of all combinations."""

    considered: int
    stopped: dict[str, int]  #: by the first rule that stops them
    left: int  #: after rules, before bounds of what was calculated
    bounded: dict[str, int]  #: of these, by the requirement that even their bounds miss
    gridded: int  #: designs calculated for bounds
    simulated: int  #: combinations followed in their lift
    different: int  #: of these, with physics of their own
    passed: int  #: of these combinations, that meet all requirements
    missed: dict[str, int]  #: of these combinations, those that miss a requirement, by its name
    exact: int  #: runs of the whole cycle
    fell: int  #: of the best by their lift, that the whole cycle or the rules of fit of a whole machine put aside
    complete: bool  #: nothing that is left has a bound better than the last that is shown


@dataclass(frozen=True, kw_only=True)
class Table:
    """What was simulated, a row each, for figures and for what is traded for what."""

    number: NDArray[np.int64]
    reduction: Array
    stages: NDArray[np.int64]
    price: Array
    mass: Array
    lift_time: Array
    supply_current: Array
    passed: NDArray[np.bool_]


@dataclass(frozen=True, kw_only=True)
class Simulated:
    """One that was followed in its lift."""

    name: str
    reduction: float
    lift_time: float  #: [s]
    supply_current: float  #: largest in the lift [A]
    price: float | None
    mass: float | None  #: [kg]


@dataclass(frozen=True, kw_only=True)
class Choosing:
    """The answer."""

    order: Order
    top: tuple[Chosen, ...]  #: best first
    unbeaten: tuple[Simulated, ...]  #: of all simulated: none other is better in time, price and current at once
    ladder: tuple[Chosen, ...]  #: the best one's reduction, or the nearest, by one stage, two and so on
    today: Chosen | None  #: what the file has
    nearest: Chosen | None  #: where none passes: what misses by least
    nearest_misses: str
    counts: Counts
    table: Table
    interrupted: bool = False
