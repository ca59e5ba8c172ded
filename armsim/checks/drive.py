"""What motor, bridge and source can give at a speed, above all standing still, and how long the winding bears it."""

from typing import NamedTuple

from armsim.drivetrain.machine import Machine
from armsim.parts.battery import open_circuit_voltage
from armsim.parts.bridge import bus_voltage, duty_for_current
from armsim.parts.motor import heat_flows, resistance_ratio

HORIZON = 3600.0  #: a stall is followed for this long [s]


class DrivePoint(NamedTuple):
    """Steady electrical state of the drive at one motor speed; currents settled, source fresh."""

    duty: float  #: in force [-]
    current: float  #: of each motor [A]
    supply_current: float  #: from the source through every protective device, other loads included [A]
    bus: float  #: voltage at the controller [V]
    torque: float  #: air-gap torque of all motors [N*m]
    limited: bool  #: the controller's current limit decides


def drive_point(machine: Machine, duty: float, motor_speed: float = 0.0, winding: float | None = None) -> DrivePoint:
    """The drive at a commanded duty (0..1] and motor speed [rad/s], winding at a temperature [degC] or at ambient.

    i = (d (E - R_s I_aux) - k_e w)/(R + R_br + d^2 R_s n); where that exceeds the current limit the duty that
    makes the limit.
    """
    motor, controller, source = machine.motor, machine.controller, machine.source_resistance
    loop = winding_resistance(machine, winding) + controller.resistance
    e = open_circuit_voltage(machine.battery, 0.0)
    emf = motor.back_emf_constant * motor_speed
    current = steady_current(machine, duty, motor_speed, winding)
    limit = controller.current_limit
    limited = limit is not None and current > limit
    if limited and limit is not None:
        reduced = duty_for_current(
            limit,
            emf,
            resistance=loop,
            count=motor.count,
            open_circuit=e,
            source_resistance=source,
            other_loads=machine.other_loads,
        )
        current, duty = limit, duty if reduced is None else min(duty, reduced)
    supply = motor.count * duty * current + machine.other_loads
    return DrivePoint(
        duty=duty,
        current=current,
        supply_current=supply,
        bus=bus_voltage(e, source, supply),
        torque=motor.count * motor.torque_constant * current,
        limited=limited,
    )


def steady_current(machine: Machine, duty: float, motor_speed: float, winding: float | None = None) -> float:
    """Current of each motor at the same, were there no limit. [A]"""
    motor, source = machine.motor, machine.source_resistance
    loop = winding_resistance(machine, winding) + machine.controller.resistance
    loaded = open_circuit_voltage(machine.battery, 0.0) - source * machine.other_loads
    return (duty * loaded - motor.back_emf_constant * motor_speed) / (loop + duty * duty * source * motor.count)


def winding_resistance(machine: Machine, winding: float | None = None) -> float:
    """Resistance of one winding at a temperature [degC], at ambient if None; as rated where heat is not known. [ohm]"""
    motor = machine.motor
    if motor.heat is None:
        return motor.resistance
    at = machine.ambient if winding is None else winding
    return motor.resistance * float(resistance_ratio(at, motor.reference_temperature))


def time_to_limit(machine: Machine, duty: float, warm: tuple[float, float] | None = None) -> float | None:
    """Time until a stalled winding reaches its limit, both nodes warming, from ambient or a warm motor. [s]

    `warm`: winding and housing at the start [degC].

    None where heat data or a limit are missing, or the limit is not reached within the hour. What a breaker would do
    meanwhile is left out. Runge-Kutta steps of about one kelvin.
    """
    heat = machine.motor.heat
    if heat is None or heat.winding_limit is None:
        return None
    limit, ambient = heat.winding_limit, machine.ambient
    winding, housing = (ambient, ambient) if warm is None else warm
    if winding >= limit:
        return 0.0

    def rates(winding: float, housing: float) -> tuple[float, float]:
        current = drive_point(machine, duty, 0.0, winding).current
        copper = current * current * winding_resistance(machine, winding)
        warming, spreading = heat_flows(copper, 0.0, winding, housing, ambient, heat)
        return float(warming), float(spreading)

    time = 0.0
    longest = 0.05 * heat.winding_to_housing * heat.winding_capacity
    while time < HORIZON:
        first = rates(winding, housing)
        step = min(longest, 1.0 / max(abs(first[0]), 1e-9))
        second = rates(winding + 0.5 * step * first[0], housing + 0.5 * step * first[1])
        third = rates(winding + 0.5 * step * second[0], housing + 0.5 * step * second[1])
        fourth = rates(winding + step * third[0], housing + step * third[1])
        rise = step / 6.0 * (first[0] + 2.0 * second[0] + 2.0 * third[0] + fourth[0])
        if winding + rise >= limit:
            return time + step * (limit - winding) / rise
        winding += rise
        housing += step / 6.0 * (first[1] + 2.0 * second[1] + 2.0 * third[1] + fourth[1])
        time += step
    return None
