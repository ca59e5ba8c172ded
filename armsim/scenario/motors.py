"""The motor from its catalogue row or its constants."""

from armsim.parts.motor import ROTOR_LOSS, CatalogueFit, Heat, Motor, from_catalogue_row
from armsim.parts.stage import ConstantEfficiency, Stage
from armsim.scenario import dimensions as d
from armsim.scenario import schema
from armsim.scenario.dimensions import understood
from armsim.scenario.motor_agreement import CONSTANTS, ROW
from armsim.scenario.notes import Notes
from armsim.scenario.problems import Misreading

ELECTRICAL_TIME_CONSTANT = 0.5e-3  #: inductance over resistance where no sheet tells [s]
ROTOR_LOSS_FREE = 0.9995  #: a share of torque above this is rounding of the row, not a loss [-]
MECHANICAL_TIME_CONSTANT = 0.012  #: J R/(k_t k_e) of iron-core rotors where no sheet tells [s]


def motor(given: schema.Motor, notes: Notes) -> Motor:
    """The motor's constants, from its row or as given, with what the sheet left out."""
    constants = _row_constants(given, notes) if given.stall_current is not None else _given_constants(given, notes)
    coulomb, resistance = constants["coulomb_torque"], constants["resistance"]
    if given.breakaway_friction is None:
        notes.default("motor.breakaway_friction", f"as the running friction, {understood(coulomb, d.TORQUE)}")
    breakaway = coulomb if given.breakaway_friction is None else given.breakaway_friction
    if breakaway < coulomb:
        text = f"breakaway friction is below the {understood(coulomb, d.TORQUE)} of running friction that the row tells"
        notes.faults.append((("motor", "breakaway_friction"), Misreading("SCN121", text, "leave it out, or give more")))
    inductance = given.inductance
    if inductance is None:
        inductance = resistance * ELECTRICAL_TIME_CONSTANT
        notes.default("motor.inductance", f"{understood(inductance, d.INDUCTANCE)}, 0.5 ms times the resistance")
    inertia = given.rotor_inertia
    if inertia is None:
        inertia = MECHANICAL_TIME_CONSTANT * constants["torque_constant"] * constants["back_emf_constant"] / resistance
        text = (
            f"{understood(inertia, d.INERTIA)}, from a mechanical time constant of 12 ms, typical for iron-core rotors"
        )
        notes.default("motor.rotor_inertia", text)
    return Motor(
        count=given.count,
        **constants,
        breakaway_torque=max(breakaway, coulomb),
        inductance=inductance,
        rotor_inertia=inertia,
        nominal_voltage=given.nominal_voltage,
        reference_temperature=_reference_temperature(given, notes),
        heat=_heat(given.thermal, notes),
    )


def _row_constants(given: schema.Motor, notes: Notes) -> dict[str, float]:
    fit = _row_fit(given)
    for key, text in (
        ("resistance", understood(fit.resistance, d.RESISTANCE)),
        ("torque_constant", understood(fit.constant, d.TORQUE_CONSTANT)),
    ):
        notes.derived(f"motor.{key}", f"{text}, from the catalogue row")
    notes.default(
        "motor.coulomb_friction",
        f"{understood(fit.coulomb_torque, d.TORQUE)}: 70 % of the no-load torque is taken not to grow with speed",
    )
    return {
        "resistance": fit.resistance,
        "torque_constant": fit.constant,
        "back_emf_constant": fit.constant,
        "coulomb_torque": fit.coulomb_torque,
        "viscous_drag": fit.viscous_drag,
    }


def _row_fit(given: schema.Motor) -> CatalogueFit:
    fit: CatalogueFit = from_catalogue_row(*(getattr(given, key) for key in ROW))
    return fit


def rotor_loss(given: schema.Motor, notes: Notes) -> tuple[Stage, ...]:
    """A lossy stage of ratio one where the torque figure promises less than the air gap makes.

    It keeps the energy account true in both directions of power: the missing torque is friction that grows with load.
    """
    share = 1.0
    if given.stall_current is not None:
        share = _row_fit(given).torque_share
    elif given.torque_constant is not None and given.back_emf_constant is not None:
        share = min(1.0, given.torque_constant / given.back_emf_constant)
    if share > ROTOR_LOSS_FREE:
        return ()
    lost = f"{100.0 * (1.0 - share):.2g} %"
    text = f"{lost} of the air-gap torque: the torque figure is that much below what speed and current imply"
    notes.derived("motor.rotor_loss", text)
    law = ConstantEfficiency(forward=share, reverse=share)  # never one that locks: a doubtful row must not hold an arm
    return (Stage(kind=ROTOR_LOSS, name=ROTOR_LOSS, reduction=1.0, law=law, sense=1, backlash=0.0),)


def _given_constants(given: schema.Motor, notes: Notes) -> dict[str, float]:
    assert given.resistance is not None
    torque_constant = given.torque_constant
    if torque_constant is None:
        assert given.velocity_constant is not None
        torque_constant = 1.0 / given.velocity_constant
        notes.derived(
            "motor.torque_constant", f"{understood(torque_constant, d.TORQUE_CONSTANT)}, from velocity_constant"
        )
    back_emf = given.back_emf_constant
    if back_emf is None or back_emf < torque_constant:
        back_emf = torque_constant
        notes.derived(
            "motor.back_emf_constant", f"{understood(back_emf, d.BACK_EMF_CONSTANT)}, equal to the torque constant"
        )
    torque_constant = back_emf  # of the air gap; what a lower torque constant leaves out is booked as rotor loss
    for key in CONSTANTS[-2:]:
        if getattr(given, key) is None:
            notes.default(f"motor.{key}", "none")
    return {
        "resistance": given.resistance,
        "torque_constant": torque_constant,
        "back_emf_constant": back_emf,
        "coulomb_torque": given.coulomb_friction or 0.0,
        "viscous_drag": given.viscous_friction or 0.0,
    }


def _reference_temperature(given: schema.Motor, notes: Notes) -> float:
    if "reference_temperature" not in given.model_fields_set:
        notes.default("motor.reference_temperature", "the figures are taken to hold at 25 degC")
    return given.reference_temperature


def _heat(given: schema.Thermal | None, notes: Notes) -> Heat | None:
    if given is None:
        notes.default("motor.thermal", "not given: temperatures are not computed, the winding stays at its reference")
        return None
    if given.winding_limit is None:
        notes.default("motor.thermal.winding_limit", "not given: the winding's temperature is not judged")
    return Heat(**given.model_dump())
