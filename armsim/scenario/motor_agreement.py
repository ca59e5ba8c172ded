"""What the motor's figures must agree on, among themselves and with the supply."""

import math
from collections.abc import Callable

from armsim.parts.motor import row_mismatch
from armsim.scenario import dimensions as d
from armsim.scenario.dimensions import understood
from armsim.scenario.electrical_agreement import highest_voltage
from armsim.scenario.faults import Faults, below, given, percent_off
from armsim.scenario.motor_data import (
    CONSTANTS,
    ROW,
    behind_brushes,
    catalogue_row,
    constants,
    lowest_voltage,
    nominal_voltage,
)
from armsim.scenario.motor_gears_agreement import built_in_warnings, needless_built_in
from armsim.scenario.motor_label_agreement import label_faults
from armsim.scenario.motor_test_agreement import bench_faults, measured_faults, printed_resistance
from armsim.scenario.problems import Misreading
from armsim.scenario.schema import Motor, Supply
from armsim.scenario.validate import Path

ROUNDING = 0.005  #: by which a back-EMF constant may lie below its torque constant as printed [-]
_GEARED_MISMATCH = -0.2  #: of a catalogue row, below which it looks like one taken behind gears [-]
_SERVO_MISMATCH = -0.6  #: of a servo's figures, whose gears and brushes are all in its torque [-]
MOST_DROP = 0.5  #: of the lowest voltage of the figures, that brushes can take [-]
_LARGE_MISMATCH = 0.05  #: of a catalogue row, worth telling [-]


def motor_faults(motor: Motor) -> Faults:
    """One complete way of describing the motor, whose numbers are possible."""
    if motor.brush_drop is not None:
        lowest = lowest_voltage(motor)
        if lowest is not None and motor.brush_drop > MOST_DROP * lowest:
            volts = understood(lowest, d.VOLTAGE)
            text = f"is more than half of the {volts} at which a figure of this motor holds"
            yield ("motor", "brush_drop"), Misreading("SCN121", text, "both brushes together lose 0.1 to 2.4 V")
            return
        motor = behind_brushes(motor)
    ways = _ways(motor)
    if not ways:
        hint = f"give {', '.join(ROW)}; or torque_constant and resistance; or measured, bench, servo or label"
        yield ("motor",), Misreading("SCN122", "says nothing of what the motor can do", hint)
    elif len(ways) == 1:
        yield from _CHECKS[ways[0][0]](motor)
    else:
        *first, last = (words for _, _, words in ways)
        count, number_word = ("both", "two") if len(ways) == 2 else ("all", str(len(ways)))
        text = f"{', '.join(first)} and {last} {count} describe the motor"
        yield ("motor", ways[1][1]), Misreading("SCN122", text, f"keep one of the {number_word}")
    if motor.built_in_reduction is None:
        yield from needless_built_in(motor)
    elif ways and ways[0][0] not in _BEHIND_GEARS:
        text = f"{ways[0][2]}: such figures are taken as those of a bare motor"
        hint = "leave this out and add a gearbox stage to the transmission"
        yield ("motor", "built_in_reduction"), Misreading("SCN122", text, hint)
    if motor.breakaway_friction is not None and motor.breakaway_friction < (motor.coulomb_friction or 0.0):
        yield ("motor", "breakaway_friction"), below("breakaway friction", "coulomb_friction")


def _ways(motor: Motor) -> list[tuple[str, str, str]]:
    """The ways in which the motor is described: name, first key, words."""
    row, known = given(motor, ROW[1:]), given(motor, CONSTANTS)
    if (row or motor.servo or motor.label) and known == ["resistance"]:
        known = []  # a printed resistance is a check
    if motor.bench is not None:  # a line of current leaves open what these tell, or check
        row = [key for key in row if key == "no_load_current"]
        known = [key for key in known if key != "resistance"]
    ways = [
        ("row", row, "a catalogue row ({} ...)"),
        ("constants", known, "constants ({} ...)"),
        ("measured", given(motor, ("measured",)), "points ({})"),
        ("bench", given(motor, ("bench",)), "readings ({})"),
        ("servo", given(motor, ("servo",)), "a servo's figures ({})"),
        ("label", given(motor, ("label",)), "a label ({})"),
    ]
    return [(way, keys[0], words.format(keys[0])) for way, keys, words in ways if keys]


def _row_faults(motor: Motor) -> Faults:
    missing = [key for key in ROW if getattr(motor, key) is None]
    for key in missing:
        yield ("motor", key), Misreading("SCN103", "is missing", f"a catalogue row is {', '.join(ROW)}")
    if missing:
        return
    yield from _row_contradictions(motor, ("motor",))


def _servo_faults(motor: Motor) -> Faults:
    if motor.nominal_voltage is not None:
        text = "the servo's figures have a voltage of their own"
        yield ("motor", "nominal_voltage"), Misreading("SCN122", text, "leave this out")
    yield from _row_contradictions(motor, ("motor", "servo"))


def _row_contradictions(motor: Motor, path: Path) -> Faults:
    row = catalogue_row(motor)
    assert row is not None  # what is missing is told before
    voltage, speed, free, torque, stall = row
    if free >= stall:
        amps = f"free {understood(free, d.CURRENT)} is not below stall {understood(stall, d.CURRENT)}"
        yield (*path, "no_load_current"), Misreading("SCN121", f"{amps}: swapped?")
        return
    mismatch = float(row_mismatch(*row))
    geared = motor.built_in_reduction is not None
    if geared:
        yield from built_in_warnings(motor, speed, constants(motor).torque_share)
    least = -math.inf if geared else _SERVO_MISMATCH if motor.servo is not None else -_LARGE_MISMATCH
    if not least <= mismatch <= _LARGE_MISMATCH:
        yield (*path, "stall_torque"), _mismatch_warning(torque, mismatch)
    yield from printed_resistance(motor, voltage / stall)


def _mismatch_warning(stall_torque: float, mismatch: float) -> Misreading:
    torque = understood(stall_torque, d.TORQUE)
    percent = percent_off(1.0 + mismatch)
    if mismatch > 0.0:
        return Misreading(
            "SCN131",
            f"the row contradicts itself: {torque} at stall is {percent} than its speed and currents allow",
            "torque per ampere above volt per speed would make energy; the run uses the smaller. Check the row's units",
        )
    hint = "taken as a loss inside the motor; check the row's units, and whether the torque is that of a gearbox"
    if mismatch < _GEARED_MISMATCH:
        hint = "torque at the output of gears? Then give built_in_reduction, and the loss is theirs; or check the units"
    text = f"the row contradicts itself: {torque} at stall is {percent} than its speed and currents promise"
    return Misreading("SCN131", text, hint)


def _constants_faults(motor: Motor) -> Faults:
    if motor.torque_constant is not None and motor.velocity_constant is not None:
        yield (
            ("motor", "velocity_constant"),
            Misreading(
                "SCN122",
                "torque_constant is given too, and one follows from the other",
                "keep one; back_emf_constant may stand beside torque_constant",
            ),
        )
    if motor.torque_constant is None and motor.velocity_constant is None:
        yield (
            ("motor", "torque_constant"),
            Misreading("SCN103", "is missing", "give torque_constant or velocity_constant"),
        )
    if motor.resistance is None:
        yield (
            ("motor", "resistance"),
            Misreading("SCN103", "is missing", "such as resistance: 0.5 ohm, of the winding with its brushes"),
        )
    if motor.back_emf_constant is None:
        return
    torque_constant = motor.torque_constant or (1.0 / motor.velocity_constant if motor.velocity_constant else 0.0)
    if motor.back_emf_constant < torque_constant * (1.0 - ROUNDING):
        back_emf = understood(motor.back_emf_constant, d.BACK_EMF_CONSTANT)
        yield (
            ("motor", "back_emf_constant"),
            Misreading(
                "SCN121",
                f"{back_emf} is below the torque constant, {understood(torque_constant, d.TORQUE_CONSTANT)}",
                "in SI the two are equal but for losses; less back-EMF than torque per ampere would make energy",
            ),
        )


_BEHIND_GEARS = ("row", "bench", "servo")  #: ways whose figures may hold at the output shaft of built-in gears
_CHECKS: dict[str, Callable[[Motor], Faults]] = {
    "row": _row_faults,
    "constants": _constants_faults,
    "measured": measured_faults,
    "bench": bench_faults,
    "servo": _servo_faults,
    "label": label_faults,
}


def voltage_warnings(motor: Motor, supply: Supply) -> Faults:
    """A supply far from the voltage of the motor's sheet."""
    nominal, full, battery = nominal_voltage(motor), highest_voltage(supply), supply.battery
    if nominal is None or full is None:
        return
    if not 0.6 * nominal <= full <= 1.35 * nominal:
        key = "cells" if battery and battery.chemistry else "open_circuit_voltage"
        yield (
            ("supply", "battery", key) if battery else ("supply", "bench", "voltage"),
            Misreading(
                "SCN132",
                f"{understood(full, d.VOLTAGE)} drives a motor whose figures hold at {understood(nominal, d.VOLTAGE)}",
                f"speed and stall figures are scaled by {full / nominal:.3g}; nominal_voltage is that of the figures",
            ),
        )
