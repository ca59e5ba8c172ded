"""From one event of a run to the next, and the mode that follows each, entered with its state set exactly."""

import math
from collections.abc import Sequence
from dataclasses import replace

from armsim.drivetrain.machine import Machine
from armsim.dynamics.drive import change_flow, engage, enter_limit, enter_ration, release, saturate, steer, wished_duty
from armsim.dynamics.guards import Guard, Signal, guards_of
from armsim.dynamics.journal import Journal
from armsim.dynamics.modes import Drive, Duty, Flow, Mode
from armsim.dynamics.motion import (
    break_away,
    change_branch,
    change_regime,
    come_to_rest,
    die_away,
    jam,
    resume_motion,
)
from armsim.dynamics.run import Kind
from armsim.dynamics.segment import SolverError, run_segment
from armsim.dynamics.state import ANGLE, CURRENT
from armsim.dynamics.stops import leave_buffer, meet_stop, turn_slack
from armsim.dynamics.voyage import Command, Halted, Off, Situation, Voyage, set_entry
from armsim.parts.protection import Protection

INSTANT, CROWD = 1e-9, 50  #: more events than CROWD within INSTANT seconds are no motion but a fault


def next_event(
    voyage: Voyage, situation: Situation, command: Command, until: float, goals: Sequence[Guard] = ()
) -> tuple[Situation, Signal | None]:
    """Follow the machine to its next event and into the mode after it; None when the time is up instead."""
    machine, journal, mode = voyage.machine, voyage.journal, situation.mode
    horizon = min(until, *known_times(voyage, situation, command))
    if horizon - situation.time < 1e-12 * (1.0 + situation.time):
        return at_known_time(voyage, replace(situation, time=horizon), command, until)
    guards = guards_of(machine, mode, float(situation.state[ANGLE]), set(journal.seen))
    guards = [*goals, *cut_guards(voyage, situation), *guards]
    outcome = run_segment(machine, mode, situation.time, situation.state, horizon, guards, voyage.tolerances)
    journal.samples += [(sample, mode) for sample in outcome.samples]
    journal.ends.append(outcome.samples[-1].time)
    journal.steps += outcome.steps
    journal.evaluations += outcome.evaluations
    last = outcome.samples[-1]
    situation = replace(situation, time=last.time, state=last.state)
    check_crowd(journal, last.time)
    if outcome.guard is None:
        return at_known_time(voyage, replace(situation, time=horizon), command, until)
    return awake(react(voyage, situation, command, outcome.guard)), outcome.guard.signal


def known_times(voyage: Voyage, situation: Situation, command: Command) -> list[float]:
    """Times at which something will happen whatever the machine does. [s]"""
    known = [situation.wakes, ramp_end(voyage.machine, situation, command)]
    if voyage.halt.time is not None:
        known.append(voyage.halt.time)
    steering = situation.steering
    if steering is not None:
        known.append(steering.tick)
        if situation.time < steering.ends:
            known.append(steering.ends)
    return known


def cut_guards(voyage: Voyage, situation: Situation) -> list[Guard]:
    """The angle at which power is to be cut."""
    angle = voyage.halt.angle
    if angle is None:
        return []
    side = math.copysign(1.0, angle - float(situation.state[ANGLE]))
    return [Guard(Signal.CUT_ANGLE, lambda _t, y, _: side * (angle - y[ANGLE]), 1.0)]


def ramp_end(machine: Machine, situation: Situation, command: Command) -> float:
    """When the commanded duty arrives at what is asked. [s]"""
    mode = situation.mode
    if isinstance(command, Off) or not mode.powered or mode.duty.rate == 0.0:
        return math.inf
    return mode.duty.since + (wished_duty(machine.controller, situation, command) - mode.duty.start) / mode.duty.rate


def awake(situation: Situation) -> Situation:
    """Something has happened: a position loop that was waiting looks again at its next period."""
    steering = situation.steering
    if steering is None or steering.tick < math.inf:
        return situation
    periods = math.floor((situation.time - steering.begun) / steering.loop.period) + 1
    return replace(situation, steering=replace(steering, tick=steering.begun + periods * steering.loop.period))


def at_known_time(
    voyage: Voyage, situation: Situation, command: Command, until: float
) -> tuple[Situation, Signal | None]:
    """A time known beforehand has come: the halt, the end of a move, a restart, a look of the loop, a ramp's end."""
    time, steering, machine = situation.time, situation.steering, voyage.machine
    if voyage.halt.time is not None and time >= voyage.halt.time:
        raise Halted(voyage.machine, situation)
    if time >= until:
        return situation, None
    if time >= situation.wakes:
        voyage.journal.note(Kind.RESTARTS, time, situation.state)
        situation = replace(situation, wakes=math.inf)
        return resume_motion(voyage, engage(voyage, situation, command)), Signal.CLOCK
    if steering is not None and time >= steering.tick:
        return steer(voyage, situation), Signal.CLOCK
    if time >= ramp_end(voyage.machine, situation, command):
        duty = Duty(start=wished_duty(machine.controller, situation, command), since=time)
        situation = replace(situation, mode=replace(situation.mode, duty=duty))
    return situation, Signal.CLOCK


def react(voyage: Voyage, situation: Situation, command: Command, guard: Guard) -> Situation:
    """The mode after an event, with the state set exactly."""
    machine, journal, mode, k = voyage.machine, voyage.journal, situation.mode, guard.index
    match guard.signal:
        case Signal.CLOCK | Signal.TARGET:
            return situation
        case Signal.CUT_ANGLE:
            raise Halted(machine, situation)
        case Signal.STOP:
            return meet_stop(voyage, situation)
        case Signal.LEAVES:
            return leave_buffer(machine, situation)
        case Signal.SLACK:
            return turn_slack(situation)
        case Signal.RESTS:
            return come_to_rest(voyage, situation, "impact")
        case Signal.CREEPS:
            return die_away(voyage, situation)
        case Signal.JAMS:
            return jam(voyage, situation)
        case Signal.BRANCH:
            return change_branch(voyage, situation, k)
        case Signal.REGIME:
            return resume_motion(voyage, change_regime(situation, machine, k))
        case Signal.RISES | Signal.SINKS:
            return break_away(voyage, situation, +1 if guard.signal is Signal.RISES else -1)
        case Signal.LIMIT:
            if mode.saturated:
                wish = Duty(start=wished_duty(machine.controller, situation, command), since=situation.time)
                situation = replace(situation, mode=replace(mode, duty=wish))
            return resume_motion(voyage, enter_limit(voyage, situation))
        case Signal.RELEASED:
            return release(voyage, situation)
        case Signal.SATURATES:
            return saturate(situation)
        case Signal.RATION:
            return enter_ration(voyage, situation)
        case Signal.FLOWS:
            return change_flow(voyage, situation, list(Flow)[k])
        case Signal.UNDERVOLTAGE | Signal.OVERVOLTAGE:
            low = guard.signal is Signal.UNDERVOLTAGE
            journal.note(Kind.UNDERVOLTAGE if low else Kind.OVERVOLTAGE, situation.time, situation.state)
            reset = replace(situation, wakes=situation.time + machine.controller.restart)
            return resume_motion(voyage, engage(voyage, reset, command))
        case Signal.EARLIEST | Signal.LATEST:
            return trip(voyage, situation, command, guard)
        case Signal.RECLOSES:
            return reclose(voyage, situation, command, k)
        case Signal.CONDUCTS:
            return replace(situation, mode=replace(mode, drive=Drive.DIODES, duty=Duty(start=float(mode.sense))))
        case Signal.BLOCKS:
            return replace(set_entry(situation, CURRENT, 0.0), mode=replace(mode, drive=Drive.OPEN))


def trip(voyage: Voyage, situation: Situation, command: Command, guard: Guard) -> Situation:
    """An edge of a device's band is reached: note it the first time, and open if this edge is the one that opens."""
    journal, device, key = voyage.journal, voyage.machine.protection[guard.index], (guard.signal, guard.index)
    early = guard.signal is Signal.EARLIEST
    if key not in journal.seen:
        journal.seen[key] = situation.time
        kind = Kind.TRIP_POSSIBLE if early else Kind.TRIP_CERTAIN
        journal.note(kind, situation.time, situation.state, device.kind)
    if early != device.opens_at_earliest:
        return situation
    journal.note(Kind.BREAKER_OPENS, situation.time, situation.state, device.kind)
    mode = opened(situation.mode, device, guard.index)
    return resume_motion(voyage, engage(voyage, replace(situation, mode=mode, wakes=math.inf), command))


def opened(mode: Mode, device: Protection, index: int) -> Mode:
    """The mode with a device open; alike devices in the controllers' own lines open together."""
    if device.branch:
        return replace(mode, open_branches=mode.open_branches | {index})
    return replace(mode, open_devices=mode.open_devices | {index})


def reclose(voyage: Voyage, situation: Situation, command: Command, device: int) -> Situation:
    """A device that resets itself closes; the controller starts again once the line is whole."""
    machine, mode = voyage.machine, situation.mode
    voyage.journal.note(Kind.BREAKER_RECLOSES, situation.time, situation.state, machine.protection[device].kind)
    one = frozenset({device})
    closed: Mode = replace(mode, open_devices=mode.open_devices - one, open_branches=mode.open_branches - one)
    wakes = situation.time + machine.controller.restart if closed.connected else math.inf
    return resume_motion(voyage, engage(voyage, replace(situation, mode=closed, wakes=wakes), command))


def check_crowd(journal: Journal, time: float) -> None:
    """Refuse a pile of segments in one instant: it means a mode was missed."""
    ends = journal.ends
    if len(ends) > CROWD and time - ends[-CROWD - 1] < INSTANT * (1.0 + time):
        state = journal.samples[-1][0].state
        raise SolverError(
            f"more than {CROWD} changes of mode at t = {time:.9g} s, angle {math.degrees(state[ANGLE]):.4g} deg"
        )
