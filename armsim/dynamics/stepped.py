"""One stepped work cycle: where it began and ended, its pages, and the line it makes in the table of cycles."""

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from armsim.drivetrain.machine import Machine
from armsim.dynamics.chapter import Chapter, heat_series
from armsim.dynamics.guards import Signal
from armsim.dynamics.run import Cycle, Event, Kind, Peaks
from armsim.dynamics.state import ANGLE, HOUSING, SUPPLIED, WINDING, State
from armsim.dynamics.voyage import Situation

TELLING = 1.0  #: difference of winding temperatures that tells cycles apart [K]
PLACE = 1e-2  #: difference of angles at which cycles begin that is none: what it adds is taken as linear [rad]
ENDS = {Kind.START, Kind.END}
CHATTER = ENDS | {Kind.LIMIT_ENTERED, Kind.LIMIT_LEFT, Kind.BREAKAWAY, Kind.COMES_TO_REST, Kind.REVERSES}

Signature = tuple[tuple[Kind, str], ...]


@dataclass(frozen=True, kw_only=True)
class Stepped:
    """A cycle that was stepped, with where it began and ended."""

    number: int  #: from 0
    machine: Machine  #: as loaded at the start
    before: Situation
    after: Situation
    pages: Chapter
    peaks: Peaks
    seen: dict[tuple[Signal, int], float]
    done: bool  #: False where a move was given up
    ordinary: bool = False  #: like the one stepped before it

    @property
    def duration(self) -> float:
        """[s]"""
        return self.after.time - self.before.time

    @property
    def signature(self) -> Signature:
        """What happened, in order, but for what comes and goes with the looks of a loop."""
        return tuple((event.kind, event.text) for event in self.pages.events if event.kind not in CHATTER)

    def like(self, other: "Stepped") -> bool:
        """True where the same happened from the same place."""
        apart = abs(float(self.before.state[ANGLE] - other.before.state[ANGLE]))
        return apart < PLACE and self.signature == other.signature


def row(one: Stepped) -> Cycle:
    """The line of a stepped cycle."""
    peaks, after = one.peaks, one.pages
    return Cycle(
        number=one.number + 1,
        begun=one.before.time,
        duration=one.duration,
        stepped=True,
        lift_time=slowest_lift(after.events),
        motor_current=peaks.motor_current.value,
        supply_current=peaks.supply_current.value,
        bus_voltage=peaks.bus_voltage.value,
        winding=peaks.winding.value,
        housing=peaks.housing.value,
        heat=tuple(float(series.max()) for series in heat_series(one.machine, after.states)[0]),
        supplied=float(after.change[SUPPLIED]),
    )


def slowest_lift(events: tuple[Event, ...]) -> float | None:
    """Time of the slowest lift among events, None if none arrives. [s]"""
    times, begun = [], math.nan
    for event in events:
        if event.kind is Kind.DRIVE_ON:
            begun = event.time
        elif event.kind is Kind.REACHED and event.text == "lift":
            times.append(event.time - begun)
    return max(times, default=None)


def row_between(last: Stepped, now: Stepped, share: float, state: State, time: float) -> Cycle:
    """The line of a cycle passed over, part way between two stepped ones, from the state in which it began.

    What shows in a cycle follows the winding's temperature; what it adds is taken as linear in the count.
    """
    first, final = row(last), row(now)
    warmer = float(now.before.state[WINDING] - last.before.state[WINDING])
    warmth = float(state[WINDING] - last.before.state[WINDING]) / warmer if abs(warmer) > TELLING else share

    def top(pick: Callable[[Cycle], float], index: int) -> float:
        rises = [pick(line) - float(one.before.state[index]) for line, one in ((first, last), (final, now))]
        return float(state[index]) + mixed(rises[0], rises[1], share)

    cold, hot, here = (heat_of(last.machine, each) for each in (last.before.state, now.before.state, state))
    lifts = (first.lift_time, final.lift_time)
    return Cycle(
        number=round(mixed(first.number, final.number, share)),
        begun=time,
        duration=mixed(first.duration, final.duration, share),
        stepped=False,
        lift_time=None if lifts[0] is None or lifts[1] is None else mixed(lifts[0], lifts[1], warmth),
        motor_current=mixed(first.motor_current, final.motor_current, warmth),
        supply_current=mixed(first.supply_current, final.supply_current, warmth),
        bus_voltage=mixed(first.bus_voltage, final.bus_voltage, warmth),
        winding=top(lambda line: line.winding, WINDING),
        housing=top(lambda line: line.housing, HOUSING),
        heat=tuple(
            now_heat + mixed(first.heat[k] - cold[k], final.heat[k] - hot[k], share) for k, now_heat in enumerate(here)
        ),
        supplied=mixed(first.supplied, final.supplied, share),
    )


def mixed(first: float, last: float, share: float) -> float:
    """Part way from a first to a last value."""
    return first + share * (last - first)


def rise(peak: float, one: Stepped, index: int) -> float:
    """How far a cycle's peak is above the entry of the state with which it began."""
    return peak - float(one.before.state[index])


def heat_of(machine: Machine, state: State) -> tuple[float, ...]:
    """Thermal state of each device's earliest edge, over its trip level. [-]"""
    return tuple(float(series[0]) for series in heat_series(machine, state[np.newaxis, :])[0])
