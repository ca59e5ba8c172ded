"""What the bridge does: driving, steering, limited, off; and the state set exactly where that changes."""

import math
from dataclasses import replace

import numpy as np

from armsim.dynamics.electrics import circuit, constant_of
from armsim.dynamics.modes import Drive, Duty, Flow
from armsim.dynamics.run import Kind
from armsim.dynamics.state import ANGLE, BUS, CURRENT, SPEED, companion_entries
from armsim.dynamics.steering import Steering, along, look_again, standing, tuned
from armsim.dynamics.voyage import Command, Off, Push, Situation, Steer, Voyage, set_entry
from armsim.parts.bridge import Controller, duty_out


def engage(voyage: Voyage, situation: Situation, command: Command) -> Situation:
    """Put the bridge to what the command asks, as far as supply and controller are alive."""
    dead = not situation.mode.connected or situation.wakes < math.inf
    if dead or isinstance(command, Off):
        voyage.journal.end_course()
        shorted = command.shorted if isinstance(command, Off) else None
        return switch_off(voyage, replace(situation, steering=None), shorted)
    if isinstance(command, Push):
        voyage.journal.end_course()
        return set_duty(voyage, replace(situation, steering=None), command.duty)
    return take_helm(voyage, situation, command)


def set_duty(voyage: Voyage, situation: Situation, asked: float) -> Situation:
    """Drive with a duty, by the controller's ramp where it has one; from rest that begins at the least duty."""
    controller, mode = voyage.machine.controller, situation.mode
    now, ramp, wanted = duty_in_force(voyage, situation), controller.ramp, duty_out(controller, asked)
    now = math.copysign(max(abs(now), controller.minimum_duty), wanted) if now * wanted >= 0.0 else now
    duty = Duty(start=wanted, since=situation.time)
    if ramp > 0.0 and now != wanted:
        duty = Duty(start=now, rate=math.copysign(1.0 / ramp, wanted - now), since=situation.time)
    return replace(situation, mode=replace(mode, drive=Drive.DRIVING, duty=duty, saturated=False))


def duty_in_force(voyage: Voyage, situation: Situation) -> float:
    """What the bridge gives at this instant, 0 while it is off. [-]"""
    if not situation.mode.powered:
        return 0.0
    now = circuit(voyage.machine, situation.mode, situation.time, situation.state.tolist()).duty
    return min(1.0, max(-1.0, now))


def take_helm(voyage: Voyage, situation: Situation, command: Steer) -> Situation:
    """Begin to steer, from where the arm is; the integral of a loop already at work goes on."""
    machine, before, angle = voyage.machine, situation.steering, float(situation.state[ANGLE])
    loop = tuned(machine)
    if command.limits is None:
        profile = standing(command.to)
    else:
        last = angle if before is None else before.profile.positions[-1]
        start = last if abs(last - angle) <= loop.tolerance else angle
        profile = along(start, command.to, command.limits)
    integral = 0.0 if before is None else before.integral
    begun = situation.time
    steering = Steering(loop=loop, profile=profile, begun=begun, tick=begun, integral=integral)
    voyage.journal.begin_course(steering, command.name)
    mode = situation.mode
    if not mode.powered:
        mode = replace(mode, drive=Drive.DRIVING, duty=Duty(since=begun), saturated=False)
    return steer(voyage, replace(situation, mode=mode, steering=steering))


def steer(voyage: Voyage, situation: Situation) -> Situation:
    """One look of the position loop, and the duty it asks for."""
    mode, steering = situation.mode, situation.steering
    assert steering is not None
    after = look_again(voyage.machine, steering, mode, situation.time, situation.state.tolist())
    situation = replace(situation, steering=after)
    if after.limited:
        voyage.journal.limited()
    if after.tick == math.inf or mode.saturated:
        return situation
    if mode.limited:
        needed = circuit(voyage.machine, mode, situation.time, situation.state.tolist()).duty
        if math.copysign(1.0, needed) * (after.duty - needed) > 0.0 and mode.drive is Drive.RATIONED:
            return replace(situation, mode=replace(mode, duty=Duty(start=after.duty, since=situation.time)))
        if math.copysign(1.0, mode.current) * (after.duty - needed) > 0.0 and mode.drive is Drive.REGULATING:
            return replace(situation, mode=replace(mode, duty=Duty(start=after.duty, since=situation.time)))
        voyage.journal.note(Kind.LIMIT_LEFT, situation.time, situation.state)
    duty = Duty(start=duty_out(voyage.machine.controller, after.duty), since=situation.time)
    return replace(situation, mode=replace(mode, drive=Drive.DRIVING, duty=duty))


def wished_duty(controller: Controller, situation: Situation, command: Command) -> float:
    """The duty that the bridge would give of what is asked for, whatever a limit makes of it. [-]"""
    if isinstance(command, Push):
        return duty_out(controller, command.duty)
    return 0.0 if situation.steering is None else duty_out(controller, situation.steering.duty)


def switch_off(voyage: Voyage, situation: Situation, shorted: bool | None = None) -> Situation:
    """Bridge off: shorted keeps the current, open ends it but for the diodes."""
    machine, mode, state = voyage.machine, situation.mode, situation.state
    if machine.controller.shorted_when_off if shorted is None else shorted:
        return replace(situation, mode=replace(mode, drive=Drive.SHORTED))
    emf = constant_of(machine)(state.tolist()) * float(state[SPEED]) * machine.shaft_turns[0]
    bus = circuit(machine, replace(mode, drive=Drive.OPEN), situation.time, state.tolist()).bus
    if mode.connected and abs(emf) > bus:
        after = set_entry(situation, CURRENT, 0.0) if emf * float(state[CURRENT]) > 0.0 else situation
        mode = replace(mode, duty=Duty(start=math.copysign(1.0, emf)))
        drive = Drive.DIODES
    else:
        after, drive = set_entry(situation, CURRENT, 0.0), Drive.OPEN
    for k in companion_entries(machine):
        after = set_entry(after, k, 0.0)
    voyage.journal.book("switching", state, after.state)
    return replace(after, mode=replace(mode, drive=drive))


def enter_limit(voyage: Voyage, situation: Situation) -> Situation:
    """The current has come to the controller's limit, from below or from a saturated bridge."""
    limit = voyage.machine.controller.current_limit
    assert limit is not None
    voyage.journal.note(Kind.LIMIT_ENTERED, situation.time, situation.state)
    current = math.copysign(limit, float(situation.state[CURRENT]))
    held = set_entry(situation, CURRENT, current)
    voyage.journal.book("switching", situation.state, held.state)
    mode = replace(held.mode, drive=Drive.REGULATING, current=current, saturated=False)
    needed = circuit(voyage.machine, mode, held.time, held.state.tolist()).duty
    if np.sign(current) * (mode.duty.at(held.time) - needed) <= 0.0:
        # the limit was touched by a current that is already falling: the wished duty itself keeps below it
        mode = replace(mode, drive=Drive.DRIVING)
    return replace(held, mode=mode)


def enter_ration(voyage: Voyage, situation: Situation) -> Situation:
    """What the bridge draws has come to its limit: from now on the duty keeps it there."""
    voyage.journal.note(Kind.LIMIT_ENTERED, situation.time, situation.state, "of the supply")
    machine, mode, ration = voyage.machine, situation.mode, voyage.machine.controller.supply_current_limit
    assert ration is not None
    duty = circuit(machine, mode, situation.time, situation.state.tolist()).duty
    held = set_entry(situation, CURRENT, ration / duty)
    voyage.journal.book("switching", situation.state, held.state)
    return replace(held, mode=replace(mode, drive=Drive.RATIONED, saturated=False))


def release(voyage: Voyage, situation: Situation) -> Situation:
    """The wished duty itself keeps within the limit again."""
    voyage.journal.note(Kind.LIMIT_LEFT, situation.time, situation.state)
    return replace(situation, mode=replace(situation.mode, drive=Drive.DRIVING, saturated=False))


def change_flow(voyage: Voyage, situation: Situation, after: Flow) -> Situation:
    """The supply comes to a limit of its own or away from it; an empty bus is empty exactly."""
    before, kinds = situation.mode.flow, {Flow.LIMITED: Kind.SUPPLY_LIMITS, Flow.BLOCKED: Kind.BUS_RISES}
    if before is Flow.FREE and after is not Flow.EMPTY:
        voyage.journal.note(kinds[after], situation.time, situation.state)
    elif after is Flow.FREE and before is not Flow.EMPTY:
        voyage.journal.note(Kind.SUPPLY_RECOVERS, situation.time, situation.state)
    if after is Flow.EMPTY:
        situation = set_entry(situation, BUS, 0.0)
    return replace(situation, mode=replace(situation.mode, flow=after))


def saturate(situation: Situation) -> Situation:
    """No duty can keep the current at its limit: the bridge goes to its opposite end."""
    duty = Duty(start=-math.copysign(1.0, situation.mode.current), since=situation.time)
    return replace(situation, mode=replace(situation.mode, drive=Drive.DRIVING, duty=duty, saturated=True))
