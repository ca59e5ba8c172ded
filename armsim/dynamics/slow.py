"""The slow things between cycle ends: their linear decay, what a cycle adds to it, and where they settle."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from armsim.drivetrain.machine import Machine
from armsim.dynamics.chapter import peaks_of
from armsim.dynamics.run import Settling
from armsim.dynamics.state import (
    ANGLE,
    BUS,
    CHARGE,
    CURRENT,
    HOUSING,
    RELAXATION,
    SPEED,
    WINDING,
    State,
    edge_slices,
    initial_state,
)
from armsim.dynamics.stepped import Stepped, heat_of, mixed, rise
from armsim.dynamics.voyage import Situation

FORGOTTEN = [CURRENT, SPEED, ANGLE, BUS]  #: of the state, in the course of a cycle
NEAR = 1.0  #: distance from where the temperatures go that counts as settled [K]


class Decay:
    """The linear part of what happens between cycle ends: temperatures towards ambient, breakers towards cold.

    A cycle forgets with what current, speed and angle it began: of these nothing is left, and it adds them all.
    """

    def __init__(self, machine: Machine) -> None:
        self.machine = machine
        self.cold = initial_state(machine, 0.0)  #: everything at ambient temperature and nothing drawn
        self.poles = np.zeros_like(self.cold)
        self.poles[RELAXATION] = 1.0 / machine.battery.relaxation_time
        for device, slices in zip(machine.protection, edge_slices(machine), strict=True):
            for edge, where in zip((device.earliest, device.latest), slices, strict=True):
                self.poles[where] = 1.0 / np.array(edge.time_constants)
        heat = machine.motor.heat
        if heat is None:
            rates = np.zeros((2, 2))
        else:
            inner, outer = 1.0 / heat.winding_to_housing, 1.0 / heat.housing_to_air
            rates = np.array(
                [
                    [-inner / heat.winding_capacity, inner / heat.winding_capacity],
                    [inner / heat.housing_capacity, -(inner + outer) / heat.housing_capacity],
                ]
            )
        self.values, self.vectors = np.linalg.eig(rates)
        self.inverse = np.linalg.inv(self.vectors)

    def thermal(self, duration: float) -> NDArray[np.float64]:
        """What is left of winding's and housing's rise over ambient after a time [s]: a 2 by 2 matrix."""
        return np.real(self.vectors @ np.diag(np.exp(self.values * duration)) @ self.inverse)

    def over(self, duration: float, state: State) -> State:
        """What a cycle of a duration [s] leaves of the state it began with, quadratures and charge untouched."""
        left = self.cold + (state - self.cold) * np.exp(-self.poles * duration)
        pair = [WINDING, HOUSING]
        left[pair] = self.cold[pair] + self.thermal(duration) @ (state[pair] - self.cold[pair])
        left[FORGOTTEN] = self.cold[FORGOTTEN]
        return left

    def gain(self, one: Stepped) -> State:
        """What a stepped cycle added to that."""
        return one.after.state - self.over(one.duration, one.before.state)

    def ahead(self, before: Stepped | None, last: Stepped, passed: int) -> Situation:
        """Where the machine stands after further cycles, what each adds going on as between the last two stepped."""
        state, gain, duration = last.after.state, self.gain(last), last.duration
        more, longer, lasted = np.zeros_like(state), 0.0, 0.0
        if before is not None:
            gap = last.number - before.number
            more, longer = (gain - self.gain(before)) / gap, (duration - before.duration) / gap
        for _ in range(passed):
            gain, duration = gain + more, duration + longer
            state, lasted = self.over(duration, state) + gain, lasted + duration
        return postponed(last.after, state, lasted)

    def between(self, last: Stepped, now: Stepped, passed: int) -> tuple[list[State], list[float]]:
        """States and times at the beginnings of the cycles passed over and of the one stepped after them."""
        state, time = last.after.state, last.after.time
        first, final = self.gain(last), self.gain(now)
        states, times = [state], [time]
        for j in range(passed):
            share = (j + 1) / (passed + 1)
            duration = mixed(last.duration, now.duration, share)
            state, time = self.over(duration, state) + (1.0 - share) * first + share * final, time + duration
            states.append(state)
            times.append(time)
        return states, times

    def gap(self, predicted: State, corrected: State) -> float:
        """How far two predictions of the slow state are apart, in kelvin or hundredths of a trip level or charge."""
        apart = [abs(float(predicted[k] - corrected[k])) for k in (WINDING, HOUSING)]
        both = (heat_of(self.machine, state) for state in (predicted, corrected))
        apart += [100.0 * abs(a - b) for a, b in zip(*both, strict=True)]
        capacity = self.machine.battery.capacity
        if capacity is not None:
            apart.append(100.0 * abs(float(predicted[CHARGE] - corrected[CHARGE])) / capacity)
        return max(apart)

    def moved(self, now: Stepped, state: State, time: float) -> Stepped:
        """A stepped cycle as it would have been from a slightly different beginning."""
        shift, later = state - now.before.state, time - now.before.time
        shift[FORGOTTEN] = 0.0
        after = postponed(now.after, now.after.state + self.over(now.duration, self.cold + shift) - self.cold, later)
        pages = now.pages
        pages = replace(
            pages,
            time=pages.time + later,
            states=pages.states + shift,
            events=tuple(replace(event, time=event.time + later) for event in pages.events),
            tracks=tuple(
                replace(
                    track,
                    begun=track.begun + later,
                    ended=track.ended + later,
                    reference_ends=track.reference_ends + later,
                )
                for track in pages.tracks
            ),
        )
        before = postponed(now.before, state, later)
        return replace(now, before=before, after=after, pages=pages, peaks=peaks_of(pages))


def postponed(situation: Situation, state: State, later: float) -> Situation:
    """The same situation with another slow state, so much later [s]."""
    steering = situation.steering
    if steering is not None:
        steering = replace(steering, begun=steering.begun + later, tick=steering.tick + later)
    return replace(
        situation, state=state, time=situation.time + later, wakes=situation.wakes + later, steering=steering
    )


def settle(machine: Machine, decay: Decay, first: Stepped, last: Stepped) -> Settling | None:
    """Where the temperatures go: the state that a cycle leaves as it found it, by what cycles were seen to add.

    What a cycle adds grows with the winding's temperature; that is taken as straight between first and last cycle.
    None without heat data. Without a fixed point above the present temperature it runs away.
    """
    if machine.motor.heat is None or last.number == 0:
        return None
    pair = [WINDING, HOUSING]
    ambient = decay.cold[pair]
    begins = last.before.state[pair] - ambient
    gain = decay.gain(last)[pair]
    warmer = float(begins[0] - (first.before.state[WINDING] - ambient[0]))
    feedback = np.zeros((2, 2))
    if warmer > NEAR:
        feedback[:, 0] = (gain - decay.gain(first)[pair]) / warmer
    left = decay.thermal(last.duration)
    final = np.linalg.solve(np.eye(2) - left - feedback, gain - feedback @ begins)
    if np.max(np.abs(np.linalg.eigvals(left + feedback))) >= 1.0:
        return Settling(winding=None, housing=None, settled=False)
    return Settling(
        winding=float(final[0] + ambient[0]) + rise(last.peaks.winding.value, last, WINDING),
        housing=float(final[1] + ambient[1]) + rise(last.peaks.housing.value, last, HOUSING),
        settled=bool(np.max(np.abs(final - begins)) < NEAR),
    )
