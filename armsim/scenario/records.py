"""What a scenario is once it is read: the machine, its plan, and every value with where it came from."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from armsim.drivetrain.machine import Machine
from armsim.dynamics.plan import Plan
from armsim.scenario.dimensions import Dimension
from armsim.scenario.problems import Place, Problem

if TYPE_CHECKING:
    from armsim.scenario.variants import Document


@dataclass(frozen=True, kw_only=True)
class Measure:
    """What a number of a scenario measures, and what it may be, in SI."""

    dimension: Dimension | None  #: None: a number without unit
    least: float = -math.inf
    most: float = math.inf
    share: bool = False  #: a part of one, which people write in per cent


@dataclass(frozen=True, kw_only=True)
class Entry:
    """One value as typed and as understood."""

    key: str  #: dotted, lists as [0]
    typed: str
    value: float | bool | str | None  #: SI
    understood: str  #: e.g. "0.6096 m"
    place: Place
    note: str = ""  #: what had to be settled to read it
    measure: Measure | None = None  #: of a number that may be anything between bounds


@dataclass(frozen=True, kw_only=True)
class Assumption:
    """A value that was not given."""

    key: str
    text: str
    origin: str  #: default (shipped), derived (from other inputs) or fitted


@dataclass(frozen=True, kw_only=True)
class Wish:
    """A requirement as asked."""

    name: str
    dimension: str  #: time, current, voltage, temperature, ratio, velocity, flag
    sense: str  #: max, min or is
    limit: float | bool


@dataclass(frozen=True, kw_only=True)
class Spread:
    """How a value may turn out, in SI: evenly, most often in the middle, or by the normal law; cut to what can be."""

    law: str  #: uniform, triangular, normal
    low: float = 0.0  #: of uniform and triangular, before the cut
    high: float = 0.0
    centre: float = 0.0  #: most likely value of triangular, mean of normal
    deviation: float = 0.0  #: standard deviation of normal
    least: float = -math.inf  #: nothing below is possible
    most: float = math.inf  #: nothing above


@dataclass(frozen=True, kw_only=True)
class Uncertain:
    """An input that is not known exactly."""

    name: str  #: as typed: a key, or a word for one, or for a factor on many
    key: str | None  #: whose value it is; None: a factor of `drivetrain.as_built`
    nominal: float  #: SI; 1 of a factor
    spread: Spread
    measure: Measure
    typed: str  #: as typed, or as taken where nothing was


@dataclass(frozen=True, kw_only=True)
class PartsRow:
    """One line of the parts list."""

    item: str
    quantity: float
    unit_price: float | None
    mass: float | None  #: of one [kg]
    source: str


def price_of(parts: Sequence[PartsRow]) -> float | None:
    """Of a whole parts list; None without one, and where that of one part is not known."""
    return _total([(part.unit_price, part.quantity) for part in parts])


def mass_of(parts: Sequence[PartsRow]) -> float | None:
    """Of a whole parts list, likewise. [kg]"""
    return _total([(part.mass, part.quantity) for part in parts])


def _total(column: Sequence[tuple[float | None, float]]) -> float | None:
    amounts = [None if each is None else each * count for each, count in column]
    known = [amount for amount in amounts if amount is not None]
    return sum(known) if known and len(known) == len(amounts) else None


@dataclass(frozen=True, kw_only=True)
class Scenario:
    """A scenario, ready to run."""

    path: Path | None
    title: str
    about: str
    sha256: str  #: of all the bytes read, base files included
    machine: Machine
    plan: Plan
    document: "Document | None" = field(default=None, repr=False, compare=False)  #: as read; None: made in code
    requirements: tuple[Wish, ...] = ()
    uncertainty: tuple[Uncertain, ...] = ()
    parts_list: tuple[PartsRow, ...] = ()
    entries: tuple[Entry, ...] = ()
    assumptions: tuple[Assumption, ...] = ()
    warnings: tuple[Problem, ...] = ()
