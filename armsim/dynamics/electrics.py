"""The electrical side of a mode: source, bus, bridge and winding at any instant.

A battery gives the bus its voltage at once: V = E - v_relaxed - R_s I. A supply with limits charges a capacitor at the
controller, whose voltage is part of the state; what flows into it depends on where that voltage stands.
"""

import math
from collections.abc import Callable
from typing import NamedTuple

from armsim.drivetrain.machine import Machine
from armsim.dynamics.modes import Drive, Flow, Mode
from armsim.dynamics.state import (
    BUS,
    CHARGE,
    CURRENT,
    HOUSING,
    RELAXATION,
    SPEED,
    WINDING,
    companion_entries,
)
from armsim.parts.battery import open_circuit_voltage
from armsim.parts.bridge import duty_for_current
from armsim.parts.elementwise import anywhere, within
from armsim.parts.motor import brush_voltage, flux_ratio, resistance_ratio
from armsim.parts.outlet import limit_line


class Circuit(NamedTuple):
    """The electrical side at an instant."""

    current_slope: float  #: [A/s]
    open_circuit: float  #: electromotive force of the source, or what stands for it while a limit holds [V]
    bus: float  #: controller input voltage; 0 while disconnected [V]
    supply: float  #: current from the source, other loads included [A]
    duty: float  #: in force [-]
    resistance: float  #: of one winding at its temperature [ohm]


Electrics = Callable[[float, list[float]], tuple[float, float, float, float, float, float]]  # as a Circuit
Reading = Callable[[list[float]], float]


def circuit(machine: Machine, mode: Mode, time: float, y: list[float]) -> Circuit:
    """Winding current's slope, bus voltage, supply current and duty in a mode, at a single instant."""
    return Circuit(*electrics(machine, mode)(time, y))


def electrics(machine: Machine, mode: Mode) -> Electrics:
    """What gives the electrical side of a mode at any instant; all that stays the same is looked up once."""
    match mode.drive:
        case Drive.DRIVING | Drive.DIODES:
            return driven(machine, mode)
        case Drive.REGULATING:
            return regulated(machine, mode)
        case Drive.RATIONED:
            return rationed(machine, mode)
        case Drive.SHORTED | Drive.OPEN:
            return unpowered(machine, mode)


def winding_of(machine: Machine) -> Reading:
    """What gives the resistance of one winding at its temperature. [ohm]"""
    motor = machine.motor
    cold, reference = motor.resistance, motor.reference_temperature
    if motor.heat is None:
        return lambda y: cold
    return lambda y: cold * resistance_ratio(y[WINDING], reference)


def constant_of(machine: Machine) -> Reading:
    """What gives the air gap's constant at the magnets' temperature. [V*s/rad, N*m/A]"""
    motor = machine.motor
    cold, change, reference = motor.back_emf_constant, motor.magnet_coefficient, motor.reference_temperature
    if motor.heat is None or not anywhere(change != 0.0):
        return lambda y: cold
    return lambda y: cold * flux_ratio(y[HOUSING], change, reference)


def opposing_of(machine: Machine) -> Reading:
    """What gives back-EMF and brush drop of one motor. [V]"""
    motor, turns, constant_at = machine.motor, machine.shaft_turns[0], constant_of(machine)
    drop, knee = motor.brush_drop, motor.brush_knee
    if anywhere(drop > 0.0):
        return lambda y: constant_at(y) * turns * y[SPEED] + brush_voltage(y[CURRENT], drop, knee)
    if motor.heat is None or not anywhere(motor.magnet_coefficient != 0.0):
        per_speed = motor.back_emf_constant * turns
        return lambda y: per_speed * y[SPEED]
    return lambda y: constant_at(y) * turns * y[SPEED]


def terminal_voltage(duty: float, bus: float) -> float:
    """What a bridge gives its motor: a duty beyond its ends is one that it cannot give. [V]"""
    return max(-1.0, min(1.0, duty)) * bus


def others_of(machine: Machine) -> Reading:
    """What gives the current that all companions together have in their windings. [A]"""
    table = list(zip([one.count for one in machine.companions], companion_entries(machine), strict=True))
    return lambda y: sum([count * y[k] for count, k in table])


Feed = Callable[[list[float], float], tuple[float, float, float]]  #: of state and load [A]: e, bus [V, V], supply [A]


def feed(machine: Machine, mode: Mode) -> Feed:
    """What gives electromotive force, bus voltage and supply current under a load on the bus."""
    battery, source, outlet = machine.battery, machine.source_resistance, machine.outlet
    if outlet is None and mode.fed:

        def battery_feed(y: list[float], load: float) -> tuple[float, float, float]:
            e = open_circuit_voltage(battery, y[CHARGE])
            return e, e - y[RELAXATION] - source * load, load

        return battery_feed
    if outlet is None or not mode.fed:
        return lambda y, load: (open_circuit_voltage(battery, y[CHARGE]), 0.0, load)
    e = machine.highest_voltage
    at_zero, slope = limit_line(outlet, e, machine.wiring_resistance)
    match mode.flow:
        case Flow.FREE:
            return lambda y, _: (e, y[BUS], (e - y[BUS]) / source)
        case Flow.LIMITED:

            def limited(y: list[float], _: float) -> tuple[float, float, float]:
                given = at_zero + slope * y[BUS]
                return y[BUS] + source * given, y[BUS], given

            return limited
        case Flow.BLOCKED:
            return lambda y, _: (y[BUS], y[BUS], 0.0)
        case Flow.EMPTY:
            given = min(at_zero, e / source)
            return lambda y, _: (source * given, 0.0, given)


def driven(machine: Machine, mode: Mode) -> Electrics:
    """Duty as commanded."""
    motor, bridge = machine.motor, machine.path_resistance
    count, inductance = motor.count, motor.inductance
    start, rate, since = mode.duty.start, mode.duty.rate, mode.duty.since
    loads = machine.other_loads if mode.fed else 0.0
    winding_at, opposing_at, fed = winding_of(machine), opposing_of(machine), feed(machine, mode)
    others = others_of(machine)

    def at(time: float, y: list[float]) -> tuple[float, float, float, float, float, float]:
        current, winding = y[CURRENT], winding_at(y)
        duty = start + rate * (time - since)
        e, bus, supply = fed(y, duty * (count * current + others(y)) + loads)
        slope = (duty * bus - (winding + bridge) * current - opposing_at(y)) / inductance
        return slope, e, bus, supply, duty, winding

    return at


def regulated(machine: Machine, mode: Mode) -> Electrics:
    """Current held by the duty that makes it."""
    motor, source, bridge = machine.motor, machine.source_resistance, machine.path_resistance
    outlet, battery, loads = machine.outlet, machine.battery, machine.other_loads if mode.fed else 0.0
    winding_at, opposing_at, fed = winding_of(machine), opposing_of(machine), feed(machine, mode)
    others = others_of(machine)

    def duty_at(y: list[float], winding: float) -> float | None:
        current, against = y[CURRENT], opposing_at(y)
        if outlet is not None:
            return ((winding + bridge) * current + against) / y[BUS] if y[BUS] > 0.0 else None
        duty: float | None = duty_for_current(
            current,
            against,
            resistance=winding + bridge,
            count=motor.count,
            open_circuit=open_circuit_voltage(battery, y[CHARGE]) - y[RELAXATION],
            source_resistance=source,
            other_loads=loads,
            beside=others(y),
        )
        return duty

    def at(_: float, y: list[float]) -> tuple[float, float, float, float, float, float]:
        winding = winding_at(y)
        wanted = duty_at(y, winding)
        duty = (
            math.copysign(2.0, y[CURRENT]) if wanted is None else wanted
        )  # beyond any real one: a guard ends the mode
        e, bus, supply = fed(y, within(duty, -1.0, 1.0) * (motor.count * y[CURRENT] + others(y)) + loads)
        return 0.0, e, bus, supply, duty, winding

    return at


def rationed(machine: Machine, mode: Mode) -> Electrics:
    """What a bridge draws from the supply held at its limit by the duty; the motor's current goes where it will."""
    motor, bridge, ration = machine.motor, machine.path_resistance, machine.controller.supply_current_limit
    assert ration is not None
    loads = machine.other_loads if mode.fed else 0.0
    load = motor.count * ration + loads
    winding_at, opposing_at, fed = winding_of(machine), opposing_of(machine), feed(machine, mode)

    def at(_: float, y: list[float]) -> tuple[float, float, float, float, float, float]:
        current, winding = y[CURRENT], winding_at(y)
        duty = ration / current
        e, bus, supply = fed(y, load)
        slope = (duty * bus - (winding + bridge) * current - opposing_at(y)) / motor.inductance
        return slope, e, bus, supply, duty, winding

    return at


def unpowered(machine: Machine, mode: Mode) -> Electrics:
    """Bridge off: the other loads alone on the supply, the motor shorted or open."""
    motor, bridge, shorted = machine.motor, machine.path_resistance, mode.drive is Drive.SHORTED
    loads = machine.other_loads if mode.fed else 0.0
    winding_at, opposing_at, fed = winding_of(machine), opposing_of(machine), feed(machine, mode)

    def at(_: float, y: list[float]) -> tuple[float, float, float, float, float, float]:
        winding = winding_at(y)
        e, bus, supply = fed(y, loads)
        slope = (-(winding + bridge) * y[CURRENT] - opposing_at(y)) / motor.inductance if shorted else 0.0
        return slope, e, bus, supply, 0.0, winding

    return at


def flow_edge(machine: Machine) -> float:
    """Bus voltage at which a supply comes to its current limit. [V]"""
    outlet, source = machine.outlet, machine.source_resistance
    if outlet is None or math.isinf(outlet.current_limit):
        return -math.inf
    at_zero, slope = limit_line(outlet, machine.highest_voltage, machine.wiring_resistance)
    return (machine.highest_voltage - source * at_zero) / (1.0 + source * slope)
