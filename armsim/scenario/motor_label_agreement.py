"""What the figures of a motor's label must agree on."""

from armsim.parts.motor_figures import air_gap_power
from armsim.scenario import dimensions as d
from armsim.scenario.dimensions import understood
from armsim.scenario.faults import Faults, percent_off
from armsim.scenario.motor_data import label_constants
from armsim.scenario.motor_keys import Label
from armsim.scenario.motor_test_agreement import printed_resistance
from armsim.scenario.numbers import shown
from armsim.scenario.problems import Misreading
from armsim.scenario.schema import Motor
from armsim.scenario.validate import Path

_SLACK = 0.05  #: between rounded figures of one label [-]
_ROUNDING = 0.01  #: of the power of a label [-]
_MUCH_DRAG = 0.4  #: share of the air gap's torque that friction may take at the rated point [-]
_PATH: Path = ("motor", "label")


def label_faults(motor: Motor) -> Faults:
    """A label whose locked rotor leaves it a back-EMF, and what it says twice."""
    label = motor.label
    assert label is not None
    if motor.nominal_voltage is not None:
        yield ("motor", "nominal_voltage"), Misreading("SCN122", "the label has a voltage of its own", "leave this out")
    yield from printed_resistance(motor, label.resistance)
    try:
        found = label_constants(label)
    except ValueError as error:
        hint = "swapped? With the rotor locked at less than the rated voltage give locked_rotor_voltage"
        yield (*_PATH, "locked_rotor_current"), Misreading("SCN121", str(error), hint)
        return
    yield from _power_warnings(label)
    torque, made = label.power / label.speed, found.constant * label.current
    if 1.0 - torque / made > _MUCH_DRAG:
        text = f"power and speed leave {understood(torque, d.TORQUE)} at the shaft, {percent_off(torque / made)} than "
        text += f"the {understood(made, d.TORQUE)} of the air gap"
        hint = "the rest is taken for friction; gears inside, or a slip in speed, power or current?"
        yield (*_PATH, "power"), Misreading("SCN131", text, hint)
    if label.torque is not None and abs(label.torque / torque - 1.0) > _SLACK:
        text = f"{understood(label.torque, d.TORQUE)} is {percent_off(label.torque / torque)} than the "
        text += f"{understood(torque, d.TORQUE)} of power and speed"
        yield (*_PATH, "torque"), Misreading("SCN131", text, "the run uses power and speed")


def _power_warnings(label: Label) -> Faults:
    taken = label.voltage * label.current
    left = float(air_gap_power(label.voltage, label.current, label.resistance))
    if label.power > left * (1.0 + _ROUNDING):
        text = f"{understood(label.power, d.POWER)} is {percent_off(label.power / left)} than the "
        text += f"{understood(left, d.POWER)} that copper leaves of {understood(taken, d.POWER)} put in"
        hint = (
            "friction is taken as none; is it the power put in, or is the locked rotor's current clipped by its supply?"
        )
        yield (*_PATH, "power"), Misreading("SCN131", text, hint)
    if label.efficiency is not None and abs(label.efficiency - label.power / taken) > _SLACK:
        text = f"{shown(label.efficiency)} is stated, while power, voltage and current make {label.power / taken:.3g}"
        yield (*_PATH, "efficiency"), Misreading("SCN131", text, "the efficiency is not used")
