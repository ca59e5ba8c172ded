"""Machines for tests: one plain builder with everything adjustable."""

import math
from dataclasses import replace
from typing import Any

from armsim.drivetrain.machine import Machine
from armsim.parts.arm import Arm, Friction
from armsim.parts.battery import constant_source
from armsim.parts.bridge import Controller
from armsim.parts.motor import Motor
from armsim.parts.stage import ConstantEfficiency, Stage, reverse_of
from armsim.parts.wiring import Run

MOTOR = Motor(
    resistance=0.5,
    inductance=3e-4,
    torque_constant=0.07,
    back_emf_constant=0.07,
    coulomb_torque=0.05,
    viscous_drag=7e-5,
    breakaway_torque=0.05,
    rotor_inertia=2e-4,
)


def stage(reduction: float, forward: float = 0.9, reverse: float | None = None, **more: Any) -> Stage:
    """A stage of constant efficiency."""
    law = ConstantEfficiency(forward=forward, reverse=reverse_of(forward) if reverse is None else reverse)
    return Stage(**{"kind": "gearbox", "name": "stage", "reduction": reduction, "law": law, **more})


def arm(moment: float = 6.0, inertia: float = 3.5, **more: Any) -> Arm:
    """An arm of given first moment [kg*m] and inertia [kg*m2] with stops at -35 and 95 degrees."""
    return Arm(
        **{
            "length": 0.62,
            "inertia": inertia,
            "first_moment": moment,
            "payload_mass": 5.0,
            "payload_at": 0.62,
            "lower_stop": math.radians(-35.0),
            "upper_stop": math.radians(95.0),
            **more,
        }
    )


def frictionless_motor(**more: Any) -> Motor:
    """A motor without drag of its own."""
    return replace(MOTOR, **{"coulomb_torque": 0.0, "viscous_drag": 0.0, "breakaway_torque": 0.0, **more})


def machine(**more: Any) -> Machine:
    """A 24 V machine with one 60:1 stage that lifts its arm with room to spare."""
    return Machine(
        **{
            "motor": MOTOR,
            "battery": constant_source(25.0, 0.04),
            "wiring": (Run(resistance=0.012),),
            "other_loads": 1.0,
            "controller": Controller(resistance=0.006),
            "stages": (stage(60.0),),
            "arm": arm(friction=Friction(coulomb=0.6, viscous=0.05, breakaway=0.9)),
            **more,
        }
    )
