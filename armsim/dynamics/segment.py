"""One segment of a run: step SciPy's LSODA through a mode until a guard is used up or the time is.

SciPy's own event search compares signs at step ends only and re-fires on restart, so it is not used: guards are
sampled inside every step, roots are sought on the step's interpolant (as accurate as the steps at these tolerances),
and the caller sets the state exactly before the next mode.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from armsim.drivetrain.machine import Machine
from armsim.dynamics.field import Look, State, look, scales, vector_field
from armsim.dynamics.guards import Guard
from armsim.dynamics.modes import Mode

SAMPLES = 3  #: looks inside a step
ZERO = 1e-12  #: share of a guard's scale that counts as zero where a mode begins
METHOD = "LSODA"


class SolverError(RuntimeError):
    """The run could not be computed, or its result cannot be trusted."""

    exit_status = 3


@dataclass(frozen=True, kw_only=True)
class Tolerances:
    """Of the stepper: relative, and absolute as a share of each state's size."""

    relative: float = 1e-8
    absolute: float = 1e-10


class Sample(NamedTuple):
    """The machine at one recorded instant."""

    time: float
    state: State
    look: Look


class Outcome(NamedTuple):
    """How a segment ended: at a guard, or (None) at its time limit."""

    samples: list[Sample]
    guard: Guard | None
    evaluations: int
    steps: int


def run_segment(
    machine: Machine,
    mode: Mode,
    start: float,
    state: State,
    until: float,
    guards: Sequence[Guard],
    tolerances: Tolerances,
) -> Outcome:
    """Follow a mode from a state to the first guard or to a time [s], keeping samples on the way."""
    first = Sample(start, state, look(machine, mode, start, state.tolist()))
    margins = [guard.margin(start, state.tolist(), first.look) for guard in guards]
    for guard, margin in zip(guards, margins, strict=True):
        if margin < -ZERO * guard.scale and not guard.waits:
            return Outcome([first], guard, 0, 0)
    solver = stepper(machine, mode, start, state, until, tolerances)
    samples, steps = [first], 0
    while solver.status == "running":
        message = solver.step()
        steps += 1
        if solver.status == "failed" or not np.all(np.isfinite(solver.y)):
            raise SolverError(f"the stepper failed at t = {solver.t:.6g} s: {message or 'a state is not finite'}")
        dense = solver.dense_output()
        times = np.linspace(solver.t_old, solver.t, SAMPLES + 1)[1:]
        for time, column in zip(times.tolist(), dense(times).T, strict=True):
            now = Sample(time, column, look(machine, mode, time, column.tolist()))
            values = [guard.margin(time, column.tolist(), now.look) for guard in guards]
            fired = list(crossed(guards, margins, values))
            if fired:
                hit, guard = earliest(machine, mode, dense, samples[-1].time, now, fired)
                return Outcome([*samples, hit], guard, solver.nfev, steps)
            samples.append(now)
            margins = values
    return Outcome(samples, None, solver.nfev, steps)


def crossed(guards: Sequence[Guard], before: Sequence[float], after: Sequence[float]) -> Iterator[Guard]:
    """Guards used up between two looks. One that begins at zero counts if it goes clearly negative at once."""
    for guard, was, value in zip(guards, before, after, strict=True):
        tiny = ZERO * guard.scale
        if (was > tiny and value <= 0.0) or (was >= -tiny and value < -tiny):
            yield guard


def earliest(
    machine: Machine, mode: Mode, dense: object, low: float, far: Sample, fired: Sequence[Guard]
) -> tuple[Sample, Guard]:
    """The first of the guards that are used up before a sample, and the instant it happens."""
    from scipy.optimize import brentq

    def at(time: float) -> Sample:
        state = dense(time)  # type: ignore[operator]
        return Sample(time, state, look(machine, mode, time, state.tolist()))

    def instant(guard: Guard) -> float:
        def margin(time: float) -> float:
            there = at(time)
            return guard.margin(time, there.state.tolist(), there.look)

        if margin(low) <= 0.0:
            return low
        if margin(far.time) > 0.0:
            return far.time
        return float(brentq(margin, low, far.time, xtol=1e-15, rtol=1e-15))

    hits = [(instant(guard), order, guard) for order, guard in enumerate(fired)]
    time, _, guard = min(hits, key=lambda hit: hit[:2])
    return at(time), guard


def stepper(machine: Machine, mode: Mode, start: float, state: State, until: float, tolerances: Tolerances):  # type: ignore[no-untyped-def]
    """SciPy's LSODA on the mode's field; the first step is bounded by the winding's time constant."""
    from scipy.integrate import LSODA

    winding = machine.motor.inductance / machine.loop_resistance
    return LSODA(
        vector_field(machine, mode),
        start,
        state,
        until,
        first_step=min(0.01 * winding, 0.5 * (until - start)),
        rtol=tolerances.relative,
        atol=tolerances.absolute * scales(machine),
    )
