"""A written quantity to an SI number.

The key settles what the unit alone leaves open: `in-lb` and `nm` are torques where a torque is wanted, `oz` is a mass
where a mass is. Whatever was settled so is said in a note.
"""

import math
import re
from dataclasses import dataclass
from fractions import Fraction

from armsim.scenario import units
from armsim.scenario.dimensions import (
    ALL,
    ENERGY,
    FORCE,
    MASS,
    SPEED,
    TEMPERATURE,
    TORQUE,
    TORQUE_CONSTANT,
    VELOCITY_CONSTANT,
    VISCOUS,
    VOLTAGE,
    Dimension,
    understood,
)
from armsim.scenario.numbers import Number, clean, read_number, shown
from armsim.scenario.problems import Misreading, quoted
from armsim.scenario.units import Expression


@dataclass(frozen=True, kw_only=True)
class Quantity:
    """A value as understood."""

    value: float  #: SI
    note: str = ""


_SERVO_SPEED = re.compile(r"([0-9]*\.?[0-9]+)\s*(?:s|sec|secs|seconds)\s*[/.]\s*60\s*(?:\u00b0|deg|degrees)?$", re.I)
_CELLS = re.compile(r"([0-9]{1,2})\s*[sS](?:[0-9]{1,2}[pP])?\b")
_CELSIUS = ("c", "degc", "\u00b0c", "\u2103", "celsius", "degreesc", "degreescelsius")
_FAHRENHEIT = ("f", "degf", "\u00b0f", "fahrenheit", "degreesf", "degreesfahrenheit")
_KELVIN = ("k", "kelvin")


def read_quantity(text: str, dimension: Dimension) -> Quantity:
    """The SI value of a written quantity; Misreading says what else to write."""
    plain = clean(text)
    if dimension is SPEED and (servo := _SERVO_SPEED.match(plain)):
        return _servo_speed(servo[1], plain)
    if dimension is VOLTAGE:
        refuse_cell_count(plain)
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
    raise Misreading("SCN110", f"needs a unit: one of {', '.join(dimension.offers)}", f"write {spellings}")


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
        return weights.factor, f"{_mass_name(expression)} taken for its weight"
    for candidate in (expression, weights):
        product = candidate.quotient_as_product() if candidate else None
        if product and product.vector in dimension.vectors:
            return product.factor, f"read as {_product_name(product)}"
    raise _wrong_kind(_kind_of(expression), number, dimension)


def _mass_name(expression: Expression) -> str:
    return next(unit.name for unit, _ in expression.parts if unit.kind == "mass")


_LONG_NAMES = {
    "N": "newton", "mN": "millinewton", "kN": "kilonewton", "lbf": "pound", "ozf": "ounce",
    "kgf": "kilogram", "gf": "gram",
    "m": "metre", "cm": "centimetre", "mm": "millimetre", "in": "inch", "ft": "foot",
}  # fmt: skip


def _product_name(product: Expression) -> str:
    """ounce-inch for oz*in."""
    return "-".join(_LONG_NAMES.get(unit.name, unit.name) for unit, _ in product.parts[:2])


def _parsed(unit: str, number: Number, dimension: Dimension) -> Expression:
    if dimension in (TORQUE, TORQUE_CONSTANT, VISCOUS):
        unit = re.sub(r"(?<![A-Za-z])([nN])(\s*[-*.\u00b7/]?\s*)M(?![A-Za-z])", r"N\2m", unit)
    try:
        return units.parse(unit)
    except Misreading as problem:
        raise Misreading(
            problem.code,
            f"{problem.text} in {quoted(number.typed + ' ' + number.rest)}",
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


_TORQUE_OF = {
    "kg": "kg-cm", "kgf": "kg-cm", "g": "g-cm", "gf": "g-cm", "lb": "in-lb", "lbf": "in-lb",
    "oz": "oz-in", "ozf": "oz-in",
}  # fmt: skip


def _wrong_kind(got: str, number: Number, dimension: Dimension) -> Misreading:
    text = f"expected {dimension.name}, got {got}, {quoted(number.typed + ' ' + number.rest)}"
    hint = f"{dimension.name} is given in {', '.join(dimension.offers)}"
    if dimension is TORQUE and got in (MASS.name, FORCE.name):
        unit = _TORQUE_OF.get(units.parse(number.rest).parts[0][0].name)
        if unit:
            meant = read_quantity(f"{number.typed} {unit}", TORQUE).value
            hint = f"did you mean {number.typed} {unit} ({understood(meant, TORQUE)})?"
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
        raise Misreading("SCN113", f"{quoted(plain)} divides by zero")
    return Quantity(value=math.pi / 3.0 / float(seconds), note=f"{shown(float(seconds))} s for 60 deg")


def refuse_cell_count(plain: str) -> None:
    """Misreading for 3S and the like, which name a battery and no voltage."""
    cells = _CELLS.match(plain)
    if not cells:
        return
    n = int(cells[1])
    more = (
        ""
        if cells.end() == len(plain)
        else "; capacity and C rating do not give the inner resistance: without a reading a typical one is taken"
    )
    raise Misreading(
        "SCN114",
        f"{quoted(plain)} counts cells; their voltage depends on the charge",
        f"{n} lithium cells are {3.7 * n:.1f} V nominal, {4.2 * n:.1f} V full: write which as open_circuit_voltage, or "
        f"the battery as {{chemistry: li-ion, cells: {n}, capacity: ...}}{more}",
    )
