"""The vector field of a mode, and the quantities read from the same formulas.

State, in order: motor current, arm speed, arm angle, winding and housing temperature, charge drawn; then quadratures
for the energy account; then the loss of each stage; then the thermal states of each protective device, earliest edge
before latest. One function, `look`, evaluates the physics at a state; the field, the guards and the recorded series
all take their numbers from it.
"""

from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from armsim.drivetrain.machine import Machine
from armsim.drivetrain.train import forms
from armsim.dynamics.modes import Drive, Mode
from armsim.parts.arm import load_damping, load_torque
from armsim.parts.battery import open_circuit_voltage
from armsim.parts.bridge import bus_voltage, duty_for_current
from armsim.parts.motor import heat_flows, resistance_ratio

State = NDArray[np.float64]

CURRENT, SPEED, ANGLE, WINDING, HOUSING, CHARGE = range(6)
CURRENT_SQUARED, SUPPLY_SQUARED, SUPPLIED, COPPER, ROTOR, PIVOT, LOADS = range(6, 13)
STAGES = 13  #: index of the first stage's loss


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
    return slices[-1][1].stop if slices else STAGES + len(machine.stages)


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


def circuit(machine: Machine, mode: Mode, time: float, y: list[float]) -> Circuit:
    """Winding current's slope, bus voltage, supply current and duty in a mode."""
    motor, source = machine.motor, machine.source_resistance
    current = y[CURRENT]
    emf = motor.back_emf_constant * y[SPEED] * machine.shaft_turns[0]
    winding = motor.resistance
    if motor.heat is not None:
        winding *= resistance_ratio(y[WINDING], motor.reference_temperature)
    loop = winding + machine.controller.resistance
    e = open_circuit_voltage(machine.battery, y[CHARGE])
    drive = mode.drive
    loads = machine.other_loads if mode.connected else 0.0
    if drive is Drive.DRIVING or drive is Drive.DIODES:
        duty = mode.duty.at(time)
        supply = motor.count * duty * current + loads
        bus = bus_voltage(e, source, supply)
        slope = (duty * bus - loop * current - emf) / motor.inductance
    elif drive is Drive.REGULATING:
        wanted = duty_for_current(
            current,
            emf,
            resistance=loop,
            count=motor.count,
            open_circuit=e,
            source_resistance=source,
            other_loads=loads,
        )
        duty = 2.0 if wanted is None else wanted  # beyond any real duty: a guard ends the mode
        supply = motor.count * min(duty, 1.0) * current + loads
        bus = bus_voltage(e, source, supply)
        slope = 0.0
    else:
        duty, supply = 0.0, loads
        bus = bus_voltage(e, source, supply)
        slope = (-loop * current - emf) / motor.inductance if drive is Drive.SHORTED else 0.0
    return Circuit(slope, e, bus if mode.connected else 0.0, supply, duty, winding)


Observer = Callable[[float, list[float]], Look]


def observer(machine: Machine, mode: Mode) -> Observer:
    """What gives everything at an instant of a mode: the electrical side, and the acceleration on its branch.

    The walk's forms are made once where no efficiency depends on speed.
    """
    constant, arm, sense = machine.motor.count * machine.motor.torque_constant, machine.arm, mode.sense

    def electrical_part(time: float, y: list[float]) -> Look:
        c = circuit(machine, mode, time, y)
        return Look(c[0], 0.0, c[1], c[2], c[3], c[4], constant * y[CURRENT], c[5], 0.0, (), ())

    if sense == 0:
        return electrical_part
    varies = any(stage.law.depends_on_speed for stage in machine.stages)
    fixed = forms(machine, 0.0, sense, mode.branch, mode.regimes)

    def everything(time: float, y: list[float]) -> Look:
        c, speed = circuit(machine, mode, time, y), y[SPEED]
        torque = constant * y[CURRENT]
        load = load_torque(arm, y[ANGLE]) + load_damping(arm, y[ANGLE]) * speed
        motor, outputs, gains = forms(machine, speed, sense, mode.branch, mode.regimes) if varies else fixed
        slope, per_load, friction, viscous = motor
        acceleration = (torque - per_load * load - friction - viscous * speed) / slope
        delivered = tuple(a * acceleration + g * load + f + v * speed for a, g, f, v in outputs)
        return Look(c[0], acceleration, c[1], c[2], c[3], c[4], torque, c[5], slope, delivered, gains)

    return everything


def look(machine: Machine, mode: Mode, time: float, y: list[float]) -> Look:
    """Everything at a single instant."""
    return observer(machine, mode)(time, y)


def vector_field(machine: Machine, mode: Mode, observe: Observer) -> Callable[[float, State], list[float]]:
    """The time derivative of the state in a mode, for a stepper."""
    motor, arm, turns = machine.motor, machine.arm, machine.shaft_turns
    count, n0 = motor.count, turns[0]
    poles = [
        (device.rating, tau)
        for device in machine.protection
        for edge in (device.earliest, device.latest)
        for tau in edge.time_constants
    ]
    first_pole = STAGES + len(machine.stages)

    def derivative(time: float, state: State) -> list[float]:
        y: list[float] = state.tolist()
        now = observe(time, y)
        current, speed = y[CURRENT], y[SPEED] if mode.sense else 0.0
        rotor_speed = speed * n0
        drag = mode.sense * motor.coulomb_torque + motor.viscous_drag * rotor_speed
        copper = now.resistance * current * current
        rotor = drag * rotor_speed
        warming = cooling = 0.0
        if motor.heat is not None:
            warming, cooling = heat_flows(copper, rotor, y[WINDING], y[HOUSING], machine.ambient, motor.heat)
        rates = [
            now.current_slope,
            now.acceleration,
            speed,
            warming,
            cooling,
            now.supply,
            current * current,
            now.supply * now.supply,
            now.open_circuit * now.supply,
            count * copper,
            count * rotor,
            (mode.sense * arm.friction.coulomb + (arm.friction.viscous + load_damping(arm, y[ANGLE])) * speed) * speed,
            now.bus * machine.other_loads if mode.connected else 0.0,
        ]
        rates += stage_losses(machine, mode, now, speed)
        line = now.supply
        rates += [((line / rating) ** 2 - y[first_pole + j]) / tau for j, (rating, tau) in enumerate(poles)]
        return rates

    return derivative


def stage_losses(machine: Machine, mode: Mode, now: Look, speed: float) -> list[float]:
    """Power lost in the mesh and the drag of each stage. [W]"""
    if mode.sense == 0:
        return [0.0] * len(machine.stages)
    turns = machine.shaft_turns
    losses = []
    for k, stage in enumerate(machine.stages):
        input_speed = speed * turns[k]
        mesh = now.outputs[k] * speed * turns[k + 1] * (now.gains[k] - 1.0)
        losses.append(mesh + (mode.sense * stage.drag + stage.viscous_drag * input_speed) * input_speed)
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
    return sizes
