"""SI values as people read them: the one home of display units and of rounding.

Text here is plain ASCII (N*m, degC, ohm); `typeset` turns it into what a file may carry.
"""

import math
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from armsim.dynamics.run import Series

UNKNOWN = "not known"
NOTHING = 1e-12  #: shown as 0 in whatever unit: the dust of rounding


@dataclass(frozen=True, kw_only=True)
class Display:
    """How a dimension is shown: value / scale, then the unit."""

    unit: str
    scale: float = 1.0
    least: float = NOTHING  #: in SI, below which it is shown as 0: what a decay or a solver leaves


DISPLAY = {
    "time": Display(unit="s"),
    "current": Display(unit="A", least=1e-6),
    "voltage": Display(unit="V", least=1e-6),
    "temperature": Display(unit="degC"),
    "angle": Display(unit="deg", scale=math.pi / 180.0),
    "angular_speed": Display(unit="deg/s", scale=math.pi / 180.0),
    "shaft_speed": Display(unit="rpm", scale=math.tau / 60.0),
    "velocity": Display(unit="m/s"),
    "length": Display(unit="mm", scale=1e-3, least=1e-8),
    "mass": Display(unit="kg"),
    "force": Display(unit="N"),
    "stress": Display(unit="MPa", scale=1e6),
    "torque": Display(unit="N*m"),
    "inertia": Display(unit="kg*m2"),
    "power": Display(unit="W", least=1e-6),
    "energy": Display(unit="J", least=1e-9),
    "battery_energy": Display(unit="W*h", scale=3600.0),
    "charge": Display(unit="A*h", scale=3600.0),
    "resistance": Display(unit="mohm", scale=1e-3),
    "share": Display(unit="%", scale=0.01),
    "ratio": Display(unit=""),
    "number": Display(unit=""),
}

#: what a carriage has where an arm has another dimension
_OF_A_CARRIAGE = {"angle": "length", "angular_speed": "velocity", "torque": "force", "inertia": "mass"}

_TYPESET = (
    (re.compile(r"\bN\*m\*s/rad\b"), "N·m·s/rad"),
    (re.compile(r"\bN\*m\b"), "N·m"),
    (re.compile(r"\bkg\*m2\b"), "kg·m²"),
    (re.compile(r"\b([AW])\*h\b"), r"\1·h"),
    (re.compile(r"\bdegC\b"), "°C"),
    (re.compile(r"(?<=\d )ohm\b"), "Ω"),
    (re.compile(r"(?<=\d )mohm\b"), "mΩ"),
    (re.compile(r" -> "), " → "),
    (re.compile(r" <= "), " ≤ "),
    (re.compile(r" >= "), " ≥ "),
)


def figure(value: float | None, digits: int = 4) -> str:
    """A bare number to so many significant digits, without trailing zeros or a minus before zero."""
    if value is None or math.isnan(value):
        return UNKNOWN
    if math.isinf(value):
        return "without limit"
    if abs(value) < NOTHING:
        return "0"
    rounded = float(f"{value:.{digits - 1}e}")
    size = math.floor(math.log10(abs(rounded)))
    if not -4 <= size < 7:
        return f"{rounded:.{digits - 1}e}"
    text = f"{rounded:.{max(digits - 1 - size, 0)}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def in_display(value: float, dimension: str) -> float:
    """A value of SI in the unit people read."""
    return value / DISPLAY[dimension].scale


def shown_in(values: "Series", dimension: str) -> "Series":
    """A series of SI in the unit people read."""
    import numpy as np

    return np.degrees(values) if DISPLAY[dimension].unit.startswith("deg") else values / DISPLAY[dimension].scale


def of(load: str, dimension: str) -> str:
    """The dimension of what an arm is told by, as that of the load: arm or carriage."""
    return _OF_A_CARRIAGE.get(dimension, dimension) if load == "carriage" else dimension


def degrees(value: float | None) -> float | None:
    """An angle or turning speed [rad, rad/s] in deg, deg/s."""
    return None if value is None else in_display(value, "angle")


def turns_per_minute(value: float | None) -> float | None:
    """A turning speed [rad/s] in rpm."""
    return None if value is None else in_display(value, "shaft_speed")


def millimetres(value: float | None) -> float | None:
    """A length [m] in mm."""
    return None if value is None else in_display(value, "length")


def show(value: float | bool | str | None, dimension: str, digits: int = 4) -> str:
    """Number and unit, e.g. '1.83 s'; words and yes/no pass through; None reads 'not known'."""
    if value is None:
        return UNKNOWN
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str):
        return value
    kept = 0.0 if abs(value) < DISPLAY[dimension].least else float(value)
    number, unit = figure(in_display(kept, dimension), digits), DISPLAY[dimension].unit
    return f"{number} {unit}" if unit and number not in (UNKNOWN, "without limit") else number


def show_difference(value: float | None, dimension: str) -> str:
    """The same for a difference, of which none of our units needs another form than K for temperatures."""
    text = show(value, dimension)
    return text.replace("degC", "K") if dimension == "temperature" else text


def typeset(text: str) -> str:
    """Our own ASCII spellings of units and signs as a Unicode file may carry them."""
    for pattern, replacement in _TYPESET:
        text = pattern.sub(replacement, text)
    return text


def one_line(text: str) -> str:
    """Text of a person on one line, free of control characters (which could drive a terminal)."""
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())
