"""What helps the motor carry the arm: springs and their true geometry. Torque is the fall of stored energy with angle.

Each kind gives the torque it puts on the arm (positive raises), the energy it stores, and its damping, all at an arm
angle. A counterweight is no kind of its own: it is mass on the far side of the pivot and belongs to the arm.
"""

import math
from dataclasses import dataclass
from typing import Protocol


class Counterbalance(Protocol):
    """A conservative helper, with damping where it has any."""

    def torque(self, angle: float) -> float:
        """Torque on the arm at an angle [rad], positive raises. [N*m]"""
        ...

    def energy(self, angle: float) -> float:
        """Energy stored at an angle [rad], up to a constant. [J]"""
        ...

    def damping(self, angle: float) -> float:
        """Torque against motion per arm speed at an angle [rad], >= 0. [N*m*s/rad]"""
        ...


@dataclass(frozen=True, kw_only=True)
class TorsionSpring:
    """A spring about the pivot: rate times the angle left to where it is relaxed."""

    rate: float  #: > 0 [N*m/rad]
    relaxed_at: float  #: arm angle at which it gives nothing; above the travel it lifts throughout [rad]

    def torque(self, angle: float) -> float:
        return self.rate * (self.relaxed_at - angle)

    def energy(self, angle: float) -> float:
        return 0.5 * self.rate * (self.relaxed_at - angle) ** 2

    def damping(self, angle: float) -> float:
        return 0.0


@dataclass(frozen=True, kw_only=True)
class Span:
    """A straight part between a point on the arm and a point of the frame."""

    on_arm: float  #: distance of its arm end from the pivot, along the arm [m]
    anchor_x: float  #: frame end from the pivot, horizontally towards the arm's level position [m]
    anchor_y: float  #: frame end above the pivot [m]

    def length(self, angle: float) -> float:
        """Distance between both ends at an arm angle. [m]"""
        return math.hypot(self.on_arm * math.cos(angle) - self.anchor_x, self.on_arm * math.sin(angle) - self.anchor_y)

    def lever(self, angle: float) -> float:
        """Change of length per arm angle, dL/d(theta); 0 where both ends meet. [m]"""
        length = self.length(angle)
        if length == 0.0:
            return 0.0
        return self.on_arm * (self.anchor_x * math.sin(angle) - self.anchor_y * math.cos(angle)) / length


@dataclass(frozen=True, kw_only=True)
class ExtensionSpring:
    """Pulls its ends together once it is longer than its free length; slack below."""

    span: Span
    rate: float  #: > 0 [N/m]
    free_length: float  #: between its hooks, unloaded [m]
    initial_tension: float = 0.0  #: wound in, reached as soon as it is stretched [N]

    def torque(self, angle: float) -> float:
        stretch = self.span.length(angle) - self.free_length
        return -(self.initial_tension + self.rate * stretch) * self.span.lever(angle) if stretch > 0.0 else 0.0

    def energy(self, angle: float) -> float:
        stretch = max(0.0, self.span.length(angle) - self.free_length)
        return self.initial_tension * stretch + 0.5 * self.rate * stretch * stretch

    def damping(self, angle: float) -> float:
        return 0.0


@dataclass(frozen=True, kw_only=True)
class GasSpring:
    """Pushes its ends apart while it is shorter than its extended length, harder the further it is pushed in."""

    span: Span
    force: float  #: nearly extended [N]
    rate: float  #: growth of force per length pushed in, >= 0 [N/m]
    extended_length: float  #: [m]
    resistance: float = 0.0  #: damping force per speed of the rod [N*s/m]

    def torque(self, angle: float) -> float:
        pushed_in = self.extended_length - self.span.length(angle)
        return (self.force + self.rate * pushed_in) * self.span.lever(angle) if pushed_in > 0.0 else 0.0

    def energy(self, angle: float) -> float:
        pushed_in = max(0.0, self.extended_length - self.span.length(angle))
        return self.force * pushed_in + 0.5 * self.rate * pushed_in * pushed_in

    def damping(self, angle: float) -> float:
        return self.resistance * self.span.lever(angle) ** 2


@dataclass(frozen=True, kw_only=True)
class ConstantForceSpring:
    """A strip or a weight on a cord that pulls with one force on a drum about the pivot."""

    force: float  #: [N]
    radius: float  #: of the drum [m]

    def torque(self, angle: float) -> float:
        return self.force * self.radius

    def energy(self, angle: float) -> float:
        return -self.force * self.radius * angle

    def damping(self, angle: float) -> float:
        return 0.0
