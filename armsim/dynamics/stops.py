"""An arm that meets a stop: thrown back by a rigid one, or carried by a buffer until it leaves it again."""

from dataclasses import replace

from armsim.drivetrain.machine import Machine
from armsim.drivetrain.train import speed_regimes, turns_back
from armsim.dynamics.buffer import SLOWEST_MEETING
from armsim.dynamics.modes import Mode, Press
from armsim.dynamics.motion import come_to_rest, resume_motion
from armsim.dynamics.run import Kind
from armsim.dynamics.state import ANGLE, SPEED
from armsim.dynamics.voyage import Situation, Voyage, set_entry

#: share of the no-load speed: slower rebounds are none. They hold less than a millionth of the energy of running at
#: that speed, which is what an account may be out by, and a train of bounces must end.
REBOUND = 1e-3


def stop_angle(machine: Machine, mode: Mode) -> float:
    """The stop that a motion runs against. [rad]"""
    return machine.arm.upper_stop if mode.sense > 0 else machine.arm.lower_stop


def meet_stop(voyage: Voyage, situation: Situation) -> Situation:
    """The arm has come to a stop."""
    machine, mode, stop = voyage.machine, situation.mode, voyage.machine.arm.stop
    voyage.journal.note(Kind.STOP_HIT, situation.time, situation.state)
    there, speed = set_entry(situation, ANGLE, stop_angle(machine, mode)), abs(float(situation.state[SPEED]))
    if not stop.rigid:
        damping = stop.damping(max(speed, SLOWEST_MEETING * machine.no_load_speed))
        return replace(there, mode=replace(mode, press=Press(side=mode.sense, damping=damping), passing=False))
    back = stop.restitution * speed
    # what throws the arm back must turn the motor too, and a stage that locks lets it not
    if back <= REBOUND * machine.no_load_speed or not turns_back(machine, back):
        return come_to_rest(voyage, there, "impact")
    away = set_entry(there, SPEED, -mode.sense * back)
    voyage.journal.book("impact", there.state, away.state)
    turned = replace(mode, sense=-mode.sense, regimes=speed_regimes(machine, back), passing=False)
    return resume_motion(voyage, replace(away, mode=turned))


def leave_buffer(machine: Machine, situation: Situation) -> Situation:
    """The arm parts from the buffer, which by then pushes no more."""
    arm, press = machine.arm, situation.mode.press
    assert press is not None
    there = set_entry(situation, ANGLE, arm.upper_stop if press.side > 0 else arm.lower_stop)
    return replace(there, mode=replace(there.mode, press=None))


def turn_slack(situation: Situation) -> Situation:
    """The buffer follows the arm no more, or again."""
    mode = situation.mode
    assert mode.press is not None
    return replace(situation, mode=replace(mode, press=replace(mode.press, slack=not mode.press.slack)))
