"""The exact run: modes follow modes, each entered with its state set exactly, until the moves are done.

Friction is never smoothed: rest is a mode of its own, left when the air-gap torque leaves the friction cone. A stage
changing branch, a limit, a trip, a stop and a jam are all ends of a segment found by root search.
"""

import math
from dataclasses import dataclass, replace

import numpy as np

from armsim.drivetrain.machine import Machine
from armsim.drivetrain.train import VANISHING, all_driving, cone, respond, speed_regimes, walk
from armsim.dynamics.field import ANGLE, CURRENT, SPEED, State, circuit, initial_state, look
from armsim.dynamics.guards import Guard, Signal, guards_of
from armsim.dynamics.journal import Journal, close
from armsim.dynamics.modes import CUT, Contact, Drive, Duty, Mode
from armsim.dynamics.plan import Hold, Plan, PowerCut, Travel
from armsim.dynamics.run import Kind, Run
from armsim.dynamics.segment import Sample, SolverError, Tolerances, run_segment
from armsim.parts.bridge import duty_for_current

SLOW_DECAY = 0.01  #: a motion slower than CREEP that would take longer than this to end has died away [s]
INSTANT, CROWD = 1e-9, 50  #: more events than CROWD within INSTANT seconds are no motion but a fault
FALL_LIMIT = 600.0  #: a fall is followed for this long [s]


@dataclass(frozen=True, kw_only=True)
class Command:
    """What the controller is asked for; neither duty nor hold is off."""

    duty: float | None = None
    hold: bool = False


OFF = Command()


@dataclass(frozen=True, kw_only=True)
class Situation:
    """Where a run stands."""

    time: float
    state: State
    mode: Mode
    wakes: float = math.inf  #: when a controller that has reset drives again [s]


class Halted(Exception):
    """The run has come to the moment it was to be followed to."""

    def __init__(self, situation: Situation) -> None:
        super().__init__("halted")
        self.situation = situation


@dataclass(frozen=True, kw_only=True)
class Voyage:
    """One run being computed: the machine, its journal, how exactly, and where to halt for a power cut."""

    machine: Machine
    journal: Journal
    tolerances: Tolerances = Tolerances()
    halt: PowerCut = PowerCut()


# ---------------------------------------------------------------------------------------------------- public


def simulate(machine: Machine, plan: Plan, tolerances: Tolerances = Tolerances()) -> Run:  # noqa: B008 frozen
    """Run the whole work cycle, `plan.repeat` times, from rest on a support at the start angle.

    Raises SolverError when the stepper fails or events pile up in one instant.
    """
    situation = at_start(machine, plan)
    voyage = Voyage(machine=machine, journal=Journal(machine, situation.state), tolerances=tolerances)
    return close(voyage.journal, work_cycle(voyage, situation, plan).state)


def fall(
    machine: Machine, plan: Plan, cut: PowerCut, *, shorted: bool, tolerances: Tolerances = Tolerances()  # noqa: B008
) -> Run | None:
    """Follow the machine after its supply fails, motor terminals shorted or open, to rest, a stop, or a time limit.

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
    until = situation.time + FALL_LIMIT
    while True:
        if situation.mode.sense == 0 and (situation.mode.drive is Drive.OPEN or rests_for_good(off, situation)):
            break
        situation, signal = next_event(voyage, situation, OFF, until)
        swings_back = signal is Signal.RESTS and situation.mode.sense != 0
        if signal in (None, Signal.STOP) or swings_back:
            break
    journal.note(Kind.END, situation.time, situation.state)
    keep(voyage, situation)
    return close(journal, situation.state)


def held_angle(plan: Plan) -> float:
    """The highest angle the moves ask for, or the start. [rad]"""
    return max([plan.start, *(move.to for move in plan.moves if isinstance(move, Travel))])


def holding_current(machine: Machine, angle: float) -> float:
    """Per-motor current with which a resting arm is held: none where friction does it, else mid-band. [A]"""
    edges = cone(machine, angle)
    if edges.holds(0.0):
        return 0.0
    motor = machine.motor
    return 0.5 * (edges.sink + edges.rise) / (motor.count * motor.torque_constant)


# ---------------------------------------------------------------------------------------------------- moves


def at_start(machine: Machine, plan: Plan) -> Situation:
    """At rest at the start angle, on a support that carries the arm until the motor lifts it."""
    return Situation(time=0.0, state=initial_state(machine, plan.start), mode=Mode(contact=Contact.BELOW))


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


# ---------------------------------------------------------------------------------------------------- events


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
    outcome = run_segment(
        machine, mode, situation.time, situation.state, horizon, guards, voyage.tolerances
    )
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
        case Signal.TARGET:
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


def set_entry(situation: Situation, index: int, value: float) -> Situation:
    """The same situation with one entry of the state set exactly."""
    state = situation.state.copy()
    state[index] = value
    return replace(situation, state=state)


def keep(voyage: Voyage, situation: Situation) -> None:
    """Record the machine as it stands."""
    now = look(voyage.machine, situation.mode, situation.time, situation.state.tolist())
    voyage.journal.samples.append((Sample(situation.time, situation.state, now), situation.mode))


# ---------------------------------------------------------------------------------------------------- motion


def torque_of(machine: Machine, state: State) -> float:
    """Air-gap torque of all motors. [N*m]"""
    return machine.motor.count * machine.motor.torque_constant * float(state[CURRENT])


def stop_angle(machine: Machine, mode: Mode) -> float:
    """The stop that a motion runs against. [rad]"""
    return machine.arm.upper_stop if mode.sense > 0 else machine.arm.lower_stop


def resume_motion(voyage: Voyage, situation: Situation) -> Situation:
    """Choose the motion again after the torque or an efficiency has jumped."""
    machine, mode, state = voyage.machine, situation.mode, situation.state
    if mode.sense == 0:
        return leave_rest(voyage, replace(situation, mode=replace(mode, settled=False)))
    motion = respond(
        machine, float(state[ANGLE]), float(state[SPEED]), mode.sense, torque_of(machine, state), mode.regimes
    )
    if motion is None:
        return jam(voyage, situation)
    return replace(situation, mode=replace(mode, branch=motion.branch, passing=False))


def leave_rest(voyage: Voyage, situation: Situation) -> Situation:
    """Stay at rest, or break away where the torque is outside the friction cone and nothing is in the way."""
    machine, mode, state = voyage.machine, situation.mode, situation.state
    edges, torque = cone(machine, float(state[ANGLE])), torque_of(machine, state)
    if torque > edges.rise and mode.contact is not Contact.ABOVE:
        return break_away(voyage, situation, +1)
    if torque < edges.sink and mode.contact is not Contact.BELOW:
        return break_away(voyage, situation, -1)
    return situation


def break_away(voyage: Voyage, situation: Situation, sense: int) -> Situation:
    """From rest into motion; running friction is never above static, so a motion always exists."""
    machine, state = voyage.machine, situation.state
    regimes = speed_regimes(machine, 0.0)
    motion = respond(machine, float(state[ANGLE]), 0.0, sense, torque_of(machine, state), regimes)
    if motion is None or sense * motion.acceleration < 0.0:
        return replace(situation, mode=replace(situation.mode, settled=True))
    voyage.journal.note(Kind.BREAKAWAY, situation.time, state)
    mode = replace(
        situation.mode,
        sense=sense,
        branch=motion.branch,
        regimes=regimes,
        contact=Contact.NONE,
        settled=False,
        passing=False,
    )
    return replace(situation, mode=mode)


def at_rest(machine: Machine, situation: Situation) -> Situation:
    """The same situation with the arm at rest, touching a stop where it is at one."""
    angle, arm = float(situation.state[ANGLE]), machine.arm
    contact = Contact.BELOW if angle <= arm.lower_stop else Contact.ABOVE if angle >= arm.upper_stop else Contact.NONE
    mode = replace(
        situation.mode, sense=0, branch=(), regimes=(), contact=contact, settled=False, passing=False
    )
    return replace(set_entry(situation, SPEED, 0.0), mode=mode)


def come_to_rest(voyage: Voyage, situation: Situation, account: str) -> Situation:
    """Speed to zero, its energy booked; then rest, or off again the other way."""
    machine, journal, sense = voyage.machine, voyage.journal, situation.mode.sense
    rest = at_rest(machine, situation)
    journal.book(account, situation.state, rest.state)
    edges, torque = cone(machine, float(rest.state[ANGLE])), torque_of(machine, rest.state)
    back, contact = -sense, rest.mode.contact
    if back > 0 and torque > edges.rise and contact is not Contact.ABOVE:
        journal.note(Kind.REVERSES, rest.time, rest.state)
        return resettle(voyage, rest, edges.rise, back)
    if back < 0 and torque < edges.sink and contact is not Contact.BELOW:
        journal.note(Kind.REVERSES, rest.time, rest.state)
        return resettle(voyage, rest, edges.sink, back)
    journal.note(Kind.COMES_TO_REST, rest.time, rest.state)
    return leave_rest(voyage, rest)


def resettle(voyage: Voyage, rest: Situation, edge: float, sense: int) -> Situation:
    """Turn back, unless the torque is so near the edge of the cone that the swing has died away."""
    torque = torque_of(voyage.machine, rest.state)
    if abs(torque - edge) < 1e-6 * (abs(torque) + abs(edge)):
        return replace(rest, mode=replace(rest.mode, settled=True))
    return break_away(voyage, rest, sense)


def die_away(voyage: Voyage, situation: Situation) -> Situation:
    """A very slow motion: at rest if it is running out gently, otherwise only passing through zero."""
    machine, mode, state = voyage.machine, situation.mode, situation.state
    slowing = -mode.sense * look(machine, mode, situation.time, state.tolist()).acceleration
    if slowing > 0.0 and mode.sense * float(state[SPEED]) < slowing * SLOW_DECAY:
        return replace(situation, mode=replace(mode, passing=True))
    rest = at_rest(machine, situation)
    voyage.journal.book("impact", state, rest.state)
    voyage.journal.note(Kind.COMES_TO_REST, rest.time, state)
    return replace(rest, mode=replace(rest.mode, settled=True))


def arrest(voyage: Voyage, situation: Situation) -> Situation:
    """Set the arm at rest where it is, as a hold does; what it carried is booked as impact."""
    rest = at_rest(voyage.machine, situation)
    voyage.journal.book("impact", situation.state, rest.state)
    return rest


def jam(voyage: Voyage, situation: Situation) -> Situation:
    """No acceleration satisfies the drive: the speed collapses at once."""
    voyage.journal.note(Kind.JAM, situation.time, situation.state)
    return come_to_rest(voyage, situation, "impact")


def change_branch(voyage: Voyage, situation: Situation, stage: int) -> Situation:
    """A stage's torque changes sign: the other branch, or a jam where that branch has no inertia left."""
    machine, mode, state = voyage.machine, situation.mode, situation.state
    branch = tuple(-b if k == stage else b for k, b in enumerate(mode.branch))
    angle, speed = float(state[ANGLE]), float(state[SPEED])
    slope = walk(machine, angle, speed, mode.sense, branch, mode.regimes).motor.slope
    driving = walk(machine, angle, speed, mode.sense, all_driving(machine), mode.regimes).motor.slope
    if slope > VANISHING * driving:
        return replace(situation, mode=replace(mode, branch=branch))
    return jam(voyage, situation)


def change_regime(situation: Situation, machine: Machine, stage: int) -> Situation:
    """A stage's input speed passes an edge of its efficiency law."""
    mode = situation.mode
    speed = abs(float(situation.state[SPEED])) * machine.shaft_turns[stage]
    edges, piece = machine.stages[stage].law.speed_edges, mode.regimes[stage]
    up = piece < len(edges) and (piece == 0 or abs(speed - edges[piece]) <= abs(speed - edges[piece - 1]))
    regimes = tuple(p + (1 if up else -1) if k == stage else p for k, p in enumerate(mode.regimes))
    return replace(situation, mode=replace(mode, regimes=regimes))


def rests_for_good(machine: Machine, situation: Situation) -> bool:
    """Shorted and at rest: the current only decays, so what holds now with no current holds on."""
    contact, edges = situation.mode.contact, cone(machine, float(situation.state[ANGLE]))
    rises = edges.rise < 0.0 and contact is not Contact.ABOVE
    sinks = edges.sink > 0.0 and contact is not Contact.BELOW
    return not (rises or sinks)


# ---------------------------------------------------------------------------------------------------- drive


def engage(voyage: Voyage, situation: Situation, command: Command) -> Situation:
    """Put the bridge to what the command asks, as far as supply and controller are alive."""
    mode = situation.mode
    if not mode.connected or situation.wakes < math.inf or (command.duty is None and not command.hold):
        return switch_off(voyage, situation)
    if command.hold:
        current = holding_current(voyage.machine, float(situation.state[ANGLE]))
        return hold_current(voyage, situation, current)
    machine = voyage.machine
    now = circuit(machine, mode, situation.time, situation.state.tolist()).duty if mode.powered else 0.0
    wanted, ramp = command.duty or 0.0, machine.controller.ramp
    now = min(1.0, max(-1.0, now))
    duty = Duty(start=wanted, since=situation.time)
    if ramp > 0.0 and now != wanted:
        duty = Duty(start=now, rate=math.copysign(1.0 / ramp, wanted - now), since=situation.time)
    driving = replace(mode, drive=Drive.DRIVING, duty=duty, holding=False, saturated=False)
    return replace(situation, mode=driving)


def switch_off(voyage: Voyage, situation: Situation) -> Situation:
    """Bridge off: shorted keeps the current, open ends it but for the diodes."""
    machine, mode, state = voyage.machine, situation.mode, situation.state
    if machine.controller.shorted_when_off:
        return replace(situation, mode=replace(mode, drive=Drive.SHORTED))
    emf = machine.motor.back_emf_constant * float(state[SPEED]) * machine.shaft_turns[0]
    bus = circuit(machine, replace(mode, drive=Drive.OPEN), situation.time, state.tolist()).bus
    if mode.connected and abs(emf) > bus:
        after = set_entry(situation, CURRENT, 0.0) if emf * float(state[CURRENT]) > 0.0 else situation
        mode = replace(mode, duty=Duty(start=math.copysign(1.0, emf)))
        drive = Drive.DIODES
    else:
        after, drive = set_entry(situation, CURRENT, 0.0), Drive.OPEN
    voyage.journal.book("switching", state, after.state)
    return replace(after, mode=replace(mode, drive=drive))


def regulate(voyage: Voyage, situation: Situation, current: float, holding: bool) -> Situation:
    """Hold the motor current at a value from now on."""
    after = set_entry(situation, CURRENT, current)
    voyage.journal.book("switching", situation.state, after.state)
    mode = replace(situation.mode, drive=Drive.REGULATING, current=current, holding=holding, saturated=False)
    return replace(after, mode=mode)


def hold_current(voyage: Voyage, situation: Situation, wanted: float) -> Situation:
    """Hold with a current, as much of it as controller and supply can give."""
    machine = voyage.machine
    limit = machine.controller.current_limit
    current = wanted if limit is None else math.copysign(min(abs(wanted), limit), wanted)
    now = circuit(machine, replace(situation.mode, drive=Drive.OPEN), situation.time, situation.state.tolist())
    loop = now.resistance + machine.controller.resistance
    duty = duty_for_current(
        current,
        0.0,
        resistance=loop,
        count=machine.motor.count,
        open_circuit=now.open_circuit,
        source_resistance=machine.source_resistance,
        other_loads=machine.other_loads,
    )
    if duty is None or abs(duty) > 1.0:
        most = (now.open_circuit - machine.source_resistance * machine.other_loads) / (
            loop + machine.source_resistance * machine.motor.count
        )
        current = math.copysign(0.999 * most, wanted)
    if current != wanted:
        voyage.journal.note(Kind.CANNOT_HOLD, situation.time, situation.state)
    return regulate(voyage, situation, current, holding=True)


def enter_limit(voyage: Voyage, situation: Situation) -> Situation:
    """The current has come to the controller's limit, from below or from a saturated bridge."""
    limit = voyage.machine.controller.current_limit
    assert limit is not None
    voyage.journal.note(Kind.LIMIT_ENTERED, situation.time, situation.state)
    current = math.copysign(limit, float(situation.state[CURRENT]))
    situation = regulate(voyage, situation, current, holding=False)
    now = circuit(voyage.machine, situation.mode, situation.time, situation.state.tolist())
    if np.sign(current) * (situation.mode.duty.at(situation.time) - now.duty) <= 0.0:
        # the limit was touched by a current that is already falling: the wished duty itself keeps below it
        return replace(situation, mode=replace(situation.mode, drive=Drive.DRIVING))
    return situation


def saturate(voyage: Voyage, situation: Situation) -> Situation:
    """No duty can keep the current: the bridge goes to its end, or a hold is lost."""
    mode = situation.mode
    if mode.holding:
        voyage.journal.note(Kind.CANNOT_HOLD, situation.time, situation.state)
    wish = math.copysign(1.0, mode.current) if mode.holding else -math.copysign(1.0, mode.current)
    duty = Duty(start=wish, since=situation.time)
    return replace(
        situation, mode=replace(mode, drive=Drive.DRIVING, duty=duty, saturated=not mode.holding, holding=False)
    )
