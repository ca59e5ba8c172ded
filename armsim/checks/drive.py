"""How long a stalled winding bears it."""

from armsim.drivetrain.circuit import Warmth, drive_point, winding_resistance
from armsim.drivetrain.machine import Machine
from armsim.parts.motor import brush_voltage, heat_flows

HORIZON = 3600.0  #: a stall is followed for this long [s]


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
        current = drive_point(machine, duty, 0.0, Warmth(winding, housing)).current
        copper = current * current * winding_resistance(machine, winding)
        brushes = current * brush_voltage(current, machine.motor.brush_drop, machine.motor.brush_knee)
        warming, spreading = heat_flows(copper, brushes, winding, housing, ambient, heat)
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
