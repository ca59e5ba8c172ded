"""Trip bands that enclose a table of trip times: thermal states found by linear programming.

From cold, under a steady multiple m, an edge trips when H(t) = sum_j w_j (1 - exp(-t/tau_j)) reaches (m_u/m)^2. To trip
at m not before t is H(t) <= (m_u/m)^2, not after t the reverse: linear in the weights once the time constants stand. So
is that more current never cools, H' >= 0, and that a pulse leaves no latest edge nearer to tripping after its end. Time
constants start as a fine grid, and as many go, or merge, as may.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, Literal

from armsim.parts.protection import Edge, Point, trip_time

Side = Literal["earliest", "latest"]
Row = tuple[float, float, float]  #: current multiple [-], earliest and latest trip time [s]

JUST_BELOW = 0.995  #: ultimate multiple of a latest edge over the lowest multiple of its table [-]
ROOM = (
    0.1,
    0.12,
    0.15,
    0.2,
    0.3,
    0.4,
    0.8,
    1.6,
    3.2,
    8.0,
    50.0,
    1e3,
    1e6,
)  #: by which a row's time may be missed, outwards
INSIDE = 0.17  #: by which the edge may lie inside the straight lines between the rows
MANY = 9  #: thermal states beyond which more room is given instead
MARGIN = 1.002  #: kept from every bound on a time
GRID = 5  #: time constants a decade to begin with
SHARES = (0.02, 0.05, *(k / 12.0 for k in range(1, 12)), 0.97)  #: of the way from a row to the next
BEYOND = (1.15, 1.4, 2.0, 3.0, 6.0)  #: multiples of the last row's
INSTANTS, RISING = 150, 1e-4  #: at which it has to rise, by this share of its largest term
LARGEST_WEIGHT = 30.0
PULSES, AFTER = 12, (0.1, 0.25, 0.5, 1.0, 2.0, 4.0)  #: lengths looked at, and shares of them after their end


def fit_band(rows: Sequence[Row]) -> tuple[Edge, Edge]:
    """Earliest and latest edge that enclose a trip table: multiple, earliest and latest time [s], rising in multiple.

    A row whose latest time is infinite is a hold: the earliest edge never trips there, and may just above it. The
    latest edge opens for sure only from the lowest multiple with a finite latest time on. No row lies outside the
    band, and each edge misses its rows by a tenth at most where so few thermal states can follow the table. Between
    the rows it may lie inside the straight lines of ln t over ln m by 17 % of the time at most. Raises ValueError for
    a table without a finite latest time, or whose times rise with current.
    """
    _refuse_bad_table(rows)
    holds = [row for row in rows if math.isinf(row[2])]
    early = [(m, t) for m, t, latest in rows if math.isfinite(latest)]
    late = [(m, t) for m, _, t in rows if math.isfinite(t)]
    hold = holds[-1][0] if holds else min(1.0, JUST_BELOW * early[0][0])
    before = [(holds[-1][0], holds[-1][1])] if holds and math.isfinite(holds[-1][1]) else []
    earliest = fit_edge(early, between_rows([*before, *early]), hold, "earliest")
    return earliest, fit_edge(late, between_rows(late), JUST_BELOW * late[0][0], "latest")


def fit_edge(rows: Sequence[Point], between: Sequence[Point], ultimate: float, side: Side) -> Edge:
    """The edge with fewest thermal states at the least room that its rows need."""
    shortest, longest = rows[-1][1], max(3.0 * rows[0][1], 30.0 * rows[-1][1])
    decades = math.log10(30.0 * longest / shortest)
    grid = _spread(shortest / 30.0, longest, int(GRID * decades) + 1)
    span = (0.01 * grid[0], 20.0 * grid[-1])
    for room in ROOM:
        bounds = _bounds(rows, between, ultimate**2, side, room, span)
        weights = bounds.weights(grid)
        if weights is None:
            continue
        constants, weights = _fewer(bounds, grid, weights)
        if len(constants) <= MANY:
            return Edge(
                weights=tuple(float(w) for w in weights), time_constants=tuple(constants), ultimate_multiple=ultimate
            )
    return _single(rows, ultimate, side)


def _single(rows: Sequence[Point], ultimate: float, side: Side) -> Edge:
    """One state that encloses every row, where none could be found that do so closely."""
    unit = Edge(weights=(1.0,), time_constants=(1.0,), ultimate_multiple=ultimate)
    constants = [t / trip_time(unit, m) for m, t in rows]
    constant = MARGIN * max(constants) if side == "latest" else min(constants) / MARGIN
    return Edge(weights=(1.0,), time_constants=(constant,), ultimate_multiple=ultimate)


def between_rows(points: Sequence[Point]) -> list[Point]:
    """Between neighbours points on the straight line in ln m and ln t; beyond the last as fast as heat alone."""
    (last, shortest), inner = (
        points[-1],
        [
            (m0 * (m1 / m0) ** share, t0 * (t1 / t0) ** share)
            for (m0, t0), (m1, t1) in pairwise(points)
            for share in SHARES
        ],
    )
    return inner + [(last * more, shortest / more**2) for more in BEYOND]


@dataclass(frozen=True, kw_only=True)
class Bounds:
    """What the answer H to a step has to keep to."""

    times: Any  #: at which H is bounded [s]
    levels: Any  #: by which [-]
    signs: Any  #: +1 from above, -1 from below
    instants: Any  #: at which it must still rise [s]
    pulses: Any  #: lengths [s] of pulses, and times [s] at which they may have left no more than when they ended

    def weights(self, constants: Sequence[float], cost: Any = None) -> Any:
        """Weights of time constants [s] that keep to it, with the least sum of sizes, or of `cost`; None: none do."""
        import numpy as np
        from scipy.optimize import linprog

        taus, scale = np.asarray(constants), self.signs / np.minimum(self.levels, 1.0 - self.levels)
        reached = (1.0 - np.exp(-self.times[:, None] / taus)) * scale[:, None]
        falling = -np.exp(-self.instants[:, None] * (1.0 / taus - 1.0 / taus.max())) / taus
        falling /= np.abs(falling).max(axis=1)[:, None]
        table, n = np.vstack([reached, falling, self._left(taus)]), len(taus)
        cost = np.ones(n) if cost is None else cost
        answer = linprog(
            np.concatenate([cost, cost]),
            A_ub=np.hstack([table, -table]),
            b_ub=np.concatenate([self.levels * scale, np.full(len(falling), -RISING), np.zeros(len(self.pulses))]),
            A_eq=np.concatenate([np.ones(n), -np.ones(n)])[None],
            b_eq=[1.0],
            bounds=(0.0, LARGEST_WEIGHT),
        )
        return answer.x[:n] - answer.x[n:] if answer.status == 0 else None

    def _left(self, taus: Any) -> Any:
        """Heat of a pulse at a time after its begin over what it was at its end, less one, by weight."""
        import numpy as np

        lengths, times = self.pulses[:, :1], self.pulses[:, 1:]
        ended = 1.0 - np.exp(-lengths / taus)
        later = np.exp(-(times - lengths) / taus) * ended
        return (later - ended) / np.abs(ended).max(axis=1, keepdims=True)


def _bounds(
    rows: Sequence[Point],
    between: Sequence[Point],
    level: float,
    side: Side,
    room: float,
    span: tuple[float, float],
) -> Bounds:
    """Each row to be met outside and no further than the room, the points between outside but for a little."""
    import numpy as np

    # an earliest edge is later than the table where a latest one is earlier: as if times ran backwards
    way = 1.0 if side == "latest" else -1.0
    bounds = [(m, t * MARGIN**way, way) for m, t in rows]
    bounds += [(m, t * ((1.0 + room) / MARGIN) ** way, -way) for m, t in rows]
    bounds += [(m, t / (1.0 + INSIDE) ** way, way) for m, t in between]
    multiples, times, signs = (np.array(column) for column in zip(*bounds, strict=True))
    pulses = []
    if side == "latest":  # or it would be sure of a pulse that the device has already borne
        lengths = _spread(0.5 * rows[-1][1], rows[0][1], PULSES)
        pulses = [(length, length * (1.0 + more)) for length in lengths for more in AFTER]
    return Bounds(
        pulses=np.reshape(pulses, (-1, 2)),
        times=times,
        levels=level / multiples**2,
        signs=signs,
        instants=np.array(_spread(*span, INSTANTS)),
    )


def _fewer(bounds: Bounds, constants: list[float], weights: Any) -> tuple[list[float], Any]:
    """Fewer time constants with weights that still keep to the bounds: the small ones out, then neighbours merged."""
    import numpy as np

    for _ in range(4):
        sparse = bounds.weights(constants, 1.0 / (np.abs(weights) + 1e-3))
        kept = constants if sparse is None else [tau for tau, w in zip(constants, sparse, strict=True) if abs(w) > 1e-7]
        again = bounds.weights(kept) if len(kept) < len(constants) else None
        if again is None:
            break
        constants, weights = kept, again
    smaller: tuple[list[float], Any] | None = constants, weights
    while smaller is not None:
        constants, weights = smaller
        tried = ((trial, bounds.weights(trial)) for trial in _with_one_less(constants, weights))
        smaller = next(((trial, found) for trial, found in tried if found is not None), None)
    return constants, weights


def _with_one_less(constants: list[float], weights: Any) -> Iterator[list[float]]:
    """Each left out, the lightest first; then each two neighbours as one, somewhere about where they are."""
    import numpy as np

    if len(constants) == 1:
        return
    for j in np.argsort(np.abs(weights)).tolist():
        yield [*constants[:j], *constants[j + 1 :]]
    for j in np.argsort(np.diff(np.log(constants))).tolist():
        low = constants[j - 1] if j else constants[0] / 4.0
        high = constants[j + 2] if j + 2 < len(constants) else constants[-1] * 4.0
        for tau in _spread(low, high, 5)[1:-1]:
            yield [*constants[:j], tau, *constants[j + 2 :]]


def _spread(low: float, high: float, count: int) -> list[float]:
    """Values even in their logarithm."""
    return [low * (high / low) ** (k / (count - 1)) for k in range(count)]


def _refuse_bad_table(rows: Sequence[Row]) -> None:
    if not any(math.isfinite(row[2]) for row in rows):
        raise ValueError("a trip table needs a latest time at one multiple at least")
    for row in rows:
        if not (row[0] > 0.0 and 0.0 < row[1] <= row[2]):
            raise ValueError(f"at {row[0]:g} times the rating the times must be above 0, earliest first")
    for before, after in pairwise(rows):
        if after[0] <= before[0] or after[1] > before[1] or after[2] > before[2]:
            raise ValueError(f"from {before[0]:g} to {after[0]:g} times the rating the trip times must not rise")
