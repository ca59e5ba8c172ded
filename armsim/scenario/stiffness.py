"""Stiffness of a stop as people give it: force per travel where the arm meets it, or torque per angle at the pivot."""

from dataclasses import dataclass

from pydantic import BeforeValidator

from armsim.scenario.dimensions import SPRING_RATE, TORSION_RATE
from armsim.scenario.either import Kind, either
from armsim.scenario.readers import Limits


@dataclass(frozen=True, kw_only=True)
class Stiffness:
    """One of the two."""

    line: float | None = None  #: of the buffer itself [N/m]
    turning: float | None = None  #: at the pivot [N*m/rad]


_LINE = Kind(
    dimension=SPRING_RATE, allowed=Limits(above=0.0, usual=(100.0, 1e9)), unit="N/mm", where="where the arm meets it"
)
_TURNING = Kind(
    dimension=TORSION_RATE, allowed=Limits(above=0.0, usual=(1.0, 1e8)), unit="N*m/deg", where="at the pivot"
)
_WANTS = "stiffness is a force per travel, such as 60 N/mm with at: 300 mm, or a torque per angle, such as 40 N*m/deg"


def _made(kind: Kind, value: float) -> Stiffness:
    return Stiffness(line=value) if kind is _LINE else Stiffness(turning=value)


def torque_or_force() -> BeforeValidator:
    """A stiffness in either form."""
    return either(_LINE, _TURNING, "a stiffness", _WANTS, _made)
