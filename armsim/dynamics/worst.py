"""Where in the work cycle a loss of power does most harm: a search over all its moments.

Harm is the energy of everything that moves when a stop is met; where none is met, how far the arm has gone. Cuts are
tried across every move at moments the run has recorded, then the best are refined between their neighbours.
"""

from bisect import bisect_right
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from armsim.drivetrain.machine import Machine
from armsim.dynamics.journal import Journal
from armsim.dynamics.modes import Mode
from armsim.dynamics.moves import carry_out
from armsim.dynamics.plan import Plan
from armsim.dynamics.run import Kind, Run
from armsim.dynamics.segment import Sample, Tolerances
from armsim.dynamics.state import ANGLE, CURRENT, SPEED, State
from armsim.dynamics.trajectory import at_start, fall_from
from armsim.dynamics.voyage import Situation, Voyage, keep

TRIED = 9  #: moments of each move that are tried first
REFINED = 2  #: best of them that are refined
ENOUGH = 3e-4  #: share of the harm that is not worth an interpolated state
QUICK = Tolerances(relative=1e-6, absolute=1e-8)  #: of the falls tried


@dataclass(frozen=True)
class Moment:
    """A recorded instant of a cycle and the machine as loaded then."""

    machine: Machine
    sample: Sample
    mode: Mode


def worst_falls(machine: Machine, plan: Plan) -> tuple[Run, Run]:
    """What follows where in the first cycle a loss of power does most harm, motor terminals open and shorted.

    To about a thousandth of the harm that a dense scan of all moments finds.
    """
    moments = list(recorded(machine, plan))
    return worst_fall(moments, shorted=False), worst_fall(moments, shorted=True)


def worst_fall(moments: Sequence[Moment], *, shorted: bool) -> Run:
    """The fall from the most harmful time: from a recorded moment beside it unless that does clearly less harm."""
    times = [moment.sample.time for moment in moments]
    best = worst_of(moments, shorted=shorted)
    k = min(bisect_right(times, best) - 1, len(moments) - 1)
    beside = [(here.machine, standing_at(here)) for here in moments[k : k + 2]]
    falls = [fall_from(loaded, at, shorted=shorted) for loaded, at in (*beside, between(moments, k, best))]
    *recorded_ones, exact = falls
    nearest = max(recorded_ones, key=harm)
    return nearest if harm(nearest) >= (1.0 - ENOUGH) * harm(exact) else exact


def standing_at(moment: Moment) -> Situation:
    """The situation of a recorded moment."""
    return Situation(time=moment.sample.time, state=moment.sample.state, mode=moment.mode)


def worst_of(moments: Sequence[Moment], *, shorted: bool) -> float:
    """The most harmful time among moments and between them. [s]"""
    times = [moment.sample.time for moment in moments]

    def harm_at(time: float) -> float:
        k = min(bisect_right(times, time) - 1, len(moments) - 1)
        loaded, situation = between(moments, k, time)
        return harm(fall_from(loaded, situation, shorted=shorted, tolerances=QUICK))

    tried = sorted({times[k] for k in chosen(moments)})
    harms = [harm_at(time) for time in tried]
    ranked = sorted(range(len(tried)), key=lambda j: -harms[j])[:REFINED]
    best = (harms[ranked[0]], tried[ranked[0]])
    for j in ranked:
        low, high = tried[max(j - 1, 0)], tried[min(j + 1, len(tried) - 1)]
        best = max(best, refined(harm_at, low, high))
    return best[1]


def harm(run: Run) -> float:
    """Energy of the whole machine at the hardest meeting with a stop; else a token of how far the arm went. [J]"""
    inertia = run.machine.inertia
    hits = [0.5 * inertia * event.speed**2 for event in run.events if event.kind is Kind.STOP_HIT]
    return max(hits, default=0.0) or 1e-9 * abs(float(run.angle[-1] - run.angle[0]))


def recorded(machine: Machine, plan: Plan) -> Iterator[Moment]:
    """Every recorded instant of the first cycle."""
    situation = at_start(machine, plan)
    journal, loaded = Journal(machine, situation.state), machine
    voyage, told = Voyage(machine=machine, journal=journal), 0
    keep(voyage, situation)
    for after, _, _ in carry_out(voyage, situation, plan, None):
        for sample, mode in journal.samples[told:]:
            yield Moment(loaded, sample, mode)
        told, loaded = len(journal.samples), after.machine


def chosen(moments: Sequence[Moment]) -> set[int]:
    """Indices worth a first try: spread over time, and where angle and speed are extreme."""
    times = np.array([moment.sample.time for moment in moments])
    angles = np.array([moment.sample.state[ANGLE] for moment in moments])
    speeds = np.array([moment.sample.state[SPEED] for moment in moments])
    turns = np.flatnonzero(np.diff(np.sign(speeds)) != 0)
    spread = np.searchsorted(times, np.linspace(times[0], times[-1], 3 * TRIED), side="right") - 1
    stations = np.searchsorted(np.sort(angles), np.linspace(angles.min(), angles.max(), TRIED))
    by_angle = np.argsort(angles, kind="stable")[np.clip(stations, 0, len(angles) - 1)]
    extremes = [int(np.argmax(angles)), int(np.argmax(speeds)), int(np.argmin(speeds)), int(np.argmin(angles))]
    some_turns = turns[:: max(1, len(turns) // TRIED)]
    return {int(k) for k in (*spread, *by_angle, *extremes, *some_turns, 0, len(moments) - 1)}


def between(moments: Sequence[Moment], k: int, time: float) -> tuple[Machine, Situation]:
    """The machine at a time after the k-th moment [s], cubic between moments of one mode."""
    here = moments[k]
    state = here.sample.state
    if k + 1 < len(moments) and moments[k + 1].mode == here.mode and time > here.sample.time:
        state = interpolated(here.sample, moments[k + 1].sample, time)
    return here.machine, Situation(time=time, state=state, mode=here.mode)


def interpolated(a: Sample, b: Sample, time: float) -> State:
    """State between two samples: cubic where rates are known, straight elsewhere."""
    span = b.time - a.time
    if span <= 0.0:
        return b.state
    s = (time - a.time) / span
    state = a.state + s * (b.state - a.state)
    rates = (
        (ANGLE, float(a.state[SPEED]), float(b.state[SPEED])),
        (SPEED, a.look.acceleration, b.look.acceleration),
        (CURRENT, a.look.current_slope, b.look.current_slope),
    )
    for index, before, after in rates:
        change = float(b.state[index] - a.state[index])
        bend = s * (1.0 - s) * ((1.0 - s) * (span * before - change) - s * (span * after - change))
        state[index] += bend
    return np.asarray(state)


def refined(harm_at: Callable[[float], float], low: float, high: float) -> tuple[float, float]:
    """The most harmful moment between two times, and its harm first."""
    from scipy.optimize import minimize_scalar

    if high <= low:
        return harm_at(low), low
    found = minimize_scalar(
        lambda time: -harm_at(time), bounds=(low, high), method="bounded", options={"maxiter": 14, "xatol": 1e-5}
    )
    return -float(found.fun), float(found.x)
