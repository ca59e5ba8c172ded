"""The heat of one cycle as a map of temperatures, and where it leads when the cycle goes on and on.

A cycle turns the rises of winding and housing at its beginning into those at its end, and at each instant within, by a
straight map x' = A x + b where its copper loss grows straight with the winding's temperature: exactly so for given
currents, as of a position loop; a drive at constant duty draws less when warm, and its growth is read from two cycles.
From that follow the settled cycle, the cycle that first passes a limit, the rest that would keep it within, and, with
the currents of another payload, the payload that just does. Each step is by the implicit midpoint rule.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from armsim.checks.cycle_series import CycleSeries, Series, per_ampere
from armsim.checks.search import narrowed
from armsim.drivetrain.machine import Machine, loaded
from armsim.drivetrain.train import motion_torque, respond, speed_regimes
from armsim.dynamics.slow import Decay
from armsim.dynamics.steering import holding_current
from armsim.parts.duty import mean_squares, slow_time_constant
from armsim.parts.motor import COPPER_ZERO, Heat, resistance_ratio

Matrices = NDArray[np.float64]

PARTS = 400  #: into which a cycle is cut for its heat, beside the instants at which something happens
POINTS = 600  #: at which a cycle's torques are asked for
MOST_CYCLES = 20000  #: that are followed for the one which passes a limit
TELLING = 3.0  #: difference of winding temperatures that tells how the loss grows [K]
STILL_RISING = 1e-7  #: rise from cycle to cycle below which temperatures have settled [K]


@dataclass(frozen=True, kw_only=True)
class CycleHeat:
    """Maps from the rises over ambient (winding, housing) at the beginning of a cycle to those at each instant. [K]"""

    kept: Matrices  #: of what was there, instants by 2 by 2; the last is the cycle's end
    added: Matrices  #: by the cycle, instants by 2
    ambient: float  #: [degC]
    slow: float  #: the slower time constant [s]
    thermal: Callable[[float], Matrices]  #: what a time [s] without current leaves

    def peak(self, start: Series) -> float:
        """Highest winding temperature of a cycle that begins so. [degC]"""
        return self.hottest(start)[0]

    def hottest(self, start: Series) -> tuple[float, float]:
        """Winding and housing where such a cycle's winding is hottest. [degC]"""
        rises = self.kept @ start + self.added
        winding, housing = rises[int(rises[:, 0].argmax())] + self.ambient
        return float(winding), float(housing)

    def settled(self, rest: float = 0.0) -> Series | None:
        """Rises at the beginning of the cycle gone on with, each followed by a rest [s]; None: they run away. [K]"""
        cooled = self.thermal(rest)
        kept, added = cooled @ self.kept[-1], cooled @ self.added[-1]
        if float(np.max(np.abs(np.linalg.eigvals(kept)))) >= 1.0:
            return None
        start: Series = np.linalg.solve(np.eye(2) - kept, added)
        return start

    def settles_at(self, rest: float = 0.0) -> float | None:
        """Highest winding temperature of that cycle; None: it runs away. [degC]"""
        start = self.settled(rest)
        return None if start is None else self.peak(start)

    def passes_in(self, limit: float, start: Series) -> int | None:
        """How many cycles from a beginning on the winding first passes a limit [degC], from 1; None: never seen."""
        for number in range(1, MOST_CYCLES + 1):
            if self.peak(start) > limit:
                return number
            after = self.kept[-1] @ start + self.added[-1]
            if float(np.max(np.abs(after - start))) < STILL_RISING:
                return None
            start = after
        return None

    def rest_needed(self, limit: float) -> float | None:
        """Rest to add to each cycle that it settles within a limit [degC]; 0: it does; None: no rest helps. [s]"""

        def within(rest: float) -> bool:
            top = self.settles_at(rest)
            return top is not None and top <= limit

        if within(0.0):
            return 0.0
        longest = 20.0 * self.slow
        return narrowed(within, longest, 0.0, 1e-4)[0] if within(longest) else None


def cycle_heat(
    machine: Machine, cycle: CycleSeries, payload_factor: float = 1.0, growth: float | None = None
) -> CycleHeat | None:
    """The map of a cycle as it ran, or as it would with its payloads times a factor; None without heat data.

    `growth`: of the copper loss with the winding's temperature, over that of given currents [-]; None: just that.
    With other payloads the motion is kept, which is what a position loop does as long as the drive is strong enough.
    """
    heat = machine.motor.heat
    if heat is None:
        return None
    current = cycle.current if payload_factor == 1.0 else reloaded(machine, cycle, payload_factor)
    edges, squares, friction = parts_of(machine, cycle, current)
    slope = (1.0 if growth is None else growth) / (COPPER_ZERO + machine.motor.reference_temperature)
    warmth = np.interp(0.5 * (edges[1:] + edges[:-1]), cycle.time, cycle.winding)
    resistance = machine.motor.resistance * resistance_ratio(warmth, machine.motor.reference_temperature)
    growing = machine.motor.resistance * slope
    at_ambient = resistance - growing * (warmth - machine.ambient)
    steps = np.diff(edges)
    kept, added = steps_of(heat, steps, squares * growing, squares * at_ambient, friction)
    return CycleHeat(
        kept=kept,
        added=added,
        ambient=machine.ambient,
        slow=slow_time_constant(heat),
        thermal=Decay(machine).thermal,
    )


def steps_of(heat: Heat, steps: Series, growing: Series, losses: Series, friction: Series) -> tuple[Matrices, Matrices]:
    """Maps from the beginning to the end of each step [s] in turn.

    Given are the copper loss at ambient [W], how it grows with the winding's rise [W/K], and friction's heat [W].
    """
    inner, outer = 1.0 / heat.winding_to_housing, 1.0 / heat.housing_to_air
    rates = np.empty((steps.size, 2, 2))
    rates[:, 0, 0], rates[:, 0, 1] = (growing - inner) / heat.winding_capacity, inner / heat.winding_capacity
    rates[:, 1, 0], rates[:, 1, 1] = inner / heat.housing_capacity, -(inner + outer) / heat.housing_capacity
    half_step = 0.5 * steps[:, np.newaxis, np.newaxis] * rates
    half = np.linalg.inv(np.eye(2) - half_step)
    over = half @ (np.eye(2) + half_step)
    heated = np.stack([losses / heat.winding_capacity, friction / heat.housing_capacity], axis=1) * steps[:, np.newaxis]
    kept, added = [np.eye(2)], [np.zeros(2)]
    for keeps, adds in zip(over, (half @ heated[:, :, np.newaxis])[:, :, 0], strict=True):
        kept.append(keeps @ kept[-1])
        added.append(keeps @ added[-1] + adds)
    return np.array(kept), np.array(added)


def loss_growth(machine: Machine, early: CycleSeries, late: CycleSeries) -> float | None:
    """Growth of a cycle's copper loss between two warmths, over that of given currents; None: too near. [-]"""
    reference = machine.motor.reference_temperature
    totals, warmths = [], []
    for cycle in (early, late):
        squares = mean_squares(cycle.current) * np.diff(cycle.time)
        warmth = 0.5 * (cycle.winding[1:] + cycle.winding[:-1])
        mean = float(squares @ warmth / squares.sum()) if squares.sum() > 0.0 else machine.ambient
        totals.append(float(squares.sum()) * float(resistance_ratio(mean, reference)))
        warmths.append(mean)
    if abs(warmths[1] - warmths[0]) < TELLING or totals[1] <= 0.0:
        return None
    per_kelvin = (totals[1] - totals[0]) / (warmths[1] - warmths[0]) / totals[1]
    return per_kelvin * (COPPER_ZERO + warmths[1])


def parts_of(machine: Machine, cycle: CycleSeries, current: Series) -> tuple[Series, Series, Series]:
    """Edges of a cycle's parts [s]; in each the mean square of the current [A2], heat of friction and brushes [W]."""
    time = cycle.time
    edges = np.unique(np.concatenate([np.linspace(0.0, float(time[-1]), PARTS + 1), cycle.edges]))
    edges = edges[(edges >= 0.0) & (edges <= time[-1])]
    motor, turning = machine.motor, np.abs(cycle.speed) * machine.shaft_turns[0]
    rubbing = (motor.coulomb_torque + motor.viscous_drag * turning) * turning
    rubbing = rubbing + motor.brush_drop * np.abs(current) * np.minimum(np.abs(current) / motor.brush_knee, 1.0)
    step = np.diff(time)
    totals = []
    for rate in (mean_squares(current), 0.5 * (rubbing[1:] + rubbing[:-1])):
        summed = np.concatenate([[0.0], np.cumsum(rate * step)])
        totals.append(np.diff(np.interp(edges, time, summed)) / np.diff(edges))
    return edges, totals[0], totals[1]


def reloaded(machine: Machine, cycle: CycleSeries, factor: float) -> Series:
    """Currents [A] of the same motion with its payloads times a factor."""
    stride = max(1, cycle.time.size // POINTS)
    chosen = np.unique(np.append(np.arange(0, cycle.time.size, stride), cycle.time.size - 1))
    change = np.array([current_change(machine, cycle, k, factor) for k in chosen.tolist()])
    current: Series = cycle.current + np.interp(np.arange(cycle.time.size), chosen, change)
    limit = machine.controller.current_limit
    return current if limit is None else np.clip(current, -limit, limit)


def current_change(machine: Machine, cycle: CycleSeries, k: int, factor: float) -> float:
    """What other payloads add to the current of each motor at a sample of the same motion. [A]"""
    mass, current, speed = (float(series[k]) for series in (cycle.payload, cycle.current, cycle.speed))
    if mass == 0.0 or (current == 0.0 and math.isnan(cycle.duty[k])):
        return 0.0
    before, after, angle = loaded(machine, mass), loaded(machine, factor * mass), float(cycle.angle[k])
    unit = per_ampere(machine, float(cycle.housing[k]))
    if speed == 0.0:
        held = not math.isnan(cycle.reference[k])
        cold = per_ampere(machine, machine.motor.reference_temperature)
        more = holding_current(after, angle) - holding_current(before, angle) if held else 0.0
        return more * cold / unit
    sense = 1 if speed > 0.0 else -1
    motion = respond(before, angle, speed, sense, current * unit, speed_regimes(before, speed))
    acceleration = 0.0 if motion is None else motion.acceleration
    both = (motion_torque(each, angle, speed, acceleration, sense) for each in (after, before))
    return (next(both) - next(both)) / unit


def at_rises(machine: Machine, winding: float, housing: float) -> Series:
    """Rises over ambient of two temperatures [degC]. [K]"""
    return np.array([winding - machine.ambient, housing - machine.ambient])
