"""Shaft by shaft: senses of turning and inertia seen at the arm."""

from armsim.drivetrain.machine import Machine


def reflected_inertias(machine: Machine) -> tuple[float, ...]:
    """Inertia of each shaft seen at the arm without losses, J_k N_k^2, motor's first. [kg*m2]"""
    return tuple(j * n * n for j, n in zip(machine.shaft_inertias, machine.shaft_turns, strict=True))


def shaft_senses(machine: Machine) -> tuple[int | None, ...]:
    """How each shaft turns while the arm lifts: +1 like the arm, -1 against it, None once a corner lies between."""
    senses: list[int | None] = [1]
    for stage in reversed(machine.stages):
        last = senses[-1]
        senses.append(None if last is None or stage.sense is None else last * stage.sense)
    return tuple(reversed(senses))
