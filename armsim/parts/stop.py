"""What an end stop is made of: rigid, with a share of the speed given back, or a buffer that gives way.

A buffer pushes with k x (1 + c w), x its travel and w the speed at which it is pressed, and never pulls: K. H. Hunt and
F. R. E. Crossley, "Coefficient of restitution interpreted as damping in vibroimpact", J. Appl. Mech. 42 (1975) 440-445.
A body met at speed v that nothing else pushes leaves it at e v where

    ln((1 + a)/(1 - e a)) = (1 + e) a,     a = c v,

the integral of its motion (Y. Gonthier et al., Multibody Syst. Dyn. 11 (2004) 209-233). For small losses that is the
a = 3/2 (1 - e) of Hunt and Crossley; asked for e = 0.3, their line would give back 0.57.
"""

import math
from dataclasses import dataclass

LEAST_OF_A_BUFFER = 0.1  #: least restitution of a buffer; one that gives back less is a damper, with another law [-]


@dataclass(frozen=True, kw_only=True)
class Stop:
    """Both end stops of an arm."""

    restitution: float = 0.0  #: share of the speed that a rebound has; of a buffer at least 0.1, and 1 without loss [-]
    stiffness: float | None = None  #: torque on the arm per angle beyond the stop; None: rigid [N*m/rad]
    at: float | None = None  #: distance from the pivot at which the arm meets it; None: not known [m]

    def __post_init__(self) -> None:
        most = self.restitution < 1.0 if self.rigid else self.restitution <= 1.0
        if not (most and self.restitution >= (0.0 if self.rigid else LEAST_OF_A_BUFFER)):
            raise ValueError("restitution is out of range")

    @property
    def rigid(self) -> bool:
        """True where it does not give way."""
        return self.stiffness is None

    def damping(self, speed: float) -> float:
        """The c of k x (1 + c w), for a meeting at a speed [rad/s]. [s/rad]"""
        return loss_number(self.restitution) / speed


def loss_number(restitution: float) -> float:
    """c v with which a meeting at speed v is left at a share of it, 0 < share <= 1. [-]"""
    e = restitution
    if e == 1.0:
        return 0.0
    low, high = 0.75 * (1.0 - e), 1.0 / e
    while high - low > 1e-15 * high:
        middle = 0.5 * (low + high)
        if middle in (low, high):
            break
        small = e * middle < 1.0 and math.log1p(middle) - math.log1p(-e * middle) <= (1.0 + e) * middle
        low, high = (middle, high) if small else (low, middle)
    return low
