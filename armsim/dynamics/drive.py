"""What the bridge does: driving, holding, limited, off; and the state set exactly where that changes."""

import math
from dataclasses import replace

import numpy as np

from armsim.drivetrain.machine import Machine
from armsim.drivetrain.train import cone
from armsim.dynamics.field import ANGLE, CURRENT, SPEED, circuit
from armsim.dynamics.modes import Drive, Duty
from armsim.dynamics.run import Kind
from armsim.dynamics.voyage import Command, Situation, Voyage, set_entry
from armsim.parts.bridge import duty_for_current


def holding_current(machine: Machine, angle: float) -> float:
    """Per-motor current with which a resting arm is held: none where friction does it, else mid-band. [A]"""
    edges = cone(machine, angle)
    if edges.holds(0.0):
        return 0.0
    motor = machine.motor
    return 0.5 * (edges.sink + edges.rise) / (motor.count * motor.torque_constant)


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
