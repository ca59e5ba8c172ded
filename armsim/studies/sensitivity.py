"""Which inputs matter: shares of the variance of what comes out that each input brings about.

First-order and total shares by the estimators of Saltelli et al. 2010 (doi 10.1016/j.cpc.2009.09.018), on two samples
and mixtures of them that differ in one input.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from armsim.studies.lifts import Columns
from armsim.studies.sampling import Array

WATCHED = ("lift_time", "supply_current", "motor_current", "winding", "static_margin")
NEEDED = (*WATCHED, "reached", "failed")  #: columns of each block
NOTHING = 1e-9  #: spread of a measure, over its size, below which nothing moves it
RATE = "lift_rate"  #: one over the lift time, 0 where it does not arrive: what stands for it where some do not


@dataclass(frozen=True, kw_only=True)
class Influence:
    """What each input does to the variance of one measure; in the order of the inputs."""

    name: str
    first: tuple[float, ...]  #: share by the input alone [-]
    total: tuple[float, ...]  #: share that would go if the input were known, what it does with others included [-]
    error: tuple[float, ...]  #: standard error of the total share [-]


def influences(blocks: list[Columns]) -> tuple[Influence, ...]:
    """Of every watched measure that is known and moves. `blocks` are the sample, the second one, and the mixtures."""
    base = len(blocks[1]["failed"])
    sample = [{name: block[name][:base].astype(float) for name in NEEDED} for block in blocks]
    sound = np.logical_and.reduce([block["failed"] == 0.0 for block in sample])
    found = []
    for name in WATCHED:
        label, rows = _measure(name, sample, sound)
        if rows.shape[1] > 1 and np.isfinite(rows).all() and _moves(rows[0]):
            found.append(_influence(label, rows))
    return tuple(found)


def _measure(name: str, sample: list[Columns], sound: NDArray[np.bool_]) -> tuple[str, Array]:
    rows = np.array([block[name][sound] for block in sample])
    if name != "lift_time" or np.isfinite(rows).all():
        return name, rows
    arrived = np.array([block["reached"][sound] > 0.0 for block in sample])
    with np.errstate(invalid="ignore", divide="ignore"):
        return RATE, np.where(arrived, 1.0 / rows, 0.0)


def _moves(row: Array) -> bool:
    return bool(row.std() > NOTHING * max(abs(row).max(), 1e-300))


def _influence(name: str, rows: Array) -> Influence:
    """From values at the sample, the second sample, and a mixture for each input."""
    first, total = shares(rows)
    error = standard_errors(rows, total)
    return Influence(name=name, first=tuple(first.tolist()), total=tuple(total.tolist()), error=tuple(error.tolist()))


def shares(rows: Array) -> tuple[Array, Array]:
    """First-order and total shares of variance from values f(A), f(B), f(AB_1), f(AB_2), ...; a row each.

    Saltelli 2010: first order E[f(B) (f(AB_i) - f(A))]/V, total E[(f(A) - f(AB_i))^2]/(2 V), after Jansen, with the
    mean taken off first and V that of both samples.
    """
    both = rows[:2]
    own, other, mixed = (part - both.mean() for part in (rows[0], rows[1], rows[2:]))
    variance = both.var()
    first = (other * (mixed - own)).mean(axis=1) / variance
    total = ((own - mixed) ** 2).mean(axis=1) / (2.0 * variance)
    return first, total


def standard_errors(rows: Array, total: Array) -> Array:
    """Of total shares, as of independent points: how far each point moves the ratio of both means."""
    mean = rows[:2].mean()
    own, other, mixed = (part - mean for part in (rows[0], rows[1], rows[2:]))
    squares = (own**2 + other**2) / 2.0
    variance = squares.mean()
    moved = ((own - mixed) ** 2 / 2.0 - total[:, None] * squares) / variance
    return np.asarray(moved.std(axis=1) / np.sqrt(rows.shape[1]))
