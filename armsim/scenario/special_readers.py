"""Readers of what has a notation of its own: ratios, wire sizes, pitches, moments, tables."""

import math
import re
from dataclasses import dataclass
from fractions import Fraction
from typing import cast

from pydantic import BeforeValidator, ValidationInfo
from pydantic_core import PydanticCustomError

from armsim.parts.wiring import gauge_area
from armsim.scenario import forms
from armsim.scenario.dimensions import ANGLE, AREA, LENGTH, TIME, VOLTAGE, understood
from armsim.scenario.forms import Typed
from armsim.scenario.numbers import clean, read_number, shown
from armsim.scenario.problems import Misreading, quoted
from armsim.scenario.quantities import read_quantity
from armsim.scenario.readers import (
    Limits,
    Reader,
    Reading,
    Validator,
    checked,
    pure,
    quantity_reader,
    reader,
    reading_of,
    told,
)
from armsim.scenario.source import Leaf

SINGLE_LAWS = ("plus_minus", "normal")  #: of what is uncertain, told by one value
LISTED_LAWS = ("uniform", "triangular")  #: by a list

_RATIO = re.compile(r"([0-9.]+)\s*(?::|\bto\b|-)\s*([0-9.]+)(?:\s*(?::|\bto\b|-)\s*([0-9.]+))?$", re.I)
_TEETH = re.compile(r"([0-9]+)\s*t(?:eeth)?\s*(?:to|:|-|/)\s*([0-9]+)\s*t(?:eeth)?$", re.I)


def read_reduction(leaf: Leaf, reading: Reading) -> float:
    """A ratio of speeds as typed; Misreading where it says teeth, or not which side turns faster."""
    plain = clean(leaf.text)
    teeth, pair = _TEETH.match(plain), _RATIO.match(plain)
    if teeth:
        raise _asks_for_teeth(teeth[1], teeth[2], plain)
    if pair and pair[3]:
        raise Misreading(
            "SCN114", f"'{plain}' is three wheels: the middle one an idler, or a double gear?",
            f"idler: gears: {{driver: {pair[1]}, idlers: [{pair[2]}], driven: {pair[3]}}}; a double gear: two stages",
        )  # fmt: skip
    value = _ratio_of_pair(pair, plain) if pair else _plain_ratio(plain)
    echo = f"{shown(value)} motor-side turns for each turn towards the arm"
    reading.understand(leaf, float(value), echo)
    return float(value)


def _asks_for_teeth(driver: str, driven: str, plain: str) -> Misreading:
    return Misreading(
        "SCN114",
        f"'{plain}' looks like teeth",
        f"gears: {{driver: {driver}, driven: {driven}}} says which wheel drives",
    )


def _ratio_of_pair(pair: re.Match[str], plain: str) -> Fraction:
    first, second = (read_number(text).value for text in (pair[1], pair[2]))
    if second == 1 and first >= 1:
        return first
    if first == 1:
        raise Misreading(
            "SCN114",
            f"'{plain}': a reduction of {shown(second)} or a speed-up of {shown(second)}?",
            f"a reduction is written {shown(second)}:1 or {shown(second)}",
        )
    if first.denominator == 1 and second.denominator == 1:
        raise _asks_for_teeth(pair[1], pair[2], plain)
    raise Misreading(
        "SCN114",
        f"'{plain}' does not say which side turns faster",
        "write the motor-side turns for one turn towards the arm, such as 7:1",
    )


def _plain_ratio(plain: str) -> Fraction:
    value, rest, _ = pure(plain)
    if rest:
        raise Misreading("SCN111", f"wants a ratio, got {quoted(plain)}", "write 20:1 or 20")
    if value < 1 and "/" in plain and value > 0:
        raise Misreading(
            "SCN114",
            f"'{plain}': a reduction of {shown(1 / value)} or a speed-up?",
            f"a reduction is written {shown(1 / value)}",
        )
    if not 1 <= value <= 100_000:
        raise Misreading(
            "SCN120",
            f"{shown(value)} is out of range, it has to be 1 to 100000",
            "a speed-up is written as gears with the larger driver",
        )
    return value


def reduction() -> BeforeValidator:
    """A ratio of speeds, motor side over arm side: 20:1 or 20."""
    return reader(read_reduction, "a ratio is wanted, such as 20:1 or 20")


_GAUGE = re.compile(r"(?i)(?:#|awg|no\.?)?\s*([0-9]{1,2}|[1-4]/0|0{1,4})\s*(?:awg|ga|gauge|g)?$")


def gauge_number(plain: str) -> int | None:
    """American wire gauge as a whole number, 1/0 as 0 and 2/0 as -1; None if the text is no gauge."""
    match = _GAUGE.match(plain)
    if not match:
        return None
    digits = match[1]
    if "/" in digits:
        return 1 - int(digits[0])
    return 1 - len(digits) if set(digits) == {"0"} else int(digits)


@dataclass(frozen=True, kw_only=True)
class WireSize:
    """A conductor as a gauge or as an area."""

    area: float  #: [m2]
    gauge: int | None = None  #: 1/0 is 0, 2/0 is -1; None: told by its area


def wire_size(*, bare: bool) -> BeforeValidator:
    """A conductor's cross-section, as a gauge, which may be `bare` of its unit, or as an area."""

    def read(leaf: Leaf, reading: Reading) -> WireSize:
        plain = clean(leaf.text)
        gauge = gauge_number(plain)
        if gauge is None and not re.search(r"(?i)mm|in|cm", plain):
            raise Misreading(
                "SCN113", f"wants a wire gauge or an area, got {quoted(leaf.text)}", "write 10 AWG or 6 mm^2"
            )
        if gauge is not None and leaf.key.endswith("area") and plain.isdigit():
            raise Misreading(
                "SCN110", "needs a unit: mm^2, or AWG for a gauge", f"write {plain} mm^2 or gauge: {plain} AWG"
            )
        area = float(gauge_area(gauge)) if gauge is not None else read_quantity(plain, AREA).value
        fault = Limits(above=0.0, most=1e-3).refuse(area, lambda value: understood(value, AREA))
        if fault or (gauge is not None and not -3 <= gauge <= 40):
            raise Misreading("SCN120", fault or f"{gauge} AWG is out of range, it has to be 4/0 to 40")
        note = f"read as American wire gauge {plain}" if gauge is not None and plain.isdigit() else ""
        reading.understand(leaf, area, understood(area, AREA), note)
        return WireSize(area=area, gauge=gauge)

    return reader(read, "a wire gauge or an area is wanted, such as 10 AWG or 6 mm^2", lambda: forms.size(bare))


STRAND_CLASSES = ("class-5", "class-2")  #: flexible, and stranded for fixed laying


def stranding() -> BeforeValidator:
    """A class of stranding, or by how much strands lengthen the path. [-]"""

    def read(leaf: Leaf, reading: Reading) -> float | str:
        word = re.sub(r"[\s_-]+", "-", clean(leaf.text).casefold())
        if word in STRAND_CLASSES:
            reading.understand(leaf, word, word)
            return word
        if word[:1].isalpha():
            raise Misreading("SCN115", f"wants {' or '.join(STRAND_CLASSES)}, or a factor; got {quoted(leaf.text)}")
        value, rest, note = pure(leaf.text)
        if rest:
            raise Misreading("SCN111", f"wants a number without unit, got {quoted(leaf.text)}", f"write {shown(value)}")
        fault = Limits(least=1.0, most=1.2).refuse(float(value), shown)
        if fault:
            raise Misreading("SCN120", fault)
        reading.understand(leaf, float(value), shown(value), note)
        return float(value)

    return reader(read, "class-5, class-2 or a factor such as 1.05 is wanted")


def diametral_pitch() -> BeforeValidator:
    """Teeth per inch of pitch diameter, given as the module it makes. [m]"""

    def read(leaf: Leaf, reading: Reading) -> float:
        value, rest, note = pure(leaf.text)
        if rest and not re.fullmatch(r"(?i)dp|pitch|1/in|/in|in\^?-1", rest):
            raise Misreading(
                "SCN111",
                f"wants teeth per inch of diameter, got {quoted(leaf.text)}",
                "write 16 or 16 DP; millimetres go in module",
            )
        if not 1 <= value <= 200:
            raise Misreading("SCN120", f"{shown(value)} is out of range, it has to be 1 to 200")
        module = Fraction("0.0254") / value
        reading.understand(leaf, float(module), f"module {shown(module * 1000)} mm", note)
        return float(module)

    return reader(read, "teeth per inch are wanted, such as 16 DP")


@dataclass(frozen=True, kw_only=True)
class When:
    """A time of the run, an angle of the arm or place of the carriage, or where it does most harm."""

    time: float | None = None
    angle: float | None = None
    worst: bool = False


def time_or_angle() -> BeforeValidator:
    """A moment of the run, told by its time or by the arm's angle."""

    def read(leaf: Leaf, reading: Reading) -> When:
        plain = clean(leaf.text)
        if plain.casefold() == "worst":
            reading.understand(leaf, None, "where it does most harm, found by search")
            return When(worst=True)
        unit, what = ("mm", "a place") if reading.carriage else ("deg", "an angle")
        if not read_number(plain).rest:
            text = f"needs a unit: s for a time, {unit} for {what}"
            raise Misreading("SCN110", text, f"write {plain} s or {plain} {unit}")
        try:
            time = read_quantity(plain, TIME)
        except Misreading:
            dimension = LENGTH if reading.carriage else ANGLE
            angle = read_quantity(plain, dimension)
            reading.understand(leaf, angle.value, understood(angle.value, dimension), angle.note)
            return When(angle=angle.value)
        if time.value < 0.0:
            raise Misreading("SCN120", f"{understood(time.value, TIME)} is before the start")
        reading.understand(leaf, time.value, understood(time.value, TIME), time.note)
        return When(time=time.value)

    wants = "write 0.42 s, 60 deg or worst; without `at` the power fails at rest at the highest target"
    return reader(read, wants, lambda: forms.quantity_or(["worst"]))


PLANES = {"vertical": "0 deg", "horizontal": "90 deg"}  #: words for tilts


def tilt() -> BeforeValidator:
    """Tilt of the plane of motion from the vertical, as a word or an angle. [rad]"""

    def read(leaf: Leaf, reading: Reading) -> float:
        word = clean(leaf.text).casefold()
        if leaf.key.endswith("plane") and word not in PLANES:
            raise Misreading(
                "SCN115",
                f"wants vertical, horizontal or a tilt; got {quoted(leaf.text)}",
                "write plane: {tilt: 30 deg}, counted from the vertical",
            )
        angle = read_quantity(PLANES.get(word, leaf.text), ANGLE)
        fault = Limits(least=0.0, most=math.pi / 2.0).refuse(angle.value, lambda value: understood(value, ANGLE))
        if fault:
            raise Misreading("SCN120", fault)
        reading.understand(leaf, angle.value, f"tilted {understood(angle.value, ANGLE)} from the vertical", angle.note)
        return angle.value

    return reader(read, "vertical, horizontal or {tilt: 30 deg} is wanted")


def _table(columns: tuple[Reader, ...], rows: int, row: str) -> Validator:
    def validate(value: object, info: ValidationInfo) -> tuple[tuple[float, ...], ...]:
        if not isinstance(value, list) or len(value) < rows or not all(_is_row(item, len(columns)) for item in value):
            raise PydanticCustomError("rows", "{wants}", {"wants": f"{rows} rows or more are wanted, each {row}"})
        reading = reading_of(info)
        before = len(reading.problems)
        result = tuple(
            tuple(_cell(cell, column, reading) for cell, column in zip(item, columns, strict=True)) for item in value
        )
        if any(problem.severity == "error" for problem in reading.problems[before:]):
            told()
        return result

    return validate


def table(*columns: Reader, rows: int, row: str) -> BeforeValidator:
    """A list of equal rows; `row` shows one."""
    wants = f"{rows} rows or more are wanted, each {row}"
    return Typed(_table(columns, rows, row), wants=wants, form=lambda: forms.table(rows, len(columns)))


def _is_row(item: object, columns: int) -> bool:
    return isinstance(item, list) and len(item) == columns and all(isinstance(cell, Leaf) for cell in item)


def _cell(cell: Leaf, column: Reader, reading: Reading) -> float:
    try:
        return float(column(cell, reading))
    except Misreading as fault:
        reading.refuse(cell, fault)
        return 0.0


def voltage_cell(leaf: Leaf, reading: Reading) -> float:
    """A voltage in a table. [V]"""
    found = read_quantity(leaf.text, VOLTAGE)
    if found.value <= 0.0:
        raise Misreading("SCN120", f"{understood(found.value, VOLTAGE)} is out of range, it has to be above 0 V")
    reading.understand(leaf, found.value, understood(found.value, VOLTAGE), found.note)
    return found.value


def voltage_points() -> BeforeValidator:
    """Open-circuit voltage: one, kept as the point of full charge, or a table by state of charge."""
    single = checked(
        quantity_reader(VOLTAGE, Limits(above=0.0, usual=(1.0, 120.0))), "a voltage is given in V, or as a table"
    )
    rows = _table((share_cell, voltage_cell), 2, "[state of charge, voltage], such as [0.5, 12.2 V]")

    def validate(value: object, info: ValidationInfo) -> tuple[tuple[float, ...], ...]:
        if isinstance(value, list):
            return cast(tuple[tuple[float, ...], ...], rows(value, info))
        return ((1.0, single(value, info)),)

    form = {"anyOf": [forms.quantity(bare=False), forms.table(2, 2)]}
    return Typed(validate, wants="a voltage is given in V, or as a table", form=lambda: form)


def share_cell(leaf: Leaf, reading: Reading) -> float:
    """A state of charge in a table. [-]"""
    value, rest, note = pure(leaf.text)
    value = value / 100 if rest == "%" else value
    if rest not in ("", "%") or not 0 <= value <= 1:
        raise Misreading("SCN120", f"{quoted(leaf.text)} is no state of charge, which is 0 to 1, or 0 % to 100 %")
    reading.understand(leaf, float(value), shown(value), note)
    return float(value)


def multiple_cell(leaf: Leaf, reading: Reading) -> float:
    """Current over rating in a table. [-]"""
    value, rest, note = pure(leaf.text)
    value = value / 100 if rest == "%" else value
    if rest not in ("", "%", "x") or not 0 < value <= 100:
        raise Misreading("SCN120", f"{quoted(leaf.text)} is no multiple of the rating, such as 2 or 200 %")
    reading.understand(leaf, float(value), f"{shown(value)} times the rating", note)
    return float(value)


def time_cell(leaf: Leaf, reading: Reading) -> float:
    """A time in a table, or `never`. [s]"""
    if clean(leaf.text).casefold() == "never":
        reading.understand(leaf, None, "never")
        return math.inf
    found = read_quantity(leaf.text, TIME)
    if found.value <= 0.0:
        raise Misreading("SCN120", f"{understood(found.value, TIME)} is out of range, it has to be above 0 s")
    reading.understand(leaf, found.value, understood(found.value, TIME), found.note)
    return found.value


def factor() -> BeforeValidator:
    """So many per cent of what it is by its sheet."""

    def read(leaf: Leaf, reading: Reading) -> float:
        value, rest, note = pure(leaf.text)
        if rest.casefold() in ("%", "percent", "per cent"):
            value /= 100
        elif rest:
            raise Misreading("SCN111", f"wants per cent, got {quoted(leaf.text)}", "such as 95 %")
        if not 0 < value <= 10:
            raise Misreading(
                "SCN120", f"{shown(100 * value)} % is out of range, it has to be above 0 and at most 1000 %"
            )
        reading.understand(leaf, float(value), f"{shown(100 * value)} % of its own", note)
        return float(value)

    return reader(read, "per cent of its own are wanted, such as 95 %")


def inputs() -> BeforeValidator:
    """A section whose keys are those of the file itself; it is read once all of them have been (uncertainty.py)."""
    wants = "each input with how far it may be off, such as payload: 10 %"
    return Typed(lambda value: value, wants=wants, form=lambda: forms.spreads(SINGLE_LAWS, LISTED_LAWS))
