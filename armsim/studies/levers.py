"""What a limit is sought of: payload, length, charge, efficiency, each with the machine that another value makes."""

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from armsim.checks.search import narrowed
from armsim.drivetrain.machine import Machine, loaded
from armsim.dynamics.plan import Exchange, Plan
from armsim.parts.arm import Arm
from armsim.parts.motor import ROTOR_LOSS
from armsim.parts.stage import EfficiencyLaw

if TYPE_CHECKING:
    from armsim.scenario.tasks import Task


@dataclass(frozen=True, kw_only=True)
class Lever:
    """One thing that is changed: how it stands, where it helps most and where it hinders most, and what it makes."""

    key: str
    what: str  #: such as "largest payload"
    dimension: str
    now: float
    easiest: float  #: where the task is easiest
    hardest: float  #: where the search ends
    changed: Callable[[float], tuple[Machine, Plan]]


@dataclass(frozen=True, kw_only=True)
class ScaledLosses:
    """An efficiency law whose losses are a multiple of another's: L = 1/forward - 1, and 1 - reverse."""

    law: EfficiencyLaw
    factor: float

    @property
    def speed_edges(self) -> tuple[float, ...]:
        return self.law.speed_edges

    @property
    def depends_on_speed(self) -> bool:
        return self.law.depends_on_speed

    def running(self, speed: float, regime: int) -> tuple[float, float]:
        return self._scaled(*self.law.running(speed, regime))

    def static(self) -> tuple[float, float]:
        return self._scaled(*self.law.static())

    def lock_loss_speed(self) -> float | None:
        return self.law.lock_loss_speed()

    def _scaled(self, forward: float, reverse: float) -> tuple[float, float]:
        return 1.0 / (1.0 + self.factor * (1.0 / forward - 1.0)), 1.0 - self.factor * (1.0 - reverse)


def levers_of(task: "Task") -> tuple[Lever, ...]:
    """All that a whole scenario has; none of one that lacks a part."""
    from armsim.scenario.tasks import with_charge

    if task.scenario is None:
        return ()
    return levers(task.scenario.machine, task.plan, lambda charge: with_charge(task, charge))


def levers(machine: Machine, plan: Plan, charged: Callable[[float], Machine] | None = None) -> tuple[Lever, ...]:
    """All that a machine has of the standard ones; how it is with another charge has to be told."""
    return tuple(_levers(machine, plan, charged))


def _levers(machine: Machine, plan: Plan, charged: Callable[[float], Machine] | None) -> Iterator[Lever]:
    arm, battery = machine.arm, machine.battery
    if arm.payload_mass > 0.0:
        yield Lever(
            key=f"{arm.kind}.payload.mass",
            what="largest payload",
            dimension="mass",
            now=arm.payload_mass,
            easiest=0.0,
            hardest=64.0 * arm.payload_mass,
            changed=lambda mass: with_payloads(machine, plan, mass / arm.payload_mass),
        )
    if isinstance(arm, Arm):
        yield Lever(
            key="arm.length",
            what="longest arm",
            dimension="length",
            now=arm.length,
            easiest=0.05 * arm.length,
            hardest=16.0 * arm.length,
            changed=lambda length: (replace(machine, arm=stretched(arm, length / arm.length)), plan),
        )
    if battery.capacity is not None and charged is not None:
        yield Lever(
            key="supply.battery.state_of_charge",
            what="lowest charge",
            dimension="share",
            now=battery.state_of_charge,
            easiest=1.0,
            hardest=0.0,
            changed=lambda charge: (charged(charge), plan),
        )
    whole = efficiency_of(machine)
    if whole < 1.0:
        yield Lever(
            key="efficiency",
            what="worst efficiency",
            dimension="share",
            now=whole,
            easiest=1.0,
            hardest=0.02,
            changed=lambda efficiency: (with_efficiency(machine, efficiency), plan),
        )


def with_payloads(machine: Machine, plan: Plan, factor: float) -> tuple[Machine, Plan]:
    """The machine and its cycle with every payload times a factor."""
    moves = tuple(replace(m, payload=factor * m.payload) if isinstance(m, Exchange) else m for m in plan.moves)
    return loaded(machine, factor * machine.arm.payload_mass), replace(plan, moves=moves)


def stretched(arm: Arm, factor: float) -> Arm:
    """The arm with all along it, payload and counterweight included, further out by a factor; masses are kept."""
    return replace(
        arm,
        length=factor * arm.length,
        first_moment=factor * arm.first_moment,
        inertia=factor**2 * arm.inertia,
        payload_at=factor * arm.payload_at,
    )


def efficiency_of(machine: Machine) -> float:
    """Of the whole transmission from rest, what is lost inside the motor's rotor aside. [-]"""
    return math.prod(stage.law.static()[0] for stage in machine.stages if stage.kind != ROTOR_LOSS)


def with_efficiency(machine: Machine, efficiency: float) -> Machine:
    """The machine with the losses of all stages scaled alike, so that the whole has an efficiency from rest."""
    factor = 1.0
    laws = [stage.law for stage in machine.stages if stage.kind != ROTOR_LOSS]

    def whole(scale: float) -> float:
        return math.prod(ScaledLosses(law=law, factor=scale).static()[0] for law in laws)

    if efficiency >= 1.0:
        factor = 0.0
    else:
        most = 2.0
        while whole(most) > efficiency:
            most *= 2.0
        factor = narrowed(lambda scale: whole(scale) >= efficiency, 0.0, most, 1e-9)[0]
    stages = tuple(
        stage if stage.kind == ROTOR_LOSS else replace(stage, law=ScaledLosses(law=stage.law, factor=factor))
        for stage in machine.stages
    )
    return replace(machine, stages=stages)
