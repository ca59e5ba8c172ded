"""Backlash as people give it: an angle at a stage's output shaft, or a length along the pitch circle."""

import math
from dataclasses import dataclass

from pydantic import BeforeValidator

from armsim.scenario.dimensions import ANGLE, LENGTH
from armsim.scenario.numbers import clean, read_number
from armsim.scenario.problems import Misreading, quoted
from armsim.scenario.quantities import read_quantity
from armsim.scenario.readers import Limits, Reading, quantity_reader, reader
from armsim.scenario.source import Leaf


@dataclass(frozen=True, kw_only=True)
class Backlash:
    """One of the two."""

    angle: float | None = None  #: of the whole stage, at its output shaft [rad]
    length: float | None = None  #: of each mesh, along the pitch circle [m]


_angle = quantity_reader(ANGLE, Limits(least=0.0, most=math.radians(30.0), usual=(1e-5, math.radians(6.0))))
_length = quantity_reader(LENGTH, Limits(least=0.0, most=0.05, usual=(1e-6, 3e-3)))
_WANTS = "backlash is an angle at the output shaft, such as 0.4 deg, or a length along the pitch circle, such as 0.1 mm"


def _read(leaf: Leaf, reading: Reading) -> Backlash:
    number = read_number(clean(leaf.text))
    if not number.rest:
        hint = f"write {number.typed} deg or {number.typed} mm"
        raise Misreading("SCN110", "needs a unit: deg at the output shaft, or mm along the pitch circle", hint)
    for dimension in (ANGLE, LENGTH):
        try:
            read_quantity(leaf.text, dimension)
        except Misreading as fault:
            if fault.code == "SCN112":  # its own hint knows of angles only
                raise Misreading(fault.code, fault.text, _WANTS) from None
            if fault.code != "SCN111":
                raise
        else:
            angle = dimension is ANGLE
            return Backlash(angle=_angle(leaf, reading)) if angle else Backlash(length=_length(leaf, reading))
    raise Misreading("SCN111", f"wants an angle or a length, got {quoted(leaf.text)}", _WANTS)


def angle_or_length() -> BeforeValidator:
    """A backlash in either form."""
    return reader(_read, _WANTS)
