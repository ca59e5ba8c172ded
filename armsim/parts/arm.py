"""The driven arm: its inertia, the gravity torque about its pivot, pivot friction and stops.

What is asked of any load stands below it as functions: an arm moves in rad under N*m, a carriage
(armsim.parts.carriage) in m under N, and both answer alike.
"""

import math
from dataclasses import dataclass, replace
from typing import ClassVar

from armsim.parts.counterbalance import Counterbalance
from armsim.parts.elementwise import anywhere, cosine, exponential, sine
from armsim.parts.stop import Stop

STANDARD_GRAVITY = 9.80665  #: [m/s2] (CGPM 1901)


@dataclass(frozen=True, kw_only=True)
class Friction:
    """Friction of a bearing or guide; breakaway is what holds it at rest, >= coulomb."""

    coulomb: float = 0.0  #: [N*m]
    viscous: float = 0.0  #: [N*m*s/rad]
    breakaway: float = 0.0  #: [N*m]
    stribeck_speed: float | None = None  #: over which breakaway falls to coulomb; None: at once [rad/s]

    def __post_init__(self) -> None:
        if anywhere(self.breakaway < self.coulomb):
            raise ValueError("breakaway friction cannot be below running friction")

    def excess(self, speed):
        """Friction above coulomb and viscous while moving, (T_s - T_c) exp(-(w/w_s)^2), the Stribeck curve. [N*m]"""
        if self.stribeck_speed is None:
            return 0.0
        return (self.breakaway - self.coulomb) * exponential(-((speed / self.stribeck_speed) ** 2))


@dataclass(frozen=True, kw_only=True)
class Arm:
    """Rigid arm about a pivot. Angle 0 is horizontal, positive up; lifting is the positive sense."""

    kind: ClassVar[str] = "arm"
    small: ClassVar[float] = 1.0  #: what counts as little is told in these: a radian [rad]
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

    def gravity_torque(self, angle):
        """Torque that gravity needs held up at an angle, m g r cos(angle). [N*m]"""
        return self.first_moment * self.gravity * cosine(angle)

    def potential_energy(self, angle):
        """Energy against gravity, zero at the horizontal. [J]"""
        return self.first_moment * self.gravity * sine(angle)

    def payload_height(self, angle):
        """How high the payload stands along the pull of gravity, zero at the horizontal. [m]"""
        return self.payload_at * math.sin(angle)

    def height(self, angle):
        """How high the tip stands, of the arm's length. [-]"""
        return math.sin(angle)

    def rises_upward(self, angle):
        """Whether the positive sense lifts: not beyond the vertical."""
        return math.cos(angle) >= 0.0

    def load_peaks(self, low, high):
        """Angles inside a range at which the gravity torque peaks. [rad]"""
        return tuple(k * math.pi for k in range(math.ceil(low / math.pi), math.floor(high / math.pi) + 1))

    def with_payload(self, mass):
        """The arm with another payload in the same place, mass in kg."""
        change, at = mass - self.payload_mass, self.payload_at
        return replace(
            self,
            payload_mass=mass,
            inertia=self.inertia + change * at**2,
            first_moment=self.first_moment + change * at,
        )


def gravity_torque(arm, angle):
    """What gravity needs held up. [N*m, N]"""
    return arm.gravity_torque(angle)


def potential_energy(arm, angle):
    """Energy against gravity. [J]"""
    return arm.potential_energy(angle)


def free_torque(arm, angle):
    """Torque that keeps the arm at an angle: gravity less what the counterbalances carry, buffers aside. [N*m]"""
    torque = gravity_torque(arm, angle)
    for helper in arm.counterbalances:
        torque = torque - helper.torque(angle)
    return torque


def load_torque(arm, angle):
    """The same with the buffer on which the arm leans beyond a stop. [N*m]"""
    torque = free_torque(arm, angle)
    if not arm.stop.rigid:
        torque = torque + arm.stop.stiffness * stop_travel(arm, angle)
    return torque


def stop_travel(arm, angle):
    """How far the arm is beyond a stop: positive above the upper, negative below the lower one. [rad]"""
    return max(angle - arm.upper_stop, 0.0) + min(angle - arm.lower_stop, 0.0)


def load_damping(arm, angle):
    """Torque of the counterbalances against motion, per arm speed. [N*m*s/rad]"""
    damping = 0.0
    for helper in arm.counterbalances:
        damping = damping + helper.damping(angle)
    return damping


def spring_energy(arm, angle):
    """Energy stored in the counterbalances, up to a constant, and in a buffer. [J]"""
    energy = sum(helper.energy(angle) for helper in arm.counterbalances)
    if not arm.stop.rigid:
        energy += 0.5 * arm.stop.stiffness * stop_travel(arm, angle) ** 2
    return energy


def payload_energy(arm, angle):
    """The payload's part of the energy against gravity. [J]"""
    return arm.payload_mass * arm.gravity * arm.payload_height(angle)


def with_payload(arm, mass):
    """The load with another payload in the same place, mass in kg."""
    return arm.with_payload(mass)


def slender_inertia(mass, centre, half_span):
    """Inertia about the pivot of a slender uniform body: m c^2 + m (2 h)^2/12. [kg*m2]"""
    return mass * centre * centre + mass * (2.0 * half_span) ** 2 / 12.0
