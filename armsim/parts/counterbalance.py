"""What helps the motor carry the arm: springs and their true geometry. Torque is the fall of stored energy with angle.

Each kind gives the torque it puts on the arm (positive raises), the energy it stores, and its damping, all at an arm
angle. A counterweight is no kind of its own: it is mass on the far side of the pivot and belongs to the arm.
"""

from dataclasses import dataclass
from typing import Protocol

from armsim.parts.elementwise import cosine, distance, either, larger, sine


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

    def torque(self, angle):
        return self.rate * (self.relaxed_at - angle)

    def energy(self, angle):
        return 0.5 * self.rate * (self.relaxed_at - angle) ** 2

    def damping(self, angle):
        return 0.0


@dataclass(frozen=True, kw_only=True)
class Span:
    """A straight part between a point on the arm and a point of the frame."""

    on_arm: float  #: distance of its arm end from the pivot, along the arm [m]
    anchor_x: float  #: frame end from the pivot, horizontally towards the arm's level position [m]
    anchor_y: float  #: frame end above the pivot [m]

    def length(self, angle):
        """Distance between both ends at an arm angle. [m]"""
        return distance(self.on_arm * cosine(angle) - self.anchor_x, self.on_arm * sine(angle) - self.anchor_y)

    def lever(self, angle):
        """Change of length per arm angle, dL/d(theta); 0 where both ends meet. [m]"""
        length = self.length(angle)
        across = self.on_arm * (self.anchor_x * sine(angle) - self.anchor_y * cosine(angle))
        return either(length == 0.0, 0.0, across / either(length == 0.0, 1.0, length))


@dataclass(frozen=True, kw_only=True)
class ExtensionSpring:
    """Pulls its ends together once it is longer than its free length; slack below."""

    span: Span
    rate: float  #: > 0 [N/m]
    free_length: float  #: between its hooks, unloaded [m]
    initial_tension: float = 0.0  #: wound in, reached as soon as it is stretched [N]

    def corner(self, angle):
        """How far it is from going slack, negative where it is. [m]"""
        return self.span.length(angle) - self.free_length

    def torque(self, angle):
        stretch = self.span.length(angle) - self.free_length
        force = self.initial_tension + self.rate * stretch
        return either(stretch > 0.0, -force * self.span.lever(angle), 0.0)

    def energy(self, angle):
        stretch = larger(0.0, self.span.length(angle) - self.free_length)
        return self.initial_tension * stretch + 0.5 * self.rate * stretch * stretch

    def damping(self, angle):
        return 0.0


@dataclass(frozen=True, kw_only=True)
class GasSpring:
    """Pushes its ends apart while it is shorter than its extended length, harder the further it is pushed in."""

    span: Span
    force: float  #: nearly extended [N]
    rate: float  #: growth of force per length pushed in, >= 0 [N/m]
    extended_length: float  #: [m]
    resistance: float = 0.0  #: damping force per speed of the rod [N*s/m]

    def corner(self, angle):
        """How far it is from its extended length, negative where it hangs loose. [m]"""
        return self.extended_length - self.span.length(angle)

    def torque(self, angle):
        pushed_in = self.extended_length - self.span.length(angle)
        force = self.force + self.rate * pushed_in
        return either(pushed_in > 0.0, force * self.span.lever(angle), 0.0)

    def energy(self, angle):
        pushed_in = larger(0.0, self.extended_length - self.span.length(angle))
        return self.force * pushed_in + 0.5 * self.rate * pushed_in * pushed_in

    def damping(self, angle):
        return self.resistance * self.span.lever(angle) ** 2


@dataclass(frozen=True, kw_only=True)
class ConstantForceSpring:
    """A strip or a weight on a cord that pulls with one force on a drum about the pivot."""

    force: float  #: [N]
    radius: float  #: of the drum [m]

    def torque(self, angle):
        return self.force * self.radius

    def energy(self, angle):
        return -self.force * self.radius * angle

    def damping(self, angle):
        return 0.0
