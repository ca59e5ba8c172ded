"""Readers of single values: each takes what was typed and gives SI, noting how it was understood.

They are validators of the schema's fields. What they cannot read they report themselves, with place and hint,
into the Reading that travels with the validation; the schema only learns that the field failed.
"""

import math
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any, NoReturn

from pydantic import BeforeValidator, ValidationInfo
from pydantic_core import PydanticCustomError

from armsim.scenario import forms
from armsim.scenario.dimensions import Dimension, understood
from armsim.scenario.forms import Form, Typed
from armsim.scenario.numbers import clean, read_number, shown
from armsim.scenario.problems import Misreading, Problem, printable, quoted
from armsim.scenario.quantities import read_quantity
from armsim.scenario.records import Entry, Measure
from armsim.scenario.source import Leaf, Sources

_HINTLESS = ("SCN112", "SCN113")  # refusals of a text as such: what is wanted is the best hint
TOLD = "told"  #: type of the errors that a reader has reported itself

_YES = ("yes", "y", "true", "on")
_NO = ("no", "n", "false", "off")


@dataclass
class Reading:
    """What came out of reading one scenario: values, faults and warnings."""

    sources: Sources
    carriage: bool = False  #: a carriage stands in place of the arm, so that places are lengths
    entries: list[Entry] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)

    def refuse(self, leaf: Leaf, fault: Misreading) -> None:
        """Report a value that cannot be taken."""
        self.problems.append(self.sources.problem(leaf.place, leaf.key, fault, width=len(leaf.text)))

    def warn(self, leaf: Leaf, fault: Misreading) -> None:
        """Report a value that is taken, and looks odd."""
        problem = self.sources.problem(leaf.place, leaf.key, fault, width=len(leaf.text), severity="warning")
        self.problems.append(problem)

    def understand(
        self,
        leaf: Leaf,
        value: float | bool | str | None,
        echo: str,
        note: str = "",
        measure: Measure | None = None,
    ) -> None:
        """Keep what a value was understood to be."""
        self.entries.append(
            Entry(
                key=leaf.key,
                typed=printable(leaf.text),
                value=value,
                understood=echo,
                place=leaf.place,
                note=note,
                measure=measure,
            )
        )


Reader = Callable[[Leaf, Reading], Any]
Validator = Callable[[object, ValidationInfo], Any]


def told() -> NoReturn:
    raise PydanticCustomError(TOLD, "reported by its reader")


def reading_of(info: ValidationInfo) -> Reading:
    assert isinstance(info.context, Reading)
    return info.context


def checked(read: Reader, wants: str) -> Validator:
    def validate(value: object, info: ValidationInfo) -> Any:
        if not isinstance(value, Leaf):
            raise PydanticCustomError("single_value", "{wants}", {"wants": wants})
        if value.empty:
            raise PydanticCustomError("empty_value", "{wants}", {"wants": wants})
        reading = reading_of(info)
        try:
            return read(value, reading)
        except Misreading as fault:
            if fault.code in _HINTLESS and not fault.hint:
                fault.hint = wants
            reading.refuse(value, fault)
            told()

    return validate


def reader(read: Reader, wants: str, form: Callable[[], Form] = forms.scalar) -> BeforeValidator:
    """A field validator from a function of one typed value; `wants` ends the sentence of an empty one."""
    return Typed(checked(read, wants), wants=wants, form=form)


@dataclass(frozen=True, kw_only=True)
class Limits:
    """What a value may be, in SI, and what it usually is."""

    above: float | None = None
    least: float | None = None
    below: float | None = None
    most: float | None = None
    usual: tuple[float, float] | None = None

    def measure(self, dimension: Dimension | None) -> Measure:
        """What a value of these limits measures; an open limit stands for itself."""
        low = [limit for limit in (self.above, self.least) if limit is not None]
        high = [limit for limit in (self.below, self.most) if limit is not None]
        return Measure(dimension=dimension, least=max(low, default=-math.inf), most=min(high, default=math.inf))

    def refuse(self, value: float, show: Callable[[float], str]) -> str:
        """Why a value is out of range, empty if it is not."""
        bounds = (
            (self.above, lambda limit: value > limit, "more than"),
            (self.least, lambda limit: value >= limit, "at least"),
            (self.below, lambda limit: value < limit, "less than"),
            (self.most, lambda limit: value <= limit, "at most"),
        )
        for limit, kept, words in bounds:
            if limit is not None and not kept(limit):
                return f"{show(value)} is out of range, it has to be {words} {show(limit)}"
        return ""

    def as_form(self) -> dict[str, float | None]:
        """The limits as JSON Schema names them."""
        return {
            "exclusiveMinimum": self.above,
            "minimum": self.least,
            "exclusiveMaximum": self.below,
            "maximum": self.most,
        }

    def unusual(self, value: float) -> bool:
        """True where a value is far from what machines of this kind have."""
        return self.usual is not None and value != 0.0 and not self.usual[0] <= abs(value) <= self.usual[1]


def quantity_reader(dimension: Dimension, allowed: Limits) -> Reader:
    def read(leaf: Leaf, reading: Reading) -> float:
        found = read_quantity(leaf.text, dimension)
        echo = understood(found.value, dimension)
        fault = allowed.refuse(found.value, lambda value: understood(value, dimension))
        if fault:
            raise Misreading("SCN120", fault)
        if allowed.unusual(found.value):
            assert allowed.usual is not None
            low, high = (understood(bound, dimension) for bound in allowed.usual)
            text = f"{echo} is far from the usual, {low} to {high}; was another unit meant?"
            reading.warn(leaf, Misreading("SCN130", text))
        reading.understand(leaf, found.value, echo, found.note, allowed.measure(dimension))
        return found.value

    return read


def quantity(dimension: Dimension, **limits: Any) -> BeforeValidator:
    """A number with a unit."""
    wants = f"{dimension.name} is given in {', '.join(dimension.offers)}"
    return reader(quantity_reader(dimension, Limits(**limits)), wants, lambda: forms.quantity(bool(dimension.bare)))


def pure(text: str) -> tuple[Fraction, str, str]:
    number = read_number(clean(text))
    return number.value, number.rest, number.note


def number(**limits: Any) -> BeforeValidator:
    """A number that has no unit."""
    allowed = Limits(**limits)

    def read(leaf: Leaf, reading: Reading) -> float:
        value, rest, note = pure(leaf.text)
        if rest:
            raise Misreading("SCN111", f"wants a number without unit, got {quoted(leaf.text)}", f"write {shown(value)}")
        fault = allowed.refuse(float(value), shown)
        if fault:
            raise Misreading("SCN120", fault)
        reading.understand(leaf, float(value), shown(value), note, allowed.measure(None))
        return float(value)

    return reader(read, "a number without unit is wanted", lambda: forms.number(allowed.as_form()))


def whole(least: int, most: int, *, noun: str = "") -> BeforeValidator:
    """A count; `14T` and `14 teeth` are taken for teeth."""

    def read(leaf: Leaf, reading: Reading) -> int:
        value, rest, note = pure(leaf.text)
        if rest and not (noun == "teeth" and re.fullmatch(r"(?i)t|teeth|tooth", rest)):
            raise Misreading(
                "SCN113",
                f"wants a whole number, got {quoted(leaf.text)}",
                f"write {shown(value)}" if value.denominator == 1 else "",
            )
        if value.denominator != 1:
            raise Misreading("SCN120", f"{shown(value)} is not a whole number")
        if not least <= value <= most:
            raise Misreading("SCN120", f"{shown(value)} is out of range, it has to be {least} to {most}")
        reading.understand(leaf, int(value), f"{value} {noun}".strip(), note)
        return int(value)

    wants = f"a whole number{' of ' + noun if noun else ''} is wanted"
    return reader(read, wants, lambda: forms.whole(least, most, teeth=noun == "teeth"))


def share_reader(*, zero: bool) -> Reader:
    """Reads a part of one."""

    def read(leaf: Leaf, reading: Reading) -> float:
        value, rest, note = pure(leaf.text)
        if rest.casefold() in ("%", "percent", "per cent"):
            value /= 100
        elif rest:
            raise Misreading("SCN111", f"wants a part of one, got {quoted(leaf.text)}", "write 0.75 or 75 %")
        elif 1 < value <= 100:
            raise Misreading(
                "SCN114",
                f"{shown(value)} % or {shown(value)} times?",
                f"write {shown(value)} % or {shown(value / 100)}",
            )
        if value > 1 or value < 0 or (value == 0 and not zero):
            low = "0 to 1" if zero else "above 0 and at most 1"
            raise Misreading("SCN120", f"{shown(value)} is out of range, it has to be {low}", "write 0.75 or 75 %")
        part = Measure(dimension=None, least=0.0, most=1.0, share=True)
        reading.understand(leaf, float(value), f"{shown(value)} ({shown(value * 100)} %)", note, part)
        return float(value)

    return read


def share(*, zero: bool = False) -> BeforeValidator:
    """A part of one: 0.75 or 75 %; above 1 without the percent sign is asked about."""
    return reader(share_reader(zero=zero), "a part of one is wanted, such as 0.75 or 75 %", forms.share)


def yes_no() -> BeforeValidator:
    """Yes or no in any of its usual words."""

    def read(leaf: Leaf, reading: Reading) -> bool:
        word = clean(leaf.text).casefold()
        if word not in _YES + _NO:
            raise Misreading("SCN115", f"wants yes or no, got {quoted(leaf.text)}")
        reading.understand(leaf, word in _YES, "yes" if word in _YES else "no")
        return word in _YES

    return reader(read, "yes or no is wanted", lambda: forms.yes_no(_YES + _NO))


def choice(*words: str) -> BeforeValidator:
    """One of a few words, in upper or lower case."""

    def read(leaf: Leaf, reading: Reading) -> str:
        word = clean(leaf.text).casefold()
        if word not in words:
            raise Misreading("SCN115", f"wants one of {', '.join(words)}; got {quoted(leaf.text)}")
        reading.understand(leaf, word, word)
        return word

    return reader(read, f"one of {', '.join(words)} is wanted", lambda: forms.choice(words))


def text(longest: int = 2000, offers: Callable[[], Iterable[str]] | None = None) -> BeforeValidator:
    """Words, kept as they are; `offers` gives those that will be asked for later."""

    def read(leaf: Leaf, reading: Reading) -> str:
        words = printable(leaf.text).strip()
        if len(words) > longest:
            raise Misreading("SCN120", f"{len(words)} characters are more than the {longest} that fit here")
        reading.understand(leaf, words, words)
        return words

    return reader(read, "some words are wanted", forms.text if offers is None else lambda: forms.choice(offers()))


def one_or_more() -> BeforeValidator:
    """A list that one alone may stand for."""
    return BeforeValidator(lambda value: value if isinstance(value, list) else [value])
