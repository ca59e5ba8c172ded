"""Breakers and fuses as a band: an earliest and a latest accumulator of thermal state.

Each edge of the band is theta = sum_j w_j theta_j with tau_j d(theta_j)/dt = m^2 - theta_j, where m is current over
rating; it trips at theta = m_u^2, the ultimate multiple squared. A weight may be negative, as where heat has to pass
from one part to the next; the answer to a step of current rises all the same. A band is not a guarantee.
"""

import math
from bisect import bisect_right
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cache
from itertools import pairwise

from armsim.parts.elementwise import plain

BETWEEN = 32  #: parts into which the stretch between two rows of a trip table is cut
Point = tuple[float, float]  #: current multiple [-] and trip time [s]


@dataclass(frozen=True, kw_only=True)
class Edge:
    """One edge of the trip band as a sum of first-order thermal states, together rising after a step of current."""

    weights: tuple[float, ...]  #: sum to one [-]
    time_constants: tuple[float, ...]  #: [s]
    ultimate_multiple: float  #: current over rating below which it never opens [-]
    corrections: tuple[Point, ...] = ()  #: multiples, rising, and what heats there over m^2; log-log between, then flat

    @property
    def trip_level(self) -> float:
        """Thermal state at which it opens, m_u^2. [-]"""
        return self.ultimate_multiple**2


@dataclass(frozen=True, kw_only=True)
class Protection:
    """A protective device in the supply line ahead of every load, or one in each controller's own line."""

    kind: str
    rating: float  #: as printed on it [A]
    earliest: Edge
    latest: Edge
    resets_itself: bool = False
    reset_share: float = 0.6  #: of the trip level, below which an automatic one closes again [-]
    opens_at_earliest: bool = False  #: which edge opens the circuit in the run; the verdict uses both
    branch: bool = False  #: one in each controller's line, carrying that controller's current alone
    factor: float = 1.0  #: by which warmth around it makes it a device of less rating; below 1 in the cold [-]

    @property
    def in_force(self) -> float:
        """The rating that its band counts in where it stands. [A]"""
        return self.rating / self.factor


def heating(edge: Edge, multiple: float) -> float:
    """What the thermal states tend to under a current multiple: m^2, times the edge's correction there. [-]"""
    return heating_of(edge)(multiple)


@cache
def heating_of(edge: Edge) -> Callable[[float], float]:
    """What gives the heating of an edge at a current multiple, or at those of many designs. [-]

    Devices are not heated by m^2 alone: magnets help, contacts take their time. The correction makes a device that
    starts cold keep to every row of its table, and leaves its memory as it is.
    """
    return heating_along(edge.corrections)


def heating_along(points: Sequence[Point]) -> Callable[[float], float]:
    """The same from the corrections."""
    if not points:
        return lambda multiple: multiple * multiple
    at, last = tuple(multiple for multiple, _ in points), points[-1][1]
    first, end = at[0], at[-1]
    pieces = []  # ln(heat) = level + slope ln(m) between two points
    for (low, before), (high, after) in pairwise(points):
        slope = math.log(after / before) / math.log(high / low)
        pieces.append((math.log(before) - slope * math.log(low), 2.0 + slope))

    corners, logs = [math.log(m) for m, _ in points], [math.log(c) for _, c in points]

    def heat_of_many(multiples):
        import numpy as np

        found = multiples * multiples
        beyond = multiples > first
        if beyond.any():
            found = np.where(
                beyond, found * np.exp(np.interp(np.log(np.maximum(multiples, first)), corners, logs)), found
            )
        return found

    def heat(multiple: float) -> float:
        if not plain(multiple):
            return heat_of_many(multiple)  # type: ignore[no-any-return]
        if multiple <= first:
            return multiple * multiple
        if multiple >= end:
            return multiple * multiple * last
        level, slope = pieces[bisect_right(at, multiple) - 1]
        return math.exp(level + slope * math.log(multiple))

    return heat


def along(points: Sequence[Point]) -> list[Point]:
    """Points with others on the straight lines between them, ln t over ln m."""
    found: list[Point] = []
    for (low, long), (high, short) in pairwise(points):
        for k in range(BETWEEN):
            share = k / BETWEEN
            found.append((low * (high / low) ** share, long * (short / long) ** share))
    return [*found, points[-1]]


def kept_to(edge: Edge, points: Sequence[Point]) -> Edge:
    """The edge corrected so that at every finite point (multiple, time [s]), from cold, it trips just then.

    The correction is m_u^2/(r(t) m^2), r(t) = sum_j w_j (1 - exp(-t/tau_j)) being the answer to a step; it begins with
    one at the ultimate multiple. Between points ln t runs straight in ln m.
    """

    def answer(time: float) -> float:
        return sum(w * -math.expm1(-time / tau) for w, tau in zip(edge.weights, edge.time_constants, strict=True))

    finite = [point for point in points if math.isfinite(point[1])]
    rows = [(m, edge.trip_level / answer(t) / (m * m)) for m, t in along(finite)]
    return replace(edge, corrections=((edge.ultimate_multiple, 1.0), *rows))


def trip_time(edge: Edge, multiple: float, start: float = 0.0) -> float:
    """Time to trip at a constant current multiple from a uniform thermal state: 0 if tripped, inf if never. [s]

    One pole in closed form, t = tau ln((m^2 - theta0)/(m^2 - m_u^2)); several by bracketing, theta being monotone.
    """
    final = heating(edge, multiple)
    if start >= edge.trip_level:
        return 0.0
    if final <= edge.trip_level:
        return math.inf
    if len(edge.weights) == 1:
        return edge.time_constants[0] * math.log((final - start) / (final - edge.trip_level))
    missing = final - edge.trip_level

    def short(t: float) -> float:
        left = (final - start) * sum(
            w * math.exp(-t / tau) for w, tau in zip(edge.weights, edge.time_constants, strict=True)
        )
        return left - missing

    low, high = 0.0, max(edge.time_constants)
    while short(high) > 0.0:
        high *= 2.0
    while high - low > 1e-12 * high:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if short(middle) > 0.0 else (low, middle)
    return 0.5 * (low + high)


def fit_errors(edge: Edge, points: Sequence[Point]) -> tuple[float, ...]:
    """The edge's trip time over that of each finite point. [-]"""
    return tuple(trip_time(edge, m) / t for m, t in points if math.isfinite(t))
