"""Backlash as people give it: an angle at a stage's output shaft, or a length along the pitch circle."""

import math
from dataclasses import dataclass

from pydantic import BeforeValidator

from armsim.scenario.dimensions import ANGLE, LENGTH
from armsim.scenario.either import Kind, either
from armsim.scenario.readers import Limits


@dataclass(frozen=True, kw_only=True)
class Backlash:
    """One of the two."""

    angle: float | None = None  #: of the whole stage, at its output shaft [rad]
    length: float | None = None  #: of each mesh, along the pitch circle [m]


_ANGLE = Kind(
    dimension=ANGLE,
    allowed=Limits(least=0.0, most=math.radians(30.0), usual=(1e-5, math.radians(6.0))),
    unit="deg",
    where="at the output shaft",
)
_LENGTH = Kind(
    dimension=LENGTH,
    allowed=Limits(least=0.0, most=0.05, usual=(1e-6, 3e-3)),
    unit="mm",
    where="along the pitch circle",
)
_WANTS = "backlash is an angle at the output shaft, such as 0.4 deg, or a length along the pitch circle, such as 0.1 mm"


def _made(kind: Kind, value: float) -> Backlash:
    return Backlash(angle=value) if kind is _ANGLE else Backlash(length=value)


def angle_or_length() -> BeforeValidator:
    """A backlash in either form."""
    return either(_ANGLE, _LENGTH, "an angle or a length", _WANTS, _made)
