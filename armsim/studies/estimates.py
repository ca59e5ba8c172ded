"""What a motor can make of a train, between designs that were calculated: bounds for very many combinations.

While the motor drives, a train of stages with constant efficiencies is told by three numbers: its reduction, its
efficiency and its inertia on the motor's shaft (the recursion's slope). A grid over these is followed by the ensemble.
What lies between its points is interpolated where they lie close, else their best counts: times rise steeply towards
a stall. A combination is only ever put aside where it misses by more than ALLOWANCE.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import product

import numpy as np
from numpy.typing import NDArray

from armsim.drivetrain.machine import Machine
from armsim.parts.stage import ConstantEfficiency, Stage, reverse_of
from armsim.studies.many import Question, evaluate_designs

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
ALLOWANCE = 0.02  #: share by which an interpolated value may be off [-]
SPREAD = 4.0 * ALLOWANCE  #: of neighbours; a parabola between them leaves its chord by a quarter of that at most [-]
EDGE_ALLOWANCE = 0.1  #: the same beside a neighbour that does not arrive [-]
STEP = 0.05  #: between reductions, in their logarithm [-]
COARSER = 0.06  #: between efficiencies, likewise [-]
MOST_REDUCTIONS, MOST_EFFICIENCIES, INERTIAS = 80, 8, 5
MOST_INERTIA = 30.0  #: times that of the rotors, beyond which more of it only slows down [-]
#: what is kept of each grid point
KEPT = ("lift_time", "motor_current", "supply_current", "bus_voltage", "winding", "speed", "trips")


def with_train(machine: Machine, stages: tuple[Stage, ...]) -> Machine:
    """A machine with stages between what is inside its motor and a carriage's rack or drum."""
    ends = len(machine.stages) - (machine.arm.kind == "carriage")
    return replace(machine, stages=(*machine.stages[:ends], *stages, *machine.stages[ends:]))


@dataclass(frozen=True, kw_only=True)
class Range:
    """Between what lie the combinations to be told of: reduction, efficiency and inertia [-, -, kg*m2]."""

    reduction: tuple[float, float]
    efficiency: tuple[float, float]
    inertia: float  #: largest

    def joined(self, other: "Range | None") -> "Range":
        """Both."""
        if other is None:
            return self
        (a, b), (c, d) = self.reduction, self.efficiency
        (e, f), (g, h) = other.reduction, other.efficiency
        return Range(
            reduction=(min(a, e), max(b, f)),
            efficiency=(min(c, g), max(d, h)),
            inertia=max(self.inertia, other.inertia),
        )


@dataclass(frozen=True, kw_only=True)
class Grid:
    """A motor's lifts over reduction, efficiency and inertia."""

    axes: tuple[
        Array, Array, Array
    ]  #: logarithms of reduction and efficiency, and of 1 + inertia over that of the rotors
    rotors: float  #: [kg*m2]
    values: dict[str, Array]  #: on the grid; NaN where it does not arrive

    @property
    def rows(self) -> int:
        """Designs calculated."""
        return math.prod(len(axis) for axis in self.axes)


def axes_of(span: Range, rotors: float) -> tuple[Array, Array, Array]:
    """Points of the grid along each axis."""
    low, high = np.log(span.reduction)
    best, worst = math.log(span.efficiency[1]), math.log(span.efficiency[0])
    many = min(max(math.ceil((high - low) / STEP) + 1, 2), MOST_REDUCTIONS)
    grades = min(max(math.ceil((best - worst) / COARSER) + 1, 2), MOST_EFFICIENCIES)
    heavy = math.log1p(min(span.inertia / rotors, MOST_INERTIA))
    return (
        np.linspace(low - 1e-9, high + 1e-9, many),
        np.linspace(worst - 1e-9, best + 1e-9, grades),
        np.linspace(0.0, heavy + 1e-9, INERTIAS),
    )


def grid_of(question: Question, span: Range) -> Grid:
    """Follow the question's machine, which has no train, with one ideal stage for each point of the grid."""
    machine = question.machine
    rotors = machine.motor.count * machine.motor.rotor_inertia or 1e-7
    axes = axes_of(span, rotors)
    reduction, efficiency, weight = (part.ravel() for part in np.meshgrid(*axes, indexing="ij"))
    efficiency = np.minimum(np.exp(efficiency), 1.0)
    stage = Stage(
        kind="gears",
        name="train",
        reduction=np.exp(reduction),  # type: ignore[arg-type]
        law=ConstantEfficiency(forward=efficiency, reverse=reverse_of(efficiency)),  # type: ignore[arg-type]
        input_inertia=rotors * np.expm1(weight),  # type: ignore[arg-type]
    )
    wanted = replace(question, machine=machine, wishes=())
    columns = evaluate_designs(wanted, with_train(machine, (stage,)), len(reduction))
    shape = tuple(len(axis) for axis in axes)
    arrives = columns["reached"]
    values = {name: np.where(arrives, columns[name], np.nan).reshape(shape) for name in KEPT}
    return Grid(axes=axes, rotors=rotors, values=values)


@dataclass(frozen=True)
class Between:
    """Where combinations lie in a grid: the eight points around each, and their weights."""

    grid: Grid
    corners: tuple[tuple[NDArray[np.int64], Array], ...]

    def around(self, name: str) -> Iterator[tuple[Array, Array]]:
        """Values at the points around, and their weights."""
        flat = self.grid.values[name].ravel()
        for index, weight in self.corners:
            yield flat[index], weight

    def least(self, name: str) -> Array:
        """No combination has less; infinite where none of its neighbours arrives."""
        value, low, close = self._both(name)
        near = np.where(np.isnan(low), np.inf, low - EDGE_ALLOWANCE * np.abs(low))
        smooth = np.where(close, value, low)
        return np.where(np.isnan(value), near, smooth - ALLOWANCE * np.abs(smooth))

    def most(self, name: str) -> Array:
        """No combination has more."""
        value, high, close = self._both(name, most=True)
        near = np.where(np.isnan(high), -np.inf, high + EDGE_ALLOWANCE * np.abs(high))
        smooth = np.where(close, value, high)
        return np.where(np.isnan(value), near, smooth + ALLOWANCE * np.abs(smooth))

    def _both(self, name: str, *, most: bool = False) -> tuple[Array, Array, Flags]:
        """Between the neighbours, the least or most of them, and whether they lie so close that the former will do."""
        value = np.zeros(len(self.corners[0][0]))
        low, high = np.full(len(value), np.nan), np.full(len(value), np.nan)
        for here, weight in self.around(name):
            value += weight * here
            low, high = np.fmin(low, here), np.fmax(high, here)
        return value, high if most else low, high - low <= SPREAD * np.abs(low)


def between(grid: Grid, reduction: Array, efficiency: Array, inertia: Array) -> Between:
    """Find combinations in a grid; what lies beyond its inertias counts as the heaviest."""
    points = (
        np.log(reduction),
        np.log(efficiency),
        np.log1p(np.minimum(inertia / grid.rotors, MOST_INERTIA)),
    )
    lower, shares = [], []
    for axis, at in zip(grid.axes, points, strict=True):
        place = (at - axis[0]) / max(axis[1] - axis[0], 1e-300)
        below = np.clip(place.astype(np.int64), 0, len(axis) - 2)
        lower.append(below)
        shares.append(np.clip(place - below, 0.0, 1.0))
    _, many, deep = (len(axis) for axis in grid.axes)
    corners = []
    for step in product((0, 1), repeat=3):
        a, b, c = (below + s for below, s in zip(lower, step, strict=True))
        weight = np.prod([share if s else 1.0 - share for share, s in zip(shares, step, strict=True)], axis=0)
        corners.append(((a * many + b) * deep + c, weight))
    return Between(grid, tuple(corners))
