"""How well a position loop keeps to its reference: what is judged of each course it steers."""

import math
from dataclasses import dataclass

import numpy as np

from armsim.dynamics.profile import Profile
from armsim.dynamics.run import Series, Track


@dataclass
class Course:
    """A reference being followed, and which samples of the journal belong to it."""

    name: str
    begun: float  #: [s]
    profile: Profile
    tolerance: float  #: [rad]
    since: int  #: first sample
    until: int | None = None  #: past the last sample
    limited: bool = False

    @property
    def has_samples(self) -> bool:
        """False for a course that ended before anything was recorded."""
        return self.until is not None and self.until > self.since

    def angles(self, time: Series) -> Series:
        """The reference at times. [rad]"""
        return np.array([self.profile.at(t - self.begun).position for t in time.tolist()])


def judge_course(course: Course, time: Series, angle: Series) -> Track:
    """Tracking, overshoot, settling and steady error of a course, from the run's samples."""
    own = slice(course.since, course.until)
    t, theta = time[own], angle[own]
    target, start = course.profile.positions[-1], course.profile.positions[0]
    ends = course.begun + course.profile.duration
    way = target - start if start != target else first_move(theta)
    error = theta - target
    moving = t <= ends
    lag = np.abs(course.angles(t[moving]) - theta[moving]) if course.profile.duration > 0.0 else np.array([])
    return Track(
        name=course.name,
        begun=course.begun,
        ended=float(t[-1]),
        target=target,
        reference_ends=ends,
        tracking_error=float(lag.max()) if lag.size else None,
        overshoot=max(0.0, float((math.copysign(1.0, way) * error).max())) if way else float(np.abs(error).max()),
        settling_time=settling(t, np.abs(error) - course.tolerance, ends),
        steady_error=float(-error[-1]),
        limited=course.limited,
    )


def first_move(angle: Series) -> float:
    """Which way an arm sets off, as a difference of angles; 0 where it stays. [rad]"""
    away = np.flatnonzero(angle != angle[0])
    return float(angle[away[0]] - angle[0]) if away.size else 0.0


def settling(time: Series, outside: Series, since: float) -> float | None:
    """Time from `since` until a margin stays at or below zero, linear between samples; None if it ends above. [s]"""
    above = np.flatnonzero(outside > 0.0)
    if not above.size:
        return 0.0
    k = int(above[-1])
    if k == len(time) - 1:
        return None
    share = outside[k] / (outside[k] - outside[k + 1])
    return max(0.0, float(time[k] + share * (time[k + 1] - time[k])) - since)
