"""Keys of the sections in which a motor's figures are given other than as a catalogue row or as constants."""

from typing import Annotated

from armsim.scenario import dimensions as d
from armsim.scenario import readers as r
from armsim.scenario.keys import Current, Keys, Part, Voltage

Torque = Annotated[float, r.quantity(d.TORQUE, least=0.0, usual=(1e-4, 1000.0))]
Speed = Annotated[float, r.quantity(d.SPEED, least=0.0, usual=(0.1, 1e4))]


class MeasuredPoint(Keys):
    """One steady point of a motor on a bench, at the motor's nominal voltage unless it has its own."""

    example = "{speed: 2500 rpm, torque: 0.35 N*m, current: 6.2 A}"
    speed: Speed
    torque: Torque
    current: Current
    voltage: Voltage | None = None
    efficiency: Part | None = None


class LoadReading(Keys):
    """Current of a motor that carries a torque, at any speed; `stalled` where it could not turn."""

    example = "{torque: 0.35 N*m, current: 6.2 A}"
    torque: Torque
    current: Current
    stalled: Annotated[bool, r.yes_no()] = False
