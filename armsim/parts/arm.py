"""The driven arm: its inertia, the gravity torque about its pivot, pivot friction and stops."""

import math
from dataclasses import dataclass, replace

from armsim.parts.counterbalance import Counterbalance
from armsim.parts.stop import Stop

STANDARD_GRAVITY = 9.80665  #: [m/s2] (CGPM 1901)


@dataclass(frozen=True, kw_only=True)
class Friction:
    """Friction of a bearing or guide; breakaway is what holds it at rest, >= coulomb."""

    coulomb: float = 0.0  #: [N*m]
    viscous: float = 0.0  #: [N*m*s/rad]
    breakaway: float = 0.0  #: [N*m]

    def __post_init__(self) -> None:
        if self.breakaway < self.coulomb:
            raise ValueError("breakaway friction cannot be below running friction")


@dataclass(frozen=True, kw_only=True)
class Arm:
    """Rigid arm about a pivot. Angle 0 is horizontal, positive up; lifting is the positive sense."""

    length: float  #: pivot to tip [m]
    inertia: float  #: about the pivot, payload included [kg*m2]
    first_moment: float  #: sum of mass times distance along the arm, payload included [kg*m]
    payload_mass: float = 0.0  #: [kg]
    payload_at: float = 0.0  #: distance of the payload from the pivot [m]
    gravity: float = STANDARD_GRAVITY  #: component in the plane of motion [m/s2]
    friction: Friction = Friction()
    counterbalances: tuple[Counterbalance, ...] = ()  #: springs; a counterweight is in inertia and first moment
    lower_stop: float = -math.inf  #: [rad]
    upper_stop: float = math.inf  #: [rad]
    stop: Stop = Stop()  #: what both are made of


def gravity_torque(arm, angle):
    """Torque that gravity needs held up at an angle, m g r cos(angle). [N*m]"""
    return arm.first_moment * arm.gravity * math.cos(angle)


def potential_energy(arm, angle):
    """Energy against gravity, zero at the horizontal. [J]"""
    return arm.first_moment * arm.gravity * math.sin(angle)


def free_torque(arm, angle):
    """Torque that keeps the arm at an angle: gravity less what the counterbalances carry, buffers aside. [N*m]"""
    torque = gravity_torque(arm, angle)
    for helper in arm.counterbalances:
        torque -= helper.torque(angle)
    return torque


def load_torque(arm, angle):
    """The same with the buffer on which the arm leans beyond a stop. [N*m]"""
    torque = free_torque(arm, angle)
    if not arm.stop.rigid:
        torque += arm.stop.stiffness * stop_travel(arm, angle)
    return torque


def stop_travel(arm, angle):
    """How far the arm is beyond a stop: positive above the upper, negative below the lower one. [rad]"""
    return max(angle - arm.upper_stop, 0.0) + min(angle - arm.lower_stop, 0.0)


def load_damping(arm, angle):
    """Torque of the counterbalances against motion, per arm speed. [N*m*s/rad]"""
    damping = 0.0
    for helper in arm.counterbalances:
        damping += helper.damping(angle)
    return damping


def spring_energy(arm, angle):
    """Energy stored in the counterbalances, up to a constant, and in a buffer. [J]"""
    energy = sum(helper.energy(angle) for helper in arm.counterbalances)
    if not arm.stop.rigid:
        energy += 0.5 * arm.stop.stiffness * stop_travel(arm, angle) ** 2
    return energy


def with_payload(arm, mass):
    """The arm with another payload in the same place, mass in kg."""
    change = mass - arm.payload_mass
    return replace(
        arm,
        payload_mass=mass,
        inertia=arm.inertia + change * arm.payload_at**2,
        first_moment=arm.first_moment + change * arm.payload_at,
    )


def slender_inertia(mass, centre, half_span):
    """Inertia about the pivot of a slender uniform body: m c^2 + m (2 h)^2/12. [kg*m2]"""
    return mass * centre * centre + mass * (2.0 * half_span) ** 2 / 12.0
