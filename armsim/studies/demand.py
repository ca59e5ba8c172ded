"""What a lift asks of any drive: torque over angle, and torque, speed and power of two ways of making it in a time.

Both ways start and end at rest. The trapezoid takes a third of the time each to speed up, run and slow down: for a
distance D and a time T its speed is 1.5 D/T and its acceleration 4.5 D/T^2. The level one starts and brakes with half
as much torque again as the trapezoid's largest, and in between keeps its power at the least level that arrives in
time: without inertia and friction that grows with speed that is work over time, below which no way of moving comes.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from armsim.checks.lifting import LiftTask
from armsim.checks.search import narrowed
from armsim.drivetrain.machine import Load
from armsim.parts.arm import gravity_torque, load_damping, load_torque

Array = NDArray[np.float64]

STEPS = 240  #: of each third of a trapezoid, and of the angles
STRONGER = 1.5  #: times the trapezoid's largest torque, with which the way of level power starts and brakes
CLOSE = 1e-6  #: share to which the level of power is found


@dataclass(frozen=True, kw_only=True)
class Course:
    """One way of making the move; samples over time, of a carriage in m, m/s and N."""

    time: Array  #: [s]
    angle: Array  #: [rad]
    speed: Array  #: [rad/s]
    torque: Array  #: at the arm, without anything that turns with the motor [N*m]

    @property
    def power(self) -> Array:
        """At the arm. [W]"""
        return self.torque * self.speed

    @property
    def peak_torque(self) -> float:
        """[N*m]"""
        return float(self.torque.max())

    @property
    def rms_torque(self) -> float:
        """Over the move. [N*m]"""
        return math.sqrt(_mean(self.torque**2, self.time))

    @property
    def peak_speed(self) -> float:
        """[rad/s]"""
        return float(self.speed.max())

    @property
    def peak_power(self) -> float:
        """[W]"""
        return float(self.power.max())

    @property
    def mean_power(self) -> float:
        """Over the move. [W]"""
        return _mean(self.power, self.time)


@dataclass(frozen=True, kw_only=True)
class Demand:
    """What a lift in a time asks at the arm, whatever drives it. Of a carriage in m and N."""

    task: LiftTask
    time: float  #: in which it is to be made [s]
    inertia: float  #: of arm and payload [kg*m2]
    angle: Array  #: of the torques below [rad]
    gravity: Array  #: [N*m]
    balance: Array  #: what counterbalances carry of it [N*m]
    friction: float  #: Coulomb, running [N*m]
    steady: Array  #: all of that, raised slowly [N*m]
    trapezoid: Course
    level: Course | None  #: None where no level of power makes it

    @property
    def distance(self) -> float:
        """[rad]"""
        return self.task.to - self.task.start

    @property
    def work(self) -> float:
        """Given to the arm in the trapezoid, what is got back as it slows down taken off. [J]"""
        return self.trapezoid.mean_power * self.time

    @property
    def worst_angle(self) -> float:
        """Where raising slowly asks most. [rad]"""
        return float(self.angle[int(np.argmax(self.steady))])


def demand_of(load: Load, task: LiftTask, time: float) -> Demand:
    """What a lift of a load in a time [s] asks."""
    angle = np.linspace(task.start, task.to, STEPS + 1)
    gravity = np.array([float(gravity_torque(load, a)) for a in angle.tolist()])
    held = np.array([float(load_torque(load, a)) for a in angle.tolist()])
    course = trapezoid(load, task, time)
    return Demand(
        task=task,
        time=time,
        inertia=load.inertia,
        angle=angle,
        gravity=gravity,
        balance=gravity - held,
        friction=load.friction.coulomb,
        steady=held + load.friction.coulomb,
        trapezoid=course,
        level=level_power(load, task, time, STRONGER * course.peak_torque),
    )


def trapezoid(load: Load, task: LiftTask, time: float) -> Course:
    """The move in thirds: speeding up, running, slowing down. Corners stand twice, as the torque jumps there."""
    distance, third = task.to - task.start, time / 3.0
    top, rate = 1.5 * distance / time, 4.5 * distance / time**2
    part = np.linspace(0.0, third, STEPS + 1)
    times = np.concatenate([part, third + part, 2.0 * third + part])
    speed = np.concatenate([rate * part, np.full_like(part, top), top - rate * part])
    gone = [0.5 * rate * part**2, 0.5 * rate * third**2 + top * part]
    gone.append(distance - 0.5 * rate * (third - part) ** 2)
    acceleration = np.repeat([rate, 0.0, -rate], STEPS + 1)
    angle = task.start + np.concatenate(gone)
    resisted = [resistance(load, a, w) for a, w in zip(angle.tolist(), speed.tolist(), strict=True)]
    return Course(time=times, angle=angle, speed=speed, torque=np.array(resisted) + load.inertia * acceleration)


def resistance(load: Load, angle: float, speed: float) -> float:
    """Torque that keeps a speed upward without accelerating. [N*m]"""
    friction = load.friction
    torque = float(load_torque(load, angle)) + friction.coulomb + float(friction.excess(speed))
    return torque + (friction.viscous + float(load_damping(load, angle))) * speed


def level_power(load: Load, task: LiftTask, time: float, most: float) -> Course | None:
    """The move with the least level of power and no more than a torque [N*m]; None where none makes it."""
    enough = trapezoid(load, task, time).peak_power

    def arrives(power: float) -> bool:
        course = driven_level(load, task, power, most)
        return course is not None and float(course.time[-1]) <= time

    for _ in range(20):
        if arrives(enough):
            return driven_level(load, task, narrowed(arrives, enough, 0.0, CLOSE)[0], most)
        enough *= 1.1
    return None


def driven_level(load: Load, task: LiftTask, power: float, most: float) -> Course | None:
    """The quickest move within a torque and a power of either sign; None where it does not arrive.

    Followed in the kinetic energy over the angle, dE/d theta = torque - resistance, forward from the start and backward
    from the end, the lower of both being what is driven. Angles lie closer together at both ends, where the speed goes
    with the root of the way.
    """
    inertia = load.inertia
    spread = 0.5 - 0.5 * np.cos(np.pi * np.linspace(0.0, 1.0, STEPS + 1))
    angle = (task.start + (task.to - task.start) * spread).tolist()

    def speed_at(energy: float) -> float:
        return math.sqrt(2.0 * max(energy, 0.0) / inertia)

    def pull(energy: float) -> float:
        return min(most, power / max(speed_at(energy), 1e-12))

    def gained(energy: float, at: float) -> float:
        return pull(energy) - resistance(load, at, speed_at(energy))

    def given_up(energy: float, at: float) -> float:
        return pull(energy) + resistance(load, at, speed_at(energy))

    rising, falling = [0.0], [0.0]
    for here, there in pairwise(angle):
        rising.append(_step(gained, rising[-1], here, there))
        if rising[-1] <= 0.0:
            return None
    for here, there in pairwise(angle[::-1]):
        falling.append(_step(given_up, falling[-1], here, there, -1.0))
        if falling[-1] <= 0.0:
            return None
    up, down = np.array(rising), np.array(falling[::-1])
    speeds = np.sqrt(2.0 * np.minimum(up, down) / inertia)
    steps = 2.0 * np.diff(angle) / (speeds[1:] + speeds[:-1])
    torque = [pull(a) if a <= b else -pull(b) for a, b in zip(up.tolist(), down.tolist(), strict=True)]
    return Course(
        time=np.concatenate([[0.0], np.cumsum(steps)]), angle=np.array(angle), speed=speeds, torque=np.array(torque)
    )


def _step(left: Callable[[float, float], float], energy: float, here: float, there: float, sense: float = 1.0) -> float:
    """Kinetic energy at the next angle. A light arm settles within the step: then it is where nothing is left."""
    way, middle = sense * (there - here), 0.5 * (here + there)
    begun = left(energy, here)
    after = energy + left(energy + begun * 0.5 * way, middle) * way
    grows = begun >= 0.0
    if after > 0.0 and (after >= energy) is grows and (left(after, there) >= 0.0) is grows:
        return after
    if left(0.0, there) <= 0.0:
        return min(after, 0.0)
    high = max(energy, after, 1e-12)
    while left(high, there) > 0.0 and high < 1e12:
        high *= 2.0
    return narrowed(lambda e: left(e, there) > 0.0, 0.0, high, 1e-9)[0]


def _mean(values: Array, time: Array) -> float:
    return float(np.trapezoid(values, time)) / float(time[-1] - time[0])
