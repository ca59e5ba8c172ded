"""Units as people write them: a closed table of names, and products, quotients and powers of them.

A unit is a factor to SI and a vector of powers of kg, m, s, A, K and rad; the angle counts as a dimension
of its own so that a speed is not taken for a frequency.
"""

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import cache

from armsim.scenario.problems import Misreading, quoted

Vector = tuple[int, int, int, int, int, int]

GRAVITY = Fraction("9.80665")  #: weight of a unit mass [N/kg] (CGPM 1901)
POUND = Fraction("0.45359237")  #: [kg] (exact by definition)
INCH = Fraction("0.0254")  #: [m] (exact by definition)
_DEGREE = Fraction(math.pi) / 180
_TURN = 2 * Fraction(math.pi)


@dataclass(frozen=True)
class Unit:
    """One name of the table."""

    name: str
    factor: Fraction
    vector: Vector
    kind: str = ""


def vector_of(kg: int = 0, m: int = 0, s: int = 0, A: int = 0, K: int = 0, rad: int = 0) -> Vector:
    return (kg, m, s, A, K, rad)


LENGTH, MASS, TIME, CURRENT = vector_of(m=1), vector_of(kg=1), vector_of(s=1), vector_of(A=1)
FORCE, TORQUE = vector_of(kg=1, m=1, s=-2), vector_of(kg=1, m=2, s=-2)
POWER, VOLTAGE = vector_of(kg=1, m=2, s=-3), vector_of(kg=1, m=2, s=-3, A=-1)
RESISTANCE, INDUCTANCE = vector_of(kg=1, m=2, s=-3, A=-2), vector_of(kg=1, m=2, s=-2, A=-2)
CAPACITANCE = vector_of(kg=-1, m=-2, s=4, A=2)
CHARGE, ANGLE, SPEED = vector_of(s=1, A=1), vector_of(rad=1), vector_of(s=-1, rad=1)
KELVIN, FREQUENCY = vector_of(K=1), vector_of(s=-1)
STRESS, VISCOSITY = vector_of(kg=1, m=-1, s=-2), vector_of(kg=1, m=-1, s=-1)

#: names (the first is the one shown), factor, vector, kind
_TABLE: tuple[tuple[str, Fraction, Vector, str], ...] = (
    ("m meter meters metre metres", Fraction(1), LENGTH, "length"),
    ("cm centimeter centimeters centimetre centimetres", Fraction(1, 100), LENGTH, "length"),
    ("mm millimeter millimeters millimetre millimetres", Fraction(1, 1000), LENGTH, "length"),
    ("um micron microns", Fraction(1, 10**6), LENGTH, "length"),
    ('in inch inches "', INCH, LENGTH, "length"),
    ("ft foot feet '", 12 * INCH, LENGTH, "length"),
    ("yd yard yards", 36 * INCH, LENGTH, "length"),
    ("kg kgs kilo kilos kilogram kilograms kilogramme kilogrammes", Fraction(1), MASS, "mass"),
    ("g gm gram grams gramme grammes", Fraction(1, 1000), MASS, "mass"),
    ("mg milligram milligrams", Fraction(1, 10**6), MASS, "mass"),
    ("t tonne tonnes", Fraction(1000), MASS, "mass"),
    ("lb lbs lbm pound pounds", POUND, MASS, "mass"),
    ("oz ounce ounces", POUND / 16, MASS, "mass"),
    ("N newton newtons", Fraction(1), FORCE, "force"),
    ("mN millinewton millinewtons", Fraction(1, 1000), FORCE, "force"),
    ("kN kilonewton kilonewtons", Fraction(1000), FORCE, "force"),
    ("lbf", POUND * GRAVITY, FORCE, "force"),
    ("ozf", POUND * GRAVITY / 16, FORCE, "force"),
    ("kgf kp", GRAVITY, FORCE, "force"),
    ("gf", GRAVITY / 1000, FORCE, "force"),
    ("s sec secs second seconds", Fraction(1), TIME, "time"),
    ("ms msec millisecond milliseconds", Fraction(1, 1000), TIME, "time"),
    ("min mins minute minutes", Fraction(60), TIME, "time"),
    ("h hr hrs hour hours", Fraction(3600), TIME, "time"),
    ("A amp amps ampere amperes", Fraction(1), CURRENT, "current"),
    ("mA milliamp milliamps milliampere milliamperes", Fraction(1, 1000), CURRENT, "current"),
    ("kA", Fraction(1000), CURRENT, "current"),
    ("V volt volts Vdc", Fraction(1), VOLTAGE, "voltage"),
    ("mV millivolt millivolts", Fraction(1, 1000), VOLTAGE, "voltage"),
    ("ohm ohms", Fraction(1), RESISTANCE, "resistance"),
    ("mohm mohms milliohm milliohms", Fraction(1, 1000), RESISTANCE, "resistance"),
    ("uohm uohms microohm microohms", Fraction(1, 10**6), RESISTANCE, "resistance"),
    ("kohm kohms kiloohm kiloohms kilohm kilohms", Fraction(1000), RESISTANCE, "resistance"),
    ("Mohm Mohms megaohm megaohms megohm megohms", Fraction(10**6), RESISTANCE, "resistance"),
    ("H henry henries", Fraction(1), INDUCTANCE, "inductance"),
    ("mH millihenry millihenries", Fraction(1, 1000), INDUCTANCE, "inductance"),
    ("uH microhenry microhenries", Fraction(1, 10**6), INDUCTANCE, "inductance"),
    ("F farad farads", Fraction(1), CAPACITANCE, "capacitance"),
    ("mF millifarad millifarads", Fraction(1, 1000), CAPACITANCE, "capacitance"),
    ("uF microfarad microfarads \u00b5F \u03bcF", Fraction(1, 10**6), CAPACITANCE, "capacitance"),
    ("W watt watts", Fraction(1), POWER, "power"),
    ("mW milliwatt milliwatts", Fraction(1, 1000), POWER, "power"),
    ("kW kilowatt kilowatts", Fraction(1000), POWER, "power"),
    ("hp horsepower", 550 * 12 * INCH * POUND * GRAVITY, POWER, "power"),
    ("J joule joules", Fraction(1), TORQUE, "energy"),
    ("kJ kilojoule kilojoules", Fraction(1000), TORQUE, "energy"),
    ("Wh", Fraction(3600), TORQUE, "energy"),
    ("Ah amp-hour amp-hours", Fraction(3600), CHARGE, "charge"),
    ("mAh", Fraction(36, 10), CHARGE, "charge"),
    ("K kelvin kelvins degC \u00b0C \u2103 celsius", Fraction(1), KELVIN, "temperature"),
    ("degF \u00b0F fahrenheit", Fraction(5, 9), KELVIN, "temperature"),
    ("rad rads radian radians", Fraction(1), ANGLE, "angle"),
    ("mrad", Fraction(1, 1000), ANGLE, "angle"),
    ("deg degs degree degrees \u00b0", _DEGREE, ANGLE, "angle"),
    ("arcmin arcmins", _DEGREE / 60, ANGLE, "angle"),
    ("turn turns rev revs revolution revolutions", _TURN, ANGLE, "angle"),
    ("rpm", _TURN / 60, SPEED, "speed"),
    ("krpm", _TURN * 1000 / 60, SPEED, "speed"),
    ("rps", _TURN, SPEED, "speed"),
    ("Hz hertz", Fraction(1), FREQUENCY, "frequency"),
    ("kHz kilohertz", Fraction(1000), FREQUENCY, "frequency"),
    ("Pa pascal pascals", Fraction(1), STRESS, "stress"),
    ("mPa millipascal millipascals", Fraction(1, 1000), STRESS, "stress"),
    ("kPa kilopascal kilopascals", Fraction(1000), STRESS, "stress"),
    ("MPa megapascal megapascals", Fraction(10**6), STRESS, "stress"),
    ("GPa gigapascal gigapascals", Fraction(10**9), STRESS, "stress"),
    ("psi", POUND * GRAVITY / INCH**2, STRESS, "stress"),
    ("ksi", 1000 * POUND * GRAVITY / INCH**2, STRESS, "stress"),
    ("cP centipoise", Fraction(1, 1000), VISCOSITY, "viscosity"),
)
UNITS = {
    name: Unit(names.split()[0], factor, vector, kind)
    for names, factor, vector, kind in _TABLE
    for name in names.split()
}
#: m is milli and M is mega, so the first letter keeps its case where case is forgiven
_FIRST_KEPT = {name[0] + name[1:].casefold(): unit for name, unit in UNITS.items()}
_CASE_FREE = {
    name.casefold(): unit
    for name, unit in UNITS.items()
    if (len(name) > 1 or name in "NAVWJ") and not name.startswith("M")
}
_GLUED = ({"force", "length"}, {"mass", "length"}, {"voltage", "time"}, {"current", "time"})
_SUPERSCRIPTS = str.maketrans("\u2070\u00b9\u00b2\u00b3\u2074\u207b", "01234-")
_TOKEN = re.compile(
    r"\s*(?:(?P<name>[A-Za-z\u00b0\u2103\"'#%]+)"
    r"|(?P<power>(?:\^|\*\*)\s*\(?\s*-?[0-9]\s*\)?|[\u2070\u00b9\u00b2\u00b3\u2074\u207b]+|-[0-9])"
    r"|(?P<digit>[0-9]+)|(?P<operator>[*/().\u00b7\u22c5\u00d7-]))"
)


@dataclass(frozen=True)
class Expression:
    """Units multiplied together, with their powers."""

    parts: tuple[tuple[Unit, int], ...]

    @property
    def factor(self) -> Fraction:
        """To SI."""
        return math.prod((unit.factor**power for unit, power in self.parts), start=Fraction(1))

    @property
    def vector(self) -> Vector:
        """Powers of the base dimensions."""
        sums = [sum(unit.vector[k] * power for unit, power in self.parts) for k in range(6)]
        return vector_of(*sums)

    def with_weights(self) -> "Expression | None":
        """The same with its one unit of mass taken for its weight, as in kg-cm; None if there is not just one."""
        masses = [unit for unit, power in self.parts if unit.kind == "mass" and power == 1]
        if len(masses) != 1:
            return None
        swap = Unit(masses[0].name + "f", masses[0].factor * GRAVITY, FORCE, "force")
        return Expression(tuple((swap if unit is masses[0] else unit, power) for unit, power in self.parts))

    def quotient_as_product(self) -> "Expression | None":
        """oz/in as oz*in: a force or mass over a length means their product; None if that is not its shape."""
        upper = [unit for unit, power in self.parts if unit.kind in ("force", "mass") and power == 1]
        lower = [unit for unit, power in self.parts if unit.kind == "length" and power == -1]
        if len(upper) != 1 or len(lower) != 1:
            return None
        return Expression(tuple((unit, 1 if unit is lower[0] else power) for unit, power in self.parts))


@cache
def find(name: str) -> Unit | None:
    """A unit by name; upper and lower case are forgiven except where they tell milli from mega."""
    unit = UNITS.get(name) or _FIRST_KEPT.get(name[0] + name[1:].casefold())
    if unit or (name[0] == "M" and len(name) < 3):
        return unit
    return _CASE_FREE.get(name.casefold())


def glued(name: str) -> tuple[Unit, ...]:
    """Two units written as one word, such as ozin, inlb or mNm; empty if the word is not that."""
    for k in range(1, len(name)):
        first, second = find(name[:k]), find(name[k:])
        if first and second and {first.kind, second.kind} in _GLUED:
            return first, second
    return ()


@cache
def parse(text: str) -> Expression:
    """Read a unit expression; Misreading names the part that is not a unit."""
    plain = text.replace("\u00b5", "u").replace("\u03bc", "u").replace("\u03a9", "ohm").replace("\u2126", "ohm")
    plain = re.sub(r"(?<=[A-Za-z])\.(?=\s|$|/)", "", plain)
    plain = re.sub(r"\bper\b", "/", plain)
    tokens = list(_tokens(plain, text))
    return _Parser(tokens, text).whole()


def _tokens(plain: str, text: str) -> Iterator[tuple[str, str]]:
    at = 0
    plain = plain.rstrip()
    while at < len(plain):
        match = _TOKEN.match(plain, at)
        if not match or match.lastgroup is None:
            raise _unknown(text)
        yield match.lastgroup, match[match.lastgroup]
        at = match.end()


def _unknown(text: str) -> Misreading:
    return Misreading("SCN112", f"unknown unit {quoted(text)}")


class _Parser:
    """Left to right: `*`, `.`, `-` and a space multiply, `/` divides what stands next."""

    def __init__(self, tokens: list[tuple[str, str]], text: str) -> None:
        self.tokens = tokens
        self.text = text
        self.at = 0

    def whole(self) -> Expression:
        parts = self.product(depth=0)
        if self.at < len(self.tokens) or not parts:
            raise _unknown(self.text)
        return Expression(tuple(parts))

    def product(self, depth: int) -> list[tuple[Unit, int]]:
        parts: list[tuple[Unit, int]] = []
        sign = 1
        expecting = True
        while self.at < len(self.tokens):
            kind, value = self.tokens[self.at]
            if value == ")" and depth:
                break
            self.at += 1
            if kind == "operator" and value != "(" and not expecting:
                sign, expecting = (-1 if value == "/" else 1), True
            elif value in ("x", "X") and not expecting:
                sign, expecting = 1, True
            elif (
                (kind, value) == ("digit", "1")
                and expecting
                and self.tokens[self.at : self.at + 1] == [("operator", "/")]
            ):
                expecting = False
            elif kind == "name" or value == "(":
                sign = 1 if not expecting else sign
                term = self.group(depth) if value == "(" else self.units(value)
                parts += self.raised(term, sign, whole=value == "(")
                sign, expecting = 1, False
            else:
                raise _unknown(self.text)
        if expecting:
            raise _unknown(self.text)
        return parts

    def group(self, depth: int) -> list[tuple[Unit, int]]:
        if depth > 3:
            raise _unknown(self.text)
        parts = self.product(depth + 1)
        if self.tokens[self.at : self.at + 1] != [("operator", ")")]:
            raise _unknown(self.text)
        self.at += 1
        return parts

    def units(self, name: str) -> list[tuple[Unit, int]]:
        unit = find(name)
        found = (unit,) if unit else glued(name)
        if not found:
            raise Misreading("SCN112", f"unknown unit {quoted(name)}")
        return [(each, 1) for each in found]

    def raised(self, term: list[tuple[Unit, int]], sign: int, whole: bool) -> list[tuple[Unit, int]]:
        power = self.power()
        last = len(term) - 1
        return [(unit, sign * n * (power if whole or k == last else 1)) for k, (unit, n) in enumerate(term)]

    def power(self) -> int:
        if self.at == len(self.tokens):
            return 1
        kind, value = self.tokens[self.at]
        if kind not in ("power", "digit"):
            return 1
        digits = re.sub(r"[^0-9-]", "", value.translate(_SUPERSCRIPTS))
        if not re.fullmatch(r"-?[1-4]", digits):
            raise _unknown(self.text)
        self.at += 1
        return int(digits)
