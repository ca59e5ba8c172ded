"""A long series cut to what a page can show."""

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

SLICES = 900  #: of time that a series is thinned to


def thin(x: Array, y: Array) -> tuple[Array, Array]:
    """A long time series cut to what a page can show: first, last, lowest and highest of each slice of time.

    No spike can vanish and no edge slants by more than a slice. A path that goes back and forth is left as it is.
    """
    if x.size <= 4 * SLICES or np.any(np.diff(x) < 0.0):
        return x, y
    slot = np.minimum((x - x[0]) / (x[-1] - x[0]) * SLICES, SLICES - 1).astype(int)
    gap = np.isnan(y)
    edges = np.flatnonzero((np.diff(slot) != 0) | (np.diff(gap.astype(int)) != 0))
    known = np.flatnonzero(~gap)
    ranked = known[np.lexsort((y[known], slot[known]))]
    turns = np.flatnonzero(np.diff(slot[ranked]))
    keep = [[0, x.size - 1], edges, edges + 1, ranked[turns], ranked[turns + 1], ranked[[0, -1]] if known.size else []]
    index = np.unique(np.concatenate([np.asarray(part, dtype=int) for part in keep]))
    return x[index], y[index]
