"""Where a run stands while it is computed: the command, the situation, and the voyage with its journal."""

import math
from dataclasses import dataclass, replace

from armsim.drivetrain.machine import Machine
from armsim.dynamics.field import CURRENT, State, look
from armsim.dynamics.journal import Journal
from armsim.dynamics.modes import Mode
from armsim.dynamics.plan import PowerCut
from armsim.dynamics.segment import Sample, Tolerances


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


def set_entry(situation: Situation, index: int, value: float) -> Situation:
    """The same situation with one entry of the state set exactly."""
    state = situation.state.copy()
    state[index] = value
    return replace(situation, state=state)


def keep(voyage: Voyage, situation: Situation) -> None:
    """Record the machine as it stands."""
    now = look(voyage.machine, situation.mode, situation.time, situation.state.tolist())
    voyage.journal.samples.append((Sample(situation.time, situation.state, now), situation.mode))


def torque_of(machine: Machine, state: State) -> float:
    """Air-gap torque of all motors. [N*m]"""
    return machine.motor.count * machine.motor.torque_constant * float(state[CURRENT])
