"""Searches that every check shares: where something that holds no longer does, and where a single top lies.

Plain bisection and thirds: SciPy's would have to be imported, which a check without a run must not wait for.
"""

from collections.abc import Callable


def narrowed(holds: Callable[[float], bool], good: float, bad: float, share: float) -> tuple[float, float]:
    """Two values as near as a share of the larger, between which something stops to hold: it does at the first."""
    while abs(bad - good) > share * max(abs(good), abs(bad)):
        middle = 0.5 * (good + bad)
        good, bad = (middle, bad) if holds(middle) else (good, middle)
    return good, bad


def top(worth: Callable[[float], float], low: float, high: float, within: float) -> float:
    """Where a function with a single top is highest, by thirds, to a distance."""
    while high - low > within:
        third = (high - low) / 3.0
        low, high = (low + third, high) if worth(low + third) < worth(high - third) else (low, high - third)
    return 0.5 * (low + high)
