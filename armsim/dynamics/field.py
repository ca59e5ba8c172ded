"""The vector field of a mode, and the quantities read from the same formulas.

State, in order: motor current, arm speed, arm angle, winding and housing temperature, charge drawn; then quadratures
for the energy account; then the loss of each stage; then the thermal states of each protective device, earliest edge
before latest; then, where the stops are buffers, their loss. One function, `look`, evaluates the physics at a state;
the field, the guards and the recorded series all take their numbers from it.
"""

from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from armsim.drivetrain.machine import Machine
from armsim.drivetrain.train import forms
from armsim.dynamics.buffer import buffer_loss, buffer_torque, load_in
from armsim.dynamics.modes import Drive, Mode
from armsim.parts.arm import load_damping, stop_travel
from armsim.parts.battery import open_circuit_voltage
from armsim.parts.bridge import bus_voltage, duty_for_current
from armsim.parts.motor import heat_flows, resistance_ratio

State = NDArray[np.float64]

CURRENT, SPEED, ANGLE, WINDING, HOUSING, CHARGE = range(6)
CURRENT_SQUARED, SUPPLY_SQUARED, SUPPLIED, COPPER, ROTOR, PIVOT, LOADS = range(6, 13)
STAGES = 13  #: index of the first stage's loss
BUFFER = -1  #: of the loss in buffers, where the stops are any


class Look(NamedTuple):
    """The machine at an instant of a mode."""

    current_slope: float  #: [A/s]
    acceleration: float  #: [rad/s2]
    open_circuit: float  #: [V]
    bus: float  #: controller input voltage; 0 while disconnected [V]
    supply: float  #: current from the source, other loads included [A]
    duty: float  #: in force [-]
    torque: float  #: air-gap torque of all motors [N*m]
    resistance: float  #: of one winding at its temperature [ohm]
    inertia: float  #: air-gap torque per arm acceleration on this branch, 0 at rest [kg*m2]
    outputs: tuple[float, ...]  #: torque delivered by each stage while moving [N*m]
    gains: tuple[float, ...]
    stop: float = 0.0  #: torque of a buffer on the arm, whichever way [N*m]


def edge_slices(machine: Machine) -> list[tuple[slice, slice]]:
    """Where each device's thermal states stand in the state: earliest edge, latest edge."""
    start = STAGES + len(machine.stages)
    slices = []
    for device in machine.protection:
        first, second = len(device.earliest.weights), len(device.latest.weights)
        slices.append((slice(start, start + first), slice(start + first, start + first + second)))
        start += first + second
    return slices


def state_size(machine: Machine) -> int:
    """Length of the state vector."""
    slices = edge_slices(machine)
    end = slices[-1][1].stop if slices else STAGES + len(machine.stages)
    return end + (not machine.arm.stop.rigid)


def initial_state(machine: Machine, angle: float) -> State:
    """At rest at an angle [rad], everything at ambient temperature, devices cold."""
    state = np.zeros(state_size(machine))
    state[ANGLE] = angle
    state[WINDING] = state[HOUSING] = machine.ambient
    return state


class Circuit(NamedTuple):
    """The electrical side at an instant."""

    current_slope: float
    open_circuit: float
    bus: float
    supply: float
    duty: float
    resistance: float


Electrics = Callable[[float, list[float]], tuple[float, float, float, float, float, float]]  # as a Circuit


def circuit(machine: Machine, mode: Mode, time: float, y: list[float]) -> Circuit:
    """Winding current's slope, bus voltage, supply current and duty in a mode, at a single instant."""
    return Circuit(*electrics(machine, mode)(time, y))


def electrics(machine: Machine, mode: Mode) -> Electrics:
    """What gives the electrical side of a mode at any instant; all that stays the same is looked up once."""
    drive = mode.drive
    if drive is Drive.DRIVING or drive is Drive.DIODES:
        return driven(machine, mode)
    if drive is Drive.REGULATING:
        return regulated(machine, mode)
    return unpowered(machine, mode)


def winding_of(machine: Machine) -> Callable[[list[float]], float]:
    """What gives the resistance of one winding at its temperature. [ohm]"""
    motor = machine.motor
    cold, reference = motor.resistance, motor.reference_temperature
    if motor.heat is None:
        return lambda y: cold
    return lambda y: cold * resistance_ratio(y[WINDING], reference)


def driven(machine: Machine, mode: Mode) -> Electrics:
    """Duty as commanded."""
    motor, battery, source = machine.motor, machine.battery, machine.source_resistance
    count, inductance, bridge = motor.count, motor.inductance, machine.controller.resistance
    emf_per_speed = motor.back_emf_constant * machine.shaft_turns[0]
    start, rate, since, connected = mode.duty.start, mode.duty.rate, mode.duty.since, mode.connected
    loads = machine.other_loads if connected else 0.0
    winding_at = winding_of(machine)

    def at(time: float, y: list[float]) -> tuple[float, float, float, float, float, float]:
        current, winding = y[CURRENT], winding_at(y)
        e = open_circuit_voltage(battery, y[CHARGE])
        duty = start + rate * (time - since)
        supply = count * duty * current + loads
        bus = e - source * supply
        slope = (duty * bus - (winding + bridge) * current - emf_per_speed * y[SPEED]) / inductance
        return slope, e, bus if connected else 0.0, supply, duty, winding

    return at


def regulated(machine: Machine, mode: Mode) -> Electrics:
    """Current held by the duty that makes it."""
    motor, source, bridge = machine.motor, machine.source_resistance, machine.controller.resistance
    emf_per_speed, connected = motor.back_emf_constant * machine.shaft_turns[0], mode.connected
    loads = machine.other_loads if connected else 0.0
    winding_at = winding_of(machine)

    def at(_: float, y: list[float]) -> tuple[float, float, float, float, float, float]:
        current, winding = y[CURRENT], winding_at(y)
        e = open_circuit_voltage(machine.battery, y[CHARGE])
        wanted = duty_for_current(
            current,
            emf_per_speed * y[SPEED],
            resistance=winding + bridge,
            count=motor.count,
            open_circuit=e,
            source_resistance=source,
            other_loads=loads,
        )
        duty = 2.0 if wanted is None else wanted  # beyond any real duty: a guard ends the mode
        supply = motor.count * min(duty, 1.0) * current + loads
        return 0.0, e, bus_voltage(e, source, supply) if connected else 0.0, supply, duty, winding

    return at


def unpowered(machine: Machine, mode: Mode) -> Electrics:
    """Bridge off: the other loads alone on the supply, the motor shorted or open."""
    motor, source, bridge = machine.motor, machine.source_resistance, machine.controller.resistance
    emf_per_speed, connected = motor.back_emf_constant * machine.shaft_turns[0], mode.connected
    loads, shorted = machine.other_loads if connected else 0.0, mode.drive is Drive.SHORTED
    winding_at = winding_of(machine)

    def at(_: float, y: list[float]) -> tuple[float, float, float, float, float, float]:
        winding, e = winding_at(y), open_circuit_voltage(machine.battery, y[CHARGE])
        slope = (-(winding + bridge) * y[CURRENT] - emf_per_speed * y[SPEED]) / motor.inductance if shorted else 0.0
        return slope, e, bus_voltage(e, source, loads) if connected else 0.0, loads, 0.0, winding

    return at


Numbers = tuple[
    float, float, float, float, float, float, float, float, float, tuple[float, ...], tuple[float, ...], float
]  # as a Look: a plain tuple is made in a tenth of a named one's time
Core = Callable[[float, list[float]], Numbers]
Observer = Callable[[float, list[float]], Look]


def observer(machine: Machine, mode: Mode) -> Observer:
    """What gives everything at an instant of a mode."""
    core = physics(machine, mode)
    return lambda time, y: Look(*core(time, y))


def physics(machine: Machine, mode: Mode) -> Core:
    """What gives everything at an instant of a mode: the electrical side, and the acceleration on its branch.

    The walk's forms are made once where no efficiency depends on speed.
    """
    constant, arm, sense = machine.motor.count * machine.motor.torque_constant, machine.arm, mode.sense
    press, load_at, stiffness = mode.press, load_in(machine.arm, mode.press), machine.arm.stop.stiffness
    electrical = electrics(machine, mode)

    def electrical_part(time: float, y: list[float]) -> Numbers:
        c = electrical(time, y)
        leaning = 0.0 if stiffness is None else stiffness * abs(stop_travel(arm, y[ANGLE]))
        return c[0], 0.0, c[1], c[2], c[3], c[4], constant * y[CURRENT], c[5], 0.0, (), (), leaning

    if sense == 0:
        return electrical_part
    varies = any(stage.law.depends_on_speed for stage in machine.stages)
    fixed = forms(machine, 0.0, sense, mode.branch, mode.regimes)

    def everything(time: float, y: list[float]) -> Numbers:
        current_slope, e, bus, supply, duty, winding = electrical(time, y)
        speed = y[SPEED]
        torque = constant * y[CURRENT]
        load = load_at(y[ANGLE], speed)
        motor, outputs, gains = forms(machine, speed, sense, mode.branch, mode.regimes) if varies else fixed
        slope, per_load, friction, viscous = motor
        acceleration = (torque - per_load * load - friction - viscous * speed) / slope
        delivered = tuple([a * acceleration + g * load + f + v * speed for a, g, f, v in outputs])
        pushed = 0.0 if press is None else buffer_torque(arm, press, y[ANGLE], speed)
        return current_slope, acceleration, e, bus, supply, duty, torque, winding, slope, delivered, gains, pushed

    return everything


def look(machine: Machine, mode: Mode, time: float, y: list[float]) -> Look:
    """Everything at a single instant."""
    return observer(machine, mode)(time, y)


def vector_field(machine: Machine, mode: Mode, core: Core, start: float) -> Callable[[float, State], list[float]]:
    """The time derivative of the state in a mode over the time since a start [s], for a stepper."""
    motor, arm, turns, sense = machine.motor, machine.arm, machine.shaft_turns, mode.sense
    count, n0, heat, ambient = motor.count, turns[0], motor.heat, machine.ambient
    ratings = [
        (1.0 / device.rating**2, 1.0 / tau)
        for device in machine.protection
        for edge in (device.earliest, device.latest)
        for tau in edge.time_constants
    ]
    first_pole = STAGES + len(machine.stages)
    poles = [(j, heating, rate) for j, (heating, rate) in enumerate(ratings, start=first_pole)]
    coulomb, viscous = sense * motor.coulomb_torque, motor.viscous_drag
    pivot_coulomb, pivot_viscous = sense * arm.friction.coulomb, arm.friction.viscous
    loads = machine.other_loads if mode.connected else 0.0
    lost, press, buffered = stage_losses(machine, mode), mode.press if sense else None, not arm.stop.rigid

    def derivative(since: float, state: State) -> list[float]:
        y: list[float] = state.tolist()
        slope, acceleration, e, bus, supply, _, _, winding, _, outputs, gains, _ = core(start + since, y)
        current, speed = y[CURRENT], y[SPEED] if sense else 0.0
        rotor_speed, squared = speed * n0, supply * supply
        copper = winding * current * current
        rotor = (coulomb + viscous * rotor_speed) * rotor_speed
        warming = cooling = 0.0
        if heat is not None:
            warming, cooling = heat_flows(copper, rotor, y[WINDING], y[HOUSING], ambient, heat)
        pivot = (pivot_coulomb + (pivot_viscous + load_damping(arm, y[ANGLE])) * speed) * speed
        return [
            slope,
            acceleration,
            speed,
            warming,
            cooling,
            supply,
            current * current,
            squared,
            e * supply,
            count * copper,
            count * rotor,
            pivot,
            bus * loads,
            *lost(outputs, gains, speed),
            *[(squared * heating - y[j]) * rate for j, heating, rate in poles],
            *([0.0 if press is None else buffer_loss(arm, press, y[ANGLE], speed)] if buffered else ()),
        ]

    return derivative


def stage_losses(machine: Machine, mode: Mode) -> Callable[[Sequence[float], Sequence[float], float], list[float]]:
    """What gives the power lost in each stage, mesh and drag, from torques delivered, gains and the arm's speed. [W]"""
    turns, sense, nothing = machine.shaft_turns, mode.sense, [0.0] * len(machine.stages)
    if sense == 0:
        return lambda _outputs, _gains, _speed: nothing
    table = [
        (k, turns[k], turns[k + 1], sense * stage.drag, stage.viscous_drag) for k, stage in enumerate(machine.stages)
    ]

    def losses(outputs: Sequence[float], gains: Sequence[float], speed: float) -> list[float]:
        return [
            outputs[k] * speed * after * (gains[k] - 1.0) + (drag + viscous * speed * before) * speed * before
            for k, before, after, drag, viscous in table
        ]

    return losses


def stored_energy(machine: Machine, y: State) -> float:
    """Kinetic energy of everything that turns and magnetic energy of the windings. [J]"""
    motor = machine.motor
    kinetic = 0.5 * machine.inertia * y[SPEED] ** 2
    return float(kinetic + 0.5 * motor.count * motor.inductance * y[CURRENT] ** 2)


def scales(machine: Machine) -> State:
    """Sizes of the state's entries, for absolute tolerances."""
    motor = machine.motor
    volts = max(machine.battery.voltage_points)
    stall = volts / machine.loop_resistance
    current = stall if machine.controller.current_limit is None else min(stall, machine.controller.current_limit)
    speed = machine.no_load_speed
    power = volts * current * motor.count
    sizes = np.full(state_size(machine), 1.0)
    sizes[CURRENT], sizes[SPEED], sizes[ANGLE] = current, speed, 1.0
    sizes[WINDING] = sizes[HOUSING] = 100.0
    sizes[CHARGE] = current * motor.count
    sizes[CURRENT_SQUARED] = current**2
    sizes[SUPPLY_SQUARED] = (current * motor.count) ** 2
    sizes[SUPPLIED : STAGES + len(machine.stages)] = power
    if not machine.arm.stop.rigid:
        sizes[BUFFER] = power
    return sizes
