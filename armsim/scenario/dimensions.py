"""What each key measures, and how a written quantity of it becomes an SI number.

The key settles what the unit alone leaves open: `in-lb` and `nm` are torques where a torque is wanted, `oz` is a mass
where a mass is. Whatever was settled so is said in a note.
"""

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction

from armsim.scenario import units
from armsim.scenario.numbers import Number, clean, read_number, shown
from armsim.scenario.problems import Misreading, shortened
from armsim.scenario.units import Expression, Vector


@dataclass(frozen=True, kw_only=True)
class Dimension:
    """A kind of quantity: its units, the ones to offer, and spellings that only it understands."""

    name: str  #: with its article
    vectors: tuple[Vector, ...]  #: powers of kg, m, s, A, K, rad; the first is the proper one
    offers: tuple[str, ...]  #: units to show a person
    likely: tuple[str, ...]  #: what a bare number probably lacks
    shows: tuple[tuple[str, float], ...]  #: units of the echo, with their size in SI
    spellings: Mapping[str, tuple[str, str]] = field(default_factory=dict)  #: lower case, no spaces -> unit, note
    refused: Mapping[str, tuple[str, str]] = field(default_factory=dict)  #: the same -> what is wrong, hint
    bare: str = ""  #: unit taken for a bare number, with a note; empty refuses it


@dataclass(frozen=True, kw_only=True)
class Quantity:
    """A value as understood."""

    value: float  #: SI
    note: str = ""


_TAU = math.tau
_DEG = math.pi / 180.0
_v = units.vector_of
_RPM_NOTE = "read as turns per minute"

LENGTH = Dimension(
    name="a length",
    vectors=(units.LENGTH,),
    offers=("m", "cm", "mm", "in", "ft"),
    likely=("in", "mm"),
    shows=(("m", 1.0),),
)
MASS = Dimension(
    name="a mass",
    vectors=(units.MASS,),
    offers=("kg", "g", "lb", "oz"),
    likely=("kg", "lb"),
    shows=(("kg", 1.0),),
    spellings={"#": ("lb", "# read as pound")},
)
FORCE = Dimension(
    name="a force", vectors=(units.FORCE,), offers=("N", "lbf", "kgf"), likely=("N",), shows=(("N", 1.0),)
)
TORQUE = Dimension(
    name="a torque",
    vectors=(units.TORQUE,),
    offers=("N*m", "mN*m", "in-lb", "oz-in", "kg-cm", "ft-lb"),
    likely=("N*m", "oz-in"),
    shows=(("N*m", 1.0),),
)
ANGLE = Dimension(
    name="an angle",
    vectors=(units.ANGLE,),
    offers=("deg", "rad"),
    likely=("deg",),
    shows=(("deg", _DEG),),
    bare="deg",
)
SPEED = Dimension(
    name="a speed of rotation",
    vectors=(units.SPEED,),
    offers=("rpm", "rad/s", "deg/s"),
    likely=("rpm",),
    shows=(("rpm", _TAU / 60.0), ("deg/s", _DEG)),
    spellings={
        "r/min": ("rpm", ""),
        "1/min": ("rpm", _RPM_NOTE),
        "/min": ("rpm", _RPM_NOTE),
        "min^-1": ("rpm", _RPM_NOTE),
        "min-1": ("rpm", _RPM_NOTE),
        "min\u207b\u00b9": ("rpm", _RPM_NOTE),
    },
    refused={
        "hz": ("Hz counts cycles of anything, not turns", "for {n} turns a second write {n} rps"),
        "1/s": ("1/s is neither turns nor radians a second", "write {n} rad/s or {n} rps"),
    },
)
VELOCITY = Dimension(
    name="a speed along a path",
    vectors=(_v(m=1, s=-1),),
    offers=("m/s", "mm/s", "ft/s"),
    likely=("m/s",),
    shows=(("m/s", 1.0),),
)
VOLTAGE = Dimension(
    name="a voltage",
    vectors=(units.VOLTAGE,),
    offers=("V", "mV"),
    likely=("V",),
    shows=(("V", 1.0),),
    refused={
        "kv": (
            "KV is a motor's turns per minute per volt, not a voltage",
            "as velocity_constant it is written {n} rpm/V",
        )
    },
)
CURRENT = Dimension(name="a current", vectors=(units.CURRENT,), offers=("A", "mA"), likely=("A",), shows=(("A", 1.0),))
RESISTANCE = Dimension(
    name="a resistance",
    vectors=(units.RESISTANCE,),
    offers=("ohm", "mohm"),
    likely=("ohm", "mohm"),
    shows=(("ohm", 1.0),),
)
INDUCTANCE = Dimension(
    name="an inductance", vectors=(units.INDUCTANCE,), offers=("H", "mH", "uH"), likely=("mH",), shows=(("mH", 1e-3),)
)
INERTIA = Dimension(
    name="a moment of inertia",
    vectors=(_v(kg=1, m=2),),
    offers=("kg*m^2", "g*cm^2", "lb*in^2", "oz-in-s^2"),
    likely=("kg*m^2", "g*cm^2"),
    shows=(("kg*m^2", 1.0),),
)
TIME = Dimension(
    name="a time", vectors=(units.TIME,), offers=("s", "ms", "min", "h"), likely=("s",), shows=(("s", 1.0),)
)
CHARGE = Dimension(
    name="a charge", vectors=(units.CHARGE,), offers=("A*h", "mAh"), likely=("A*h",), shows=(("A*h", 3600.0),)
)
ENERGY = Dimension(name="an energy", vectors=(units.TORQUE,), offers=("J", "Wh"), likely=("J",), shows=(("J", 1.0),))
POWER = Dimension(name="a power", vectors=(units.POWER,), offers=("W", "kW"), likely=("W",), shows=(("W", 1.0),))
AREA = Dimension(name="an area", vectors=(_v(m=2),), offers=("mm^2", "in^2"), likely=("mm^2",), shows=(("mm^2", 1e-6),))
TORQUE_CONSTANT = Dimension(
    name="a torque per current",
    vectors=(_v(kg=1, m=2, s=-2, A=-1), _v(kg=1, m=2, s=-2, A=-1, rad=-1)),
    offers=("N*m/A", "mN*m/A", "oz-in/A"),
    likely=("mN*m/A",),
    shows=(("N*m/A", 1.0),),
)
BACK_EMF_CONSTANT = Dimension(
    name="a voltage per speed",
    vectors=(_v(kg=1, m=2, s=-2, A=-1, rad=-1), _v(kg=1, m=2, s=-2, A=-1)),
    offers=("V*s/rad", "V/krpm", "mV/rpm"),
    likely=("V/krpm",),
    shows=(("V*s/rad", 1.0),),
    spellings={"v/1000rpm": ("V/krpm", "")},
)
VELOCITY_CONSTANT = Dimension(
    name="a speed per voltage",
    vectors=(_v(kg=-1, m=-2, s=2, A=1, rad=1),),
    offers=("rpm/V", "rad/s/V"),
    likely=("rpm/V",),
    shows=(("rpm/V", _TAU / 60.0),),
    spellings={"kv": ("rpm/V", "KV read as rpm/V")},
)
VISCOUS = Dimension(
    name="a torque per speed",
    vectors=(_v(kg=1, m=2, s=-1, rad=-1), _v(kg=1, m=2, s=-1)),
    offers=("N*m*s/rad", "N*m/rpm", "mN*m/krpm"),
    likely=("N*m*s/rad",),
    shows=(("N*m*s/rad", 1.0),),
)
THERMAL_RESISTANCE = Dimension(
    name="a thermal resistance",
    vectors=(_v(kg=-1, m=-2, s=3, K=1),),
    offers=("K/W", "degC/W"),
    likely=("K/W",),
    shows=(("K/W", 1.0),),
    spellings={"c/w": ("K/W", "")},
)
HEAT_CAPACITY = Dimension(
    name="a heat capacity",
    vectors=(_v(kg=1, m=2, s=-2, K=-1),),
    offers=("J/K", "kJ/K"),
    likely=("J/K",),
    shows=(("J/K", 1.0),),
    spellings={"j/c": ("J/K", ""), "w*s/k": ("J/K", ""), "ws/k": ("J/K", "")},
)
TEMPERATURE = Dimension(
    name="a temperature",
    vectors=(units.KELVIN,),
    offers=("degC", "degF", "K"),
    likely=("degC",),
    shows=(("degC", 1.0),),
)
#: where a unit of the wrong kind comes from
ALL = (
    LENGTH, MASS, FORCE, TORQUE, ANGLE, SPEED, VELOCITY, VOLTAGE, CURRENT, RESISTANCE, INDUCTANCE, INERTIA, TIME,
    CHARGE, POWER, AREA, TORQUE_CONSTANT, BACK_EMF_CONSTANT, VELOCITY_CONSTANT, VISCOUS, THERMAL_RESISTANCE,
    HEAT_CAPACITY, TEMPERATURE,
)  # fmt: skip

_SERVO_SPEED = re.compile(r"([0-9]*\.?[0-9]+)\s*(?:s|sec|secs|seconds)\s*[/.]\s*60\s*(?:\u00b0|deg|degrees)?$", re.I)
_CELLS = re.compile(r"([0-9]{1,2})\s*[sS](?:[0-9]{1,2}[pP])?\b")
_CELSIUS = ("c", "degc", "\u00b0c", "\u2103", "celsius", "degreesc", "degreescelsius")
_FAHRENHEIT = ("f", "degf", "\u00b0f", "fahrenheit", "degreesf", "degreesfahrenheit")
_KELVIN = ("k", "kelvin")


def understood(value: float, dimension: Dimension) -> str:
    """The echo of a value: what was understood, in ASCII."""
    first, *others = (f"{value / size:.6g} {unit}" for unit, size in dimension.shows)
    return f"{first} ({', '.join(others)})" if others else first


def read_quantity(text: str, dimension: Dimension) -> Quantity:
    """The SI value of a written quantity; Misreading says what else to write."""
    plain = clean(text)
    if dimension is SPEED and (servo := _SERVO_SPEED.match(plain)):
        return _servo_speed(servo[1], plain)
    if dimension is VOLTAGE:
        _refuse_cell_count(plain)
    if re.match(r"(?i)kv\s*[0-9]", plain) and dimension is VELOCITY_CONSTANT:
        plain = plain[2:] + " kv"
    number = read_number(plain)
    if not number.rest:
        return _bare(number, dimension)
    if dimension is TEMPERATURE:
        return _temperature(number)
    factor, note = _factor(number, dimension)
    return Quantity(value=float(number.value * factor), note="; ".join(filter(None, (number.note, note))))


def _squashed(unit: str) -> str:
    return re.sub(r"\s+", "", unit).casefold()


def _bare(number: Number, dimension: Dimension) -> Quantity:
    if dimension.bare:
        note = "; ".join(filter(None, (number.note, f"no unit, read as {dimension.bare}")))
        return Quantity(value=float(number.value * units.parse(dimension.bare).factor), note=note)
    spellings = " or ".join(f"{number.typed} {unit}" for unit in dimension.likely)
    raise Misreading(
        "SCN110", f"needs a unit: one of {', '.join(dimension.offers)}", f"write {spellings}, whichever is meant"
    )


def _factor(number: Number, dimension: Dimension) -> tuple[Fraction, str]:
    """Size of the unit in SI, and what had to be settled to read it."""
    squashed = _squashed(number.rest)
    if squashed in dimension.refused:
        text, hint = dimension.refused[squashed]
        raise Misreading("SCN114", text, hint.format(n=number.typed))
    spelling, note = dimension.spellings.get(squashed, (number.rest, ""))
    expression = _parsed(spelling, number, dimension)
    if expression.vector in dimension.vectors:
        _refuse_megohm(expression, number)
        if dimension is TORQUE and any(unit.kind == "energy" for unit, _ in expression.parts):
            raise _wrong_kind(ENERGY.name, number, dimension)
        return expression.factor, note
    weights = expression.with_weights()
    if weights and weights.vector in dimension.vectors:
        return weights.factor, "mass taken for its weight"
    for candidate in (expression, weights):
        product = candidate.quotient_as_product() if candidate else None
        if product and product.vector in dimension.vectors:
            return product.factor, f"read as the product {' x '.join(unit.name for unit, _ in product.parts[:2])}"
    raise _wrong_kind(_kind_of(expression), number, dimension)


def _parsed(unit: str, number: Number, dimension: Dimension) -> Expression:
    if dimension in (TORQUE, TORQUE_CONSTANT, VISCOUS):
        unit = re.sub(r"(?<![A-Za-z])([nN])(\s*[-*.\u00b7/]?\s*)M(?![A-Za-z])", r"N\2m", unit)
    try:
        return units.parse(unit)
    except Misreading as problem:
        raise Misreading(
            problem.code,
            f"{problem.text} in '{shortened(number.typed + ' ' + number.rest)}'",
            f"{dimension.name} is given in {', '.join(dimension.offers)}",
        ) from None


def _refuse_megohm(expression: Expression, number: Number) -> None:
    if any(unit.name == "Mohm" for unit, _ in expression.parts):
        raise Misreading(
            "SCN114", f"M is mega: {number.typed} million ohm", f"did you mean {number.typed} mohm (milliohm)?"
        )


def _kind_of(expression: Expression) -> str:
    for dimension in ALL:
        if expression.vector in dimension.vectors:
            if dimension is TORQUE and any(unit.kind in ("energy", "power") for unit, _ in expression.parts):
                return ENERGY.name
            return dimension.name
    return "a unit of another kind"


def _wrong_kind(got: str, number: Number, dimension: Dimension) -> Misreading:
    text = f"expected {dimension.name}, got {got}, '{shortened(number.typed + ' ' + number.rest)}'"
    hint = f"{dimension.name} is given in {', '.join(dimension.offers)}"
    if dimension is TORQUE and got in (MASS.name, FORCE.name):
        centimetre = "kg-cm" if "k" in number.rest.casefold() else f"{number.rest.rstrip('s')}-in"
        try:
            meant = understood(read_quantity(f"{number.typed} {centimetre}", TORQUE).value, TORQUE)
            hint = f"did you mean {number.typed} {centimetre} ({meant})?"
        except Misreading:
            pass
    if dimension is MASS and got == FORCE.name:
        hint = f"the mass is wanted, not its weight; {hint}"
    return Misreading("SCN111", text, hint)


def _temperature(number: Number) -> Quantity:
    unit = _squashed(number.rest)
    value = float(number.value)
    if unit in _CELSIUS:
        return Quantity(value=value, note=number.note)
    if unit in _FAHRENHEIT:
        return Quantity(value=float((number.value - 32) * Fraction(5, 9)), note=number.note)
    if unit in _KELVIN:
        return Quantity(value=float(number.value - Fraction("273.15")), note=number.note)
    raise _wrong_kind(_kind_of(_parsed(number.rest, number, TEMPERATURE)), number, TEMPERATURE)


def _servo_speed(seconds: str, plain: str) -> Quantity:
    if float(seconds) == 0.0:
        raise Misreading("SCN113", f"'{shortened(plain)}' divides by zero")
    return Quantity(value=math.pi / 3.0 / float(seconds), note=f"{shown(float(seconds))} s for 60 deg")


def _refuse_cell_count(plain: str) -> None:
    cells = _CELLS.match(plain)
    if not cells:
        return
    n = int(cells[1])
    more = (
        ""
        if cells.end() == len(plain)
        else "; capacity and C rating do not give the inner resistance, which is asked for apart"
    )
    raise Misreading(
        "SCN114",
        f"'{shortened(plain)}' counts cells; their voltage depends on the charge",
        f"{n} lithium cells are {3.7 * n:.1f} V nominal, {4.2 * n:.1f} V full: write which{more}",
    )
