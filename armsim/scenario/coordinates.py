"""Values of the load's own coordinate: angles of an arm, lengths along the guide of a carriage.

Which of the two a scenario has decides what its places, speeds and gains are measured in.
"""

import math

from pydantic import BeforeValidator

from armsim.scenario import dimensions as d
from armsim.scenario import forms
from armsim.scenario.problems import Misreading
from armsim.scenario.quantities import read_quantity
from armsim.scenario.readers import Limits, Reading, quantity_reader, reader
from armsim.scenario.source import Leaf

Allowed = tuple[d.Dimension, Limits]

_ANGLE = (d.ANGLE, Limits(least=-math.tau, most=math.tau))
_LENGTH = (d.LENGTH, Limits(least=-100.0, most=100.0))


def coordinate(turning: Allowed, along: Allowed) -> BeforeValidator:
    """A quantity of an arm's kind, or, with a carriage, of a carriage's."""

    def read(leaf: Leaf, reading: Reading) -> float:
        (dimension, limits), (other, _) = (along, turning) if reading.carriage else (turning, along)
        try:
            value: float = quantity_reader(dimension, limits)(leaf, reading)
        except Misreading as fault:
            if reading.carriage and fault.code == "SCN111" and _is(leaf, other):
                hint = f"a carriage moves along its guide: such as {d.understood(SHOWN[dimension.name], dimension)}"
                raise Misreading(fault.code, fault.text, hint) from None
            raise
        return value

    wants = f"{turning[0].name} is given in {', '.join(turning[0].offers)}; "
    wants += f"with a carriage it is {along[0].name}, in {', '.join(along[0].offers)}"
    return reader(read, wants, lambda: forms.quantity(any(allowed[0].bare for allowed in (turning, along))))


def place() -> BeforeValidator:
    """An angle of the arm [rad], or a place of the carriage on its guide [m]."""
    return coordinate(_ANGLE, _LENGTH)


def place_dimension(carriage: bool) -> d.Dimension:
    """What places are measured in."""
    return d.LENGTH if carriage else d.ANGLE


def _is(leaf: Leaf, dimension: d.Dimension) -> bool:
    try:
        read_quantity(leaf.text, dimension)
    except Misreading:
        return False
    return True


#: an example of each, in SI
SHOWN = {
    d.LENGTH.name: 0.6,
    d.VELOCITY.name: 0.3,
    d.LINE_ACCELERATION.name: 0.8,
    d.LINE_JERK.name: 4.0,
    d.LINE_PROPORTIONAL_GAIN.name: 2000.0,
    d.LINE_INTEGRAL_GAIN.name: 500.0,
    d.LINE_DERIVATIVE_GAIN.name: 40.0,
}
