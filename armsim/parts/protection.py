"""Breakers and fuses as a band: an earliest and a latest accumulator of thermal state.

Each edge of the band is theta = sum_j w_j theta_j with tau_j d(theta_j)/dt = m^2 - theta_j, where m is current over
rating; it trips at theta = m_u^2, the ultimate multiple squared. A band is not a guarantee.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations, pairwise
from typing import Any, Literal

Side = Literal["earliest", "latest"]
Point = tuple[float, float]  #: current multiple [-] and trip time [s]; an infinite time: must hold
Row = tuple[float, float, float]  #: current multiple [-], earliest and latest trip time [s]

JUST_BELOW = 1.0 - 1e-3  #: ultimate multiple of a latest edge over the lowest multiple of its table [-]
LONGEST_MEMORY = 1e4  #: longest time constant a fit may take, unless the table itself goes on longer [s]


@dataclass(frozen=True, kw_only=True)
class Edge:
    """One edge of the trip band as a sum of first-order thermal states."""

    weights: tuple[float, ...]  #: sum to one [-]
    time_constants: tuple[float, ...]  #: [s]
    ultimate_multiple: float  #: current over rating below which it never opens [-]

    @property
    def trip_level(self) -> float:
        """Thermal state at which it opens, m_u^2. [-]"""
        return self.ultimate_multiple**2


@dataclass(frozen=True, kw_only=True)
class Protection:
    """A protective device in the supply line ahead of every load."""

    kind: str
    rating: float  #: [A]
    earliest: Edge
    latest: Edge
    resets_itself: bool = False
    reset_share: float = 0.6  #: of the trip level, below which an automatic one closes again [-]
    opens_at_earliest: bool = False  #: which edge opens the circuit in the run; the verdict uses both


def trip_time(edge: Edge, multiple: float, start: float = 0.0) -> float:
    """Time to trip at a constant current multiple from a uniform thermal state; inf if never. [s]

    One pole in closed form, t = tau ln((m^2 - theta0)/(m^2 - m_u^2)); several by bracketing, theta being monotone.
    """
    final = multiple * multiple
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


def fit_band(rows: Sequence[Row]) -> tuple[Edge, Edge]:
    """Earliest and latest edge that enclose a trip table: multiple, earliest and latest time [s], rising in multiple.

    A row whose latest time is infinite is a hold: the earliest edge never trips there, and may just above it. The
    latest edge opens for sure only from the lowest multiple with a finite latest time on. Both are fitted to the table
    and to the thirds of each of its pieces, then moved outwards until no such point lies outside the band. Raises
    ValueError for a table without a finite latest time, or whose times rise with current.
    """
    _refuse_bad_table(rows)
    holds = [row for row in rows if math.isinf(row[2])]
    early = [(m, t) for m, t, latest in rows if math.isfinite(latest)]
    late = [(m, t) for m, _, t in rows if math.isfinite(t)]
    if holds and math.isfinite(holds[-1][1]):
        early_samples = _with_thirds([(holds[-1][0], holds[-1][1]), *early])[1:]
    else:
        early_samples = _with_thirds(early)
    hold = holds[-1][0] if holds else min(1.0, JUST_BELOW * early[0][0])
    late_samples = _with_thirds(late)
    earliest = conservative(_fit_best(early_samples, hold, "earliest"), early_samples, "earliest")
    latest = conservative(_fit_best(late_samples, JUST_BELOW * late[0][0], "latest"), late_samples, "latest")
    return earliest, latest


def fit_edge(
    points: Sequence[Point], poles: int = 1, side: Side = "earliest", ultimate_multiple: float | None = None
) -> Edge:
    """One edge of a trip band fitted to points by least squares on ln t, each weighing the same.

    Points of infinite time hold: the ultimate multiple is not below them. Without an `ultimate_multiple` one pole fits
    it too; more poles take the hold (an earliest edge) or just below the lowest point (a latest one). The fit passes
    on both sides of the points: see `conservative`. Raises ValueError for fewer finite points than poles.
    """
    finite = sorted((m, t) for m, t in points if math.isfinite(t))
    holds = [m for m, t in points if math.isinf(t)]
    if len(finite) < poles or not finite:
        raise ValueError(f"{poles} thermal states need at least as many points with a finite time")
    floor = max(holds, default=0.0)
    if floor >= finite[0][0]:
        raise ValueError(f"it cannot both hold at {floor:g} and trip at {finite[0][0]:g} times the rating")
    if ultimate_multiple is None and poles == 1:
        return _fit_single(finite, floor)
    if ultimate_multiple is None:
        resting = floor or min(1.0, JUST_BELOW * finite[0][0])
        ultimate_multiple = resting if side == "earliest" else JUST_BELOW * finite[0][0]
    return _fit_poles(finite, poles, ultimate_multiple)


def fit_errors(edge: Edge, points: Sequence[Point]) -> tuple[float, ...]:
    """The edge's trip time over that of each finite point. [-]"""
    return tuple(trip_time(edge, m) / t for m, t in points if math.isfinite(t))


def conservative(edge: Edge, points: Sequence[Point], side: Side) -> Edge:
    """The edge with its times scaled so that an earliest one is at no point later, a latest one at none earlier."""
    errors = fit_errors(edge, points)
    worst = max(errors) if side == "earliest" else min(errors)
    if worst <= 1.0 if side == "earliest" else worst >= 1.0:
        return edge
    return replace(edge, time_constants=tuple(tau / worst for tau in edge.time_constants))


def _refuse_bad_table(rows: Sequence[Row]) -> None:
    if not any(math.isfinite(row[2]) for row in rows):
        raise ValueError("a trip table needs a latest time at one multiple at least")
    for row in rows:
        if not (row[0] > 0.0 and 0.0 < row[1] <= row[2]):
            raise ValueError(f"at {row[0]:g} times the rating the times must be above 0, earliest first")
    for before, after in pairwise(rows):
        if after[0] <= before[0] or after[1] > before[1] or after[2] > before[2]:
            raise ValueError(f"from {before[0]:g} to {after[0]:g} times the rating the trip times must not rise")


def _with_thirds(points: Sequence[Point]) -> list[Point]:
    """The points and, between neighbours, two more that part the way in ln m and ln t."""
    dense = [points[0]]
    for (m0, t0), (m1, t1) in pairwise(points):
        dense += [(m0 * (m1 / m0) ** share, t0 * (t1 / t0) ** share) for share in (1.0 / 3.0, 2.0 / 3.0)]
        dense.append((m1, t1))
    return dense


def _fit_best(points: Sequence[Point], ultimate_multiple: float, side: Side) -> Edge:
    """As many poles, up to three, as bring the worst point within a tenth, or as still bring it nearer."""

    def worst(edge: Edge) -> float:
        return max(abs(math.log(error)) for error in fit_errors(edge, points))

    best = fit_edge(points, 1, side, ultimate_multiple)
    for poles in (2, 3):
        if worst(best) > 0.1 and len(points) >= 2 * poles - 1:
            richer = fit_edge(points, poles, side, ultimate_multiple)
            best = richer if worst(richer) < 0.95 * worst(best) else best
    return best


def _fit_single(points: Sequence[Point], floor: float) -> Edge:
    """One pole, its time constant in closed form for each ultimate multiple tried between floor and lowest point."""
    from scipy.optimize import minimize_scalar

    def deviations(ultimate: float) -> list[float]:
        return [math.log(t / math.log(m * m / (m * m - ultimate * ultimate))) for m, t in points]

    def scatter(ultimate: float) -> float:
        logs = deviations(ultimate)
        mean = sum(logs) / len(logs)
        return sum((log - mean) ** 2 for log in logs)

    ceiling = points[0][0] - 1e-4
    found = float(minimize_scalar(scatter, bounds=(floor, ceiling), method="bounded", options={"xatol": 1e-10}).x)
    ultimate = min((found, ceiling, max(floor, 1e-3)), key=scatter)
    logs = deviations(ultimate)
    tau = math.exp(sum(logs) / len(logs))
    return Edge(weights=(1.0,), time_constants=(tau,), ultimate_multiple=ultimate)


def _fit_poles(points: Sequence[Point], poles: int, ultimate_multiple: float) -> Edge:
    """Weights and time constants at a given ultimate multiple: the best of several starts, fastest state first."""
    import numpy as np
    from scipy.optimize import least_squares

    multiples, times = (np.array(column) for column in zip(*points, strict=True))

    def unpack(x: Any) -> tuple[Any, Any]:
        shares = np.exp(x[:poles] - np.max(x[:poles]))
        return shares / shares.sum(), np.exp(x[poles:])

    def fitted_times(x: Any) -> Any:
        weights, constants = unpack(x)
        edge = Edge(weights=tuple(weights), time_constants=tuple(constants), ultimate_multiple=ultimate_multiple)
        return np.array([trip_time(edge, m) for m in multiples])

    def residuals(x: Any) -> Any:
        return np.log(fitted_times(x) / times)

    def slopes(x: Any) -> Any:
        # sum_j w_j (1 - e_j) = (m_u/m)^2 along the fit: dt from its differential
        weights, constants = unpack(x)
        elapsed = fitted_times(x)[:, None] / constants
        left = np.exp(-elapsed)
        lean = np.sum(weights * left * elapsed, axis=1, keepdims=True)
        by_weight = weights * (left - np.sum(weights * left, axis=1, keepdims=True)) / lean
        return np.hstack([by_weight, weights * left * elapsed / lean])

    low, high = np.log(times.min()) - 3.0, np.log(max(LONGEST_MEMORY, times.max()))
    limits = ([-12.0] * poles + [low] * poles, [12.0] * poles + [high] * poles)
    fits = [
        least_squares(residuals, start, jac=slopes, bounds=limits, ftol=1e-9, xtol=1e-9, max_nfev=200)
        for start in _starts(points, poles, ultimate_multiple)
    ]
    weights, constants = unpack(min(fits, key=lambda fit: float(fit.cost)).x)
    order = np.argsort(constants)
    return Edge(
        weights=tuple(float(w) for w in weights[order]),
        time_constants=tuple(float(tau) for tau in constants[order]),
        ultimate_multiple=ultimate_multiple,
    )


def _starts(points: Sequence[Point], poles: int, ultimate_multiple: float) -> list[Any]:
    """Where fits start: each faster state alone trips from some multiple of the table on, m_u/sqrt(w), in its time."""
    import numpy as np

    inner = sorted({round(k * (len(points) - 1)) for k in (0.25, 0.5, 0.75)})
    starts = []
    for chosen in combinations(inner, poles - 1):
        weights = [0.9 * (ultimate_multiple / points[k][0]) ** 2 for k in chosen]
        slowest = max(1.0 - sum(weights), 0.1)
        times = [points[k][1] for k in chosen]
        starts.append(np.log([slowest, *weights, 0.3 * points[0][1], *times]))
    return starts
