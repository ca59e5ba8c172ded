"""Keys of the sections in which a motor's figures are given other than as a catalogue row or as constants."""

import math
from typing import Annotated

from pydantic import BeforeValidator

from armsim.scenario import dimensions as d
from armsim.scenario import readers as r
from armsim.scenario.dimensions import understood
from armsim.scenario.keys import Current, Keys, Part, Voltage
from armsim.scenario.numbers import clean, read_number, shown
from armsim.scenario.problems import Misreading
from armsim.scenario.quantities import read_quantity
from armsim.scenario.source import Leaf

Torque = Annotated[float, r.quantity(d.TORQUE, least=0.0, usual=(1e-4, 1000.0))]
Speed = Annotated[float, r.quantity(d.SPEED, least=0.0, usual=(0.1, 1e4))]
FreeCurrent = Annotated[float, r.quantity(d.CURRENT, least=0.0, usual=(1e-4, 100.0))]


def sixty_degrees() -> BeforeValidator:
    """A speed, typed as the time for 60 degrees: 0.17 s/60 deg, or 0.17 s. [rad/s]"""
    allowed = r.Limits(above=0.0, usual=(0.5, 100.0))
    as_speed = r.quantity_reader(d.SPEED, allowed)

    def read(leaf: Leaf, reading: r.Reading) -> float:
        number = read_number(clean(leaf.text))
        if not number.rest:
            raise Misreading("SCN110", "needs a unit: s, for 60 degrees", f"write {number.typed} s/60 deg")
        try:
            time = read_quantity(leaf.text, d.TIME).value
        except Misreading:
            return float(as_speed(leaf, reading))
        if time <= 0.0:
            raise Misreading("SCN120", f"{understood(time, d.TIME)} is out of range, it has to be more than 0 s")
        speed = math.pi / 3.0 / time
        reading.understand(leaf, speed, understood(speed, d.SPEED), f"{shown(time)} s for 60 deg")
        return speed

    return r.reader(read, "the time for 60 degrees is wanted, such as 0.17 s/60 deg")


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


class Servo(Keys):
    """A hobby or industrial servo by its sheet; all figures at its output shaft."""

    example = "{voltage: 6 V, stall_torque: 12 kg-cm, time_for_60_deg: 0.17 s/60 deg, stall_current: 2.1 A}"
    voltage: Voltage
    stall_torque: Annotated[float, r.quantity(d.TORQUE, above=0.0, usual=(1e-3, 1000.0))]
    time_for_60_deg: Annotated[float, sixty_degrees()]
    stall_current: Current
    no_load_current: FreeCurrent | None = None


class Label(Keys):
    """Rated figures of a motor's label, and the current of its locked rotor, at the rated voltage or a lower one."""

    example = "{power: 250 W, voltage: 24 V, speed: 2800 rpm, current: 13.5 A, locked_rotor_current: 85 A}"
    power: Annotated[float, r.quantity(d.POWER, above=0.0, usual=(0.1, 1e5))]
    voltage: Voltage
    speed: Annotated[float, r.quantity(d.SPEED, above=0.0, usual=(0.1, 1e4))]
    current: Current
    locked_rotor_current: Current
    locked_rotor_voltage: Annotated[float, r.quantity(d.VOLTAGE, above=0.0, usual=(0.1, 120.0))] | None = None
    torque: Torque | None = None
    efficiency: Part | None = None

    @property
    def resistance(self) -> float:
        """Of the locked rotor, brushes and leads included. [ohm]"""
        volts = self.voltage if self.locked_rotor_voltage is None else self.locked_rotor_voltage
        return volts / self.locked_rotor_current
