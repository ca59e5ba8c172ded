"""The working points of the motor on this source: no load, best efficiency, most power, stall, and this machine's load.

Voltage behind source, wires and bridge, windings at ambient, full duty: i = (E - R_s I_aux - k w)/(R + R_br + n R_s).
Efficiency is shaft power over what the source gives for it, other loads aside.
"""

from collections.abc import Callable, Iterator
from dataclasses import replace

from armsim.checks.assessment import OperatingPoint
from armsim.checks.lifting import LiftTask, static_margin
from armsim.checks.search import narrowed, top
from armsim.drivetrain.circuit import drive_point, free_current, loop_of
from armsim.drivetrain.machine import Machine
from armsim.drivetrain.train import motion_torque
from armsim.parts.battery import open_circuit_voltage

PRECISION = 1e-10  #: of a speed, over the no-load speed


def operating_points(machine: Machine, task: LiftTask | None) -> tuple[OperatingPoint, ...]:
    """Named points in order of falling speed, the load's last where a lift asks for one that can be kept."""
    return tuple(_points(machine, task))


def _points(machine: Machine, task: LiftTask | None) -> Iterator[OperatingPoint]:
    idle = no_load_speed(machine)
    if idle <= 0.0:
        return  # it cannot overcome its own drag

    def best(worth: Callable[[OperatingPoint], float]) -> float:
        return top(lambda speed: worth(point(machine, "", speed)), 0.0, idle, PRECISION * idle)

    yield replace(point(machine, "no load", idle), torque=0.0, power=0.0, efficiency=0.0)
    yield point(machine, "best efficiency", best(lambda one: one.efficiency))
    yield point(machine, "most power", best(lambda one: one.power))
    yield point(machine, "stall", 0.0)
    if task is not None:
        speed = steady_speed(machine, task)
        if speed is not None:
            yield point(machine, "this load, lifted at the worst angle", speed, task.duty)


def point(machine: Machine, name: str, speed: float, duty: float = 1.0) -> OperatingPoint:
    """One motor at a shaft speed [rad/s] under a duty, unlimited by the controller."""
    motor, loads = machine.motor, machine.other_loads
    current = free_current(machine, loop_of(machine, speed, None), duty)
    torque = motor.torque_constant * current - motor.coulomb_torque - motor.viscous_drag * speed
    source = open_circuit_voltage(machine.battery, 0.0) - machine.source_resistance * loads
    taken = source * duty * current
    return OperatingPoint(
        name=name,
        speed=speed,
        torque=torque,
        current=current,
        power=torque * speed,
        efficiency=max(0.0, torque * speed / taken) if taken > 0.0 else 0.0,
    )


def no_load_speed(machine: Machine) -> float:
    """Shaft speed that leaves a motor no torque for a load; not above zero where it cannot turn itself. [rad/s]"""
    motor = machine.motor
    k, stalled, turning = (
        motor.torque_constant,
        *(free_current(machine, loop_of(machine, w, None), 1.0) for w in (0.0, 1.0)),
    )
    return (k * stalled - motor.coulomb_torque) / (k * (stalled - turning) + motor.viscous_drag)


def steady_speed(machine: Machine, task: LiftTask) -> float | None:
    """Motor speed at which the worst angle of a lift is passed steadily, limits of the controller kept. [rad/s]

    None where the load is too much, or nothing needs lifting.
    """
    margin = static_margin(machine, task)
    if margin is None:
        return None
    turns, angle = machine.shaft_turns[0], margin.angle

    def surplus(speed: float) -> float:
        drive = drive_point(machine, task.duty, speed)
        others = machine.companion_currents(drive.volts, speed / turns)
        return drive.torque - motion_torque(machine, angle, speed / turns, 0.0, +1, others)

    if surplus(0.0) <= 0.0:
        return None
    return narrowed(lambda speed: surplus(speed) > 0.0, 0.0, no_load_speed(machine), PRECISION)[0]
