"""The position loop at work: its default gains, its feed-forward, and one look a period.

Default gains place the three poles of the linearised machine (rotor and arm behind every friction at its forward
efficiency) at a bandwidth that both the sampling and the winding leave room for. The feed-forward is the inverse of the
machine's own torque recursion along the reference, so that it knows gravity, friction and inertia as given. The
controller's ramp belongs to commanded duty: within a loop it would only make the arm swing.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

from armsim.drivetrain.machine import Machine
from armsim.drivetrain.train import all_driving, cone, forms, motion_torque, speed_regimes
from armsim.dynamics.electrics import circuit
from armsim.dynamics.modes import Mode
from armsim.dynamics.plan import Limits
from armsim.dynamics.profile import Profile, Reference, motion_profile
from armsim.dynamics.state import ANGLE, SPEED
from armsim.parts.position_loop import LoopSettings, PositionLoop, loop_voltage, next_integral, pole_placement

LOOKS = 25.0  #: per radian of the bandwidth's period: how much faster than its motion the loop must sample
CURRENT_LAG = 8.0  #: times the winding's time constant that the motion must be slower
RESOLUTION = 1e-4  #: of full duty, below which a resting loop does not renew its output [-]


@dataclass(frozen=True, kw_only=True)
class Steering:
    """What a position loop remembers between two looks."""

    loop: PositionLoop
    profile: Profile  #: of the arm's angle [rad], over the time since it began
    begun: float  #: [s]
    tick: float  #: time of the next look; inf while nothing changes [s]
    integral: float = 0.0  #: [V]
    duty: float = 0.0  #: last asked for, within the bridge's range [-]
    asked: float = 0.0  #: the voltage behind it, before any limit [V]
    limited: bool = False  #: bridge or current limit gave less than asked

    @property
    def ends(self) -> float:
        """When the reference comes to rest. [s]"""
        return self.begun + self.profile.duration


def standing(angle: float) -> Profile:
    """A reference that is at an angle [rad] from the start."""
    return Profile(times=(0.0,), positions=(angle,), speeds=(0.0,), accelerations=(0.0,), jerks=(0.0,))


def along(start: float, to: float, limits: Limits) -> Profile:
    """The reference from rest at one angle to another [rad] within limits."""
    return motion_profile(start, to, speed=limits.speed, acceleration=limits.acceleration, jerk=limits.jerk)


def tuned(machine: Machine, settings: LoopSettings | None = None) -> PositionLoop:
    """The loop of a machine as loaded, its own settings unless others are given.

    Gains left out fit the machine: poles at a bandwidth of 2 pi/(25 T), or 1/8 of the winding's if that is slower. An
    integral gain left out beside a proportional one keeps its time against it.
    """
    given = settings or machine.controller.position_loop
    motor, loop = machine.motor, machine.loop_resistance
    turns, constant = machine.shaft_turns[0], motor.back_emf_constant
    bandwidth = min(math.tau / (LOOKS * given.period), loop / motor.inductance / CURRENT_LAG)
    form = forms(machine, 0.0, +1, all_driving(machine), speed_regimes(machine, 0.0)).motor
    # companions push with the voltage and brake with their back-EMF as the motor does
    per_volt = motor.count * motor.torque_constant / loop
    shares = [
        -share / one.loop_resistance / per_volt for share, one in zip(form.others, machine.companions, strict=True)
    ]
    speeds = [one.constant * machine.shaft_turns[one.shaft] / (constant * turns) for one in machine.companions]
    push = 1.0 + sum(shares)
    brake = 1.0 + sum(share * speed for share, speed in zip(shares, speeds, strict=True))
    gain = constant * turns * brake / push
    time_constant = loop * form.slope / (motor.count * motor.torque_constant * (constant * turns * brake))
    proportional, integral, derivative = pole_placement(gain=gain, time_constant=time_constant, bandwidth=bandwidth)
    if given.proportional is not None:
        integral *= given.proportional / proportional
    return PositionLoop(
        period=given.period,
        tolerance=given.tolerance,
        proportional=proportional if given.proportional is None else given.proportional,
        integral=integral if given.integral is None else given.integral,
        derivative=derivative if given.derivative is None else given.derivative,
    )


def balanced_current(machine: Machine, need: Callable[[float], float], emf: float = 0.0) -> float:
    """Per-motor current that makes the torque needed of the motors at the voltage it takes there itself. [A]

    The torque [N*m] that `need` gives of a terminal voltage [V] falls with it where companions push, and is one
    number where there are none.
    """
    per_ampere, loop = machine.motor.count * machine.motor.torque_constant, machine.loop_resistance
    if not machine.companions:
        return need(0.0) / per_ampere
    from scipy.optimize import brentq

    def surplus(current: float) -> float:
        return per_ampere * current - need(loop * current + emf)

    span = abs(surplus(0.0)) / per_ampere
    return float(brentq(surplus, -span, span, xtol=1e-14 * max(span, 1.0))) if span else 0.0


def holding_current(machine: Machine, angle: float) -> float:
    """Per-motor current with which a resting arm is held: none where friction does it, else mid-band. [A]"""
    if cone(machine, angle).holds(0.0):
        return 0.0

    def middle(volts: float) -> float:
        edges = cone(machine, angle, machine.companion_currents(volts))
        return 0.5 * (edges.sink + edges.rise)

    return balanced_current(machine, middle)


def reference_current(machine: Machine, reference: Reference) -> float:
    """Per-motor current that the reference needs by the machine's own recursion. [A]"""
    if reference.speed == 0.0 and reference.acceleration == 0.0:
        return holding_current(machine, reference.position)
    way = reference.speed or reference.acceleration
    sense = 1 if way > 0.0 else -1

    def need(volts: float) -> float:
        others = machine.companion_currents(volts, reference.speed)
        return motion_torque(machine, reference.position, reference.speed, reference.acceleration, sense, others)

    return balanced_current(machine, need, back_emf(machine, reference.speed))


def back_emf(machine: Machine, speed: float) -> float:
    """Of the motor at an arm speed [rad/s], magnets at their reference temperature. [V]"""
    return machine.motor.back_emf_constant * machine.shaft_turns[0] * speed


def reference_voltage(machine: Machine, reference: Reference) -> float:
    """Feed-forward voltage along the reference, winding at its reference temperature. [V]"""
    emf = back_emf(machine, reference.speed)
    return machine.loop_resistance * reference_current(machine, reference) + emf


def look_again(machine: Machine, steering: Steering, mode: Mode, time: float, y: list[float]) -> Steering:
    """One look of the loop: the duty it asks for from now on, and when it looks next."""
    loop, angle, speed = steering.loop, y[ANGLE], y[SPEED]
    reference = steering.profile.at(time - steering.begun)
    error = reference.position - angle
    forward = reference_voltage(machine, reference)
    volts = loop_voltage(loop, error, reference.speed - speed, steering.integral, forward)
    bus = circuit(machine, mode, time, y).bus
    wanted = volts / bus if bus > 0.0 else math.copysign(2.0, volts)
    duty = min(1.0, max(-1.0, wanted))
    limited = duty != wanted or mode.limited
    settled = time >= steering.ends
    integral = next_integral(loop, error, steering.integral, asked=volts, limited=limited, settled=settled)
    still = mode.sense == 0 and settled and integral == steering.integral and abs(duty - steering.duty) < RESOLUTION
    if still:
        return replace(steering, tick=math.inf)
    after = time + loop.period
    return replace(steering, integral=integral, duty=duty, asked=volts, limited=limited, tick=after)
