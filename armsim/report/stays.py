"""Holds and rests as they stand at their end: a table, and its part of the result."""

from collections.abc import Sequence
from typing import Any

from armsim.checks.assessment import Stay
from armsim.report.marking import prose, table
from armsim.report.numbers import degrees, of, show

MOST = 20  #: rows of the table
STILL = 1e-6  #: slower than this is no creeping [rad/s]
HEAD = ("begins", "for", "held by", "at", "volts", "amps", "heat", "taken from the supply", "gone through", "creeps at")


def stays_json(stays: Sequence[Stay]) -> list[dict[str, Any]]:
    """One entry for each hold and rest, in order."""
    return [
        {
            "name": s.name,
            "how": s.how,
            "begun_s": s.begun,
            "duration_s": s.duration,
            "angle_deg": degrees(s.angle),
            "drift_deg": degrees(s.drift),
            "motor_voltage_v": s.voltage,
            "motor_current_a": s.current,
            "heat_w": s.heat,
            "supplied_w": s.supplied,
            "speed_deg_per_s": degrees(s.speed),
        }
        for s in stays
    ]


def stays_section(stays: Sequence[Stay], load: str = "arm") -> list[str]:
    """Markdown: the table, with what it shows; nothing where the arm never stays."""
    if not stays:
        return []
    text = "How things stand at the end of each hold and rest: voltage and current of each motor, heat of all, "
    text += "power at the controller with other loads. A shorted motor brakes and does not hold."
    if len(stays) > MOST:
        text += f" The first {MOST} of {len(stays)} are listed; result.json has all."
    return [prose(text), table(HEAD, [[prose(cell) for cell in cells(s, load)] for s in stays[:MOST]], numeric=False)]


def cells(s: Stay, load: str = "arm") -> tuple[str, ...]:
    """The row of one hold or rest, in plain text."""
    return (
        show(s.begun, "time"),
        show(s.duration, "time", 3),
        s.how,
        show(s.angle, of(load, "angle")),
        show(s.voltage, "voltage", 3),
        show(s.current, "current", 3),
        show(s.heat, "power", 3),
        show(s.supplied, "power", 3),
        show(s.drift, of(load, "angle"), 3),
        "-" if abs(s.speed) < STILL else show(s.speed, of(load, "angular_speed"), 3),
    )
