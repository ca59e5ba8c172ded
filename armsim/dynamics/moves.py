"""One move after the other: driving towards an angle, following a profile, staying, and changing the payload."""

import math
from collections.abc import Callable, Iterator
from dataclasses import replace

from armsim.drivetrain.circuit import Warmth, drive_point
from armsim.drivetrain.machine import Machine, loaded
from armsim.drivetrain.train import all_driving, cone, forms, speed_regimes
from armsim.dynamics.drive import engage
from armsim.dynamics.events import next_event
from armsim.dynamics.field import look
from armsim.dynamics.guards import Guard, Signal
from armsim.dynamics.modes import Contact
from armsim.dynamics.motion import resume_motion
from armsim.dynamics.plan import Exchange, Follow, Going, Hold, Move, Plan, Rest, Travel
from armsim.dynamics.run import Kind
from armsim.dynamics.state import ANGLE, CHARGE, HOUSING, SPEED, WINDING
from armsim.dynamics.voyage import Command, Off, Push, Situation, Steer, Voyage, set_entry


def perform(voyage: Voyage, situation: Situation, move: Move, target: float | None) -> tuple[Voyage, Situation, bool]:
    """Carry out one move; `target` is the angle last asked for. False where it was given up."""
    match move:
        case Travel():
            return voyage, *travel(voyage, situation, move)
        case Follow():
            return voyage, *follow(voyage, situation, move)
        case Hold():
            return voyage, hold(voyage, situation, move, target), True
        case Rest():
            return voyage, rest(voyage, situation, move), True
        case Exchange():
            return *exchange(voyage, situation, move), True


def carry_out(
    voyage: Voyage, situation: Situation, plan: Plan, target: float | None
) -> Iterator[tuple[Voyage, Situation, bool]]:
    """The moves of a cycle one by one, and how things stand after each; nothing follows one that was given up."""
    for move in plan.moves:
        voyage, situation, done = perform(voyage, situation, move, target)
        target = move.to if isinstance(move, Going) else target
        yield voyage, situation, done
        if not done:
            return


def travel(voyage: Voyage, situation: Situation, move: Travel) -> tuple[Situation, bool]:
    """Drive towards an angle with a duty; False when the operator gives up."""
    way = math.copysign(1.0, move.duty)

    def goals(_: Situation) -> list[Guard]:
        return [Guard(Signal.TARGET, lambda _t, y, _: way * (move.to - y[ANGLE]), 1.0)]

    return pursue(voyage, situation, Push(duty=move.duty), move, goals, lambda _: move.duty)


def follow(voyage: Voyage, situation: Situation, move: Follow) -> tuple[Situation, bool]:
    """Follow a profile until in position after its end; False when the operator gives up."""

    def goals(now: Situation) -> list[Guard]:
        steering = now.steering
        if steering is None or now.time < steering.ends:
            return []
        near = steering.loop.tolerance
        return [Guard(Signal.TARGET, lambda _t, y, _: abs(y[ANGLE] - move.to) - near, 1.0)]

    command = Steer(to=move.to, limits=move.limits, name=move.name)
    return pursue(voyage, situation, command, move, goals, full_push)


def full_push(situation: Situation) -> float | None:
    """The duty with which a loop at its limits pushes towards its target, None while it is within them. [-]"""
    steering = situation.steering
    if steering is None or not steering.limited:
        return None
    to_go = steering.profile.positions[-1] - float(situation.state[ANGLE])
    return math.copysign(1.0, to_go) if steering.asked * to_go > 0.0 else None


def pursue(
    voyage: Voyage,
    situation: Situation,
    command: Command,
    move: Going,
    goals: Callable[[Situation], list[Guard]],
    push: Callable[[Situation], float | None],
) -> tuple[Situation, bool]:
    """Towards a goal; False when the operator gives up after a stall, an open breaker, or too long."""
    journal, machine = voyage.journal, voyage.machine
    give_up = situation.time + move.time_limit
    stalled_at: float | None = None
    journal.note(Kind.DRIVE_ON, situation.time, situation.state, move.name)
    situation = resume_motion(voyage, engage(voyage, situation, command))
    while True:
        duty = push(situation)
        if stalled_at is None and duty is not None and stalls(machine, situation, duty):
            stalled_at = situation.time
            journal.note(Kind.STALL, situation.time, situation.state, move.name)
        since = [stalled_at, None if situation.steering is None else situation.steering.ends]
        deadline = min([give_up, *(time + move.patience for time in since if time is not None)])
        situation, signal = next_event(voyage, situation, command, deadline, goals(situation))
        if signal is Signal.TARGET:
            journal.note(Kind.REACHED, situation.time, situation.state, move.name)
            return situation, True
        if signal is None:
            journal.note(Kind.GIVEN_UP, situation.time, situation.state, move.name)
            return situation, False
        if not situation.mode.powered:
            give_up = min(give_up, situation.time + move.patience)
        if situation.mode.sense:
            stalled_at = None


def stalls(machine: Machine, situation: Situation, duty: float) -> bool:
    """At rest under full drive with a settled current that cannot move the arm the way it should go."""
    mode, state = situation.mode, situation.state
    if mode.sense or not mode.powered or mode.duty.rate:
        return False
    if mode.settled:
        return True
    warmth = Warmth(float(state[WINDING]), float(state[HOUSING]))
    point = drive_point(machine, duty, 0.0, warmth, float(state[CHARGE]))
    edges = cone(machine, float(state[ANGLE]), machine.companion_currents(point.volts))
    if duty > 0:
        return mode.contact is Contact.ABOVE or point.torque <= edges.rise
    return mode.contact is Contact.BELOW or point.torque >= edges.sink


def hold(voyage: Voyage, situation: Situation, move: Hold, target: float | None) -> Situation:
    """Keep the angle last asked for, or the present one, by the position loop."""
    to = float(situation.state[ANGLE]) if target is None else target
    command, until = Steer(to=to, name=move.name), situation.time + move.duration
    voyage.journal.note(Kind.HOLD, situation.time, situation.state)
    situation = resume_motion(voyage, engage(voyage, situation, command))
    lost = False
    while situation.time < until:
        situation, _ = next_event(voyage, situation, command, until)
        if not lost and loses(voyage.machine, situation, to):
            lost = True
            voyage.journal.note(Kind.CANNOT_HOLD, situation.time, situation.state)
    return situation


def loses(machine: Machine, situation: Situation, to: float) -> bool:
    """The arm runs away from where it is to be held, ever faster, with the loop at its limits."""
    steering, mode, state = situation.steering, situation.mode, situation.state
    if steering is None or mode.sense == 0 or not steering.limited:
        return False
    away = mode.sense * (float(state[ANGLE]) - to) > steering.loop.tolerance
    return away and mode.sense * look(machine, mode, situation.time, state.tolist()).acceleration > 0.0


def rest(voyage: Voyage, situation: Situation, move: Rest) -> Situation:
    """Bridge off for a time."""
    command, until = Off(shorted=move.shorted), situation.time + move.duration
    kind = Kind.HOLD if move.name == "hold" else Kind.REST
    text = "" if move.shorted is None else "motor shorted" if move.shorted else "motor open"
    voyage.journal.note(kind, situation.time, situation.state, text)
    situation = resume_motion(voyage, engage(voyage, situation, command))
    while situation.time < until:
        situation, _ = next_event(voyage, situation, command, until)
    return situation


def exchange(voyage: Voyage, situation: Situation, move: Exchange) -> tuple[Voyage, Situation]:
    """Take up or put down payload in an instant: it joins from rest, and leaves as fast as it moves."""
    before = voyage.machine
    after = loaded(before, move.payload)
    joined = situation
    if situation.mode.sense and move.payload > before.arm.payload_mass:
        joined = set_entry(situation, SPEED, float(situation.state[SPEED]) * share_kept(before, after, situation))
    voyage.journal.exchange(after, situation.state, joined.state)
    voyage.journal.note(Kind.PAYLOAD, situation.time, situation.state, f"{move.name}")
    return_to = replace(voyage, machine=after)
    return return_to, resume_motion(return_to, joined)


def share_kept(before: Machine, after: Machine, situation: Situation) -> float:
    """Share of the speed left once a mass from rest has joined: the angular impulse balance through the train.

    The rotor pushes on through the stages while the load slows the arm, so impulses pass them as torques do.
    """
    speed = float(situation.state[SPEED])
    sense = situation.mode.sense
    regimes = speed_regimes(before, speed)

    def slope(machine: Machine) -> float:
        return forms(machine, speed, sense, all_driving(machine), regimes).motor.slope

    return slope(before) / slope(after)
