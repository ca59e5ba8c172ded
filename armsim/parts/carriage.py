"""A carriage on a straight guide: what an arm is to a pivot, with a length in the place of the angle.

Its coordinate is the travel along the guide [m], positive up; its inertia is a mass [kg], and what an arm calls torque
is a force along the guide [N]. On an incline gravity asks m g sin(incline) everywhere, less the weight of a
counterweight that hangs on a rope over a pulley; what presses on the guide is m g cos(incline), and a coefficient of
friction makes a force of it, which holds a free carriage while tan(incline) <= mu.
"""

import math
from dataclasses import dataclass, replace
from functools import cached_property
from typing import ClassVar

from armsim.parts.arm import STANDARD_GRAVITY, Friction
from armsim.parts.counterbalance import Counterbalance
from armsim.parts.stop import Stop


@dataclass(frozen=True, kw_only=True)
class Carriage:
    """Rigid carriage with its payload on a straight guide; lifting is the positive sense."""

    kind: ClassVar[str] = "carriage"
    small: ClassVar[float] = 0.1  #: what a radian is to an arm, where something counts as little [m]
    length: ClassVar[float] = 1.0  #: path of the load for a coordinate of one [-]
    counterbalances: ClassVar[tuple[Counterbalance, ...]] = ()

    mass: float  #: without payload [kg]
    payload_mass: float = 0.0  #: [kg]
    incline: float = math.pi / 2.0  #: of the guide against the horizontal, 0 to 90 deg [rad]
    guide: Friction = Friction()  #: of the guide whatever presses on it [N, N*s/m, N]
    friction_coefficient: float = 0.0  #: of the guide, at rest and in motion [-]
    counterweight: float = 0.0  #: mass that hangs on a rope over a pulley and pulls up the guide [kg]
    lower_stop: float = -math.inf  #: [m]
    upper_stop: float = math.inf  #: [m]
    stop: Stop = Stop()  #: what both are made of, its stiffness in N/m

    @property
    def payload_at(self) -> float:
        """Path of the payload for a coordinate of one. [-]"""
        return 1.0

    @cached_property
    def carried(self) -> float:
        """Mass on the guide. [kg]"""
        return self.mass + self.payload_mass

    @cached_property
    def inertia(self) -> float:
        """All that moves with the carriage, its counterweight included. [kg]"""
        return self.carried + self.counterweight

    @cached_property
    def gravity(self) -> float:
        """Component along the guide, none at all on a level one. [m/s2]"""
        return STANDARD_GRAVITY * math.sin(self.incline)

    @cached_property
    def normal_force(self) -> float:
        """What presses on the guide, m g cos(incline); nothing on an upright one. [N]"""
        return 0.0 if self.incline == math.pi / 2.0 else self.carried * STANDARD_GRAVITY * math.cos(self.incline)

    @cached_property
    def friction(self) -> Friction:
        """Friction of the guide as the carriage is loaded. [N, N*s/m, N]"""
        pressed = self.friction_coefficient * self.normal_force
        return replace(self.guide, coulomb=self.guide.coulomb + pressed, breakaway=self.guide.breakaway + pressed)

    @cached_property
    def weight(self) -> float:
        """Force along the guide that gravity needs held up, less the counterweight. [N]"""
        return self.carried * self.gravity - self.counterweight * STANDARD_GRAVITY

    def gravity_torque(self, position):
        """The same, wherever the carriage is. [N]"""
        return self.weight

    def potential_energy(self, position):
        """Energy against gravity, counterweight included, zero where the coordinate is. [J]"""
        return self.weight * position

    def payload_height(self, position):
        """How far the payload stands along the pull of gravity. [m]"""
        return position

    def height(self, position):
        """How far up the guide the carriage is. [m]"""
        return position

    def rises_upward(self, position):
        """Whether the positive sense lifts: always."""
        return True

    def load_peaks(self, low, high):
        """Where inside a range gravity asks most: it asks the same everywhere."""
        return ()

    def with_payload(self, mass):
        """The carriage with another payload, mass in kg."""
        return replace(self, payload_mass=mass)
