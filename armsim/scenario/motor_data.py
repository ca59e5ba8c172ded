"""What each way of describing a motor comes down to: the same few constants."""

from typing import TYPE_CHECKING, Any

from armsim.parts.motor import Constants, from_catalogue_row
from armsim.parts.motor_figures import at_rotor, from_current_line, from_label
from armsim.scenario.motor_keys import Label
from armsim.scenario.schema import Motor

if TYPE_CHECKING:  # brings in numpy, which most scenarios need only later
    from armsim.parts.motor_fit import CurrentLine, PointsFit

SERVO_FREE_SHARE = 0.1  #: no-load over stall current of a servo, its gears and electronics in it, if not told [-]
ROW = ("nominal_voltage", "no_load_speed", "no_load_current", "stall_torque", "stall_current")
CONSTANTS = (
    "torque_constant",
    "velocity_constant",
    "back_emf_constant",
    "resistance",
    "coulomb_friction",
    "viscous_friction",
)


def behind_brushes(given: Motor) -> Motor:
    """The motor as its own brushes see it: every voltage of its figures less their drop."""
    drop = given.brush_drop
    if drop is None:
        return given

    def less(section: Any, *keys: str) -> Any:
        known = {key: getattr(section, key) - drop for key in keys if getattr(section, key) is not None}
        return section.model_copy(update=known)

    inner = {
        "brush_drop": None,
        "measured": None if given.measured is None else [less(point, "voltage") for point in given.measured],
        "servo": None if given.servo is None else less(given.servo, "voltage"),
        "label": None if given.label is None else less(given.label, "voltage", "locked_rotor_voltage"),
    }
    behind: Motor = less(given, "nominal_voltage").model_copy(update=inner)
    return behind


def constants(given: Motor) -> Constants:
    """The constants of a motor whose figures have passed every check, at its rotor, brushes aside."""
    given = behind_brushes(given)
    found = _as_given(given)
    if given.built_in_reduction is None:
        return found
    inside: Constants = at_rotor(found, given.built_in_reduction)
    return inside


def _as_given(given: Motor) -> Constants:
    """Where the figures hold: at the output shaft, if there are gears inside."""
    if given.measured is not None:
        fit = measured_fit(given)
        return Constants(
            resistance=fit.resistance,
            constant=fit.constant,
            coulomb_torque=fit.coulomb_torque,
            viscous_drag=fit.viscous_drag,
        )
    if given.bench is not None:
        return bench_constants(given)
    if given.label is not None:
        return label_constants(given.label)
    row = catalogue_row(given)
    if row is not None:
        found: Constants = from_catalogue_row(*row)
        return found
    return _given_constants(given)


def nominal_voltage(given: Motor) -> float | None:
    """The voltage at which the figures hold, None where they hold at any. [V]"""
    section = given.servo or given.label
    return given.nominal_voltage if section is None else section.voltage


def lowest_voltage(given: Motor) -> float | None:
    """The lowest voltage at which any of the figures holds, None where none is given. [V]"""
    known = [nominal_voltage(given), *(point.voltage for point in given.measured or [])]
    known.append(None if given.label is None else given.label.locked_rotor_voltage)
    return min((volts for volts in known if volts is not None), default=None)


def catalogue_row(given: Motor) -> tuple[float, float, float, float, float] | None:
    """Voltage, no-load speed and current, stall torque and current, of a row or of a servo; None: not described so."""
    if given.servo is not None:
        servo, free = given.servo, given.servo.no_load_current
        free = SERVO_FREE_SHARE * servo.stall_current if free is None else free
        return servo.voltage, servo.time_for_60_deg, free, servo.stall_torque, servo.stall_current
    row = given.nominal_voltage, given.no_load_speed, given.no_load_current, given.stall_torque, given.stall_current
    voltage, speed, free, torque, current = row
    if voltage is None or speed is None or free is None or torque is None or current is None:
        return None
    return voltage, speed, free, torque, current


def measured_fit(given: Motor) -> "PointsFit":
    """The fit to the measured points. Raises ValueError where they tell no motor."""
    from armsim.parts.motor_fit import fit_points

    points = given.measured or []
    voltages = [point.voltage or given.nominal_voltage for point in points]
    fit: PointsFit = fit_points(
        voltages, [p.torque for p in points], [p.speed for p in points], [p.current for p in points]
    )
    return fit


def current_line(given: Motor) -> "CurrentLine":
    """The line through the bench readings. Raises ValueError where there is none."""
    from armsim.parts.motor_fit import fit_current_line

    readings = given.bench or []
    line: CurrentLine = fit_current_line([one.torque for one in readings], [one.current for one in readings])
    return line


def resistance_source(given: Motor) -> tuple[str, float] | None:
    """The key that tells the resistance beside bench readings, and its value; the readings themselves come first."""
    assert given.nominal_voltage is not None
    stalled = [one.current for one in given.bench or [] if one.stalled]
    if stalled:
        return "bench", given.nominal_voltage / stalled[0]
    if given.stall_current is not None:
        return "stall_current", given.nominal_voltage / given.stall_current
    return None if given.resistance is None else ("resistance", given.resistance)


def bench_constants(given: Motor) -> Constants:
    """Constants where the bench readings hold, and what stands beside them. Raises ValueError where there are none."""
    source, line = resistance_source(given), current_line(given)
    resistance = None if source is None else source[1]
    found: Constants = from_current_line(
        line, given.nominal_voltage, resistance, given.no_load_speed, given.built_in_efficiency or 1.0
    )
    return found


def label_constants(label: Label) -> Constants:
    """Constants from a label. Raises ValueError where its resistance takes all the voltage."""
    found: Constants = from_label(label.voltage, label.speed, label.current, label.power, label.resistance)
    return found


def _given_constants(given: Motor) -> Constants:
    assert given.resistance is not None
    torque_constant = given.torque_constant
    if torque_constant is None:
        assert given.velocity_constant is not None
        torque_constant = 1.0 / given.velocity_constant
    constant = max(torque_constant, given.back_emf_constant or 0.0)
    return Constants(
        resistance=given.resistance,
        constant=constant,
        coulomb_torque=given.coulomb_friction or 0.0,
        viscous_drag=given.viscous_friction or 0.0,
        torque_share=1.0 if given.torque_constant is None else torque_constant / constant,
    )
