"""The motor from its figures, however they are given."""

from dataclasses import replace

from armsim.parts.motor import ROTOR_LOSS, Heat, Motor
from armsim.parts.motor_figures import gears_share
from armsim.parts.stage import ConstantEfficiency, Stage
from armsim.scenario import dimensions as d
from armsim.scenario import schema
from armsim.scenario.dimensions import understood
from armsim.scenario.motor_data import behind_brushes, constants, nominal_voltage
from armsim.scenario.motor_notes import how_found
from armsim.scenario.notes import Notes
from armsim.scenario.numbers import shown
from armsim.scenario.problems import Misreading

ELECTRICAL_TIME_CONSTANT = 0.5e-3  #: inductance over resistance where no sheet tells [s]
SAME_VOLTAGE = 0.03  #: part by which a supply may differ from the figures' voltage without a word [-]
KNEE_SHARE = 0.005  #: of the stall current, up to which brushes act as a resistance [-]
USUAL_VOLTAGE = 12.0  #: for the knee of a motor whose sheet tells none [V]
#: change of flux with temperature, mid-range of magnet makers' sheets [1/K]
MAGNETS = {"ferrite": -0.0020, "neodymium": -0.0011, "samarium-cobalt": -0.0004}
ROTOR_LOSS_FREE = 0.9995  #: a share of torque above this is rounding of the row, not a loss [-]
MECHANICAL_TIME_CONSTANT = 0.012  #: J R/(k_t k_e) of iron-core rotors where no sheet tells [s]


def motor(given: schema.Motor, notes: Notes) -> Motor:
    """The motor's constants, from its row or as given, with what the sheet left out."""
    found = constants(given)
    how_found(behind_brushes(given), found, notes)
    coulomb, resistance = found.coulomb_torque, found.resistance
    if given.breakaway_friction is None:
        notes.default("motor.breakaway_friction", f"as the running friction, {understood(coulomb, d.TORQUE)}")
    breakaway = coulomb if given.breakaway_friction is None else given.breakaway_friction
    if breakaway < coulomb:
        text = f"breakaway friction is below the {understood(coulomb, d.TORQUE)} of running friction in the figures"
        notes.faults.append((("motor", "breakaway_friction"), Misreading("SCN121", text, "leave it out, or give more")))
    inductance = given.inductance
    if inductance is None:
        inductance = resistance * ELECTRICAL_TIME_CONSTANT
        notes.default("motor.inductance", f"{understood(inductance, d.INDUCTANCE)}, 0.5 ms times the resistance")
    inertia = given.rotor_inertia
    if inertia is None:
        inertia = MECHANICAL_TIME_CONSTANT * found.constant**2 / resistance
        text = (
            f"{understood(inertia, d.INERTIA)}, from a mechanical time constant of 12 ms, typical for iron-core rotors"
        )
        notes.default("motor.rotor_inertia", text)
    return Motor(
        count=given.count,
        resistance=resistance,
        torque_constant=found.constant,
        back_emf_constant=found.constant,
        coulomb_torque=coulomb,
        viscous_drag=found.viscous_drag,
        breakaway_torque=max(breakaway, coulomb),
        inductance=inductance,
        rotor_inertia=inertia,
        nominal_voltage=nominal_voltage(given),
        brush_drop=given.brush_drop or 0.0,
        brush_knee=_brush_knee(given, found.resistance, notes),
        magnet_coefficient=0.0 if given.magnet is None else MAGNETS[given.magnet],
        magnet=given.magnet,
        reference_temperature=_reference_temperature(given, notes),
        heat=_heat(given.thermal, given.magnet, notes),
    )


def inside_stages(given: schema.Motor, notes: Notes) -> tuple[Stage, ...]:
    """The stages inside the motor's housing: what its rotor loses with load, and built-in gears."""
    gears, share = 1.0, constants(given).torque_share
    head: tuple[Stage, ...] = ()
    if given.built_in_reduction is not None:
        gears, share = gears_share(share, given.built_in_efficiency)
        head = (_head(given, given.built_in_reduction, gears, notes),)
    if share > ROTOR_LOSS_FREE:
        return head
    lost = f"{100.0 * (1.0 - share):.2g} %"
    text = f"{lost} of the air-gap torque: the torque figure is that much below what speed and current imply"
    notes.derived("motor.rotor_loss", text)
    law = ConstantEfficiency(forward=share, reverse=share)  # never one that locks: a doubtful row must not hold an arm
    return (Stage(kind=ROTOR_LOSS, name=ROTOR_LOSS, reduction=1.0, law=law, sense=1, backlash=0.0), *head)


def _head(given: schema.Motor, reduction: float, efficiency: float, notes: Notes) -> Stage:
    """The gears inside a geared motor, a stage before all others."""
    from armsim.parts.gearbox import gearbox_stage

    if given.built_in_efficiency is None or given.built_in_efficiency < efficiency:
        text = f"{efficiency:.3g}, from the torque at stall against speed and currents, which have the gears in them"
        notes.derived("motor.built_in_efficiency", text)
    reverse = given.built_in_reverse_efficiency
    if reverse is None:
        reverse = efficiency
        text = f"{reverse:.3g}, as forward: gears of unknown make are not trusted to hold an arm"
        notes.default("motor.built_in_reverse_efficiency", text)
    rotor = understood(constants(given).constant, d.TORQUE_CONSTANT)
    notes.derived("motor.built_in_reduction", f"the figures hold at the output shaft; the rotor before it has {rotor}")
    gears: Stage = gearbox_stage(
        reduction=reduction,
        efficiency=efficiency,
        reverse=reverse,
        sense=1,
        name=f"built-in gears {shown(reduction)}:1",
    )
    peak = given.built_in_peak_torque
    return gears if peak is None else replace(gears, peak_torque=given.count * peak)


def scale_note(given: schema.Motor, full_voltage: float, notes: Notes) -> None:
    """Figures that hold at another voltage than the supply's."""
    nominal = None if given.measured is not None else nominal_voltage(given)
    if nominal is None or abs(full_voltage / nominal - 1.0) <= SAME_VOLTAGE:
        return
    text = f"the figures hold at {understood(nominal, d.VOLTAGE)}, the supply has {understood(full_voltage, d.VOLTAGE)}"
    text += f" at most: speed and stall figures are scaled by {full_voltage / nominal:.3g}"
    notes.derived("motor.nominal_voltage", text)


def _reference_temperature(given: schema.Motor, notes: Notes) -> float:
    if "reference_temperature" not in given.model_fields_set:
        notes.default("motor.reference_temperature", "the figures are taken to hold at 25 degC")
    return given.reference_temperature


def _brush_knee(given: schema.Motor, resistance: float, notes: Notes) -> float:
    """Current below which the brush drop shrinks. [A]"""
    if given.brush_drop is None:
        notes.default("motor.brush_drop", "none beside the resistance, which has the brushes in it")
        return 1.0
    knee = KNEE_SHARE * (nominal_voltage(given) or USUAL_VOLTAGE) / resistance
    text = f"in full from {understood(knee, d.CURRENT)} on, {100.0 * KNEE_SHARE:.3g} % of the stall current"
    notes.default("motor.brush_drop", text)
    return knee


def _heat(given: schema.Thermal | None, magnet: str | None, notes: Notes) -> Heat | None:
    if given is None:
        notes.default("motor.thermal", "not given: temperatures are not computed, the winding stays at its reference")
        return None
    if magnet is None:
        notes.default("motor.magnet", "not given: the magnets are taken not to weaken as they warm")
    else:
        text = f"{100.0 * MAGNETS[magnet]:.3g} % of flux a kelvin, at the housing's temperature"
        notes.default("motor.magnet", text)
    if given.winding_limit is None:
        notes.default("motor.thermal.winding_limit", "not given: the winding's temperature is not judged")
    return Heat(**given.model_dump())
