"""One reduction of the transmission, whatever its kind: what the torque recursion needs to know."""

import math
from dataclasses import dataclass, field
from typing import Protocol

from armsim.parts.shaft import Shaft


class EfficiencyLaw(Protocol):
    """How a stage loses power in proportion to load, by direction of power and speed.

    `regime` tells which smooth piece of the law holds; `speed_edges` are the input-shaft speeds [rad/s] between
    pieces, rising. A law without pieces has no edges and ignores the regime.
    """

    @property
    def speed_edges(self) -> tuple[float, ...]:
        """Input-shaft speeds between the law's smooth pieces, rising. [rad/s]"""
        ...

    @property
    def depends_on_speed(self) -> bool:
        """Whether `running` gives other efficiencies at another speed of the same regime."""
        ...

    def running(self, speed: float, regime: int) -> tuple[float, float]:
        """Forward and reverse efficiency at an input-shaft speed [rad/s], >= 0. [-, -]"""
        ...

    def static(self) -> tuple[float, float]:
        """Forward and reverse efficiency at rest. [-, -]"""
        ...

    def lock_loss_speed(self) -> float | None:
        """Input-shaft speed above which a load no longer locks a stage that locks at rest. [rad/s]

        0 where it locks at rest only; None where it locks at any speed, or not even at rest.
        """
        ...


@dataclass(frozen=True, kw_only=True)
class ConstantEfficiency:
    """Efficiencies that do not depend on speed; a reverse one at or below zero locks."""

    forward: float
    reverse: float
    speed_edges: tuple[float, ...] = ()
    depends_on_speed: bool = False

    def running(self, speed: float, regime: int) -> tuple[float, float]:
        return self.forward, self.reverse

    def static(self) -> tuple[float, float]:
        return self.forward, self.reverse

    def lock_loss_speed(self) -> float | None:
        return None


def reverse_of(forward):
    """Reverse efficiency of one mesh with load-proportional friction, 2 - 1/eta_f. [-]

    With T_in = T_out/n (1 + L sgn(T_out w)) and L = 1/eta_f - 1 the same whichever way power flows.
    """
    return 2.0 - 1.0 / forward


def mesh_chain(forwards):
    """Forward and reverse efficiency of meshes in series, driver first; never 2 - 1/product. [-, -]

    A mesh that locks is followed, on the way to the motor, by meshes the motor must drive, so its negative
    efficiency meets 1/eta_f, not another negative one.
    """
    reverse = 1.0
    for forward in reversed(forwards):
        reverse *= reverse_of(forward) if reverse > 0.0 else 1.0 / forward
    return math.prod(forwards), reverse


@dataclass(frozen=True, kw_only=True)
class Hardware:
    """What a stage is made of, as bought or cut: each kind has a record of its own. Lengths in m, angles in rad."""


@dataclass(frozen=True, kw_only=True)
class Footprint:
    """Room that two wheels on parallel shafts take in their plane."""

    centre_distance: float  #: [m]
    driver_tip: float  #: radius over its teeth [m]
    driven_tip: float  #: [m]


@dataclass(frozen=True, kw_only=True)
class Stage:
    """A stage between an input shaft (motor side) and an output shaft (arm side)."""

    kind: str  #: gears, chain, worm, gearbox, ...
    name: str  #: how a report calls it
    reduction: float  #: input turns per output turn, > 0 [-]
    law: EfficiencyLaw
    drag: float = 0.0  #: load-independent torque at the input shaft [N*m]
    viscous_drag: float = 0.0  #: the same per input speed [N*m*s/rad]
    input_inertia: float = 0.0  #: of its parts on the input shaft (idlers referred to it) [kg*m2]
    output_inertia: float = 0.0  #: of its parts on the output shaft [kg*m2]
    sense: int | None = 1  #: output turns like the input (+1) or against it (-1), each about its axis; None: not told
    corner: float | None = None  #: between the axis in, from the motor on, and that out, at the viewer; None: one [rad]
    backlash: float | None = None  #: free turn of the output shaft, input held; None: not known [rad]
    stiffness: float | None = None  #: torque per twist of the output shaft, input held; None: rigid [N*m/rad]
    peak_torque: float | None = None  #: that its output shaft bears for moments; None: not known [N*m]
    driver_radius: float | None = None  #: radius at which the driver's contact force acts [m]
    hardware: Hardware | None = None  #: what fit and strength are judged by; None: a bought box
    input_shaft: Shaft | None = None  #: of the first stage: the motor's; else it is the output shaft of the one before
    output_shaft: Shaft | None = None  #: behind its driven wheel; None: not told of
    footprint: Footprint | None = None  #: None: not known, shafts not parallel, or wheels between
    details: dict[str, float | str] = field(default_factory=dict)  #: geometry a report shows, SI

    def locks(self) -> bool:
        """True where a load at rest on the output cannot turn the input."""
        return self.law.static()[1] <= 0.0


def play_angle(play, radius, meshes=1):
    """Free turn of an output wheel: play along the pitch circle of each mesh over the wheel's pitch radius. [rad]

    Pitch circles roll on each other, so the play of every mesh [m] arrives at the last one unchanged. Of a chain it is
    what the slack strand has too much.
    """
    return meshes * play / radius


def disc_inertia(density, width, diameter):
    """Solid disc about its axis, pi/32 rho b d^4. [kg*m2]"""
    return math.pi / 32.0 * density * width * diameter**4
