"""The torque recursion: what air-gap torque a motion of the arm needs, and the motion a torque makes.

Walk from the arm to the motor. At the arm T = J a + gravity - counterbalance + pivot friction. At each stage, with a
reduction n,

    T_in = T/(n eta_f)   while power flows to the load (T w > 0),     T_in = T eta_b/n   while the load drives,

plus the stage's drag and side loads in the sense of motion, plus the inertia on its input shaft times that shaft's
acceleration. The motor's own friction closes the walk. For a given sense of motion and a given choice of branch at
every stage each shaft's torque is a straight line in the arm's acceleration; the choice that agrees with the signs of
the torques it gives is the physical one. Everything here is read from that walk: motion, rest, holding, jamming.

The direction-dependent efficiency pair and the jamming of self-locking drives follow M. T. Veits, A. M. Kolchin and
A. G. Martynenko, "Dynamics of self-locking mechanisms", J. Mechanisms 4 (1969) 93-104.
"""

from collections.abc import Sequence
from typing import NamedTuple

from armsim.drivetrain.machine import Machine
from armsim.parts.arm import load_damping, load_torque
from armsim.parts.elementwise import anywhere, either, larger, smaller

DRIVES, OVERHAULS = 1, -1  #: a stage's branch: power to the load, or the load drives it
VANISHING = 1e-9  #: share of the all-driving inertia below which a load-driven branch counts as jammed
TOGETHER = 1e-12  #: share of an acceleration within which two are one


class Line(NamedTuple):
    """A torque as a straight line in the arm's acceleration: slope * a + offset."""

    slope: float  #: [kg*m2]
    offset: float  #: [N*m]

    def at(self, acceleration: float) -> float:
        """Torque at an acceleration [rad/s2]. [N*m]"""
        return self.slope * acceleration + self.offset


class Form(NamedTuple):
    """A torque as a linear form of the motion: slope * a + load * T_load + constant + speed * w + sum of others * i."""

    slope: float  #: per arm acceleration [kg*m2]
    load: float  #: per load torque at the arm: gravity less counterbalance, and its damping [-]
    constant: float  #: friction and drag in the sense of motion [N*m]
    speed: float  #: viscous, per arm speed [N*m*s/rad]
    others: tuple[float, ...]  #: per current of each companion, whose push is a torque less [N*m/A]

    def line(self, load: float, speed: float, currents: Sequence[float]) -> Line:
        """The torque's line at a load torque [N*m], an arm speed [rad/s] and currents of companions [A]."""
        helped = sum(share * current for share, current in zip(self.others, currents, strict=False))
        return Line(self.slope, self.load * load + self.constant + self.speed * speed + helped)


class Forms(NamedTuple):
    """Torques met on the way from the arm to the motor, for one sense of motion and one choice of branches."""

    motor: Form  #: air-gap torque of all motors that the motion needs
    outputs: tuple[Form, ...]  #: torque each stage delivers at its output shaft, stages from motor to arm
    gains: tuple[float, ...]  #: input torque per output torque of each stage, times its reduction [-]


class Walk(NamedTuple):
    """The same forms at an angle and a speed: lines in the arm's acceleration."""

    motor: Line
    outputs: tuple[Line, ...]
    gains: tuple[float, ...]


class Motion(NamedTuple):
    """A consistent solution: the arm's acceleration and the branch of every stage."""

    acceleration: float  #: [rad/s2]
    branch: tuple[int, ...]


class Cone(NamedTuple):
    """Air-gap torques of all motors between which an arm at rest stays at rest. [N*m]"""

    sink: float
    rise: float

    def holds(self, torque: float) -> bool:
        """True where the arm stays at rest under this torque."""
        return self.sink <= torque <= self.rise


def all_driving(machine: Machine) -> tuple[int, ...]:
    """The branch choice in which every stage passes power to the load."""
    return (DRIVES,) * len(machine.stages)


def speed_regimes(machine: Machine, speed: float) -> tuple[int, ...]:
    """Which smooth piece of each stage's efficiency law holds at an arm speed [rad/s]."""
    turns = machine.shaft_turns
    return tuple(
        sum(1 for edge in stage.law.speed_edges if anywhere(abs(speed) * turns[k] > edge))
        for k, stage in enumerate(machine.stages)
    )


def forms(machine: Machine, speed: float, sense: int, branch: Sequence[int], regimes: Sequence[int]) -> Forms:
    """The walk of a running machine in `sense` (+1 up, -1 down), as forms.

    The arm speed [rad/s] only enters where a stage's efficiency depends on it.
    """
    turns, inertias, motor = machine.shaft_turns, machine.shaft_inertias, machine.motor
    friction, drags, companions = machine.arm.friction, machine.shaft_drags, machine.companions
    slope, load, last = inertias[-1], 1.0, len(machine.stages)
    others = tuple(-one.push if one.shaft == last else 0.0 for one in companions)
    constant, viscous = sense * (friction.coulomb + drags[-1][0]), friction.viscous + drags[-1][1]
    outputs: list[Form] = []
    gains: list[float] = []
    for k in range(len(machine.stages) - 1, -1, -1):
        stage = machine.stages[k]
        outputs.append(Form(slope, load, constant, viscous, others))
        forward, reverse = stage.law.running(abs(speed) * turns[k], regimes[k])
        gain = 1.0 / forward if branch[k] > 0 else reverse
        gains.append(gain)
        gain = gain / stage.reduction  # nothing in place: these may be arrays that belong to the machine
        slope = gain * slope + inertias[k] * turns[k]
        load = load * gain
        constant = gain * constant + sense * drags[k][0]
        viscous = gain * viscous + drags[k][1] * turns[k]
        if companions:
            others = tuple(
                gain * o - (c.push if c.shaft == k else 0.0) for o, c in zip(others, companions, strict=True)
            )
    constant = constant + sense * motor.count * motor.coulomb_torque
    viscous = viscous + motor.count * motor.viscous_drag * turns[0]
    return Forms(Form(slope, load, constant, viscous, others), tuple(reversed(outputs)), tuple(reversed(gains)))


def walk(
    machine: Machine,
    angle: float,
    speed: float,
    sense: int,
    branch: Sequence[int],
    regimes: Sequence[int],
    damping: float = 0.0,
    currents: Sequence[float] = (),
) -> Walk:
    """Torque lines of a running machine: arm at an angle [rad] and a speed [rad/s], moving in `sense`.

    Damping beside that of the counterbalances [N*m*s/rad] is a buffer's; currents [A] are of companions.
    """
    f = forms(machine, speed, sense, branch, regimes)
    load = load_torque(machine.arm, angle) + (load_damping(machine.arm, angle) + damping) * speed
    load = load + sense * machine.arm.friction.excess(speed)
    outputs = tuple(form.line(load, speed, currents) for form in f.outputs)
    return Walk(f.motor.line(load, speed, currents), outputs, f.gains)


def respond(
    machine: Machine,
    angle: float,
    speed: float,
    sense: int,
    torque: float,
    regimes: Sequence[int],
    damping: float = 0.0,
    currents: Sequence[float] = (),
) -> Motion | None:
    """Acceleration under an air-gap torque [N*m] while moving (or about to move) in `sense`; None: the drive jams.

    Needed torque against acceleration in the sense of motion is piecewise straight with a kink where a stage's torque
    changes sign. Coming from large acceleration (every stage drives) the first piece that holds the torque is the
    physical one: where a self-locking stage makes two solutions it is the motor-driven one, and where it makes none
    the speed collapses. Exact: each piece is solved, none is iterated.
    """
    stages = range(len(machine.stages))
    branch = list(all_driving(machine))
    floor = VANISHING * walk(machine, angle, speed, sense, branch, regimes).motor.slope
    position = float("inf")
    for _ in range(4 * len(machine.stages) + 4):
        lines = walk(machine, angle, speed, sense, branch, regimes, damping, currents)
        edge, leaver = -float("inf"), -1
        for k in stages:
            line = lines.outputs[k]
            if line.slope * branch[k] > 0.0:  # going to smaller acceleration this torque reaches zero
                zero = -sense * line.offset / line.slope
                # torques that vanish together may come out of order by rounding
                if edge < zero <= position + TOGETHER * abs(position):
                    edge, leaver = zero, k
        if lines.motor.slope > floor:
            root = sense * (torque - lines.motor.offset) / lines.motor.slope
            if root >= edge:
                return Motion(sense * root, tuple(branch))
        if leaver < 0:
            return None
        branch[leaver] = -branch[leaver]
        position = edge
    return None


def turns_back(machine: Machine, speed: float) -> bool:
    """Whether a push on the arm can turn the motor at an arm speed [rad/s]: no stage locks in motion."""
    regimes, turns = speed_regimes(machine, speed), machine.shaft_turns
    return all(s.law.running(abs(speed) * turns[k], regimes[k])[1] > 0.0 for k, s in enumerate(machine.stages))


def rest_torque(machine: Machine, angle: float, sense: int, currents: Sequence[float] = ()) -> float:
    """Air-gap torque at which an arm at rest is about to move in `sense`, with static friction throughout. [N*m]

    Companions push with their currents [A].
    """
    static = [stage.law.static() for stage in machine.stages]
    torque = load_torque(machine.arm, angle) + sense * machine.arm_breakaway
    holding = [*machine.shaft_breakaways[:-1], machine.motor.breakaway_torque]
    return recursion(machine, torque, sense, static, holding, currents=currents)


def creep_torque(machine: Machine, angle: float, sense: int, currents: Sequence[float] = ()) -> float:
    """Air-gap torque that keeps a vanishing speed in `sense`, with running friction throughout. [N*m]"""
    return motion_torque(machine, angle, 0.0, 0.0, sense, currents)


def motion_torque(
    machine: Machine, angle: float, speed: float, acceleration: float, sense: int, currents: Sequence[float] = ()
) -> float:
    """Air-gap torque M(theta, w, a) of all motors that a motion in `sense` needs, every stage on its own branch. [N*m]

    Arm speed in rad/s, of the sign of `sense` or zero, acceleration in rad/s2, currents of companions in A.
    """
    arm, turns = machine.arm, machine.shaft_turns
    regimes = speed_regimes(machine, speed)
    laws = [stage.law.running(abs(speed) * turns[k], regimes[k]) for k, stage in enumerate(machine.stages)]
    constant, viscous = machine.shaft_drags[-1]
    friction = sense * (arm.friction.coulomb + arm.friction.excess(speed) + constant)
    friction = friction + (arm.friction.viscous + viscous + load_damping(arm, angle)) * speed
    torque = load_torque(arm, angle) + friction + machine.shaft_inertias[-1] * acceleration
    dragging = [*(drag for drag, _ in machine.shaft_drags[:-1]), machine.motor.coulomb_torque]
    return recursion(machine, torque, sense, laws, dragging, speed, acceleration, currents)


def recursion(
    machine: Machine,
    torque: float,
    sense: int,
    efficiencies: Sequence[tuple[float, float]],
    friction: Sequence[float],
    speed: float = 0.0,
    acceleration: float = 0.0,
    currents: Sequence[float] = (),
) -> float:
    """The walk with numbers: from the torque at the arm to the air gap, with given efficiencies. [N*m]

    Friction that does not grow with speed is that on each stage's input shaft, and last that of each rotor.
    """
    turns, inertias, drags, motor = machine.shaft_turns, machine.shaft_inertias, machine.shaft_drags, machine.motor
    pushes = machine.companion_pushes(currents)
    torque = torque - pushes[-1]
    for k in range(len(machine.stages) - 1, -1, -1):
        stage, (forward, reverse) = machine.stages[k], efficiencies[k]
        gain = either(sense * torque > 0.0, 1.0 / forward, reverse)
        torque = gain * torque / stage.reduction + sense * friction[k]
        torque = torque + (turns[k] * (drags[k][1] * speed + inertias[k] * acceleration) - pushes[k])
    return torque + motor.count * (sense * friction[-1] + motor.viscous_drag * turns[0] * speed)


def cone(machine: Machine, angle: float, currents: Sequence[float] = ()) -> Cone:
    """The friction cone of an arm at rest at an angle [rad], companions pushing with their currents [A].

    Rest is left only where motion can also go on: pivot friction unloads a self-locking stage, so there the running
    edge can lie outside the static one, and the wider of the two counts on each side.
    """
    return Cone(
        smaller(rest_torque(machine, angle, -1, currents), creep_torque(machine, angle, -1, currents)),
        larger(rest_torque(machine, angle, +1, currents), creep_torque(machine, angle, +1, currents)),
    )


def arm_torque_raised(machine: Machine, torque: float, currents: Sequence[float] = ()) -> float:
    """Largest arm-side torque that an air-gap torque can just start to raise: the walk, inverted. [N*m]

    Companions push with their currents [A]. Negative when all that cannot even overcome the drag.
    """
    motor, pushes = machine.motor, machine.companion_pushes(currents)
    torque = torque - motor.count * motor.breakaway_torque
    for stage, drag, push in zip(machine.stages, machine.shaft_breakaways, pushes, strict=False):
        torque = torque + (push - drag)
        forward, reverse = stage.law.static()
        # a shortfall: the load must help against friction, and cannot where the stage locks
        short = either(reverse > 0.0, torque * stage.reduction / either(reverse > 0.0, reverse, 1.0), -float("inf"))
        torque = either(torque > 0.0, torque * stage.reduction * forward, short)
    return torque + pushes[-1] - machine.arm_breakaway


def arm_torque_overhauling(machine: Machine) -> float | None:
    """Smallest arm-side load torque that turns the unpowered motor; None where friction never lets it. [N*m]"""
    motor = machine.motor
    torque = motor.count * motor.breakaway_torque
    for stage, drag in zip(machine.stages, machine.shaft_breakaways, strict=False):
        reverse = stage.law.static()[1]
        if reverse <= 0.0:
            return None
        torque = (torque + drag) * stage.reduction / reverse
    return torque + machine.arm_breakaway
