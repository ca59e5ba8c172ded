"""A machine as it was built: its figures off the sheet's by a factor that holds for many parts at once.

Every factor multiplies what it is named after and is 1 for the machine as drawn. All of it works on a factor a machine
or an array of them. A single figure needs no factor: it is another value of its own key.
"""

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Any

from armsim.drivetrain.machine import Machine
from armsim.parts.arm import Arm, Friction
from armsim.parts.motor import ROTOR_LOSS
from armsim.parts.stage import ConstantEfficiency, Stage
from armsim.parts.worm import WormLaw, locking_friction

Factor = Any  #: a float, or an array of designs
FRICTION_SHARE = 0.999  #: of the friction at which a worm could no longer turn its wheel


def with_efficiency(machine: Machine, factor: Factor) -> Machine:
    """Every stage of given efficiency at so many times its own; not worms, whose losses follow from friction.

    What a stage loses with the load driving grows as what it loses with the motor driving, L = 1/eta - 1: of one mesh,
    where the reverse efficiency is 1 - L, that is exact.
    """
    return replace(machine, stages=tuple(_less_efficient(stage, factor) for stage in machine.stages))


def _less_efficient(stage: Stage, factor: Factor) -> Stage:
    law = stage.law
    if stage.kind == ROTOR_LOSS or not isinstance(law, ConstantEfficiency):
        return stage
    forward = law.forward * factor
    before, after = 1.0 / law.forward - 1.0, 1.0 / forward - 1.0
    lost = (1.0 - law.reverse) * after / before if before > 0.0 else after
    return replace(stage, law=replace(law, forward=forward, reverse=1.0 - lost))


def with_friction(machine: Machine, factor: Factor) -> Machine:
    """Friction of pivot or guide, drag of stages, and the friction given of worms, at so many times their own."""
    arm, stages = machine.arm, tuple(_rougher(stage, factor) for stage in machine.stages)
    if isinstance(arm, Arm):
        return replace(machine, stages=stages, arm=replace(arm, friction=_scaled(arm.friction, factor)))
    rougher = replace(arm, guide=_scaled(arm.guide, factor), friction_coefficient=arm.friction_coefficient * factor)
    return replace(machine, stages=stages, arm=rougher)


def _scaled(friction: Friction, factor: Factor) -> Friction:
    return replace(
        friction,
        coulomb=friction.coulomb * factor,
        viscous=friction.viscous * factor,
        breakaway=friction.breakaway * factor,
    )


def _rougher(stage: Stage, factor: Factor) -> Stage:
    law = stage.law
    if isinstance(law, WormLaw) and law.friction is not None:
        shaken = None if law.vibration_friction is None else law.vibration_friction * factor
        law = replace(
            law,
            friction=law.friction * factor,
            static_friction=law.static_friction * factor,
            vibration_friction=shaken,
        )
    return replace(stage, law=law, drag=stage.drag * factor, viscous_drag=stage.viscous_drag * factor)


def with_motor_constant(machine: Machine, factor: Factor) -> Machine:
    """Torque per ampere, and with it the back-EMF, at so many times its own: a stronger or weaker magnet.

    Motors on other shafts of the train stay as they are.
    """
    motor = machine.motor
    constant = motor.back_emf_constant * factor
    return replace(machine, motor=replace(motor, torque_constant=constant, back_emf_constant=constant))


def with_motor_resistance(machine: Machine, factor: Factor) -> Machine:
    """Resistance of the winding at so many times its own. Motors on other shafts of the train stay as they are."""
    return replace(machine, motor=replace(machine.motor, resistance=machine.motor.resistance * factor))


#: what may be off by a factor, in the order in which it is applied
FACTORS: dict[str, Callable[[Machine, Factor], Machine]] = {
    "efficiency": with_efficiency,
    "friction": with_friction,
    "motor_constant": with_motor_constant,
    "motor_resistance": with_motor_resistance,
}


def touches(machine: Machine, name: str) -> bool:
    """Whether a factor of that name changes anything in the machine."""
    return bool(FACTORS[name](machine, 0.5) != machine)


def untouched_by(machine: Machine, name: str) -> tuple[str, ...]:
    """Stages that a factor leaves although it seems meant for them: of friction, worms that follow the mean curve."""
    if name != "friction":
        return ()
    return tuple(s.name for s in machine.stages if isinstance(s.law, WormLaw) and s.law.friction is None)


def largest_factor(machine: Machine, name: str) -> float:
    """Beyond which no machine can be: an efficiency above one, a worm that its own friction stops. inf: no such."""
    if name == "efficiency":
        laws = [stage.law for stage in machine.stages if stage.kind != ROTOR_LOSS]
        return min((1.0 / law.forward for law in laws if isinstance(law, ConstantEfficiency)), default=math.inf)
    if name == "friction":
        worms = [s.law for s in machine.stages if isinstance(s.law, WormLaw) and s.law.friction is not None]
        return min(map(_stops_at, worms), default=math.inf)
    return math.inf


def _stops_at(law: WormLaw) -> float:
    """Friction of a worm over its own at which it no longer turns the wheel, cos(a) cot(l). [-]"""
    stops = math.cos(law.pressure_angle) ** 2 / float(locking_friction(law.lead_angle, law.pressure_angle))
    return FRICTION_SHARE * stops / max(law.static_friction, law.friction or 0.0)
