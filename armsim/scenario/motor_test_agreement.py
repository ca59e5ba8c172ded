"""What figures from a test bench must agree on, and what they tell of their own quality."""

from armsim.parts.motor import Constants
from armsim.parts.motor_figures import stall_torque
from armsim.scenario import dimensions as d
from armsim.scenario.dimensions import understood
from armsim.scenario.faults import Faults, given, percent_off
from armsim.scenario.motor_data import bench_constants, current_line, measured_fit, resistance_source
from armsim.scenario.motor_gears_agreement import built_in_warnings
from armsim.scenario.motor_keys import LoadReading, MeasuredPoint
from armsim.scenario.numbers import shown
from armsim.scenario.problems import Misreading
from armsim.scenario.schema import Motor
from armsim.scenario.validate import Path

_VOLTAGE_SCATTER = 0.03  #: of the highest voltage: six times what a meter and its leads do [-]
_TORQUE_SCATTER = 0.05  #: of the largest torque: five times what a load cell does [-]
RESISTANCE_SCATTER = 0.1  #: between units of one make, and between ways of measuring [-]
_CURRENT_SCATTER = 0.05  #: of the largest current [-]
_CLAIM_SLACK = 0.1  #: between figures of one motor [-]
_EFFICIENCY_SLACK = 0.05  #: between an efficiency as printed and as computed [-]


def measured_faults(motor: Motor) -> Faults:
    """Points with voltages that tell a motor, and agree with it and with themselves."""
    points = motor.measured or []
    bare = [k for k, point in enumerate(points) if point.voltage is None]
    if bare and motor.nominal_voltage is None:
        yield (
            ("motor", "nominal_voltage"),
            Misreading("SCN103", "is missing", "the voltage of the points, such as nominal_voltage: 12 V"),
        )
        return
    for k, point in enumerate(points):
        yield from _point_warnings(point, point.voltage or motor.nominal_voltage or 0.0, ("motor", "measured", k))
    try:
        fit = measured_fit(motor)
    except ValueError as error:
        hint = f"give four or more, from light load to near stall, each such as {MeasuredPoint.example}"
        yield ("motor", "measured"), Misreading("SCN121", str(error), hint)
        return
    highest = max(point.voltage or motor.nominal_voltage or 0.0 for point in points)
    largest = max(point.torque for point in points)
    if fit.voltage_scatter > _VOLTAGE_SCATTER * highest or fit.torque_scatter > _TORQUE_SCATTER * largest:
        volts, torque = understood(fit.voltage_scatter, d.VOLTAGE), understood(fit.torque_scatter, d.TORQUE)
        yield (
            ("motor", "measured"),
            Misreading(
                "SCN131",
                f"no one motor has all these points: they lie {volts} and {torque} (root mean square) from the best",
                "look for a slip in a row, for units, and for a motor that grew hot between the points",
            ),
        )


def _point_warnings(point: MeasuredPoint, voltage: float, path: Path) -> Faults:
    output, taken = point.torque * point.speed, voltage * point.current
    if output > taken:
        yield (
            (*path, "torque"),
            Misreading(
                "SCN131",
                f"{understood(output, d.POWER)} at the shaft are {percent_off(output / taken)} than the "
                f"{understood(taken, d.POWER)} of voltage and current",
                "look for a unit slip in this point",
            ),
        )
    elif point.efficiency is not None and abs(point.efficiency - output / taken) > _EFFICIENCY_SLACK:
        yield (
            (*path, "efficiency"),
            Misreading(
                "SCN131",
                f"{shown(point.efficiency)} is stated, while torque, speed, voltage and current make "
                f"{output / taken:.3g}",
                "the efficiency is not used; look for a slip in this point",
            ),
        )


def bench_faults(motor: Motor) -> Faults:
    """Readings that make a line, with what a line leaves open given beside them."""
    readings = motor.bench or []
    stalled = [k for k, one in enumerate(readings) if one.stalled]
    if motor.nominal_voltage is None:
        hint = "the voltage of the readings, such as nominal_voltage: 12 V"
        yield ("motor", "nominal_voltage"), Misreading("SCN103", "is missing", hint)
    if not stalled and not given(motor, ("stall_current", "resistance", "no_load_speed")):
        text = "a line of current over torque does not tell how voltage limits it"
        hint = "give stall_current, resistance or no_load_speed too, or mark a reading stalled: yes"
        yield ("motor", "bench"), Misreading("SCN103", text, hint)
    elif motor.nominal_voltage is not None:
        yield from _line_faults(motor)
    both = motor.no_load_speed is not None and len(given(motor, ("stall_current", "resistance"))) + len(stalled) > 0
    if motor.built_in_reduction is not None and motor.built_in_efficiency is None and not both:
        text = "is missing: readings behind gears do not tell what the gears lose"
        hint = "give it, or no_load_speed together with a stall current"
        yield ("motor", "built_in_efficiency"), Misreading("SCN103", text, hint)
    if len(stalled) > 1:
        text = "more than one reading is stalled, and one voltage has one stall current"
        yield (
            ("motor", "bench", stalled[1], "stalled"),
            Misreading("SCN121", text, "mark the one that is, or give their mean"),
        )


def _line_faults(motor: Motor) -> Faults:
    try:
        line = current_line(motor)
    except ValueError as error:
        hint = f"give three or more, from light load to near stall, each such as {LoadReading.example}"
        yield ("motor", "bench"), Misreading("SCN121", str(error), hint)
        return
    try:
        found = bench_constants(motor)
    except ValueError as error:
        hint = "check it against nominal_voltage, which is that of all these figures"
        yield ("motor", "no_load_speed"), Misreading("SCN121", str(error), hint)
        return
    if line.scatter > _CURRENT_SCATTER * max(one.current for one in motor.bench or []):
        text = f"the readings lie {understood(line.scatter, d.CURRENT)} (root mean square) from a line"
        yield ("motor", "bench"), Misreading("SCN131", text, "look for a slip in a row, and for units")
    yield from _stall_contradictions(motor, found)
    if motor.built_in_reduction is not None:
        yield from built_in_warnings(motor, motor.no_load_speed or 0.0, found.torque_share)
    per_ampere = line.constant / found.constant
    gears_lose = motor.built_in_reduction is not None and per_ampere < 1.0
    if motor.no_load_speed is not None and not gears_lose and abs(per_ampere - 1.0) > _CLAIM_SLACK:
        text = f"the readings make {percent_off(per_ampere)} torque per ampere than it allows"
        hint = "less is taken as a loss that grows with load, more would make energy and is left out"
        yield ("motor", "no_load_speed"), Misreading("SCN131", text, hint)


def _stall_contradictions(motor: Motor, found: Constants) -> Faults:
    """Stall current, stall torque and resistance as given against those of the readings."""
    source = resistance_source(motor)
    assert motor.nominal_voltage is not None
    if source and source[0] != "resistance":
        yield from printed_resistance(motor, source[1])
    if source and source[0] == "bench" and motor.stall_current is not None:
        off = motor.stall_current * source[1] / motor.nominal_voltage
        if abs(off - 1.0) > RESISTANCE_SCATTER:
            text = f"{percent_off(off)} than the stalled reading"
            yield ("motor", "stall_current"), Misreading("SCN131", text, "the run uses the reading")
    if motor.stall_torque is None:
        return
    made = float(stall_torque(found, motor.nominal_voltage))
    if abs(motor.stall_torque / made - 1.0) > _CLAIM_SLACK:
        text = f"the readings make {understood(made, d.TORQUE)} at stall, {percent_off(made / motor.stall_torque)} "
        yield ("motor", "stall_torque"), Misreading("SCN131", text + "than this", "the run uses the readings")


def printed_resistance(motor: Motor, implied: float) -> Faults:
    """A printed resistance beside figures that imply another."""
    if motor.resistance is None or abs(motor.resistance / implied - 1.0) <= RESISTANCE_SCATTER:
        return
    text = f"the resistance is {percent_off(motor.resistance / implied)} than the {understood(implied, d.RESISTANCE)} "
    yield (
        ("motor", "resistance"),
        Misreading(
            "SCN131",
            text + "that voltage over stall current gives",
            "the run uses the latter, brushes and leads included; a current clipped in the test makes it too large",
        ),
    )
