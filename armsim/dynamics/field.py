"""The vector field of a mode, and the quantities read from the same formulas.

One function, `physics`, evaluates the machine at a state; the field, the guards and the recorded series all take their
numbers from it.
"""

from collections.abc import Callable, Sequence
from typing import NamedTuple

from armsim.drivetrain.machine import Machine
from armsim.drivetrain.train import Form, forms
from armsim.dynamics.buffer import buffer_loss, buffer_torque, load_in
from armsim.dynamics.electrics import constant_of, electrics, others_of, terminal_voltage
from armsim.dynamics.modes import Drive, Flow, Mode
from armsim.dynamics.state import (
    ANGLE,
    CURRENT,
    HOUSING,
    RELAXATION,
    SPEED,
    WINDING,
    State,
    companion_entries,
    edge_slices,
)
from armsim.parts.arm import load_damping, stop_travel
from armsim.parts.battery import relaxation_rate
from armsim.parts.elementwise import anywhere
from armsim.parts.motor import brush_voltage, heat_flows
from armsim.parts.protection import heating_of


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


Numbers = tuple[
    float, float, float, float, float, float, float, float, float, tuple[float, ...], tuple[float, ...], float
]  # as a Look: a plain tuple is made in a tenth of a named one's time
Core = Callable[[float, list[float]], Numbers]
Observer = Callable[[float, list[float]], Look]


def observer(machine: Machine, mode: Mode) -> Observer:
    """What gives everything at an instant of a mode."""
    core = physics(machine, mode)
    return lambda time, y: Look(*core(time, y))


def stage_torques(
    outputs: Sequence[Form], acceleration: float, load: float, speed: float, currents: Sequence[float] = ()
) -> tuple[float, ...]:
    """Torque that each stage delivers in a motion under a load torque, companions with their currents. [N*m]"""
    if currents:
        return tuple([a * acceleration + g * load + f + v * speed + dot(o, currents) for a, g, f, v, o in outputs])
    return tuple([a * acceleration + g * load + f + v * speed for a, g, f, v, _ in outputs])


def physics(
    machine: Machine,
    mode: Mode,
    delivered: Callable[[Sequence[Form], float, float, float, Sequence[float]], tuple[float, ...]] = stage_torques,
) -> Core:
    """What gives everything at an instant of a mode: the electrical side, and the acceleration on its branch.

    The walk's forms are made once where no efficiency depends on speed. `delivered` tells the stages' torques; who has
    no use for them may leave them out.
    """
    count, constant_at, arm, sense = machine.motor.count, constant_of(machine), machine.arm, mode.sense
    press, load_at, stiffness = mode.press, load_in(machine.arm, mode.press, mode.sense), machine.arm.stop.stiffness
    electrical, entries = electrics(machine, mode), companion_entries(machine)

    def electrical_part(time: float, y: list[float]) -> Numbers:
        c = electrical(time, y)
        leaning = 0.0 if stiffness is None else stiffness * abs(stop_travel(arm, y[ANGLE]))
        return c[0], 0.0, c[1], c[2], c[3], c[4], count * constant_at(y) * y[CURRENT], c[5], 0.0, (), (), leaning

    if sense == 0:
        return electrical_part
    varies = any(stage.law.depends_on_speed for stage in machine.stages)
    fixed = forms(machine, 0.0, sense, mode.branch, mode.regimes)

    def everything(time: float, y: list[float]) -> Numbers:
        current_slope, e, bus, supply, duty, winding = electrical(time, y)
        speed = y[SPEED]
        torque = count * constant_at(y) * y[CURRENT]
        load = load_at(y[ANGLE], speed)
        motor, outputs, gains = forms(machine, speed, sense, mode.branch, mode.regimes) if varies else fixed
        slope, per_load, friction, viscous, others = motor
        currents = [y[k] for k in entries]
        rest = torque - per_load * load - friction - viscous * speed
        acceleration = ((rest - dot(others, currents)) if others else rest) / slope
        torques = delivered(outputs, acceleration, load, speed, currents)
        pushed = 0.0 if press is None else buffer_torque(arm, press, y[ANGLE], speed)
        return current_slope, acceleration, e, bus, supply, duty, torque, winding, slope, torques, gains, pushed

    return everything


def dot(shares: Sequence[float], currents: Sequence[float]) -> float:
    """Sum of shares times currents."""
    return sum([share * current for share, current in zip(shares, currents, strict=True)])


def look(machine: Machine, mode: Mode, time: float, y: list[float]) -> Look:
    """Everything at a single instant."""
    return observer(machine, mode)(time, y)


def vector_field(machine: Machine, mode: Mode, core: Core, start: float) -> Callable[[float, State], list[float]]:
    """The time derivative of the state in a mode over the time since a start [s], for a stepper."""
    motor, arm, sense = machine.motor, machine.arm, mode.sense
    count, heated = motor.count, heating_of_motor(machine, mode)
    trip_rates = device_rates(machine)
    friction, bends = arm.friction, arm.friction.stribeck_speed is not None
    pivot_coulomb, pivot_viscous = sense * friction.coulomb, friction.viscous
    loads = machine.other_loads if mode.fed else 0.0
    battery, outlet = machine.battery, machine.outlet
    slow, lag = battery.relaxation_resistance, battery.relaxation_time
    charging = 0.0 if outlet is None or mode.flow is Flow.EMPTY else 1.0 / outlet.capacitance
    lost, press, buffered = train_losses(machine, mode), mode.press if sense else None, not arm.stop.rigid
    companions, others = companion_rates(machine, mode), others_of(machine)

    def derivative(since: float, state: State) -> list[float]:
        y: list[float] = state.tolist()
        slope, acceleration, e, bus, supply, duty, _, winding, _, outputs, gains, _ = core(start + since, y)
        current, speed = y[CURRENT], y[SPEED] if sense else 0.0
        squared = supply * supply
        copper, brushes, rotor, warming, cooling = heated(winding, y)
        curved = sense * friction.excess(speed) if bends else 0.0
        pivot = (pivot_coulomb + curved + (pivot_viscous + load_damping(arm, y[ANGLE])) * speed) * speed
        return [
            slope,
            acceleration,
            speed,
            warming,
            cooling,
            supply,
            relaxation_rate(supply, y[RELAXATION], slow, lag),
            (supply - max(-1.0, min(1.0, duty)) * (count * current + others(y)) - loads) * charging,
            current * current,
            squared,
            e * supply,
            y[RELAXATION] ** 2 / slow if slow else 0.0,
            count * copper,
            count * brushes,
            count * rotor,
            pivot,
            bus * loads,
            *lost(outputs, gains, speed),
            *companions(terminal_voltage(duty, bus), speed, y),
            *trip_rates(supply, duty * current, y),
            *([0.0 if press is None else buffer_loss(arm, press, y[ANGLE], speed)] if buffered else ()),
        ]

    return derivative


def companion_rates(machine: Machine, mode: Mode) -> Callable[[float, float, list[float]], list[float]]:
    """What gives of each companion the slope of its current [A/s], its square [A2], friction of all it counts [W].

    Of terminal voltage, the arm's speed and the state. An open circuit stays without current: of its diodes only
    those of the first motor are followed.
    """
    turns, sense, opened = machine.shaft_turns, mode.sense, mode.drive in (Drive.OPEN, Drive.DIODES)
    table = [
        (one, k, turns[one.shaft], sense * one.count * one.coulomb_torque)
        for one, k in zip(machine.companions, companion_entries(machine), strict=True)
    ]

    def rates(volts: float, speed: float, y: list[float]) -> list[float]:
        found: list[float] = []
        for one, k, n, drag in table:
            found.append(0.0 if opened else one.current_slope(volts, y[k], n * speed))
            found.append(y[k] ** 2)
            found.append((drag + one.count * one.viscous_drag * n * speed) * n * speed)
        return found

    return rates


def heating_of_motor(machine: Machine, mode: Mode) -> Callable[[float, list[float]], tuple[float, ...]]:
    """What gives heat in copper, brushes and bearings of one motor [W], and how fast its two nodes warm up. [K/s]

    Of the winding's resistance [ohm] and the state.
    """
    motor, sense, n0, ambient = machine.motor, mode.sense, machine.shaft_turns[0], machine.ambient
    coulomb, viscous, heat = sense * motor.coulomb_torque, motor.viscous_drag, motor.heat
    drop, knee = motor.brush_drop, motor.brush_knee
    worn = anywhere(drop > 0.0)

    def heated(winding: float, y: list[float]) -> tuple[float, ...]:
        current, rotor_speed = y[CURRENT], y[SPEED] * n0 if sense else 0.0
        copper = winding * current * current
        rotor = (coulomb + viscous * rotor_speed) * rotor_speed
        brushes = current * brush_voltage(current, drop, knee) if worn else 0.0
        if heat is None:
            return copper, brushes, rotor, 0.0, 0.0
        return copper, brushes, rotor, *heat_flows(copper, rotor + brushes, y[WINDING], y[HOUSING], ambient, heat)

    return heated


def slow_rates(machine: Machine, mode: Mode) -> Callable[[Numbers, list[float]], tuple[float, float, float, float]]:
    """What gives the rates of winding and housing temperature, charge drawn and relaxation, of what the core gives."""
    heated, battery = heating_of_motor(machine, mode), machine.battery
    slow, lag = battery.relaxation_resistance, battery.relaxation_time

    def rates(now: Numbers, y: list[float]) -> tuple[float, float, float, float]:
        warming, cooling = heated(now[7], y)[3:]
        return warming, cooling, now[4], relaxation_rate(now[4], y[RELAXATION], slow, lag)

    return rates


def device_rates(machine: Machine) -> Callable[[float, float, list[float]], list[float]]:
    """What gives the rates of the devices' thermal states from supply current, branch current and state. [1/s]"""
    edges = [
        (
            device.branch,
            1.0 / device.in_force,
            heating_of(edge),
            [(where.start + k, 1.0 / tau) for k, tau in enumerate(edge.time_constants)],
        )
        for device, slices in zip(machine.protection, edge_slices(machine), strict=True)
        for edge, where in zip((device.earliest, device.latest), slices, strict=True)
    ]

    def rates(supply: float, branch: float, y: list[float]) -> list[float]:
        found: list[float] = []
        for on_branch, scale, heat_at, poles in edges:
            heat = heat_at(abs(branch if on_branch else supply) * scale)
            found += [(heat - y[j]) * rate for j, rate in poles]
        return found

    return rates


def train_losses(machine: Machine, mode: Mode) -> Callable[[Sequence[float], Sequence[float], float], list[float]]:
    """What gives the power lost in each stage, mesh and drag, and to each side load. [W]

    Of torques delivered, gains and the arm's speed.
    """
    turns, sense, nothing = machine.shaft_turns, mode.sense, [0.0] * (len(machine.stages) + len(machine.side_loads))
    if sense == 0:
        return lambda _outputs, _gains, _speed: nothing
    table = [
        (k, turns[k], turns[k + 1], sense * stage.drag, stage.viscous_drag) for k, stage in enumerate(machine.stages)
    ]

    aside = [(turns[load.shaft], sense * load.torque, load.viscous) for load in machine.side_loads]

    def losses(outputs: Sequence[float], gains: Sequence[float], speed: float) -> list[float]:
        found = [
            outputs[k] * speed * after * (gains[k] - 1.0) + (drag + viscous * speed * before) * speed * before
            for k, before, after, drag, viscous in table
        ]
        return found + [(torque + viscous * n * speed) * n * speed for n, torque, viscous in aside] if aside else found

    return losses
