"""What figures from a test bench must agree on, and what they tell of their own quality."""

from armsim.scenario import dimensions as d
from armsim.scenario.dimensions import understood
from armsim.scenario.faults import Faults, percent_off
from armsim.scenario.motor_data import measured_fit
from armsim.scenario.motor_keys import MeasuredPoint
from armsim.scenario.numbers import shown
from armsim.scenario.problems import Misreading
from armsim.scenario.schema import Motor
from armsim.scenario.validate import Path

_VOLTAGE_SCATTER = 0.03  #: of the highest voltage: six times what a meter and its leads do [-]
_TORQUE_SCATTER = 0.05  #: of the largest torque: five times what a load cell does [-]
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
    output, given = point.torque * point.speed, voltage * point.current
    if output > given:
        yield (
            (*path, "torque"),
            Misreading(
                "SCN131",
                f"{understood(output, d.POWER)} at the shaft are {percent_off(output / given)} than the "
                f"{understood(given, d.POWER)} of voltage and current",
                "look for a unit slip in this point",
            ),
        )
    elif point.efficiency is not None and abs(point.efficiency - output / given) > _EFFICIENCY_SLACK:
        yield (
            (*path, "efficiency"),
            Misreading(
                "SCN131",
                f"{shown(point.efficiency)} is stated, while torque, speed, voltage and current make "
                f"{output / given:.3g}",
                "the efficiency is not used; look for a slip in this point",
            ),
        )
