"""One --vary as typed: a range, a list of numbers or of words, taken apart and spaced out."""

import re
from dataclasses import dataclass

from armsim.scenario.numbers import clean, read_number, shown
from armsim.scenario.problems import Misreading, Place, quoted
from armsim.scenario.validate import Path

OPTION = "--vary"  #: what stands in place of a file's name
FORMS = "write KEY=FROM:TO:COUNT, such as arm.payload.mass=5kg:20kg:40, or KEY=14,18,24"
MOST = 200_000  #: values of one key, and rows in all
_STEP = re.compile(r"[^.\[\]]+")


@dataclass(frozen=True, kw_only=True)
class Variation:
    """One key and the values it takes."""

    key: str  #: dotted, lists as .0
    texts: tuple[str, ...]  #: each value as it would stand in the file
    numbers: tuple[float, ...] | None  #: the same in `unit`; None for words
    values: tuple[float | bool | str, ...]  #: in SI, or words
    unit: str  #: as typed; empty for pure numbers and words
    between: bool  #: numbers between these can be taken too
    ranged: bool = False  #: asked for by its ends; else as a list
    log: bool = False  #: spaced by equal ratios

    def value_of(self, text: str, number: float | None) -> float | bool | str:
        """A value in SI, or a word: one of these, or where numbers lie between them any other of its unit."""
        if text in self.texts:
            return self.values[self.texts.index(text)]
        assert number is not None
        assert self.numbers is not None
        first, last = self.values[0], self.values[-1]
        share = (number - self.numbers[0]) / (self.numbers[-1] - self.numbers[0])
        return float(first) + share * (float(last) - float(first))

    def text_at(self, number: float) -> str:
        """How a number of this key would stand in the file."""
        return _written(number, self.unit)


@dataclass(frozen=True, kw_only=True)
class Option:
    """One --vary as typed, taken apart; columns count from 1."""

    line: int
    typed: str
    key: str
    path: Path
    ends: tuple[str, ...]  #: first and last of a range, or every value of a list
    column: int  #: of the values
    count: int | None  #: of a range
    log: bool

    @property
    def place(self) -> Place:
        """Of the values."""
        return Place(file=OPTION, line=self.line, column=self.column)


def path_of(key: str) -> Path:
    """Where a dotted key leads; its steps in brackets count alike."""
    return tuple(int(step) if step.isdecimal() else step for step in _STEP.findall(key))


def taken_apart(line: int, text: str) -> Option:
    """An option as typed. Raises Misreading."""
    key, equals, values = text.partition("=")
    key = ".".join(_STEP.findall(clean(key)))
    if not equals or not key or not values.strip():
        raise Misreading("SCN122", "names no key with values", FORMS)
    fields = [part.strip() for part in values.split(":")]
    count, log = None, False
    if len(fields) == 1:
        ends = tuple(part.strip() for part in values.split(","))
        if len(ends) < 2 or not all(ends):
            raise Misreading("SCN122", f"{quoted(values)} is no range and no list of values", FORMS)
        if len(set(ends)) < len(ends):
            raise Misreading("SCN104", f"{quoted(values)} has a value twice", "each value once")
    else:
        ends, count, log = _range(fields, values)
    return Option(
        line=line, typed=text, key=key, path=path_of(key), ends=ends, column=text.index("=") + 2, count=count, log=log
    )


def _range(fields: list[str], values: str) -> tuple[tuple[str, ...], int, bool]:
    log = len(fields) == 4 and fields[3].casefold() == "log"
    if not (len(fields) == 3 or log) or not all(fields):
        raise Misreading(
            "SCN122", f"{quoted(values)} is no FROM:TO:COUNT", f"{FORMS}; :log after COUNT spaces by ratio"
        )
    try:
        first, last = (read_number(clean(end)) for end in fields[:2])
    except Misreading as fault:
        hint = f"FROM and TO are numbers; words are listed: KEY=a,b. {fault.hint}".strip()
        raise Misreading(fault.code, fault.text, hint) from None
    if first.rest and last.rest and first.rest != last.rest:
        raise Misreading("SCN122", f"from {first.rest} to {last.rest}: two units", "write both ends in one unit")
    unit = first.rest or last.rest
    if not re.fullmatch(r"[0-9]+", fields[2]):
        raise Misreading("SCN113", f"COUNT is a whole number, got {quoted(fields[2])}", FORMS)
    if not 2 <= int(fields[2]) <= MOST:
        raise Misreading("SCN120", f"COUNT {fields[2]} is out of range, it has to be 2 to {MOST}", "both ends count")
    if first.value == last.value:
        raise Misreading("SCN120", f"FROM and TO are both {shown(first.value)}", "a range has two ends")
    if log and min(first.value, last.value) <= 0:
        raise Misreading("SCN120", "steps by ratio need both ends above 0", "leave :log out")
    # as typed: the reader of the key gets to see what a person wrote
    ends = tuple(
        end if number.rest else f"{end} {unit}".strip() for end, number in zip(fields[:2], (first, last), strict=True)
    )
    return ends, int(fields[2]), log


def variation_of(option: Option, values: tuple[float | bool | str, ...]) -> Variation:
    """The values of an option whose ends are known in SI. Raises Misreading."""
    words = any(isinstance(value, (bool, str)) for value in values)
    whole = not words and all(isinstance(value, int) for value in values)
    if option.count is None:
        read = None if words else [read_number(clean(text)) for text in option.ends]
        units = {number.rest for number in read} if read else set()
        numbers = tuple(float(number.value) for number in read) if read and len(units) == 1 else None
        return Variation(
            key=option.key, texts=option.ends, numbers=numbers, values=values,
            unit=units.pop() if numbers else "", between=False,
        )  # fmt: skip
    if words:
        raise Misreading("SCN122", "is no number, so nothing lies between two of its values", "list them: KEY=a,b,c")
    first, last = (read_number(clean(text)) for text in option.ends)
    numbers = _spaced(float(first.value), float(last.value), option.count, option.log)
    if whole and any(number != round(number) for number in numbers):
        count = int(abs(last.value - first.value)) + 1
        hint = f"{shown(first.value)}:{shown(last.value)}:{count} takes every whole number"
        raise Misreading("SCN120", f"{option.count} steps fall between whole numbers", hint)
    steps = [(number - numbers[0]) / (numbers[-1] - numbers[0]) for number in numbers[1:-1]]
    inner = (float(values[0]) + step * (float(values[-1]) - float(values[0])) for step in steps)
    si = (values[0], *inner, values[-1])  # some units do not count from the zero of SI, so ratios are those as typed
    texts = (option.ends[0], *(_written(n, first.rest) for n in numbers[1:-1]), option.ends[1])
    return Variation(
        key=option.key, texts=texts, numbers=numbers, values=si, unit=first.rest, between=not whole, ranged=True,
        log=option.log,
    )  # fmt: skip


def _spaced(first: float, last: float, count: int, log: bool) -> tuple[float, ...]:
    """So many numbers from one to another, evenly or by equal ratios, ends exactly kept."""
    if log and first > 0.0 and last > 0.0:
        inner = [first * (last / first) ** (k / (count - 1)) for k in range(1, count - 1)]
    else:
        inner = [first + (last - first) * k / (count - 1) for k in range(1, count - 1)]
    return (first, *inner, last)


def _written(number: float, unit: str) -> str:
    """A number as a file may carry it, to the last digit that counts."""
    plain = f"{round(number)}" if number == round(number) and abs(number) < 1e15 else f"{number:.12g}"
    return f"{plain} {unit}".strip()
