"""Motion profiles: reference motions from rest to rest in the least time under limits of speed, acceleration and jerk.

Each is a chain of pieces of constant jerk; a trapezoid's pieces have none. Derived by hand from the integrals; the same
cases stand in Biagiotti and Melchiorri, Trajectory Planning for Automatic Machines and Robots (2008), chapter 3.
Positions may be angles [rad] or ways [m]; the other units follow.
"""

import math
from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import dataclass
from typing import NamedTuple


class Reference(NamedTuple):
    """Where a motion should be at one instant."""

    position: float  #: [rad]
    speed: float  #: [rad/s]
    acceleration: float  #: [rad/s2]


class Piece(NamedTuple):
    """A stretch of constant jerk, of a motion in the positive sense."""

    duration: float  #: >= 0 [s]
    acceleration: float  #: where it begins [rad/s2]
    jerk: float  #: [rad/s3]


@dataclass(frozen=True, kw_only=True)
class Profile:
    """A motion from rest to rest: the state at each knot and the jerk up to the next; the last knot is the target.

    Position and speed are continuous; acceleration at a knot is that of the piece that begins there.
    """

    times: tuple[float, ...]  #: rising from 0 [s]
    positions: tuple[float, ...]  #: [rad]
    speeds: tuple[float, ...]  #: [rad/s]
    accelerations: tuple[float, ...]  #: [rad/s2]
    jerks: tuple[float, ...]  #: [rad/s3]

    @property
    def duration(self) -> float:
        """Time from start to target, 0 where there is no way to go. [s]"""
        return self.times[-1]

    @property
    def peak_speed(self) -> float:
        """Greatest speed either way, >= 0. [rad/s]"""
        return max(map(abs, self.speeds))

    @property
    def peak_acceleration(self) -> float:
        """Greatest acceleration or deceleration, >= 0. [rad/s2]"""
        return max(map(abs, self.accelerations))

    def at(self, time: float) -> Reference:
        """Reference at a time [s]: at rest at the start before 0, at rest at the target from the end on."""
        if time >= self.times[-1]:
            return Reference(self.positions[-1], 0.0, 0.0)
        if time < 0.0:
            return Reference(self.positions[0], 0.0, 0.0)
        k = bisect_right(self.times, time) - 1
        since = time - self.times[k]
        speed, acceleration, jerk = self.speeds[k], self.accelerations[k], self.jerks[k]
        return Reference(
            self.positions[k] + since * (speed + since * (acceleration / 2.0 + since * jerk / 6.0)),
            speed + since * (acceleration + since * jerk / 2.0),
            acceleration + since * jerk,
        )


def motion_profile(
    start: float, end: float, *, speed: float, acceleration: float, jerk: float | None = None
) -> Profile:
    """The quickest motion within the limits given: an S-curve, or a trapezoid where jerk [rad/s3] has no limit (None).

    ValueError as of `trapezoid` and `s_curve`.
    """
    if jerk is None:
        return trapezoid(start, end, speed=speed, acceleration=acceleration)
    return s_curve(start, end, speed=speed, acceleration=acceleration, jerk=jerk)


def trapezoid(
    start: float, end: float, *, speed: float, acceleration: float, deceleration: float | None = None
) -> Profile:
    """The quickest motion with limited speed [rad/s], acceleration and deceleration [rad/s2]; the latter None: alike.

    Over a way D it lasts D/v + (v/a + v/d)/2; if that leaves no time to cruise, the speed peaks at
    sqrt(2 D/(1/a + 1/d)), a triangle. ValueError for limits that are not positive, or anything not finite.
    """
    deceleration = acceleration if deceleration is None else deceleration
    distance = _distance(start, end, speed=speed, acceleration=acceleration, deceleration=deceleration)
    slowness = 1.0 / acceleration + 1.0 / deceleration  # both ramps, per unit of speed
    peak = min(speed, math.sqrt(2.0 * distance) / math.sqrt(slowness))
    cruise = distance / peak - peak * slowness / 2.0 if peak == speed else 0.0
    rise = Piece(peak / acceleration, acceleration, 0.0)
    fall = Piece(peak / deceleration, -deceleration, 0.0)
    return _chain(start, end, (rise, Piece(cruise, 0.0, 0.0), fall))


def s_curve(start: float, end: float, *, speed: float, acceleration: float, jerk: float) -> Profile:
    """The quickest motion with limited speed [rad/s], acceleration [rad/s2] and jerk [rad/s3].

    Over a way D it lasts D/v + v/a + a/j with all seven pieces; each piece for which the way, or the speed, is too
    short is left out. ValueError for limits that are not positive, or anything not finite.
    """
    distance = _distance(start, end, speed=speed, acceleration=acceleration, jerk=jerk)
    peak = _s_curve_peak(distance, speed, acceleration, jerk)
    jerk_time, steady = _ramp(peak, acceleration, jerk)
    cruise = distance / peak - (2.0 * jerk_time + steady) if peak == speed else 0.0
    most = min(acceleration, jerk * jerk_time)
    rise = (Piece(jerk_time, 0.0, jerk), Piece(steady, most, 0.0), Piece(jerk_time, most, -jerk))
    fall = (Piece(jerk_time, 0.0, -jerk), Piece(steady, -most, 0.0), Piece(jerk_time, -most, jerk))
    return _chain(start, end, (*rise, Piece(cruise, 0.0, 0.0), *fall))


def _ramp(peak: float, acceleration: float, jerk: float) -> tuple[float, float]:
    """Time for which the jerk acts at either end of a ramp to the peak speed, and for which it does not. [s]"""
    if peak / acceleration > acceleration / jerk:
        return acceleration / jerk, peak / acceleration - acceleration / jerk
    return math.sqrt(peak / jerk), 0.0


def _s_curve_peak(distance: float, speed: float, acceleration: float, jerk: float) -> float:
    """Speed at which an S-curve peaks: two ramps to it cover peak * ramp time, and at most the distance. [rad/s]"""
    jerk_time, steady = _ramp(speed, acceleration, jerk)
    if distance >= speed * (2.0 * jerk_time + steady):
        return speed
    jerk_time = acceleration / jerk
    if distance > 2.0 * acceleration * jerk_time * jerk_time:
        # the positive root of T^2 - T a/j - D/a = 0 is the ramp time
        ramp = (jerk_time + math.hypot(jerk_time, 2.0 * math.sqrt(distance) / math.sqrt(acceleration))) / 2.0
        return min(speed, distance / ramp)
    jerk_time = math.cbrt(distance) / (math.cbrt(2.0) * math.cbrt(jerk))  # of the way 2 j T^3
    return min(speed, jerk * jerk_time * jerk_time)


def _distance(start: float, end: float, **limits: float) -> float:
    """Way to go, >= 0, of ends and limits that make sense; else ValueError."""
    for name, value in limits.items():
        if not (math.isfinite(value) and value > 0.0):
            raise ValueError(f"{name} must be positive and finite, not {value!r}")
    distance = abs(end - start)
    if not math.isfinite(distance):
        raise ValueError(f"start and end must be finite, and so must the way between them, not {start!r} and {end!r}")
    return distance


def _chain(start: float, end: float, pieces: Iterable[Piece]) -> Profile:
    """Pieces one after the other from rest at the start; those too short to move the clock are left out."""
    sense = math.copysign(1.0, end - start)
    knots = []
    time = way = speed = 0.0
    for duration, acceleration, jerk in pieces:
        if time + duration > time:
            knots.append((time, start + sense * way, sense * speed, sense * acceleration, sense * jerk))
            way += duration * (speed + duration * (acceleration / 2.0 + duration * jerk / 6.0))
            speed += duration * (acceleration + duration * jerk / 2.0)
            time += duration
    if not math.isclose(way, abs(end - start), rel_tol=1e-9):  # sizes that overflow or underflow on the way here
        raise ValueError("limits out of all proportion to the way and to each other")
    knots.append((time, float(end), 0.0, 0.0, 0.0))
    times, positions, speeds, accelerations, jerks = zip(*knots, strict=True)
    return Profile(times=times, positions=positions, speeds=speeds, accelerations=accelerations, jerks=jerks)
