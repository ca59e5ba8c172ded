"""Every combination of a motor with one to several stages, as arrays: what fits, what cannot do, what is best first.

Nothing here is simulated. A block of combinations is a number of beginnings (all stages but the last) times every last
stage, so that each rule is a handful of products of two short lists, whatever number of combinations there is.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Index = NDArray[np.int64]

BLOCK = 200_000  #: combinations looked at at once: their arrays stay in the cache
TOO_FEW, IN_THE_WAY = "more of a part than there are", "a wheel in the way of the next shaft"
RATED, TOO_WEAK, TOO_SLOW = "a part that breaks at stall", "too weak at best", "too slow without load"
UNTOLD = "price or mass not known"
RULES = (TOO_FEW, IN_THE_WAY, RATED, TOO_WEAK, TOO_SLOW, UNTOLD)  #: as they are asked


@dataclass(frozen=True, kw_only=True)
class Stages:
    """What stages a train can be made of, one entry each. Not known: NaN, and for a rating infinity."""

    reduction: Array  #: [-]
    efficiency: Array  #: the best it has, forward [-]
    input_inertia: Array  #: [kg*m2]
    output_inertia: Array  #: [kg*m2]
    price: Array
    mass: Array  #: [kg]
    rated: Array  #: torque at its output [N*m]
    even: Flags  #: neither drag nor an efficiency that depends on speed
    centres: Array  #: between its two shafts [m]
    driver_tip: Array  #: radius over the teeth [m]
    driven_tip: Array  #: [m]
    uses: NDArray[np.int64]  #: of each stage, how many of each scarce part
    available: NDArray[np.int64]  #: of each scarce part, how many there are

    def __len__(self) -> int:
        return len(self.reduction)

    @cached_property
    def gain(self) -> Array:
        """Torque out per torque in, at best. [-]"""
        return self.reduction * self.efficiency

    @cached_property
    def carried(self) -> Array:
        """Inertia that comes onto the input shaft with it, lossy wheels behind it included. [kg*m2]"""
        return self.input_inertia + self.output_inertia / (self.reduction * self.gain)

    @cached_property
    def clear_first(self) -> Flags:
        """Which stage (column) can follow which (row) behind a motor: its wheels and shafts are not in the way."""
        far = self.centres[None, :] <= self.driven_tip[:, None]
        together = self.centres[:, None] + self.centres[None, :]
        needed = np.fmax(self.driven_tip[None, :], self.driver_tip[:, None])
        return ~(far | (together <= needed))

    @cached_property
    def clear_later(self) -> Flags:
        """The same of stages whose first shaft is no motor's, which may end before the wheel."""
        return self.clear_first & ~(self.centres[:, None] <= self.driver_tip[None, :])


@dataclass(frozen=True, kw_only=True)
class Reach:
    """What a motor asks of its train, and what it costs."""

    torque: float  #: at the input of the first stage, stalled [N*m]
    least_gain: float  #: with which it lifts at best [-]
    most_reduction: float  #: with which it is quick enough at best; infinite: any [-]
    price: float
    mass: float  #: [kg]


@dataclass(frozen=True, kw_only=True)
class Beginnings:
    """All stages but the last of many trains; `at` has the place of each stage, a column for each."""

    at: NDArray[np.int32]
    reduction: Array
    gain: Array
    inertia: Array  #: on the input shaft, the last driven wheel included [kg*m2]
    share: Array  #: of an inertia behind the last stage that comes onto the input shaft [-]
    price: Array
    mass: Array
    even: Flags
    uses: NDArray[np.int64]
    headroom: Array  #: largest torque at the input that no rating forbids [N*m]
    alive: Flags  #: parts suffice and are not in each other's way
    why: NDArray[np.int8]  #: 1 too few, 2 in the way, 0 alive

    def __len__(self) -> int:
        return len(self.reduction)

    def some(self, part: slice) -> "Beginnings":
        """Some of them."""
        return replace(self, **{name: getattr(self, name)[part] for name in self.__dataclass_fields__})


def beginnings(stages: Stages, depth: int) -> Beginnings:
    """Every row of `depth` stages that may come before a last one."""
    one = np.ones(1)
    start = Beginnings(
        at=np.zeros((1, 0), dtype=np.int32),
        reduction=one,
        gain=one,
        inertia=0.0 * one,
        share=one,
        price=0.0 * one,
        mass=0.0 * one,
        even=one > 0.0,
        uses=np.zeros((1, stages.uses.shape[1]), dtype=np.int64),
        headroom=np.inf * one,
        alive=one > 0.0,
        why=np.zeros(1, dtype=np.int8),
    )
    for _ in range(depth):
        start = longer(start, stages)
    return start


def longer(before: Beginnings, stages: Stages) -> Beginnings:
    """Each with every stage added."""
    here, count = np.repeat(np.arange(len(before)), len(stages)), len(stages)
    last = np.tile(np.arange(count), len(before))
    reduction = before.reduction[here] * stages.reduction[last]
    gain = before.gain[here] * stages.gain[last]
    share = before.share[here]
    onward = share / (stages.reduction * stages.gain)[last]
    uses = before.uses[here] + stages.uses[last]
    few, way = short_of_parts(before, stages).ravel(), in_the_way(before, stages).ravel()
    why = np.where(before.why[here] > 0, before.why[here], np.where(few, 1, np.where(way, 2, 0))).astype(np.int8)
    return Beginnings(
        at=np.column_stack([before.at[here], last.astype(np.int32)]),
        reduction=reduction,
        gain=gain,
        inertia=before.inertia[here] + share * stages.input_inertia[last] + onward * stages.output_inertia[last],
        share=onward,
        price=before.price[here] + stages.price[last],
        mass=before.mass[here] + stages.mass[last],
        even=before.even[here] & stages.even[last],
        uses=uses,
        headroom=np.minimum(before.headroom[here], stages.rated[last] / gain),
        alive=why == 0,
        why=why,
    )


def short_of_parts(before: Beginnings, stages: Stages) -> Flags:
    """Where a last stage takes more of a scarce part than is left."""
    short = np.zeros((len(before), len(stages)), dtype=bool)
    for k, available in enumerate(stages.available.tolist()):
        columns = np.flatnonzero(stages.uses[:, k])
        own = stages.uses[columns, k]
        rows = np.flatnonzero(before.uses[:, k] + own.max(initial=0) > available)
        if rows.size and columns.size:
            short[np.ix_(rows, columns)] |= before.uses[rows, k][:, None] + own[None, :] > available
    return short


def in_the_way(before: Beginnings, stages: Stages) -> Flags:
    """Where a last stage and the one before it do not leave each other room."""
    depth = before.at.shape[1]
    if depth == 0:
        return np.zeros((len(before), len(stages)), dtype=bool)
    clear = stages.clear_first if depth == 1 else stages.clear_later
    return ~clear[before.at[:, -1]]


@dataclass(frozen=True, kw_only=True)
class Found:
    """Combinations that no rule has stopped."""

    motor: int  #: its place
    at: NDArray[np.int32]  #: place of each stage, a column for each
    reduction: Array
    efficiency: Array  #: at best, forward [-]
    inertia: Array  #: on the first stage's input shaft [kg*m2]
    price: Array  #: NaN: not known
    mass: Array
    even: Flags

    def __len__(self) -> int:
        return len(self.reduction)


@dataclass
class Tally:
    """How many combinations there are, and how many each rule has stopped: the first one that does counts."""

    considered: int = 0
    stopped: dict[str, int] = field(default_factory=dict)

    def stop(self, rule: str, count: "int | np.integer[Any]") -> None:
        """Count some."""
        if count:
            self.stopped[rule] = self.stopped.get(rule, 0) + int(count)

    @property
    def left(self) -> int:
        """What no rule has stopped."""
        return self.considered - sum(self.stopped.values())


def combined(
    stages: Stages, reaches: Sequence[Reach], depth: int, tally: Tally, *, wanted: str = ""
) -> Iterator[Found]:
    """Every combination of `depth` stages (>= 1) that no rule stops, block by block; the tally counts the others.

    `wanted` is price or mass where one that is not known stops a combination.
    """
    before = beginnings(stages, depth - 1)
    span = max(BLOCK // max(len(stages), 1), 1)
    for begin in range(0, len(before), span):
        part = before.some(slice(begin, begin + span))
        yield from _block(part, stages, reaches, tally, wanted)


def _block(before: Beginnings, stages: Stages, reaches: Sequence[Reach], tally: Tally, wanted: str) -> Iterator[Found]:
    size, motors = len(before) * len(stages), len(reaches)
    tally.considered += size * motors
    few, way = short_of_parts(before, stages), in_the_way(before, stages)
    few = (before.why == 1)[:, None] | (few & (before.why == 0)[:, None])
    way = ((before.why == 2)[:, None] | (way & (before.why == 0)[:, None])) & ~few
    tally.stop(TOO_FEW, motors * np.count_nonzero(few))
    tally.stop(IN_THE_WAY, motors * np.count_nonzero(way))
    fits = ~(few | way)
    gain = before.gain[:, None] * stages.gain
    reduction = before.reduction[:, None] * stages.reduction
    rated = bool(np.isfinite(stages.rated).any())
    headroom = np.minimum(before.headroom[:, None], stages.rated / gain) if rated else None
    for k, reach in enumerate(reaches):
        left = fits
        if headroom is not None:
            left = _stop(tally, RATED, left, reach.torque > headroom)
        left = _stop(tally, TOO_WEAK, left, gain < reach.least_gain)
        left = _stop(tally, TOO_SLOW, left, reduction > reach.most_reduction)
        yield from _found(before, stages, reach, k, np.flatnonzero(left), tally, wanted)


def _stop(tally: Tally, rule: str, left: Flags, stopped: Flags) -> Flags:
    remaining = left & ~stopped
    tally.stop(rule, np.count_nonzero(left) - np.count_nonzero(remaining))
    return remaining


def _found(
    before: Beginnings, stages: Stages, reach: Reach, motor: int, left: Index, tally: Tally, wanted: str
) -> Iterator[Found]:
    if not left.size:
        return
    rows, last = np.divmod(left, len(stages))
    reduction = before.reduction[rows] * stages.reduction[last]
    found = Found(
        motor=motor,
        at=np.column_stack([before.at[rows], last.astype(np.int32)]),
        reduction=reduction,
        efficiency=before.gain[rows] * stages.gain[last] / reduction,
        inertia=before.inertia[rows] + before.share[rows] * stages.carried[last],
        price=before.price[rows] + stages.price[last] + reach.price,
        mass=before.mass[rows] + stages.mass[last] + reach.mass,
        even=before.even[rows] & stages.even[last],
    )
    if wanted:
        known = np.isfinite(getattr(found, wanted))
        tally.stop(UNTOLD, np.count_nonzero(~known))
        found = some(found, known)
    if len(found):
        yield found


def some(found: Found, index: Flags | Index) -> Found:
    """Some of the combinations."""
    names = [name for name in found.__dataclass_fields__ if name != "motor"]
    return replace(found, **{name: getattr(found, name)[index] for name in names})


def number_of(found: Found, count: int) -> Index:
    """Every combination of up to seven stages of a list of `count` has a number of its own."""
    number = np.full(len(found), found.motor, dtype=np.int64)
    for column in found.at.T:
        number = number * count + column
    numbers: Index = number * 8 + found.at.shape[1]
    return numbers


def places_of(number: int, count: int) -> tuple[int, tuple[int, ...]]:
    """Motor and stages of a number."""
    number, depth = divmod(number, 8)
    at = []
    for _ in range(depth):
        number, place = divmod(number, count)
        at.append(place)
    return number, tuple(reversed(at))
