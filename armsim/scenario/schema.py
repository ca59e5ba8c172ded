"""The keys of a scenario and what each may be; values come out in SI.

A section is a frozen model that knows no other keys than its own. What several keys must agree on is in agreement.py.
"""

from typing import Annotated, Any

from pydantic import BeforeValidator, Field

from armsim.scenario import dimensions as d
from armsim.scenario import forms
from armsim.scenario import readers as r
from armsim.scenario import special_readers as special
from armsim.scenario.battery_keys import Battery
from armsim.scenario.carriage_keys import Carriage, Drum, Rack
from armsim.scenario.coordinates import coordinate, place

# Pulley, Sprocket and Gear are sections too, inside those of belt, chain and gears
from armsim.scenario.flexible_keys import Belt, Chain, FlatBelt, Pulley, Sprocket  # noqa: F401
from armsim.scenario.forms import Typed
from armsim.scenario.gear_keys import Bevel, Gear, Gears, Planetary  # noqa: F401
from armsim.scenario.keys import (
    Along,
    Angle,
    Capacity,
    Current,
    Drag,
    Inertia,
    Keys,
    Length,
    Level,
    Mass,
    Name,
    Offset,
    Part,
    Pause,
    Resistance,
    Rise,
    Small,
    Temperature,
    Text,
    Time,
    ViscousDrag,
    Voltage,
)
from armsim.scenario.motor_keys import Label, LoadReading, MeasuredPoint, Servo
from armsim.scenario.side_keys import Shaft, SideLoad
from armsim.scenario.source import Leaf
from armsim.scenario.stage_keys import StageKeys
from armsim.scenario.stiffness import Stiffness, torque_or_force
from armsim.scenario.tables import OWN_CURVE, trip_families
from armsim.scenario.worm_keys import Worm


class Thermal(Keys):
    """Two thermal nodes of the motor."""

    example = (
        "{winding_to_housing: 1.2 K/W, housing_to_air: 3.5 K/W, winding_capacity: 40 J/K, housing_capacity: 600 J/K}"
    )
    winding_to_housing: Rise
    housing_to_air: Rise
    winding_capacity: Capacity
    housing_capacity: Capacity
    winding_limit: Temperature | None = None


class Wiring(Keys):
    """A run of wire, one way, or its resistance."""

    example = "{gauge: 10 AWG, length: 1.8 m}"
    name: Name | None = None
    gauge: Annotated[special.WireSize, special.wire_size(bare=True)] | None = None
    area: Annotated[special.WireSize, special.wire_size(bare=False)] | None = None
    gauge_system: Annotated[str, r.choice("awg", "sae")] = "awg"
    length: Annotated[float, r.quantity(d.LENGTH, least=0.0, usual=(0.01, 100.0))] | None = None
    joints: Resistance = 0.0
    temperature: Temperature = 20.0
    stranding: Annotated[float | str, special.stranding()] | None = None
    insulation_limit: Annotated[float, r.quantity(d.TEMPERATURE, least=40.0, most=300.0)] = 70.0
    resistance: Resistance | None = None


class Motor(Keys):
    """One motor by one way of giving its figures, and how many there are."""

    count: Annotated[int, r.whole(1, 20, noun="motors")] = 1
    nominal_voltage: Voltage | None = None
    no_load_speed: Annotated[float, r.quantity(d.SPEED, above=0.0, usual=(0.1, 1e4))] | None = None
    no_load_current: Annotated[float, r.quantity(d.CURRENT, least=0.0, usual=(1e-4, 100.0))] | None = None
    stall_torque: Annotated[float, r.quantity(d.TORQUE, above=0.0, usual=(1e-4, 1000.0))] | None = None
    stall_current: Current | None = None
    torque_constant: Annotated[float, r.quantity(d.TORQUE_CONSTANT, above=0.0, usual=(1e-4, 20.0))] | None = None
    velocity_constant: Annotated[float, r.quantity(d.VELOCITY_CONSTANT, above=0.0, usual=(0.05, 1e4))] | None = None
    back_emf_constant: Annotated[float, r.quantity(d.BACK_EMF_CONSTANT, above=0.0, usual=(1e-4, 20.0))] | None = None
    resistance: Annotated[float, r.quantity(d.RESISTANCE, above=0.0, usual=(1e-3, 200.0))] | None = None
    coulomb_friction: Drag | None = None
    viscous_friction: ViscousDrag | None = None
    measured: list[MeasuredPoint] | None = None
    bench: list[LoadReading] | None = None
    servo: Servo | None = None
    label: Label | None = None
    built_in_reduction: Annotated[float, special.reduction()] | None = None
    built_in_efficiency: Part | None = None
    built_in_reverse_efficiency: Annotated[float, r.number(most=1.0)] | None = None
    built_in_peak_torque: Annotated[float, r.quantity(d.TORQUE, above=0.0, usual=(1e-3, 1000.0))] | None = None
    breakaway_friction: Drag | None = None
    brush_drop: Annotated[float, r.quantity(d.VOLTAGE, above=0.0, most=5.0)] | None = None
    magnet: Annotated[str, r.choice("ferrite", "neodymium", "samarium-cobalt")] | None = None
    inductance: Annotated[float, r.quantity(d.INDUCTANCE, above=0.0, usual=(1e-6, 0.2))] | None = None
    rotor_inertia: Annotated[float, r.quantity(d.INERTIA, above=0.0, usual=(1e-9, 1.0))] | None = None
    reference_temperature: Temperature = 25.0
    thermal: Thermal | None = None
    leads: Wiring | None = None
    source: Text = ""


class MoreMotor(Keys):
    """Another motor on a shaft of the train."""

    example = "{shaft: 1, reduction: 3, motor: {torque_constant: 0.04 N*m/A, resistance: 0.3 ohm}}"
    name: Name | None = None
    shaft: Shaft
    reduction: Annotated[float, special.reduction()] = 1.0
    motor: Motor


class Bench(Keys):
    """A bench or mains supply by its settings."""

    example = "{voltage: 24 V, current_limit: 20 A}"
    voltage: Voltage
    current_limit: Current | None = None
    short_circuit_current: Current | None = None
    can_sink: Annotated[bool, r.yes_no()] = False
    internal_resistance: Resistance | None = None


class Protection(Keys):
    """A breaker or fuse of a known kind, or by its own curve."""

    example = "{kind: thermal-auto-reset, rating: 30 A}"
    kind: Annotated[str, r.text(60, offers=lambda: [*trip_families(), OWN_CURVE])]
    rating: Current
    line: Annotated[str, r.choice("main", "branch")] = "main"
    opens_at: Annotated[str, r.choice("earliest", "latest")] = "latest"
    resets: Annotated[str, r.choice("automatic", "manual")] | None = None
    ambient: Annotated[float, r.quantity(d.TEMPERATURE, least=-60.0, most=100.0)] | None = None
    ambient_effect: Annotated[str, r.choice("thermal", "thermal-magnetic", "fuse", "none")] | None = None
    curve: (
        Annotated[
            tuple[tuple[float, ...], ...],
            special.table(
                special.multiple_cell,
                special.time_cell,
                special.time_cell,
                rows=3,
                row="[multiple of the rating, earliest, latest], such as [2, 4 s, 20 s]",
            ),
        ]
        | None
    ) = None


class Supply(Keys):
    """Battery or bench supply, wiring and protection."""

    example = "{battery: {open_circuit_voltage: 25.2 V, internal_resistance: 40 mohm}}"
    battery: Battery | None = None
    bench: Bench | None = None
    wiring: Annotated[list[Wiring], r.one_or_more()] = Field(default_factory=list)
    protection: list[Protection] = Field(default_factory=list)
    undervoltage: Voltage | None = None
    overvoltage: Voltage | None = None
    other_loads: Annotated[float, r.quantity(d.CURRENT, least=0.0, usual=(1e-3, 200.0))] = 0.0


Place = Annotated[float, place()]


def _gain(turning: d.Dimension, along: d.Dimension) -> BeforeValidator:
    return coordinate((turning, r.Limits(least=0.0)), (along, r.Limits(least=0.0)))


class PositionLoop(Keys):
    """The loop that follows profiles and holds angles; gains left out are placed for the machine."""

    example = "{period: 10 ms, tolerance: 0.5 deg}"
    period: Annotated[float, r.quantity(d.TIME, least=2e-4, most=0.5)] = 0.01
    tolerance: (
        Annotated[
            float, coordinate((d.ANGLE, r.Limits(least=1e-5, most=0.35)), (d.LENGTH, r.Limits(least=1e-6, most=0.1)))
        ]
        | None
    ) = None
    proportional: Annotated[float, _gain(d.PROPORTIONAL_GAIN, d.LINE_PROPORTIONAL_GAIN)] | None = None
    integral: Annotated[float, _gain(d.INTEGRAL_GAIN, d.LINE_INTEGRAL_GAIN)] | None = None
    derivative: Annotated[float, _gain(d.DERIVATIVE_GAIN, d.LINE_DERIVATIVE_GAIN)] | None = None


class Controller(Keys):
    """The motor controller."""

    example = "{current_limit: 60 A, ramp: 0.2 s}"
    current_limit: Current | None = None
    supply_current_limit: Current | None = None
    minimum_duty: Annotated[float, r.share(zero=True)] = 0.0
    ramp: Pause = 0.0
    when_off: Annotated[str, r.choice("shorted", "open")] = "open"
    bridge_resistance: Resistance = 0.0
    restart_time: Pause = 0.5
    pwm_frequency: Annotated[float, r.quantity(d.FREQUENCY, above=0.0, usual=(100.0, 2e5))] | None = None
    input_capacitance: Annotated[float, r.quantity(d.CAPACITANCE, above=0.0, usual=(1e-6, 1.0))] | None = None
    position_loop: PositionLoop | None = None


class Gearbox(StageKeys):
    """A bought gearbox by its sheet."""

    example = "gearbox: {reduction: 71, efficiency: 0.73}"
    reduction: Annotated[float, special.reduction()]
    efficiency: Part
    reverse_efficiency: Annotated[float, r.number(most=1.0)] | None = None
    sense: Annotated[str, r.choice("same", "opposite")] = "same"


class Stage(Keys):
    """One stage: exactly one of these."""

    example = "- gears: {driver: 14, driven: 56}"
    alone = True
    gears: Gears | None = None
    bevel: Bevel | None = None
    planetary: Planetary | None = None
    chain: Chain | None = None
    worm: Worm | None = None
    gearbox: Gearbox | None = None
    belt: Belt | None = None
    flat_belt: FlatBelt | None = None
    rack: Rack | None = None
    drum: Drum | None = None


class PointMass(Keys):
    """A mass at a distance from the pivot."""

    example = "{mass: 9 kg, at: 0.62 m}"
    mass: Mass
    at: Along


class Payload(Keys):
    """What is lifted; at the tip unless told otherwise."""

    example = "{mass: 9 kg, at: 0.62 m}"
    mass: Annotated[float, r.quantity(d.MASS, least=0.0, usual=(1e-3, 2000.0))]
    at: Along | None = None


class PivotFriction(Keys):
    """Friction of the arm's bearing."""

    example = "{coulomb: 0.6 N*m, breakaway: 0.9 N*m}"
    coulomb: Drag = 0.0
    viscous: ViscousDrag = 0.0
    breakaway: Drag | None = None
    stribeck_speed: Annotated[float, r.quantity(d.SPEED, above=0.0, usual=(1e-3, 20.0))] | None = None


class Stops(Keys):
    """End stops; leave one out where there is none. Rigid without a stiffness."""

    example = "{lower: -35 deg, upper: 95 deg}"
    lower: Angle | None = None
    upper: Angle | None = None
    restitution: Level | None = None
    stiffness: Annotated[Stiffness, torque_or_force()] | None = None
    at: Small | None = None


def _word_as_tilt(value: object) -> object:
    return {"tilt": value} if isinstance(value, Leaf) else value


class Plane(Keys):
    """The plane the arm moves in."""

    example = "{tilt: 30 deg}"
    tilt: Annotated[float, special.tilt()] = 0.0


class Anchor(Keys):
    """A point of the frame, seen from the pivot."""

    example = "{x: -80 mm, y: 300 mm}"
    x: Offset
    y: Offset


class Counterbalance(Keys):
    """One spring or counterweight that helps to carry the arm; each kind has its keys."""

    example = "{kind: torsion-spring, torsion_rate: 0.3 N*m/deg, relaxed_at: 110 deg}"
    kind: Annotated[str, r.choice("torsion-spring", "extension-spring", "gas-spring", "constant-force", "mass")]
    torsion_rate: Annotated[float, r.quantity(d.TORSION_RATE, above=0.0, usual=(1e-3, 1e4))] | None = None
    relaxed_at: Angle | None = None
    rate: Annotated[float, r.quantity(d.SPRING_RATE, least=0.0, usual=(1.0, 1e6))] | None = None
    free_length: Length | None = None
    initial_tension: Annotated[float, r.quantity(d.FORCE, least=0.0, usual=(0.1, 1e4))] | None = None
    extended_length: Length | None = None
    damping: Annotated[float, r.quantity(d.LINE_DAMPING, least=0.0, usual=(1.0, 1e6))] | None = None
    force: Annotated[float, r.quantity(d.FORCE, above=0.0, usual=(0.5, 1e5))] | None = None
    on_arm: Length | None = None
    anchor: Anchor | None = None
    drum_radius: Small | None = None
    mass: Mass | None = None
    at: Along | None = None


class Arm(Keys):
    """The driven arm about its pivot."""

    example = "{length: 0.62 m, mass: 2.4 kg, payload: {mass: 9 kg}}"
    length: Length
    mass: Mass | None = None
    centre_of_mass: Along | None = None
    masses: list[PointMass] | None = None
    inertia: Inertia | None = None
    payload: Payload | None = None
    pivot_friction: PivotFriction | None = None
    counterbalance: Counterbalance | None = None
    stops: Stops | None = None
    plane: Annotated[Plane, Typed(_word_as_tilt, form=lambda: forms.choice(special.PLANES))] = Field(
        default_factory=Plane
    )


class Profile(Keys):
    """Limits of a motion profile; without jerk the acceleration may jump."""

    example = "{speed: 60 deg/s, acceleration: 120 deg/s^2, jerk: 600 deg/s^3}"
    speed: Annotated[
        float,
        coordinate(
            (d.SPEED, r.Limits(above=0.0, usual=(1e-3, 50.0))), (d.VELOCITY, r.Limits(above=0.0, usual=(1e-3, 10.0)))
        ),
    ]
    acceleration: Annotated[
        float,
        coordinate(
            (d.ACCELERATION, r.Limits(above=0.0, usual=(1e-3, 2000.0))),
            (d.LINE_ACCELERATION, r.Limits(above=0.0, usual=(1e-3, 200.0))),
        ),
    ]
    jerk: (
        Annotated[
            float,
            coordinate(
                (d.JERK, r.Limits(above=0.0, usual=(1e-3, 1e6))),
                (d.LINE_JERK, r.Limits(above=0.0, usual=(1e-3, 1e5))),
            ),
        ]
        | None
    ) = None


class Travel(Keys):
    """Drive to an angle, or to a place on the guide, with a duty or along a profile."""

    example = "lift: {to: 70 deg}"
    to: Place
    duty: Part = 1.0
    profile: Profile | None = None
    patience: Pause = 2.0
    within: Time = 600.0


class Hold(Keys):
    """Stay for a time: held by the position loop, or with the motor shorted or open."""

    example = "hold: {for: 2 s}"
    duration: Time = Field(alias="for")
    motor: Annotated[str, r.choice("controlled", "shorted", "open")] = "controlled"


class Rest(Keys):
    """Stay for a time with the drive off."""

    example = "rest: {for: 2 s}"
    duration: Time = Field(alias="for")


class Handover(Keys):
    """Payload taken up or put down, at the payload's place."""

    example = "put_down: {mass: 9 kg}"
    mass: Mass


class Move(Keys):
    """One move: exactly one of these."""

    example = "- lift: {to: 70 deg}"
    alone = True
    lift: Travel | None = None
    lower: Travel | None = None
    hold: Hold | None = None
    rest: Rest | None = None
    take_up: Handover | None = None
    put_down: Handover | None = None


class PowerCut(Keys):
    """When the power fails, in a run of its own."""

    example = "{at: 60 deg}"
    at: Annotated[special.When, special.time_or_angle()] = special.When()
    motor: Annotated[str, r.choice("shorted", "open")] | None = None


class AtMostTime(Keys):
    example = "{max: 2.5 s}"
    max: Time


class AtMostCurrent(Keys):
    example = "{max: 40 A}"
    max: Current


class AtLeastVoltage(Keys):
    example = "{min: 18 V}"
    min: Voltage


class AtMostTemperature(Keys):
    example = "{max: 110 degC}"
    max: Temperature


class AtLeastRatio(Keys):
    example = "{min: 1.5}"
    min: Annotated[float, r.number(above=0.0, most=100.0)]


class AtMostVelocity(Keys):
    example = "{max: 1.5 m/s}"
    max: Annotated[float, r.quantity(d.VELOCITY, above=0.0, usual=(1e-3, 30.0))]


class Requirements(Keys):
    """What the machine is asked to keep."""

    example = "{lift_time: {max: 2.5 s}, holds_unpowered: yes}"
    lift_time: AtMostTime | None = None
    supply_current: AtMostCurrent | None = None
    motor_current: AtMostCurrent | None = None
    bus_voltage: AtLeastVoltage | None = None
    winding_temperature: AtMostTemperature | None = None
    static_margin: AtLeastRatio | None = None
    tip_speed: AtMostVelocity | None = None
    holds_unpowered: Annotated[bool, r.yes_no()] | None = None
    breaker_trips: Annotated[bool, r.yes_no()] | None = None
    controller_resets: Annotated[bool, r.yes_no()] | None = None


class PartsRow(Keys):
    """One line of the parts list."""

    example = "- {item: 13-tooth sprocket, quantity: 1, unit_price: 12.5}"
    item: Text
    quantity: Annotated[float, r.number(above=0.0, most=1e6)] = 1.0
    unit_price: Annotated[float, r.number(least=0.0)] | None = None
    mass: Mass | None = None
    source: Text = ""


class AsBuilt(Keys):
    """What a machine is off its sheets by, in per cent of what they say."""

    example = "{efficiency: 95 %, motor_constant: 104 %}"
    efficiency: Annotated[float, special.factor()] | None = None
    friction: Annotated[float, special.factor()] | None = None
    motor_constant: Annotated[float, special.factor()] | None = None
    motor_resistance: Annotated[float, special.factor()] | None = None


class ScenarioFile(Keys):
    """A whole scenario."""

    title: Annotated[str, r.text(200)]
    about: Annotated[str, r.text(20_000)] = ""
    motor: Motor
    more_motors: list[MoreMotor] = Field(default_factory=list)
    supply: Supply
    controller: Controller = Field(default_factory=Controller)
    transmission: list[Stage] = Field(default_factory=list)
    side_loads: list[SideLoad] = Field(default_factory=list)
    arm: Arm | None = None
    carriage: Carriage | None = None
    ambient: Annotated[float, r.quantity(d.TEMPERATURE, least=-60.0, most=90.0)] = 25.0
    start: Place
    moves: list[Move]
    repeat: Annotated[int, r.whole(1, 1000, noun="cycles")] = 1
    power_cut: PowerCut | None = None
    requirements: Requirements | None = None
    uncertainty: Annotated[dict[str, Any], special.inputs()] | None = None
    as_built: AsBuilt | None = None
    parts_list: list[PartsRow] = Field(default_factory=list)
