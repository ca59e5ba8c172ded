"""A validated scenario to the machine and its plan; what was not given is filled in and listed."""

import math
from dataclasses import dataclass, field
from typing import Any

from armsim.drivetrain.machine import Machine
from armsim.dynamics import plan
from armsim.parts import arm as arm_part
from armsim.parts.battery import Battery
from armsim.parts.bridge import Controller
from armsim.parts.motor import ROTOR_LOSS, CatalogueFit, Heat, Motor, from_catalogue_row
from armsim.parts.protection import Protection
from armsim.parts.stage import ConstantEfficiency, Stage
from armsim.parts.wiring import round_trip_resistance
from armsim.scenario import dimensions as d
from armsim.scenario import schema
from armsim.scenario.dimensions import understood
from armsim.scenario.electrical_agreement import CONSTANTS, OWN_CURVE, ROW
from armsim.scenario.mechanical_agreement import mass_points
from armsim.scenario.problems import Misreading
from armsim.scenario.records import Assumption, PartsRow, Wish
from armsim.scenario.stages import stages
from armsim.scenario.tables import trip_families
from armsim.scenario.validate import Path, dotted

ELECTRICAL_TIME_CONSTANT = 0.5e-3  #: inductance over resistance where no sheet tells [s]
ROTOR_LOSS_FREE = 0.9995  #: a share of torque above this is rounding of the row, not a loss [-]
MECHANICAL_TIME_CONSTANT = 0.012  #: J R/(k_t k_e) of iron-core rotors where no sheet tells [s]


@dataclass
class Notes:
    """What building adds to the scenario: assumptions, and faults that only building finds."""

    assumptions: list[Assumption] = field(default_factory=list)
    faults: list[tuple[Path, Misreading]] = field(default_factory=list)

    def default(self, key: str, text: str) -> None:
        """A value shipped with the package."""
        self.assumptions.append(Assumption(key=key, text=text, origin="default"))

    def derived(self, key: str, text: str) -> None:
        """A value computed from others that were given."""
        self.assumptions.append(Assumption(key=key, text=text, origin="derived"))

    def fitted(self, key: str, text: str) -> None:
        """A value fitted to data that were given."""
        self.assumptions.append(Assumption(key=key, text=text, origin="fitted"))


def machine(file: schema.ScenarioFile, notes: Notes) -> Machine:
    """The machine of a scenario that has passed every check."""
    supply = file.supply
    if "ambient" not in file.model_fields_set:
        notes.default("ambient", "25 degC around the machine")
    return Machine(
        motor=motor(file.motor, notes),
        battery=battery(supply.battery, notes),
        wiring_resistance=wiring(supply.wiring, notes),
        other_loads=supply.other_loads,
        protection=tuple(_protections(supply.protection, notes)),
        controller=controller(file.controller, supply.undervoltage, notes),
        stages=(
            *rotor_loss(file.motor, notes),
            *stages(file.transmission, notes.default, notes.derived, notes.faults),
        ),
        arm=arm(file.arm, notes),
        ambient=file.ambient,
    )


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
    return (Stage(kind=ROTOR_LOSS, name=ROTOR_LOSS, reduction=1.0, law=law, sense=1),)


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


def battery(given: schema.Battery, notes: Notes) -> Battery:
    """The battery; one voltage without a capacity is a source that does not run down."""
    charges, volts = zip(*given.open_circuit_voltage, strict=True)
    if given.capacity is None:
        notes.default(
            "supply.battery.capacity", "not given: the open-circuit voltage does not fall with the charge drawn"
        )
    state = 1.0 if given.state_of_charge is None else given.state_of_charge
    if given.state_of_charge is None:
        notes.default("supply.battery.state_of_charge", "full at the start")
    return Battery(
        charge_points=charges,
        voltage_points=volts,
        resistance=given.internal_resistance,
        capacity=given.capacity,
        state_of_charge=state,
    )


def wiring(given: schema.Wiring | None, notes: Notes) -> float:
    """Resistance of the run there and back. [ohm]"""
    if given is None:
        notes.default("supply.wiring", "not given: no resistance between battery and controller")
        return 0.0
    if given.resistance is not None:
        return given.resistance
    area = given.gauge if given.gauge is not None else given.area
    assert area is not None
    assert given.length is not None
    if "temperature" not in given.model_fields_set:
        notes.default("supply.wiring.temperature", "copper at 20 degC")
    resistance = float(
        round_trip_resistance(
            area, given.length, temperature=given.temperature, stranding=given.stranding, joints=given.joints
        )
    )
    length = understood(given.length, d.LENGTH)
    text = f"{understood(resistance, d.RESISTANCE)} there and back: the length of {length} is one way"
    notes.derived("supply.wiring.resistance", text)
    return resistance


def _protections(given: list[schema.Protection], notes: Notes) -> Any:
    for k, device in enumerate(given):
        path: Path = ("supply", "protection", k)
        if "opens_at" not in device.model_fields_set:
            notes.default(
                f"{dotted(path)}.opens_at", "in the run it opens at the latest edge of its band; the verdict uses both"
            )
        yield _own_curve(device, path, notes) if device.kind == OWN_CURVE else _known_kind(device, path, notes)


def _known_kind(device: schema.Protection, path: Path, notes: Notes) -> Protection:
    family = trip_families()[device.kind]
    if device.resets is None:
        text = "closes again by itself" if family.resets_itself else "stays open until reset by hand"
        notes.default(f"{dotted(path)}.resets", f"{text}, as its kind does")
    text = f"band of its kind ({family.title}); replace it with the maker's curve where there is one"
    notes.default(f"{dotted(path)}.kind", text)
    return Protection(
        kind=device.kind,
        rating=device.rating,
        earliest=family.earliest,
        latest=family.latest,
        resets_itself=family.resets_itself if device.resets is None else device.resets == "automatic",
        reset_share=family.reset_share,
        opens_at_earliest=device.opens_at == "earliest",
    )


def _own_curve(device: schema.Protection, path: Path, notes: Notes) -> Protection:
    from armsim.parts.protection import fit_band  # brings in SciPy

    assert device.curve is not None
    rows = [(multiple, earliest, latest) for multiple, earliest, latest in device.curve]
    try:
        earliest, latest = fit_band(rows)
    except (ValueError, ArithmeticError) as error:
        notes.faults.append(((*path, "curve"), Misreading("SCN121", f"no band fits this curve: {error}")))
        family = next(iter(trip_families().values()))
        earliest, latest = family.earliest, family.latest
    notes.fitted(
        f"{dotted((*path, 'curve'))}", "thermal states fitted to the curve, moved outwards to enclose every row"
    )
    if device.resets is None:
        notes.default(f"{dotted(path)}.resets", "stays open until reset by hand")
    return Protection(
        kind=device.kind,
        rating=device.rating,
        earliest=earliest,
        latest=latest,
        resets_itself=device.resets == "automatic",
        opens_at_earliest=device.opens_at == "earliest",
    )


def controller(given: schema.Controller, undervoltage: float | None, notes: Notes) -> Controller:
    """The controller, without limit or ramp unless told."""
    defaults = {
        "current_limit": "none: the current is limited by resistance alone",
        "ramp": "none: full duty at once",
        "when_off": "open: the motor coasts when the drive is off",
        "bridge_resistance": "none",
    }
    for key, text in defaults.items():
        if key not in given.model_fields_set:
            notes.default(f"controller.{key}", text)
    if undervoltage is None:
        notes.default("supply.undervoltage", "not given: the controller works at any voltage")
    elif "restart_time" not in given.model_fields_set:
        notes.default("controller.restart_time", "0.5 s from a reset until it drives again")
    return Controller(
        current_limit=given.current_limit,
        ramp=given.ramp,
        shorted_when_off=given.when_off == "shorted",
        resistance=given.bridge_resistance,
        undervoltage=undervoltage,
        restart=given.restart_time,
    )


def arm(given: schema.Arm, notes: Notes) -> arm_part.Arm:
    """The arm with its payload as one rigid body."""
    points = mass_points(given)
    payload_mass, payload_at = _payload(given, notes)
    friction = given.pivot_friction or schema.PivotFriction()
    if given.pivot_friction is None:
        notes.default("arm.pivot_friction", "none")
    elif friction.breakaway is None:
        notes.default(
            "arm.pivot_friction.breakaway", f"as the running friction, {understood(friction.coulomb, d.TORQUE)}"
        )
    stops = given.stops or schema.Stops()
    if given.masses is None and given.centre_of_mass is None:
        notes.default("arm.centre_of_mass", f"{understood(given.length / 2.0, d.LENGTH)}, half way along the arm")
    return arm_part.Arm(
        length=given.length,
        inertia=_bare_inertia(given, points, notes) + payload_mass * payload_at**2,
        first_moment=sum(m * at for m, at in points) + payload_mass * payload_at,
        payload_mass=payload_mass,
        payload_at=payload_at,
        gravity=_gravity(given.plane.tilt),
        friction=arm_part.Friction(
            coulomb=friction.coulomb,
            viscous=friction.viscous,
            breakaway=friction.coulomb if friction.breakaway is None else friction.breakaway,
        ),
        lower_stop=-math.inf if stops.lower is None else stops.lower,
        upper_stop=math.inf if stops.upper is None else stops.upper,
    )


def _gravity(tilt: float) -> float:
    """Part of gravity in a plane tilted from the vertical, none at all in a horizontal one. [m/s2]"""
    return 0.0 if tilt == math.pi / 2.0 else arm_part.STANDARD_GRAVITY * math.cos(tilt)


def _payload(given: schema.Arm, notes: Notes) -> tuple[float, float]:
    if given.payload is None:
        notes.default("arm.payload", "none")
        return 0.0, 0.0
    if given.payload.at is None:
        notes.default("arm.payload.at", f"{understood(given.length, d.LENGTH)}, at the tip")
        return given.payload.mass, given.length
    return given.payload.mass, given.payload.at


def _bare_inertia(given: schema.Arm, points: tuple[tuple[float, float], ...], notes: Notes) -> float:
    """About the pivot, without payload. [kg*m2]"""
    if given.inertia is not None:
        return given.inertia
    if given.masses is not None:
        inertia = sum(m * at * at for m, at in points)
        notes.derived(
            "arm.inertia", f"{understood(inertia, d.INERTIA)}, each of the masses in its point, without payload"
        )
        return inertia
    ((mass, centre),) = points
    inertia = float(arm_part.slender_inertia(mass, centre, given.length / 2.0))
    notes.derived(
        "arm.inertia", f"{understood(inertia, d.INERTIA)}, a slender body about its centre of mass, without payload"
    )
    return inertia


def moves(file: schema.ScenarioFile, notes: Notes) -> plan.Plan:
    """The work cycle and the power cut."""
    cut = file.power_cut
    if cut is None:
        notes.default("power_cut.at", "power fails with the arm at rest at its highest target")
    return plan.Plan(
        start=file.start,
        moves=tuple(_move(move) for move in file.moves),
        repeat=file.repeat,
        power_cut=plan.PowerCut() if cut is None else plan.PowerCut(time=cut.at.time, angle=cut.at.angle),
    )


def _move(move: schema.Move) -> plan.Move:
    if move.hold is not None:
        return plan.Hold(duration=move.hold.duration)
    if move.rest is not None:
        return plan.Rest(duration=move.rest.duration)
    travel = move.lift or move.lower
    assert travel is not None
    duty = travel.duty if move.lift else -travel.duty
    return plan.Travel(to=travel.to, duty=duty, patience=travel.patience, time_limit=travel.within)


#: dimension and sense of each requirement
_WISHES = {
    "lift_time": ("time", "max"),
    "supply_current": ("current", "max"),
    "motor_current": ("current", "max"),
    "bus_voltage": ("voltage", "min"),
    "winding_temperature": ("temperature", "max"),
    "static_margin": ("ratio", "min"),
    "tip_speed": ("velocity", "max"),
    "holds_unpowered": ("flag", "is"),
    "breaker_trips": ("flag", "is"),
}


def wishes(given: schema.Requirements | None) -> tuple[Wish, ...]:
    """The requirements, in the order of the schema."""
    found = []
    for name, (dimension, sense) in _WISHES.items():
        wish = getattr(given, name, None)
        if wish is not None:
            limit = wish if sense == "is" else getattr(wish, sense)
            found.append(Wish(name=name, dimension=dimension, sense=sense, limit=limit))
    return tuple(found)


def parts_list(rows: list[schema.PartsRow]) -> tuple[PartsRow, ...]:
    """The parts list as given."""
    return tuple(PartsRow(**row.model_dump()) for row in rows)
