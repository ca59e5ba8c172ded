"""Where a run stands while it is computed: the command, the situation, and the voyage with its journal."""

import math
from dataclasses import dataclass, replace

from armsim.drivetrain.machine import Machine
from armsim.drivetrain.train import Cone, cone
from armsim.dynamics.electrics import constant_of
from armsim.dynamics.field import look
from armsim.dynamics.journal import Journal
from armsim.dynamics.modes import Mode
from armsim.dynamics.plan import Limits, PowerCut
from armsim.dynamics.segment import Sample, Tolerances
from armsim.dynamics.state import ANGLE, CURRENT, State, companion_entries
from armsim.dynamics.steering import Steering


@dataclass(frozen=True, kw_only=True)
class Push:
    """Drive with a constant duty."""

    duty: float  #: signed [-]


@dataclass(frozen=True, kw_only=True)
class Steer:
    """Bring the arm to an angle and keep it there by the position loop, along a profile or at once."""

    to: float  #: [rad]
    limits: Limits | None = None  #: of the profile; None: the reference is at the angle from the start
    name: str = ""


@dataclass(frozen=True, kw_only=True)
class Off:
    """Bridge off, the motor's terminals shorted or open."""

    shorted: bool | None = None  #: None: as the controller leaves them


Command = Push | Steer | Off


@dataclass(frozen=True, kw_only=True)
class Situation:
    """Where a run stands."""

    time: float
    state: State
    mode: Mode
    wakes: float = math.inf  #: when a controller that has reset drives again [s]
    steering: Steering | None = None  #: of the position loop while it is at work


class Halted(Exception):
    """The run has come to the moment it was to be followed to."""

    def __init__(self, machine: Machine, situation: Situation) -> None:
        super().__init__("halted")
        self.machine, self.situation = machine, situation


@dataclass(frozen=True, kw_only=True)
class Voyage:
    """One run being computed: the machine, its journal, how exactly, and where to halt for a power cut."""

    machine: Machine
    journal: Journal
    tolerances: Tolerances = Tolerances()
    halt: PowerCut = PowerCut()


def set_entry(situation: Situation, index: int, value: float) -> Situation:
    """The same situation with one entry of the state set exactly."""
    state = situation.state.copy()
    state[index] = value
    return replace(situation, state=state)


def keep(voyage: Voyage, situation: Situation) -> None:
    """Record the machine as it stands."""
    now = look(voyage.machine, situation.mode, situation.time, situation.state.tolist())
    voyage.journal.samples.append((Sample(situation.time, situation.state, now), situation.mode))


def others_in(machine: Machine, state: State) -> list[float]:
    """Currents of companions. [A]"""
    return [float(state[k]) for k in companion_entries(machine)]


def friction_cone(machine: Machine, situation: Situation) -> Cone:
    """The friction cone where the arm stands, with companions pushing as they do."""
    return cone(machine, float(situation.state[ANGLE]), others_in(machine, situation.state))


def torque_of(machine: Machine, state: State) -> float:
    """Air-gap torque of all motors. [N*m]"""
    return machine.motor.count * constant_of(machine)(state.tolist()) * float(state[CURRENT])
