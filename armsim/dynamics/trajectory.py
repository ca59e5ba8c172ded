"""The exact run: modes follow modes, each entered with its state set exactly, until the moves are done.

Friction is never smoothed: rest is a mode of its own, left when the air-gap torque leaves the friction cone. A stage
changing branch, a limit, a trip, a stop and a jam are all ends of a segment found by root search.
"""

import math
from dataclasses import replace

from armsim.drivetrain.machine import Machine
from armsim.drivetrain.train import cone
from armsim.dynamics.drive import engage, enter_limit, saturate
from armsim.dynamics.field import ANGLE, CURRENT, SPEED, circuit, initial_state
from armsim.dynamics.guards import Guard, Signal, guards_of
from armsim.dynamics.journal import Journal, close
from armsim.dynamics.modes import CUT, Contact, Drive, Duty, Mode
from armsim.dynamics.motion import (
    arrest,
    at_rest,
    break_away,
    change_branch,
    change_regime,
    come_to_rest,
    die_away,
    jam,
    rests_for_good,
    resume_motion,
    stop_angle,
)
from armsim.dynamics.plan import Hold, Plan, PowerCut, Travel
from armsim.dynamics.run import Kind, Run
from armsim.dynamics.segment import SolverError, Tolerances, run_segment
from armsim.dynamics.voyage import OFF, Command, Halted, Situation, Voyage, keep, set_entry
from armsim.parts.arm import load_torque

INSTANT, CROWD = 1e-9, 50  #: more events than CROWD within INSTANT seconds are no motion but a fault
FALL_LIMIT = 600.0  #: a fall is followed for this long [s]


def simulate(machine: Machine, plan: Plan, tolerances: Tolerances = Tolerances()) -> Run:
    """Run the whole work cycle, `plan.repeat` times, from rest on a support at the start angle.

    Raises SolverError when the stepper fails or events pile up in one instant.
    """
    situation = at_start(machine, plan)
    voyage = Voyage(machine=machine, journal=Journal(machine, situation.state), tolerances=tolerances)
    return close(voyage.journal, work_cycle(voyage, situation, plan).state)


def fall(
    machine: Machine,
    plan: Plan,
    cut: PowerCut,
    *,
    shorted: bool,
    tolerances: Tolerances = Tolerances(),
) -> Run | None:
    """Follow the machine after its supply fails, motor terminals shorted or open, to rest or a time limit.

    An arm without a stop below swings: it is followed to the far end of its first swing.

    The cut comes at a time of the work cycle or where the arm first passes an angle; with neither, at rest at the
    highest angle that the moves ask for. None when the run never gets there.
    """
    off = replace(machine, controller=replace(machine.controller, shorted_when_off=shorted))
    if cut.time is None and cut.angle is None:
        situation = at_rest(off, Situation(time=0.0, state=initial_state(off, held_angle(plan)), mode=Mode()))
    else:
        start = at_start(machine, plan)
        voyage = Voyage(machine=machine, journal=Journal(machine, start.state), tolerances=tolerances, halt=cut)
        try:
            work_cycle(voyage, start, plan)
        except Halted as halted:
            situation = halted.situation
        else:
            return None
    journal = Journal(off, situation.state, begin=situation.time)
    voyage = Voyage(machine=off, journal=journal, tolerances=tolerances)
    journal.note(Kind.POWER_CUT, situation.time, situation.state)
    situation = engage(voyage, replace(situation, mode=replace(situation.mode, open_devices=frozenset({CUT}))), OFF)
    situation = resume_motion(voyage, situation)
    until, turns = situation.time + FALL_LIMIT, 0
    against_load = float(situation.state[SPEED]) * load_torque(off.arm, float(situation.state[ANGLE])) > 0.0
    last_turn = 2 if against_load else 1
    while True:
        if situation.mode.sense == 0 and (situation.mode.drive is Drive.OPEN or rests_for_good(off, situation)):
            break
        situation, signal = next_event(voyage, situation, OFF, until)
        turns += signal is Signal.RESTS and situation.mode.sense != 0
        if signal is None or turns == last_turn:
            break
    journal.note(Kind.END, situation.time, situation.state)
    keep(voyage, situation)
    return close(journal, situation.state)


def held_angle(plan: Plan) -> float:
    """The highest angle the moves ask for, or the start. [rad]"""
    return max([plan.start, *(move.to for move in plan.moves if isinstance(move, Travel))])


def at_start(machine: Machine, plan: Plan) -> Situation:
    """At rest at the start angle, on a support from below unless the first travel goes down."""
    first = next((move.duty for move in plan.moves if isinstance(move, Travel)), 1.0)
    contact = Contact.BELOW if first > 0.0 else Contact.NONE
    return Situation(time=0.0, state=initial_state(machine, plan.start), mode=Mode(contact=contact))


def work_cycle(voyage: Voyage, situation: Situation, plan: Plan) -> Situation:
    """All moves, repeated; ends early where a travel is given up."""
    voyage.journal.note(Kind.START, situation.time, situation.state)
    done = True
    for _ in range(plan.repeat):
        for move in plan.moves:
            if isinstance(move, Travel):
                situation, done = travel(voyage, situation, move)
            else:
                situation = stay(voyage, situation, move.duration, isinstance(move, Hold))
            if not done:
                break
        if not done:
            break
    voyage.journal.note(Kind.END, situation.time, situation.state)
    keep(voyage, situation)
    return situation


def travel(voyage: Voyage, situation: Situation, move: Travel) -> tuple[Situation, bool]:
    """Drive towards an angle; False when the operator gives up after a stall, an open breaker, or too long."""
    journal, machine = voyage.journal, voyage.machine
    command = Command(duty=move.duty)
    give_up = situation.time + move.time_limit
    stalled = False
    journal.note(Kind.DRIVE_ON, situation.time, situation.state, move.name)
    situation = resume_motion(voyage, engage(voyage, situation, command))
    while True:
        if not stalled and stalls(machine, situation, move.duty):
            stalled = True
            journal.note(Kind.STALL, situation.time, situation.state, move.name)
            give_up = min(give_up, situation.time + move.patience)
        situation, signal = next_event(voyage, situation, command, give_up, move)
        if signal is Signal.TARGET:
            journal.note(Kind.REACHED, situation.time, situation.state, move.name)
            return situation, True
        if signal is None:
            journal.note(Kind.GIVEN_UP, situation.time, situation.state, move.name)
            return situation, False
        if not situation.mode.powered:
            give_up = min(give_up, situation.time + move.patience)
        if situation.mode.sense:
            stalled = False


def stay(voyage: Voyage, situation: Situation, duration: float, hold: bool) -> Situation:
    """Hold by a steady current, or rest with the bridge off, for a time [s]."""
    journal, command, until = voyage.journal, Command(hold=hold), situation.time + duration
    journal.note(Kind.HOLD if hold else Kind.REST, situation.time, situation.state)
    if hold and situation.mode.sense:
        situation = arrest(voyage, situation)
    situation = resume_motion(voyage, engage(voyage, situation, command))
    while situation.time < until:
        situation, _ = next_event(voyage, situation, command, until)
    return situation


def stalls(machine: Machine, situation: Situation, duty: float) -> bool:
    """At rest under full drive with a settled current that cannot move the arm the way it should go."""
    mode, state = situation.mode, situation.state
    if mode.sense or not mode.powered or mode.duty.rate:
        return False
    if mode.settled:
        return True
    now = circuit(machine, mode, situation.time, state.tolist())
    source, count = machine.source_resistance, machine.motor.count
    loop = now.resistance + machine.controller.resistance + duty * duty * source * count
    current = duty * (now.open_circuit - source * machine.other_loads) / loop
    if machine.controller.current_limit is not None:
        current = math.copysign(min(abs(current), machine.controller.current_limit), current)
    torque = count * machine.motor.torque_constant * current
    edges = cone(machine, float(state[ANGLE]))
    if duty > 0:
        return mode.contact is Contact.ABOVE or torque <= edges.rise
    return mode.contact is Contact.BELOW or torque >= edges.sink


def next_event(
    voyage: Voyage, situation: Situation, command: Command, until: float, move: Travel | None = None
) -> tuple[Situation, Signal | None]:
    """Follow the machine to its next event and into the mode after it; None when the time is up instead."""
    machine, journal, mode = voyage.machine, voyage.journal, situation.mode
    known = [until, situation.wakes, ramp_end(mode, command)]
    if voyage.halt.time is not None:
        known.append(voyage.halt.time)
    horizon = min(known)
    if horizon - situation.time < 1e-12 * (1.0 + situation.time):
        return at_known_time(voyage, situation, command, until)
    guards = guards_of(machine, mode, float(situation.state[ANGLE]), set(journal.seen))
    guards = [*goal_guards(voyage, situation, move), *guards]
    outcome = run_segment(machine, mode, situation.time, situation.state, horizon, guards, voyage.tolerances)
    journal.samples += [(sample, mode) for sample in outcome.samples]
    journal.segments += 1
    journal.steps += outcome.steps
    journal.evaluations += outcome.evaluations
    last = outcome.samples[-1]
    situation = replace(situation, time=last.time, state=last.state)
    check_crowd(journal, last.time)
    if outcome.guard is None:
        return at_known_time(voyage, replace(situation, time=horizon), command, until)
    return react(voyage, situation, command, outcome.guard), outcome.guard.signal


def goal_guards(voyage: Voyage, situation: Situation, move: Travel | None) -> list[Guard]:
    """The angle a move goes to, and the angle at which power is to be cut."""
    guards = []
    if move is not None:
        way = math.copysign(1.0, move.duty)
        guards.append(Guard(Signal.TARGET, lambda _t, y, _: way * (move.to - y[ANGLE]), 1.0))
    angle = voyage.halt.angle
    if angle is not None:
        side = math.copysign(1.0, angle - float(situation.state[ANGLE]))
        guards.append(Guard(Signal.CUT_ANGLE, lambda _t, y, _: side * (angle - y[ANGLE]), 1.0))
    return guards


def ramp_end(mode: Mode, command: Command) -> float:
    """When the commanded duty arrives at what is asked. [s]"""
    if command.duty is None or not mode.powered or mode.duty.rate == 0.0:
        return math.inf
    return mode.duty.since + (command.duty - mode.duty.start) / mode.duty.rate


def at_known_time(
    voyage: Voyage, situation: Situation, command: Command, until: float
) -> tuple[Situation, Signal | None]:
    """A time known beforehand has come: the halt, the end of a move, a restart, or the end of a ramp."""
    time = situation.time
    if voyage.halt.time is not None and time >= voyage.halt.time:
        raise Halted(situation)
    if time >= until:
        return situation, None
    if time >= situation.wakes:
        voyage.journal.note(Kind.RESTARTS, time, situation.state)
        situation = replace(situation, wakes=math.inf)
        return resume_motion(voyage, engage(voyage, situation, command)), Signal.CLOCK
    duty = Duty(start=command.duty or 0.0, since=time)
    return replace(situation, mode=replace(situation.mode, duty=duty)), Signal.CLOCK


def react(voyage: Voyage, situation: Situation, command: Command, guard: Guard) -> Situation:
    """The mode after an event, with the state set exactly."""
    machine, journal, mode, k = voyage.machine, voyage.journal, situation.mode, guard.index
    match guard.signal:
        case Signal.CLOCK | Signal.TARGET:
            return situation
        case Signal.CUT_ANGLE:
            raise Halted(situation)
        case Signal.STOP:
            journal.note(Kind.STOP_HIT, situation.time, situation.state)
            return come_to_rest(voyage, set_entry(situation, ANGLE, stop_angle(machine, mode)), "impact")
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
                wish = Duty(start=command.duty or 0.0, since=situation.time)
                situation = replace(situation, mode=replace(mode, duty=wish))
            return resume_motion(voyage, enter_limit(voyage, situation))
        case Signal.RELEASED:
            journal.note(Kind.LIMIT_LEFT, situation.time, situation.state)
            return replace(situation, mode=replace(mode, drive=Drive.DRIVING, saturated=False))
        case Signal.SATURATES:
            return saturate(voyage, situation)
        case Signal.UNDERVOLTAGE:
            journal.note(Kind.UNDERVOLTAGE, situation.time, situation.state)
            reset = replace(situation, wakes=situation.time + machine.controller.restart)
            return resume_motion(voyage, engage(voyage, reset, command))
        case Signal.EARLIEST | Signal.LATEST:
            return trip(voyage, situation, command, guard)
        case Signal.RECLOSES:
            journal.note(Kind.BREAKER_RECLOSES, situation.time, situation.state, machine.protection[k].kind)
            closed = replace(mode, open_devices=mode.open_devices - {k})
            wakes = situation.time + machine.controller.restart if not closed.open_devices else math.inf
            return resume_motion(voyage, engage(voyage, replace(situation, mode=closed, wakes=wakes), command))
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
    mode = replace(situation.mode, open_devices=situation.mode.open_devices | {guard.index})
    return resume_motion(voyage, engage(voyage, replace(situation, mode=mode, wakes=math.inf), command))


def check_crowd(journal: Journal, time: float) -> None:
    """Refuse a pile of segments in one instant: it means a mode was missed."""
    rows = journal.samples
    if len(rows) > CROWD and journal.segments > CROWD and time - rows[-CROWD][0].time < INSTANT * (1.0 + time):
        state = rows[-1][0].state
        raise SolverError(
            f"more than {CROWD} changes of mode at t = {time:.9g} s, angle {math.degrees(state[ANGLE]):.4g} deg"
        )
