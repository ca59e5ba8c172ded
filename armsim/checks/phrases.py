"""Numbers as findings and headlines say them, in plain ASCII: three significant digits and a unit."""

import math
import re
from collections.abc import Callable

from armsim.drivetrain.machine import Machine


def number(value: float, digits: int = 3) -> str:
    """A value to significant digits without an exponent; more digits before the point are kept."""
    if value == 0.0 or not math.isfinite(value):
        return f"{value:.0f}"
    decimals = max(0, digits - 1 - math.floor(math.log10(abs(value))))
    return f"{value:.{decimals}f}"


def degrees(angle: float) -> str:
    """An angle [rad] as degrees with one decimal."""
    return f"{math.degrees(angle) + 0.0:.1f} deg"


def millimetres(length: float, digits: int | None = None) -> str:
    """A length [m] in mm without trailing zeros, to a hundredth where it is short."""
    figures = (5 if abs(length) >= 0.1 else 4) if digits is None else digits
    return f"{float(f'{length * 1e3:.{figures}g}'):g} mm"


def turning(speed: float) -> str:
    """A turning speed [rad/s] in deg/s."""
    return f"{number(math.degrees(speed))} deg/s"


def place(machine: Machine, coordinate: float) -> str:
    """Where an arm stands [rad], or a carriage on its guide [m]; a difference of two such too."""
    return degrees(coordinate) if machine.arm.kind == "arm" else f"{1e3 * coordinate + 0.0:.1f} mm"


def rate(machine: Machine, speed: float) -> str:
    """How fast an arm turns [rad/s], or a carriage goes [m/s]."""
    return turning(speed) if machine.arm.kind == "arm" else f"{number(speed)} m/s"


def effort(machine: Machine, torque: float) -> str:
    """Torque at an arm [N*m], or force at a carriage [N]."""
    return f"{number(torque)} {'N*m' if machine.arm.kind == 'arm' else 'N'}"


_OF_A_CARRIAGE = (
    (re.compile(r"\btorque(?= (?:at the arm|needed|to lift)\b)"), "force"),
    (re.compile(r"\bTorque(?= (?:at the arm|needed)\b)"), "Force"),
    (re.compile(r"\b([Aa])n(?= (?:angle|arm)\b)"), r"\1"),
    (re.compile(r"(?<!pressure )(?<!friction )(?<!lead )(?<!helix )(?<!backlash )\bangle\b"), "position"),
    (re.compile(r"\bAngle\b"), "Position"),
    (re.compile(r"\bpivot\b"), "guide"),
    (re.compile(r"\barm\b"), "carriage"),
    (re.compile(r"\bArm\b"), "Carriage"),
)


def told_of(load: str, text: str) -> str:
    """A sentence of ours, which speaks of an arm, as it is said of a carriage."""
    if load == "carriage":
        for pattern, words in _OF_A_CARRIAGE:
            text = pattern.sub(words, text)
    return text


def percent(share: float) -> str:
    """A share in whole percent, or one decimal where it is close to a whole."""
    return f"{100.0 * share:.1f} %" if 0.97 <= share < 1.0 else f"{100.0 * share:.0f} %"


def span(first: float | None, last: float | None) -> str:
    """A band of times [s] from earliest to latest; never where an edge is not reached."""
    late = "never for certain" if last is None else f"{number(last)} s at the latest"
    return f"{'never' if first is None else number(first) + ' s'} at the earliest, {late}"


def times(count: int) -> str:
    """How often, in words where they are shorter."""
    return {1: "once", 2: "twice"}.get(count, f"{count} times")


def rounded_up(value: float, digits: int = 3) -> float:
    """The next value not below with that many significant digits, for values > 0."""
    return _rounded(value, digits, math.ceil)


def rounded_down(value: float, digits: int = 3) -> float:
    """The next value not above with that many significant digits, for values >= 0."""
    return _rounded(value, digits, math.floor)


def _rounded(value: float, digits: int, towards: Callable[[float], int]) -> float:
    if value <= 0.0:
        return 0.0
    decimals = digits - 1 - math.floor(math.log10(value))
    scale = 10.0**decimals
    nearest = round(value * scale)
    # a value already on the grid stays there whatever its last binary digit
    steps = nearest if abs(nearest - value * scale) < 1e-9 * nearest else towards(value * scale)
    return round(steps / scale, decimals)
