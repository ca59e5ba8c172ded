"""Values of uncertain inputs from points of the unit cube, and those points: the same whoever asks for which of them.

The points are a scrambled Sobol sequence (Owen's linear matrix scramble with a digital shift, as SciPy has it) of two
dimensions for each input: its first half is one sample, its second half another, independent one, as the estimators
of variance shares need them (Saltelli et al. 2010, doi 10.1016/j.cpc.2009.09.018).
"""

import math

import numpy as np
from numpy.typing import NDArray

from armsim.scenario.records import Spread, Uncertain

Array = NDArray[np.float64]

SMALLEST = 2.0**-32  #: nearest that a point comes to the edges of the cube, so that no value is infinite
MOST = 2**30  #: points of one sequence


def power_of_two(count: int) -> int:
    """The count of points, rounded up to a power of two: only those fill the cube evenly."""
    return 1 << max(0, math.ceil(math.log2(max(1, count))))


def points(inputs: int, seed: int, first: int, count: int) -> Array:
    """Points `first` up to `first + count` of the sequence, one a row, two numbers an input. [0..1]"""
    from scipy.stats import qmc

    engine = qmc.Sobol(2 * inputs, scramble=True, seed=seed)
    if first:
        engine.fast_forward(first)
    elif count & (count - 1):
        return points(inputs, seed, 0, power_of_two(count))[:count]  # SciPy warns of other counts at the beginning
    found: Array = engine.random(count)
    return found


def values(inputs: tuple[Uncertain, ...], cube: Array) -> Array:
    """SI values of the inputs, a column each, at points of the unit cube with as many columns."""
    if not inputs:
        return np.empty((len(cube), 0))
    return np.column_stack([quantile(one.spread, cube[:, k]) for k, one in enumerate(inputs)])


def quantile(spread: Spread, share: Array) -> Array:
    """The value below which a share of all lies, of what is left of a law within its bounds. SI"""
    low, high = float(below(spread, spread.least)), float(below(spread, spread.most))
    inside = np.clip(low + np.clip(share, SMALLEST, 1.0 - SMALLEST) * (high - low), SMALLEST**2, 1.0 - 2.0**-53)
    return np.clip(_inverse(spread, inside), spread.least, spread.most)


def cut_off(spread: Spread) -> float:
    """Share of a law that lies where no machine can be, and is left out. [-]"""
    return 1.0 - float(below(spread, spread.most) - below(spread, spread.least))


def below(spread: Spread, value: float) -> float:
    """Share of the whole law below a value. [-]"""
    if math.isinf(value):
        return 0.0 if value < 0.0 else 1.0
    if spread.law == "normal":
        from scipy.special import ndtr

        return float(ndtr((value - spread.centre) / spread.deviation))
    low, high, centre = spread.low, spread.high, spread.centre
    if value <= low or value >= high:
        return 0.0 if value <= low else 1.0
    if spread.law == "uniform":
        return (value - low) / (high - low)
    if value <= centre:
        return (value - low) ** 2 / ((high - low) * (centre - low))
    return 1.0 - (high - value) ** 2 / ((high - low) * (high - centre))


def _inverse(spread: Spread, share: Array) -> Array:
    if spread.law == "normal":
        from scipy.special import ndtri

        return np.asarray(spread.centre + spread.deviation * ndtri(share))
    low, high, centre = spread.low, spread.high, spread.centre
    if spread.law == "uniform":
        return low + share * (high - low)
    rising = low + np.sqrt(share * (high - low) * (centre - low))
    falling = high - np.sqrt((1.0 - share) * (high - low) * (high - centre))
    return np.where(share <= (centre - low) / (high - low), rising, falling)
