"""How a motor's constants were found, told for the list of assumptions."""

from armsim.parts.motor import Constants, row_mismatch
from armsim.scenario import dimensions as d
from armsim.scenario.dimensions import understood
from armsim.scenario.faults import percent_off
from armsim.scenario.motor_data import (
    CONSTANTS,
    SERVO_FREE_SHARE,
    catalogue_row,
    current_line,
    measured_fit,
    resistance_source,
)
from armsim.scenario.motor_keys import Label, Servo
from armsim.scenario.notes import Notes
from armsim.scenario.schema import Motor

WORTH_A_NOTE = 0.03  #: of what a row contradicts itself by; below it is rounding [-]


def how_found(given: Motor, found: Constants, notes: Notes) -> None:
    """Tell how a motor's constants came about."""
    if given.measured is not None:
        _measured_notes(given, found, notes)
    elif given.bench is not None:
        _bench_notes(given, found, notes)
    elif given.label is not None:
        _label_notes(given.label, found, notes)
    elif given.servo is not None:
        _servo_notes(given.servo, notes)
        _row_notes(given, found, notes)
    elif given.stall_current is not None:
        _row_notes(given, found, notes)
    else:
        _constants_notes(given, found, notes)


def _label_notes(label: Label, found: Constants, notes: Notes) -> None:
    resistance = f"{understood(found.resistance, d.RESISTANCE)}, voltage over current of the locked rotor"
    notes.derived("motor.resistance", resistance)
    constant = (
        f"{understood(found.constant, d.TORQUE_CONSTANT)}, what copper leaves of the rated voltage over the speed"
    )
    notes.derived("motor.torque_constant", constant)
    drag = found.coulomb_torque + found.viscous_drag * label.speed
    text = (
        f"{understood(found.coulomb_torque, d.TORQUE)}: friction at the rated speed is {understood(drag, d.TORQUE)}, "
    )
    text += "what the air gap makes beyond the rated power; 70 % of it is taken not to grow with speed"
    notes.default("motor.coulomb_friction", text)


def _servo_notes(servo: Servo, notes: Notes) -> None:
    text = (
        "all figures hold at its output shaft, gears inside; without built_in_reduction the motor is that shaft, and "
    )
    text += (
        "motor speed, inertia and friction are meant there. Its own electronics, travel and dead band are not modelled"
    )
    notes.default("motor.servo", text)
    if servo.no_load_current is None:
        free = SERVO_FREE_SHARE * servo.stall_current
        text = f"{understood(free, d.CURRENT)}, a tenth of the stall current: a free servo drags its gears"
        notes.default("motor.servo.no_load_current", text)


def _row_notes(given: Motor, found: Constants, notes: Notes) -> None:
    source = "the catalogue row" if given.servo is None else "the servo's figures"
    for key, text in (
        ("resistance", understood(found.resistance, d.RESISTANCE)),
        ("torque_constant", understood(found.constant, d.TORQUE_CONSTANT)),
    ):
        notes.derived(f"motor.{key}", f"{text}, from {source}")
    notes.default(
        "motor.coulomb_friction",
        f"{understood(found.coulomb_torque, d.TORQUE)}: 70 % of the no-load torque is taken not to grow with speed",
    )
    row = catalogue_row(given)
    assert row is not None  # other ways have other notes
    mismatch = float(row_mismatch(*row))
    if mismatch > WORTH_A_NOTE:
        text = f"{percent_off(1.0 + mismatch)} than speed and currents make per ampere: the run uses the smaller"
        notes.derived("motor.stall_torque", text)
    if mismatch < -WORTH_A_NOTE and given.built_in_reduction is None:
        weak = understood(found.constant * (1.0 + mismatch), d.TORQUE_CONSTANT)
        text = f"makes {weak}, {percent_off(1.0 + mismatch)} than speed and currents: light loads follow the latter, "
        notes.derived("motor.stall_torque", text + "a stalled motor the former, through a loss that grows with load")
    if given.resistance is not None:
        text = f"{understood(given.resistance, d.RESISTANCE)} as printed is a check only"
        ratio = given.resistance / found.resistance
        notes.derived("motor.resistance", f"{text}: {percent_off(ratio)} than voltage over stall current")


def _measured_notes(given: Motor, found: Constants, notes: Notes) -> None:
    fit = measured_fit(given)
    r_error, k_error = fit.resistance_error / fit.resistance, fit.constant_error / fit.constant
    for key, text in (
        ("resistance", f"{understood(fit.resistance, d.RESISTANCE)}, standard error {100.0 * r_error:.2g} %"),
        ("torque_constant", f"{understood(fit.constant, d.TORQUE_CONSTANT)}, standard error {100.0 * k_error:.2g} %"),
        ("coulomb_friction", understood(fit.coulomb_torque, d.TORQUE)),
        ("viscous_friction", understood(fit.viscous_drag, d.VISCOUS)),
    ):
        notes.fitted(f"motor.{key}", text)
    scatter = f"{understood(fit.voltage_scatter, d.VOLTAGE)} and {understood(fit.torque_scatter, d.TORQUE)}"
    notes.fitted("motor.measured", f"the {len(given.measured or [])} points lie {scatter} (root mean square) from it")
    if fit.drag_held_at_zero:
        text = "the points ask for friction below none, which was held at none: a motor that grew hot, or a torque zero"
        notes.fitted("motor.measured", text)


def _bench_notes(given: Motor, found: Constants, notes: Notes) -> None:
    line, source = current_line(given), resistance_source(given)
    slope = f"{understood(line.constant, d.TORQUE_CONSTANT)}, one over the slope of current over torque"
    error = line.constant_error / line.constant
    notes.fitted("motor.torque_constant", f"{slope}, standard error {100.0 * error:.2g} %")
    free = f"{understood(line.no_load_current, d.CURRENT)}, where the line meets no torque"
    notes.fitted("motor.no_load_current", free + (", led through none" if line.held_at_zero else ""))
    text = f"the {len(given.bench or [])} readings lie {understood(line.scatter, d.CURRENT)} (root mean square) from it"
    notes.fitted("motor.bench", text)
    resistance = understood(found.resistance, d.RESISTANCE)
    if source is None:
        assert given.no_load_speed is not None
        swing = line.constant_error * given.no_load_speed / (found.resistance * line.no_load_current)
        text = (
            f"what the back-EMF leaves of the voltage at no load: uncertain by {100.0 * swing:.2g} % (standard error)"
        )
        notes.derived("motor.resistance", f"{resistance}, {text}; a stall current would tell it better")
    elif source[0] != "resistance":
        notes.derived("motor.resistance", f"{resistance}, nominal_voltage over the stall current")
    drag = understood(found.coulomb_torque, d.TORQUE)
    notes.default(
        "motor.coulomb_friction", f"{drag}: all friction is taken not to grow with speed, as the line is straight"
    )


def _constants_notes(given: Motor, found: Constants, notes: Notes) -> None:
    if given.torque_constant is None:
        text = f"{understood(found.constant, d.TORQUE_CONSTANT)}, from velocity_constant"
        notes.derived("motor.torque_constant", text)
    if given.back_emf_constant is None or given.back_emf_constant < found.constant:
        text = f"{understood(found.constant, d.BACK_EMF_CONSTANT)}, equal to the torque constant"
        notes.derived("motor.back_emf_constant", text)
    for key in CONSTANTS[-2:]:
        if getattr(given, key) is None:
            notes.default(f"motor.{key}", "none")
