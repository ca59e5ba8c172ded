"""One segment of a run: step SciPy's LSODA through a mode until a guard is used up or the time is.

SciPy's own event search compares signs at step ends only and re-fires on restart, so it is not used: guards are
sampled inside every step, roots are sought on the step's interpolant (as accurate as the steps at these tolerances),
and the caller sets the state exactly before the next mode.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np

from armsim.drivetrain.machine import Machine
from armsim.dynamics.field import Look, physics, vector_field
from armsim.dynamics.guards import Guard
from armsim.dynamics.modes import Drive, Mode
from armsim.dynamics.state import ANGLE, State, scales

FINE = 8  #: looks inside a step in which a guard may dip below zero and come back, or the path bends
SHORT = 50.0  #: time constants of the winding within which an explicit stepper of high order is the quicker one
HALVINGS = 20  #: of the time to a guard that begins at zero, in search of where it was positive
VISIBLE = 1e-3  #: distance of the arm from a straight line between samples that shows [rad]
ZERO = 1e-12  #: share of a guard's scale that counts as zero where a mode begins
NEAREST = 1e-30  #: to a segment's start that an instant is told from it [s]: quick windings cross guards within 1e-15 s


class SolverError(RuntimeError):
    """The run could not be computed, or its result cannot be trusted."""

    exit_status = 3


@dataclass(frozen=True, kw_only=True)
class Tolerances:
    """Of the stepper: relative, and absolute as a share of each state's size; and of cycles passed over."""

    relative: float = 1e-8
    absolute: float = 1e-10
    cycles: float = 1.0  #: largest correction of a temperature over a stride of cycles; 0 steps every cycle [K]


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


class View(NamedTuple):
    """A sample with the margins of all guards at it."""

    since: float  #: the segment's start [s]
    sample: Sample
    margins: list[float]


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

    from scipy.integrate import DOP853

    core = physics(machine, mode)

    # time runs from the segment's start, or an hour into a run instants could not be told apart
    def view(since: float, state: State) -> View:
        row: list[float] = state.tolist()
        time = start + since
        now = Look(*core(time, row))
        margins = [guard.margin(time, row, now) for guard in guards]
        return View(since, Sample(time, state, now), margins)

    last = view(0.0, state)
    for guard, margin in zip(guards, last.margins, strict=True):
        if margin < -ZERO * guard.scale and not guard.waits:
            return Outcome([last.sample], guard, 0, 0)
    solver = stepper(machine, mode, vector_field(machine, mode, core, start), state, until - start, tolerances)
    samples, steps = [last.sample], 0
    while solver.status == "running":
        message = solver.step()
        steps += 1
        if solver.status == "failed" or not np.all(np.isfinite(solver.y)):
            raise SolverError(
                f"the stepper failed at t = {start + solver.t:.6g} s: {message or 'a state is not finite'}"
            )
        final = view(solver.t, solver.y)
        if isinstance(solver, DOP853) and quiet(view, guards, solver, last, final):
            samples.append(final.sample)
            last = final
            continue
        dense = solver.dense_output()
        for now in views(view, dense, last, final):
            fired = list(crossed(guards, last.margins, now.margins))
            if fired:
                hit, guard = earliest(view, dense, guards, fired, last.since, now.since)
                return Outcome([*samples, hit], guard, solver.nfev, steps)
            samples.append(now.sample)
            last = now
    return Outcome(samples, None, solver.nfev, steps)


Dense = Callable[[float], State]
Field = Callable[[float, State], list[float]]
Viewer = Callable[[float, State], View]


def quiet(view: Viewer, guards: Sequence[Guard], solver: Any, last: View, final: View) -> bool:
    """True where no guard is used up or dips in an eighth-order step, told by the cubic through its ends.

    The step's own interpolant costs three evaluations more, so it is made where something happens only.
    """
    before, after = last.sample.look, final.sample.look
    if before.current_slope * after.current_slope < 0.0 or before.acceleration * after.acceleration < 0.0:
        return False  # a peak lies within, to be seen closely
    start, end = last.since, final.since
    bend = (end - start) / 8.0 * (solver.K[0] - solver.f)
    middle = view(0.5 * (start + end), 0.5 * (last.sample.state + final.sample.state) + bend)
    sides = ((last, middle), (middle, final))
    if bends(last, middle, final):
        return False
    used_up = any(next(crossed(guards, a.margins, b.margins), None) is not None for a, b in sides)
    return not used_up and not dips(last.margins, middle.margins, final.margins)


def views(view: Viewer, dense: Dense, last: View, final: View) -> list[View]:
    """Looks inside a step and at its end: two, or more where a margin may dip between them or the path bends."""
    start, end = last.since, final.since
    middle = view(0.5 * (start + end), dense(0.5 * (start + end)))
    if dips(last.margins, middle.margins, final.margins) or bends(last, middle, final):
        return [*(view(time, dense(time)) for time in np.linspace(start, end, FINE + 1)[1:-1].tolist()), final]
    return [middle, final]


def bends(start: View, middle: View, end: View) -> bool:
    """True where a straight line between a step's ends would draw the arm visibly off its path."""
    angles = [float(view.sample.state[ANGLE]) for view in (start, middle, end)]
    return abs(angles[1] - 0.5 * (angles[0] + angles[2])) > VISIBLE


def dips(start: Sequence[float], middle: Sequence[float], end: Sequence[float]) -> bool:
    """True where the parabola through a margin's start, middle and end goes below zero though none of them does."""
    for a, b, c in zip(start, middle, end, strict=True):
        bend, slope = 2.0 * (a - 2.0 * b + c), 4.0 * b - 3.0 * a - c
        if a > 0.0 < b and c > 0.0 and 0.0 < -slope < 2.0 * bend and slope * slope > 4.0 * bend * a:
            return True
    return False


def crossed(guards: Sequence[Guard], before: Sequence[float], after: Sequence[float]) -> Iterator[int]:
    """Which guards are used up between two looks. One that begins at zero counts if it goes clearly negative."""
    for index, (guard, was, value) in enumerate(zip(guards, before, after, strict=True)):
        tiny = ZERO * guard.scale
        if (was > tiny and value <= 0.0) or (was >= -tiny and value < -tiny):
            yield index


def earliest(
    view: Viewer, dense: Dense, guards: Sequence[Guard], fired: Sequence[int], low: float, high: float
) -> tuple[Sample, Guard]:
    """The first of the guards that are used up between two times, and the instant it happens."""
    from scipy.optimize import brentq

    def instant(index: int) -> float:
        def margin(since: float) -> float:
            return view(since, dense(since)).margins[index]

        if margin(high) > 0.0:
            return high
        start = low if margin(low) > 0.0 else first_positive(margin, low, high)
        return low if start is None else float(brentq(margin, start, high, xtol=NEAREST, rtol=1e-15, maxiter=500))

    time, index = min((instant(index), index) for index in fired)
    return view(time, dense(time)).sample, guards[index]


def first_positive(margin: Callable[[float], float], low: float, high: float) -> float | None:
    """Where a margin that begins at zero is positive before it is used up; None where it falls from the first."""
    shares = (0.5**halvings for halvings in range(1, HALVINGS))
    return next((low + share * (high - low) for share in shares if margin(low + share * (high - low)) > 0.0), None)


def stepper(  # type: ignore[no-untyped-def]
    machine: Machine, mode: Mode, field: Field, state: State, duration: float, tolerances: Tolerances
):
    """SciPy's LSODA on a mode's field; an explicit stepper where nothing is stiff in it.

    That is over a time of few winding constants, or while the arm moves with the winding's current standing still.
    """
    from scipy.integrate import DOP853, LSODA

    winding = machine.motor.inductance / machine.loop_resistance
    stiff = machine.outlet is not None or machine.motor.brush_drop > 0.0
    short = duration < SHORT * winding and not stiff
    loose = mode.sense != 0 and mode.drive in (Drive.OPEN, Drive.REGULATING) and not stiff
    return (DOP853 if short or loose else LSODA)(
        field,
        0.0,
        state,
        duration,
        first_step=min((1.0 if short else 0.01) * winding, 0.5 * duration),
        rtol=tolerances.relative,
        atol=tolerances.absolute * scales(machine),
    )
