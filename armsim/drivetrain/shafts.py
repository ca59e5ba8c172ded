"""Shaft by shaft: inertia and play seen at the arm. How they turn: senses.py."""

from collections.abc import Iterator
from typing import NamedTuple

from armsim.drivetrain.machine import Machine
from armsim.parts.shaft import Shaft


class Play(NamedTuple):
    """What backlash leaves free, seen at the arm."""

    given: float  #: of the stages whose backlash is given, added up: the worst case [rad]
    missing: tuple[str, ...]  #: names of the others

    @property
    def angle(self) -> float | None:
        """All of it, None where a stage's backlash is not given. [rad]"""
        return None if self.missing else self.given


def free_play(machine: Machine, first: int = 0) -> Play:
    """Play between the input shaft of a stage and the arm: each stage's backlash over the reduction behind it."""
    stages, turns = machine.stages[first:], machine.shaft_turns[first + 1 :]
    given = sum((s.backlash / n for s, n in zip(stages, turns, strict=True) if s.backlash is not None), 0.0)
    return Play(given, tuple(stage.name for stage in stages if stage.backlash is None))


def train_stiffness(machine: Machine) -> float | None:
    """Stiffness between motor and arm, seen there: stages in series, each by the square of the reduction behind it.

    Stages without one are taken as rigid; None where no stage gives one. [N*m/rad]
    """
    given = [(s.stiffness, n) for s, n in zip(machine.stages, machine.shaft_turns[1:], strict=True)]
    yielding = sum(1.0 / (k * n * n) for k, n in given if k is not None)
    return 1.0 / yielding if yielding > 0.0 else None


def reflected_inertias(machine: Machine) -> tuple[float, ...]:
    """Inertia of each shaft seen at the arm without losses, J_k N_k^2, motor's first. [kg*m2]"""
    return tuple(j * n * n for j, n in zip(machine.shaft_inertias, machine.shaft_turns, strict=True))


def shaft_before(machine: Machine, k: int) -> Shaft | None:
    """The input shaft of a stage: its own, or the output shaft of the one before; None: not told of."""
    own = machine.stages[k].input_shaft
    return own if own is not None or k == 0 else machine.stages[k - 1].output_shaft


def named_shafts(machine: Machine) -> Iterator[tuple[int, str, Shaft]]:
    """Every shaft told of, from the motor to the arm: its stage's place in the train, which end of it, shaft."""
    for k, stage in enumerate(machine.stages):
        for part, shaft in (("input shaft", stage.input_shaft), ("output shaft", stage.output_shaft)):
            if shaft is not None:
                yield k, part, shaft
