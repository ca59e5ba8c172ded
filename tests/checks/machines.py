"""Machines small enough to work out by hand."""

import math
from dataclasses import replace

from armsim.drivetrain.machine import Machine
from armsim.dynamics.plan import Plan, Travel
from armsim.parts.arm import Arm
from armsim.parts.battery import constant_source
from armsim.parts.bridge import Controller
from armsim.parts.motor import Heat, Motor
from armsim.parts.protection import Edge, Protection
from armsim.parts.stage import ConstantEfficiency, Stage
from armsim.parts.wiring import Run

# constants and drag of the motor in the worked answers: 12 V, 5000 rpm, 2.5 A, 120 A, 70 % of the drag Coulomb
K = 0.0224408  # [N*m/A]
TC = 0.0392715  # [N*m]
B = 3.21441e-5  # [N*m*s/rad]
GRAVITY = 9.80665

MOTOR = Motor(
    resistance=0.1,
    inductance=5e-5,
    torque_constant=K,
    back_emf_constant=K,
    coulomb_torque=TC,
    viscous_drag=B,
    breakaway_torque=TC,
    rotor_inertia=8e-5,
)
HEAT = Heat(
    winding_to_housing=1.5, housing_to_air=3.5, winding_capacity=62.0, housing_capacity=420.0, winding_limit=130.0
)
ARM = Arm(
    length=0.5,
    inertia=6.0 * 0.45**2,
    first_moment=6.0 * 0.45,
    payload_mass=6.0,
    payload_at=0.45,
    lower_stop=math.radians(-60.0),
    upper_stop=math.radians(100.0),
)
SINGLE = Edge(weights=(1.0,), time_constants=(40.0,), ultimate_multiple=1.25)
QUICK = Edge(weights=(1.0,), time_constants=(7.0,), ultimate_multiple=1.25)
BREAKER = Protection(kind="thermal-manual-reset", rating=40.0, earliest=QUICK, latest=SINGLE)
LIFT = Plan(start=math.radians(-30.0), moves=(Travel(to=math.radians(60.0)),))


def stage(reduction, forward, reverse=None, **rest):
    """A stage of constant efficiencies; reverse by the rule for one mesh."""
    backward = 2.0 - 1.0 / forward if reverse is None else reverse
    law = ConstantEfficiency(forward=forward, reverse=backward)
    return Stage(**{"kind": "gears", "name": "gears", "reduction": reduction, "law": law, **rest})


def machine(**changes):
    """Example motor, 120:1 at 0.70 forward, 6 kg at 0.45 m, 12.56 V behind 24 mohm and 2 A beside."""
    base = Machine(
        motor=MOTOR,
        battery=constant_source(12.56, 0.014),
        wiring=(Run(resistance=0.010),),
        other_loads=2.0,
        controller=Controller(resistance=0.004),
        stages=(stage(120.0, 0.70),),
        arm=ARM,
    )
    return replace(base, **changes)
