"""Does it stay up: friction alone at rest, the current that holds it, and what follows a power failure."""

import math

import numpy as np

from armsim.checks.assessment import Fall, Holding
from armsim.checks.lifting import hold_angles, travel_range, turning_points
from armsim.drivetrain.machine import Machine
from armsim.drivetrain.train import arm_torque_overhauling, cone
from armsim.dynamics.plan import Plan
from armsim.dynamics.run import Kind, Run
from armsim.dynamics.steering import holding_current
from armsim.parts.arm import load_torque

SETTLING = math.radians(5.0)  #: an arm caught by friction within this drop counts as held


def hold_statically(machine: Machine, plan: Plan) -> Holding:
    """Holding without power over all angles that the moves ask for, and the current at the asked hold."""
    corners = turning_points(machine, *travel_range(plan))
    worst = max(corners, key=lambda angle: _pull(machine, angle))
    asks = _pull(machine, worst) > 1e-12
    reverse = arm_torque_overhauling(machine)
    held_at = max(hold_angles(plan) or (worst,), key=lambda angle: _pull(machine, angle))
    edges, per_ampere = cone(machine, held_at), machine.motor.count * machine.motor.torque_constant
    return Holding(
        unpowered_holds=all(cone(machine, angle).holds(0.0) for angle in corners),
        hold_margin=reverse / _pull(machine, worst) if asks and reverse is not None else None,
        hold_angle=worst if asks else None,
        reverse_torque=reverse,
        holding_current=holding_current(machine, held_at),
        holding_band=(edges.sink / per_ampere, edges.rise / per_ampere),
        holding_at=held_at,
    )


def _pull(machine: Machine, angle: float) -> float:
    return abs(float(load_torque(machine.arm, angle)))


def fall_of_run(run: Run) -> Fall:
    """What a power-cut run shows: caught by friction near where it was, or down on a stop or hanging."""
    start, end = float(run.angle[0]), float(run.angle[-1])
    hit = run.first(Kind.STOP_HIT)
    pull = math.copysign(1.0, float(load_torque(run.machine.arm, start)))
    drop = pull * (start - end)
    caught = float(run.speed[-1]) == 0.0 and cone(run.machine, end).holds(0.0)
    holds = hit is None and caught and drop < SETTLING
    return Fall(
        at=start,
        holds=holds,
        falls=not holds,
        fall_time=None if hit is None else hit.time - float(run.time[0]),
        impact_speed=None if hit is None else abs(hit.speed),
        final_angle=end,
        peak_speed=float(np.max(np.abs(run.speed))),
        run=run,
    )
