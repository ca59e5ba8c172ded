"""Source, bridge and motors running steadily: what current flows at a speed, and which limit decides it.

The motor's loop is d V = R i + k w + v_b(i); the source gives V = E - R_s (n d i + I_aux), as far as it can. Currents
have settled, the battery's relaxation pair too.
"""

import math
from typing import NamedTuple

from armsim.drivetrain.machine import Machine
from armsim.parts.battery import open_circuit_voltage
from armsim.parts.bridge import bus_voltage, duty_for_current, duty_out
from armsim.parts.elementwise import either, larger, root, signed, smaller
from armsim.parts.motor import brush_voltage, flux_ratio, resistance_ratio
from armsim.parts.outlet import limit_line


class Warmth(NamedTuple):
    """How warm a motor is. [degC]"""

    winding: float
    housing: float


class DrivePoint(NamedTuple):
    """Steady electrical state of the drive at one motor speed; currents settled."""

    duty: float  #: in force [-]
    current: float  #: of each motor [A]
    supply_current: float  #: from the source through every protective device, other loads included [A]
    bus: float  #: voltage at the controller [V]
    torque: float  #: air-gap torque of all motors [N*m]
    limited: bool  #: a current limit of the controller decides
    starved: bool = False  #: the supply's own current limit decides

    @property
    def volts(self) -> float:
        """At the motors' terminals. [V]"""
        return self.duty * self.bus


class Beside(NamedTuple):
    """Current of all companions, i = G v - i_0 at a terminal voltage v."""

    per_volt: float = 0.0  #: G [A/V]
    back: float = 0.0  #: i_0, by their back-EMF at the speed asked about [A]

    def at(self, volts: float) -> float:
        """At a terminal voltage [V]. [A]"""
        return self.per_volt * volts - self.back


class Loop(NamedTuple):
    """One motor's loop and the source, as they stand."""

    resistance: float  #: winding, bridge [ohm]
    constant: float  #: of the air gap as warm as it is [V*s/rad]
    emf: float  #: at the speed asked about [V]
    open_circuit: float  #: [V]
    source: float  #: resistance of source and wires [ohm]
    beside: Beside  #: what companions take


def drive_point(
    machine: Machine, duty: float, motor_speed: float = 0.0, warmth: Warmth | None = None, charge_drawn: float = 0.0
) -> DrivePoint:
    """The drive at a commanded duty [-1..1] and motor speed [rad/s], the motor at ambient unless it is warm.

    Where the current that would flow exceeds what the supply gives, or a limit of the controller, that decides.
    """
    loop, duty = loop_of(machine, motor_speed, warmth, charge_drawn), duty_out(machine.controller, duty)
    current, starved = free_current(machine, loop, duty), False
    outlet = machine.outlet
    if outlet is not None:
        scarce = starved_current(machine, loop, duty)
        starved = abs(scarce) < abs(current) and scarce * current > 0.0
        current = scarce if starved else current
    controller, limited = machine.controller, False
    ration = controller.supply_current_limit
    if ration is not None and duty * current > ration:
        current = math.copysign(rationed_current(machine, loop, duty, ration), duty)
        duty, limited, starved = ration / current, True, False
    limit = controller.current_limit
    if limit is not None and abs(current) > limit:
        current = math.copysign(limit, current)
        needed = duty_for(machine, loop, current)
        duty, limited, starved = (
            duty if needed is None else math.copysign(min(abs(duty), abs(needed)), duty),
            True,
            False,
        )
    volts = loop.resistance * current + opposing(machine, loop, current)
    supply = duty * (machine.motor.count * current + loop.beside.at(volts if duty else 0.0)) + machine.other_loads
    bus = volts / duty if starved and duty else bus_voltage(loop.open_circuit, loop.source, supply)
    torque = machine.motor.count * loop.constant * current
    return DrivePoint(duty, current, supply, bus, torque, limited, starved)


def stalled_torque(machine: Machine, duty: float, warmth: Warmth | None = None, charge_drawn: float = 0.0) -> float:
    """Air-gap torque of all motors at standstill, of a battery and within the controller's limits. [N*m]

    For a plain machine that is `drive_point(...).torque`; this one takes machines of arrays as well.
    """
    loop, duty, controller = (
        loop_of(machine, 0.0, warmth, charge_drawn),
        duty_out(machine.controller, duty),
        machine.controller,
    )
    current = free_current(machine, loop, duty)
    ration, limit = controller.supply_current_limit, controller.current_limit
    if ration is not None:
        limited = signed(rationed_current(machine, loop, duty, ration), duty)
        current = either(duty * current > ration, limited, current)
    if limit is not None:
        current = larger(-limit, smaller(limit, current))
    return machine.motor.count * loop.constant * current


def loop_of(machine: Machine, motor_speed: float, warmth: Warmth | None, charge_drawn: float = 0.0) -> Loop:
    """The circuit's figures at a motor speed [rad/s] and warmth, ambient if None."""
    motor = machine.motor
    warm = Warmth(machine.ambient, machine.ambient) if warmth is None else warmth
    constant = motor.back_emf_constant
    if motor.heat is not None:
        constant = constant * flux_ratio(warm.housing, motor.magnet_coefficient, motor.reference_temperature)
    return Loop(
        resistance=winding_resistance(machine, warm.winding) + machine.path_resistance,
        constant=constant,
        emf=constant * motor_speed,
        open_circuit=open_circuit_voltage(machine.battery, charge_drawn),
        source=machine.settled_source_resistance,
        beside=beside(machine, motor_speed / machine.reduction),
    )


def beside(machine: Machine, speed: float) -> Beside:
    """What companions take at an arm speed [rad/s], once settled."""
    turns, others = machine.shaft_turns, machine.companions
    back = sum(one.push * turns[one.shaft] / one.loop_resistance for one in others) * speed
    return Beside(sum(one.count / one.loop_resistance for one in others), back)


def winding_resistance(machine: Machine, winding: float | None = None) -> float:
    """Resistance of one winding at a temperature [degC], at ambient if None; as rated where heat is not known. [ohm]"""
    motor = machine.motor
    if motor.heat is None:
        return motor.resistance
    at = machine.ambient if winding is None else winding
    return motor.resistance * resistance_ratio(at, motor.reference_temperature)  # type: ignore[no-any-return]


def opposing(machine: Machine, loop: Loop, current: float) -> float:
    """Back-EMF and brush drop at a current. [V]"""
    motor = machine.motor
    return loop.emf + float(brush_voltage(current, motor.brush_drop, motor.brush_knee))


def driven_by(machine: Machine, volts: float, resistance: float) -> float:
    """Current that a voltage drives through a resistance [ohm] and the brushes. [A]"""
    motor = machine.motor
    beyond = abs(volts) - motor.brush_drop
    low = volts / (resistance + motor.brush_drop / motor.brush_knee)
    return either(beyond >= resistance * motor.brush_knee, signed(beyond / resistance, volts), low)  # type: ignore[no-any-return]


def free_current(machine: Machine, loop: Loop, duty: float) -> float:
    """Current of each motor were there no limit, i = (d (E - R_s I_aux) - k w - v_b)/(R + d^2 R_s n). [A]"""
    # companions turn the source into another: V = (E + R_s d i_0 - R_s n d i)/(1 + R_s d^2 G)
    share = 1.0 / (1.0 + loop.source * duty * duty * loop.beside.per_volt)
    loaded = share * (loop.open_circuit - loop.source * (machine.other_loads - duty * loop.beside.back))
    resistance = loop.resistance + duty * duty * share * loop.source * machine.motor.count
    return driven_by(machine, duty * loaded - loop.emf, resistance)


def starved_current(machine: Machine, loop: Loop, duty: float) -> float:
    """Current of each motor where the supply is at its current limit, infinite where it has none. [A]

    n d i + I_aux = a + b V with d V = R i + k w + v_b, where a + b V is the limit at the controller.
    """
    outlet = machine.outlet
    if outlet is None or math.isinf(outlet.current_limit) or duty == 0.0:
        return math.copysign(math.inf, duty)
    at_zero, slope = limit_line(outlet, loop.open_circuit, machine.wiring_resistance)
    slope -= duty * duty * loop.beside.per_volt
    share = machine.motor.count * duty - slope * loop.resistance / duty
    spare = at_zero - machine.other_loads + duty * loop.beside.back
    if share * duty <= 0.0:
        return math.copysign(math.inf, duty)
    volts = (spare + slope * loop.emf / duty) / share  # the current, brushes aside
    drop = slope * math.copysign(machine.motor.brush_drop, duty) / duty / share
    return volts + drop


def rationed_current(machine: Machine, loop: Loop, duty: float, ration: float) -> float:
    """Size of each motor's current where each bridge draws its ration [A] from the supply. [A]

    V I_s = (R i + k w + v_b) i, at standstill sqrt(V I_s/R).
    """
    bus = bus_voltage(loop.open_circuit, loop.source, machine.motor.count * ration + machine.other_loads)
    against = math.copysign(1.0, duty) * loop.emf + machine.motor.brush_drop
    power = larger(0.0, bus) * ration
    return (root(against * against + 4.0 * loop.resistance * power) - against) / (2.0 * loop.resistance)  # type: ignore[no-any-return]


def duty_for(machine: Machine, loop: Loop, current: float) -> float | None:
    """Duty that makes a steady current, None where the source cannot give it. [-]"""
    duty: float | None = duty_for_current(
        current,
        opposing(machine, loop, current),
        resistance=loop.resistance,
        count=machine.motor.count,
        open_circuit=loop.open_circuit,
        source_resistance=loop.source,
        other_loads=machine.other_loads,
        beside=loop.beside.at(loop.resistance * current + opposing(machine, loop, current)),
    )
    return duty
