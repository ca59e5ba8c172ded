"""How much current a run draws for how long: the largest rms over any stretch of a duration.

A thermal device answers to the square of the current over time, so this curve can be laid on its trip band: where it
stays below the earliest edge, no stretch of the run trips it from cold.
"""

import numpy as np
from numpy.typing import NDArray

Series = NDArray[np.float64]

SHORTEST = 0.01  #: duration from which on stretches are looked at [s]


def duration_curve(time: Series, current: Series, points: int = 60) -> tuple[Series, Series]:
    """Durations [s], evenly spread in their logarithm up to all of the time, and the largest rms current over each [A].

    Times rise, and may stand twice where the current jumps. Both arrays are empty for less than the shortest duration.
    """
    whole = float(time[-1] - time[0])
    if whole <= SHORTEST:
        return np.array([]), np.array([])
    squares = current * current
    charge = np.concatenate([[0.0], np.cumsum(0.5 * (squares[1:] + squares[:-1]) * np.diff(time))])
    durations = np.geomspace(SHORTEST, whole, points)
    return durations, np.array([largest_rms(time, charge, duration) for duration in durations.tolist()])


def largest_rms(time: Series, charge: Series, duration: float) -> float:
    """Of all stretches that begin or end at a sample, the largest rms; `charge` is the integral of the square."""
    begins = np.concatenate([time, time - duration])
    begins = np.clip(begins, time[0], time[-1] - duration)
    held = np.interp(begins + duration, time, charge) - np.interp(begins, time, charge)
    return float(np.sqrt(max(held.max(), 0.0) / duration))
