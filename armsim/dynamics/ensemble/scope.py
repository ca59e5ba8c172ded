"""What the ensemble follows, and why it leaves something to the exact run."""

import numpy as np

from armsim.drivetrain.machine import Machine
from armsim.dynamics.plan import Plan, Travel


def unsupported(machine: Machine, plan: Plan) -> str | None:
    """Why a machine and what it is asked for need the exact run; None where many can be followed at once."""
    if plan.repeat != 1 or len(plan.moves) != 1 or not isinstance(plan.moves[0], Travel) or plan.moves[0].duty <= 0.0:
        return "only a single lift at constant duty is followed for many machines at once"
    arm, task = machine.arm, plan.moves[0]
    if machine.outlet is not None:
        return "a supply with limits of its own and a capacitor"
    if machine.companions:
        return "further motors on shafts of the train"
    if not arm.stop.rigid:
        return "stops that give way"
    if np.any(np.asarray(machine.motor.brush_drop) > 0.0):
        return "a voltage drop under the brushes"
    if isinstance(machine.controller.ramp, np.ndarray) or isinstance(machine.controller.minimum_duty, np.ndarray):
        return "a ramp or a least duty that differs from design to design"
    if not np.all((task.to > plan.start) & (plan.start >= np.asarray(arm.lower_stop))):
        return "a start below the lower stop or a target below the start"
    return None
