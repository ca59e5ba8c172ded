"""Guards: what ends a mode. Each is a margin that is positive inside the mode and reaches zero when it ends."""

from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum, auto

from armsim.drivetrain.machine import Machine
from armsim.drivetrain.train import VANISHING, Cone, all_driving, cone, walk
from armsim.dynamics.buffer import buffer_travel
from armsim.dynamics.electrics import constant_of, flow_edge, others_of
from armsim.dynamics.field import Look
from armsim.dynamics.modes import Contact, Drive, Flow, Mode
from armsim.dynamics.state import ANGLE, BUS, CURRENT, SPEED, companion_entries, edge_slices
from armsim.parts.elementwise import signed

CREEP = 1e-5  #: share of the no-load speed below which motion is asked whether it has died away


class Signal(Enum):
    """What a guard announces. Of two in one instant the one earlier in this list is taken first."""

    CLOCK = auto()  #: not a guard: a time known beforehand has come
    TARGET = auto()
    CUT_ANGLE = auto()
    STOP = auto()
    LEAVES = auto()
    SLACK = auto()
    RESTS = auto()
    CREEPS = auto()
    JAMS = auto()
    BRANCH = auto()
    REGIME = auto()
    RISES = auto()
    SINKS = auto()
    LIMIT = auto()
    RATION = auto()
    RELEASED = auto()
    SATURATES = auto()
    UNDERVOLTAGE = auto()
    OVERVOLTAGE = auto()
    FLOWS = auto()
    EARLIEST = auto()
    LATEST = auto()
    RECLOSES = auto()
    CONDUCTS = auto()
    BLOCKS = auto()


@dataclass(frozen=True)
class Guard:
    """A margin with its size, and what it announces when it is used up."""

    signal: Signal
    margin: Callable[[float, list[float], Look], float]
    scale: float
    index: int = 0  #: of the stage or device concerned
    waits: bool = False  #: may start clearly used up, and then counts only once it has been seen positive


def guards_of(machine: Machine, mode: Mode, angle: float, seen: set[tuple[Signal, int]]) -> list[Guard]:
    """Every guard of a mode entered at an angle [rad]; `seen` are trip signals that have already been noted."""
    motion = moving_guards(machine, mode) if mode.sense else rest_guards(machine, mode, angle)
    guards = [*motion, *drive_guards(machine, mode), *regulation_guards(mode), *flow_guards(machine, mode)]
    guards += device_guards(machine, mode, seen)
    return sorted(guards, key=lambda guard: guard.signal.value)


def moving_guards(machine: Machine, mode: Mode) -> list[Guard]:
    """Stops, coming to rest, dying away, change of a stage's branch or regime, jamming."""
    s, turns = mode.sense, machine.shaft_turns
    creep = CREEP * machine.no_load_speed
    guards = [
        *stop_guards(machine, mode),
        Guard(Signal.RESTS, lambda _t, y, _: s * y[SPEED], machine.no_load_speed, waits=True),
    ]
    if not mode.passing:
        guards.append(Guard(Signal.CREEPS, lambda _t, y, _: s * y[SPEED] - creep, machine.no_load_speed, waits=True))
    torque = torque_scale(machine)
    driving = walk(machine, 0.0, 0.0, s, all_driving(machine), mode.regimes).motor.slope
    if any(b < 0 for b in mode.branch):
        guards.append(
            Guard(
                Signal.JAMS,
                lambda _t, _, now: now.inertia - VANISHING * driving,
                1.0,
            )
        )
    for k, stage in enumerate(machine.stages):
        size = torque * turns[0] / turns[k + 1]
        guards.append(
            Guard(
                Signal.BRANCH,
                lambda _t, _, now, k=k, b=s * mode.branch[k], tiny=1e-11 * size: b * now.outputs[k] + tiny,  # type: ignore[misc]
                size,
                k,
            )
        )
        edges, piece = stage.law.speed_edges, mode.regimes[k]
        if piece < len(edges):
            guards.append(
                Guard(
                    Signal.REGIME,
                    lambda _t, y, _, e=edges[piece], n=turns[k]: e - s * y[SPEED] * n,  # type: ignore[misc]
                    edges[piece],
                    k,
                )
            )
        if piece > 0:
            guards.append(
                Guard(
                    Signal.REGIME,
                    lambda _t, y, _, e=edges[piece - 1], n=turns[k]: s * y[SPEED] * n - e,  # type: ignore[misc]
                    edges[piece - 1],
                    k,
                )
            )
    return guards


def stop_guards(machine: Machine, mode: Mode) -> list[Guard]:
    """The stop ahead; in a buffer, parting from it and its falling slack."""
    s, arm, press = mode.sense, machine.arm, mode.press
    if press is None:
        ahead = arm.upper_stop if s > 0 else arm.lower_stop
        return [Guard(Signal.STOP, lambda _t, y, _: s * (ahead - y[ANGLE]), 1.0)]
    if press.side == s:
        return []
    guards = [Guard(Signal.LEAVES, lambda _t, y, _: buffer_travel(arm, press, y[ANGLE]), 1.0)]
    if press.damping > 0.0:
        follows = -1.0 if press.slack else 1.0
        guards.append(Guard(Signal.SLACK, lambda _t, y, _: follows * (1.0 - press.damping * s * y[SPEED]), 1.0))
    return guards


def rest_guards(machine: Machine, mode: Mode, angle: float) -> list[Guard]:
    """Breaking away upwards or downwards out of the friction cone at this angle."""
    edges, torque = edges_at(machine, angle), torque_scale(machine)
    guards = []
    if mode.contact is not Contact.ABOVE:
        guards.append(Guard(Signal.RISES, lambda _t, y, now: edges(y).rise - now.torque, torque, waits=True))
    if mode.contact is not Contact.BELOW:
        guards.append(Guard(Signal.SINKS, lambda _t, y, now: now.torque - edges(y).sink, torque, waits=True))
    return guards


def edges_at(machine: Machine, angle: float) -> Callable[[list[float]], Cone]:
    """What gives the friction cone at an angle [rad] from the state; it moves where companions push more or less."""
    fixed, entries = cone(machine, angle), companion_entries(machine)
    if not machine.companions:
        return lambda _: fixed
    return lambda y: cone(machine, angle, [y[k] for k in entries])


def drive_guards(machine: Machine, mode: Mode) -> list[Guard]:
    """Current limits entered, bus out of the controller's range, diodes."""
    controller = machine.controller
    volts = machine.highest_voltage
    limit, ration = controller.current_limit, controller.supply_current_limit
    guards = []
    if mode.drive in (Drive.DRIVING, Drive.REGULATING) and ration is not None:
        guards.append(Guard(Signal.RATION, lambda _t, y, now: ration - now.duty * y[CURRENT], ration))
    if mode.drive in (Drive.DRIVING, Drive.RATIONED) and limit is not None:
        if mode.saturated:
            guards.append(Guard(Signal.LIMIT, lambda _t, y, _: abs(y[CURRENT]) - limit, limit))
        else:
            guards.append(Guard(Signal.LIMIT, lambda _t, y, _: limit - abs(y[CURRENT]), limit))
    if mode.powered and controller.undervoltage is not None:
        lowest = controller.undervoltage
        guards.append(Guard(Signal.UNDERVOLTAGE, lambda _t, _, now: now.bus - lowest, volts))
    if mode.powered and controller.overvoltage is not None:
        highest = controller.overvoltage
        guards.append(Guard(Signal.OVERVOLTAGE, lambda _t, _, now: highest - now.bus, volts))
    if mode.drive is Drive.OPEN and mode.connected:
        n, constant_at = machine.shaft_turns[0], constant_of(machine)
        guards.append(Guard(Signal.CONDUCTS, lambda _t, y, now: now.bus - abs(constant_at(y) * n * y[SPEED]), volts))
    if mode.drive is Drive.DIODES:
        size = volts / machine.loop_resistance
        guards.append(Guard(Signal.BLOCKS, lambda _t, y, _: -mode.duty.start * y[CURRENT], size, waits=True))
    return guards


def regulation_guards(mode: Mode) -> list[Guard]:
    """While a current is held: the wished duty no longer exceeds what holds it, or no duty can keep it."""
    if mode.drive is Drive.RATIONED:

        def spare(time: float, y: list[float], now: Look) -> float:
            return signed(1.0, y[CURRENT]) * (mode.duty.at(time) - now.duty)  # type: ignore[no-any-return]

        return [Guard(Signal.RELEASED, spare, 1.0)]
    if mode.drive is not Drive.REGULATING:
        return []
    sign = 1.0 if mode.current > 0 else -1.0
    return [
        Guard(Signal.RELEASED, lambda t, _, now: sign * (mode.duty.at(t) - now.duty), 1.0),
        Guard(Signal.SATURATES, lambda _t, _, now: 1.0 + sign * now.duty, 1.0),
    ]


def flow_guards(machine: Machine, mode: Mode) -> list[Guard]:
    """What a supply with limits does next, by the voltage on the bus; the guard's index is that of the flow."""
    outlet = machine.outlet
    if outlet is None or not mode.fed:
        return []
    edge, e = flow_edge(machine), machine.highest_voltage

    def guard(after: Flow, margin: Callable[[float, list[float], Look], float], scale: float = e) -> Guard:
        return Guard(Signal.FLOWS, margin, scale, list(Flow).index(after))

    match mode.flow:
        case Flow.FREE:
            found = [] if outlet.can_sink else [guard(Flow.BLOCKED, lambda _t, y, _: e - y[BUS])]
            if edge > 0.0:
                return [*found, guard(Flow.LIMITED, lambda _t, y, _: y[BUS] - edge)]
            return [*found, guard(Flow.EMPTY, lambda _t, y, _: y[BUS])]
        case Flow.LIMITED:
            return [guard(Flow.FREE, lambda _t, y, _: edge - y[BUS]), guard(Flow.EMPTY, lambda _t, y, _: y[BUS])]
        case Flow.BLOCKED:
            return [guard(Flow.FREE, lambda _t, y, _: y[BUS] - e)]
        case Flow.EMPTY:
            fills, count, loads = Flow.LIMITED if edge > 0.0 else Flow.FREE, machine.motor.count, machine.other_loads
            size = machine.motor.count * e / machine.loop_resistance
            others = others_of(machine)

            def spare(y: list[float], now: Look) -> float:
                drawn: float = now.duty * (count * y[CURRENT] + others(y)) + loads
                return drawn - now.supply

            return [guard(fills, lambda _t, y, now: spare(y, now), size)]


def device_guards(machine: Machine, mode: Mode, seen: set[tuple[Signal, int]]) -> list[Guard]:
    """Both edges of each device's band; the edge that opens it counts every time, the other once."""
    guards = []
    for j, (device, slices) in enumerate(zip(machine.protection, edge_slices(machine), strict=True)):
        sides = ((Signal.EARLIEST, device.earliest, slices[0]), (Signal.LATEST, device.latest, slices[1]))
        for signal, edge, where in sides:
            opens = (signal is Signal.EARLIEST) == device.opens_at_earliest
            if j in mode.open_devices | mode.open_branches:
                if opens and device.resets_itself:
                    level = device.reset_share * edge.trip_level
                    guards.append(heat_guard(Signal.RECLOSES, edge.weights, where, level, -1.0, j))
            elif opens or (signal, j) not in seen:
                guards.append(heat_guard(signal, edge.weights, where, edge.trip_level, 1.0, j))
    return guards


def heat_guard(
    signal: Signal, weights: tuple[float, ...], where: slice, level: float, sign: float, device: int
) -> Guard:
    """Thermal state still below (sign +1) or above (sign -1) a level."""

    def margin(_t: float, y: list[float], _: Look) -> float:
        return sign * (level - sum(w * x for w, x in zip(weights, y[where], strict=True)))

    return Guard(signal, margin, level, device)


def torque_scale(machine: Machine) -> float:
    """Air-gap torque of all motors stalled: the size of torques at the motor. [N*m]"""
    motor = machine.motor
    return motor.count * motor.torque_constant * machine.highest_voltage / machine.loop_resistance
