"""A validated scenario to the machine and its plan; what was not given is filled in and listed."""

import math

from armsim.drivetrain.as_built import FACTORS, largest_factor, touches
from armsim.drivetrain.machine import Machine
from armsim.parts import arm as arm_part
from armsim.parts.battery import Battery
from armsim.scenario import dimensions as d
from armsim.scenario import schema
from armsim.scenario.benches import bench_source, outlet
from armsim.scenario.carriages import carriage
from armsim.scenario.companions import companions
from armsim.scenario.counterbalances import counterbalances, counterweight
from armsim.scenario.dimensions import understood
from armsim.scenario.mechanical_agreement import mass_points
from armsim.scenario.motors import inside_stages, motor, scale_note
from armsim.scenario.notes import Notes
from armsim.scenario.numbers import shown
from armsim.scenario.problems import Misreading
from armsim.scenario.records import PartsRow, Wish
from armsim.scenario.side_loads import side_loads
from armsim.scenario.sources import battery
from armsim.scenario.stages import stages
from armsim.scenario.stops import stop
from armsim.scenario.supplies import controller, protections
from armsim.scenario.wires import leads, wiring


def machine(file: schema.ScenarioFile, notes: Notes) -> Machine:
    """The machine of a scenario that has passed every check."""
    supply = file.supply
    if "ambient" not in file.model_fields_set:
        notes.default("ambient", "25 degC around the machine")
    built_motor, source = motor(file.motor, notes), _source(supply, file.ambient, notes)
    scale_note(file.motor, max(source.voltage_points), notes)
    inside = inside_stages(file.motor, notes)
    no_load_speed = max(source.voltage_points) / built_motor.back_emf_constant
    no_load_speed /= math.prod(stage.reduction for stage in inside)
    train = stages(file.transmission, no_load_speed, notes.default, notes.derived, notes.faults)
    whole = len(train) == len(file.transmission)  # else a stage was refused, and numbers of shafts say nothing
    built_controller = controller(file.controller, supply, notes)
    more = file.more_motors if whole else ()
    return Machine(
        motor=built_motor,
        companions=companions(
            more, len(inside), train, built_controller.resistance, file.ambient, notes, carriage=file.arm is None
        ),
        battery=source,
        outlet=outlet(supply, file.controller, notes),
        wiring=wiring(supply.wiring, notes),
        leads=leads(file.motor.leads, notes),
        other_loads=supply.other_loads,
        protection=tuple(protections(supply.protection, file.ambient, notes)),
        controller=built_controller,
        stages=(*inside, *train),
        side_loads=side_loads(file.side_loads if whole else (), len(inside), train, notes, carriage=file.arm is None),
        arm=carriage(file.carriage, notes) if file.arm is None else arm(file.arm, notes),
        ambient=file.ambient,
    )


def as_built(drawn: Machine, given: schema.AsBuilt | None, notes: Notes) -> Machine:
    """The machine with what it was built off by."""
    for name, apply in FACTORS.items():
        factor = getattr(given, name, None)
        if factor is None:
            continue
        most = largest_factor(drawn, name)
        if factor > most:
            text = f"{shown(100.0 * factor)} % is out of range, of this machine it is at most {shown(100.0 * most)} %"
            notes.faults.append((("as_built", name), Misreading("SCN120", text)))
        elif not touches(drawn, name):
            text = f"there is no {name} in this machine to be off"
            notes.faults.append((("as_built", name), Misreading("SCN121", text, "leave this line out")))
        else:
            drawn = apply(drawn, factor)
    return drawn


def _source(supply: schema.Supply, ambient: float, notes: Notes) -> Battery:
    """What gives the voltage: exactly one of battery and bench supply is given."""
    if supply.bench is not None:
        return bench_source(supply.bench, notes)
    assert supply.battery is not None
    return battery(supply.battery, ambient, notes)


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
    far_mass, far_at = counterweight(given.counterbalance)
    return arm_part.Arm(
        length=given.length,
        inertia=_bare_inertia(given, points, notes) + payload_mass * payload_at**2 + far_mass * far_at**2,
        first_moment=sum(m * at for m, at in points) + payload_mass * payload_at - far_mass * far_at,
        counterbalances=counterbalances(given.counterbalance, notes),
        payload_mass=payload_mass,
        payload_at=payload_at,
        gravity=_gravity(given.plane.tilt),
        friction=arm_part.Friction(
            coulomb=friction.coulomb,
            viscous=friction.viscous,
            breakaway=friction.coulomb if friction.breakaway is None else friction.breakaway,
            stribeck_speed=friction.stribeck_speed,
        ),
        stop=stop(given.stops, notes),
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
    "controller_resets": ("flag", "is"),
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
