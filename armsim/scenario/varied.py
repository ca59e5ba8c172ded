"""One scenario with some of its values changed again and again: what may be varied, and the scenario at each value.

A value is put into the tree as if it had been typed in the file, so it is read, checked and explained like any other.
"""

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path as FilePath

from armsim.drivetrain.machine import Machine
from armsim.scenario.changes import put
from armsim.scenario.loading import scenario_of
from armsim.scenario.numbers import clean, read_number, shown
from armsim.scenario.problems import Misreading, Place, Problem, ScenarioError, printable, quoted
from armsim.scenario.readers import Reading
from armsim.scenario.records import Scenario
from armsim.scenario.source import Leaf, Listing, Section, Sources
from armsim.scenario.special_readers import read_reduction
from armsim.scenario.validate import Path, dotted, find
from armsim.scenario.variants import keyed, read_document

OPTION = "--vary"  #: what stands in place of a file's name
FORMS = "write KEY=FROM:TO:COUNT, such as arm.payload.mass=5kg:20kg:40, or KEY=14,18,24"
MOST = 200_000  #: values of one key, and rows in all
NOT_GEARED = ("rack", "drum", "rotor loss")  #: kinds of stages that make no slower turns of turns
_STEP = re.compile(r"[^.\[\]]+")
_RATIO_KEY = re.compile(r"(?:transmission\.(\d+)\.)?reduction")


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


class Template:
    """A scenario file, ready to be given other values."""

    def __init__(self, file: FilePath) -> None:
        """Read it. Raises ScenarioError for whatever is wrong with it as it stands."""
        self.file = FilePath(file)
        self.document = read_document(self.file)
        self.base = scenario_of(self.document, self.file)

    def variations(self, options: Sequence[str]) -> tuple[Variation, ...]:
        """What each --vary asks for. Raises ScenarioError with every problem of all of them."""
        sources = Sources(lines=dict(self.document.sources.lines))
        sources.add(OPTION, "\n".join(" ".join(text.splitlines()) for text in options))
        found: list[Variation] = []
        problems: list[Problem] = []
        seen: dict[Path, int] = {}
        for line, text in enumerate(options, start=1):
            start = Place(file=OPTION, line=line, column=1)
            option = _told(_taken_apart, (line, text), sources, start, text.partition("=")[0], problems)
            if option is None:
                continue
            if option.path in seen:
                fault = Misreading(
                    "SCN104", f"varied twice, by options {seen[option.path]} and {line}", "keep one of them"
                )
                problems.append(sources.problem(start, option.key, fault, width=len(option.key)))
            seen.setdefault(option.path, line)
            values = self._values(option, sources, problems)
            if values is not None:
                variation = _told(_variation, (option, values), sources, option.place, option.key, problems)
                found += [variation] if variation is not None else []
        rows = math.prod(len(variation.texts) for variation in found)
        if not problems and rows > MOST:
            fault = Misreading("SCN120", f"{rows} rows in all are more than the {MOST} that are run", "fewer values")
            problems.append(sources.problem(Place(file=OPTION, line=1, column=1), "", fault))
        if problems:
            raise ScenarioError(self.document.file, tuple(_once(problems)))
        return tuple(found)

    def scenario(self, texts: Mapping[str, str]) -> Scenario:
        """The scenario with other values at some keys. Raises ScenarioError where they do not go together."""
        typed = {key: text for key, text in texts.items() if not is_ratio(key)}
        scenario = self.base
        if typed:
            sources = Sources(lines=dict(self.document.sources.lines))
            tree = self.document.tree
            for key, text in typed.items():
                tree = _placed(tree, key, text, Place(file=OPTION))
            sources.add(OPTION, "")
            scenario = scenario_of(replace(self.document, tree=tree, sources=sources), self.file)
        for key, text in texts.items():
            if key not in typed:
                ratio = read_reduction(Leaf(text=text, place=Place(file=OPTION)), Reading(sources=Sources()))
                scenario = replace(scenario, machine=self._geared(scenario.machine, key, ratio))
        return scenario

    def _values(
        self, option: Option, sources: Sources, problems: list[Problem]
    ) -> tuple[float | bool | str, ...] | None:
        """Each end of an option in SI, or None with the problems told."""
        values, before = [], len(problems)
        for text in option.ends:
            if is_ratio(option.key):
                value = _told(self._ratio, (option, text), sources, option.place, option.key, problems)
            else:
                value = self._read(option, text, sources, problems)
            values.append(value)
        return None if len(problems) > before else tuple(v for v in values if v is not None)

    def _ratio(self, option: Option, text: str) -> float:
        leaf = Leaf(text=text, place=option.place, key=option.key)
        ratio = read_reduction(leaf, Reading(sources=Sources()))
        self._geared(self.base.machine, option.key, ratio)
        return ratio

    def _geared(self, machine: Machine, key: str, ratio: float) -> Machine:
        """The machine with another reduction of one stage, or of all through its last; all else of the stage stays."""
        match = _RATIO_KEY.fullmatch(key)
        assert match is not None
        listed = self.document.tree.entries.get("transmission")
        count = len(listed.items) if isinstance(listed, Listing) else 0
        inside = len(machine.stages) - count
        turning = [k for k, stage in enumerate(machine.stages) if stage.kind not in NOT_GEARED]
        if match[1] is not None:
            k, factor = inside + int(match[1]), 1.0
            if int(match[1]) >= count:
                raise Misreading("SCN102", f"there is no stage {match[1]}", f"stages count from 0 to {count - 1}")
            if k not in turning:
                raise Misreading("SCN102", "this stage makes travel of turns", "vary the size of its pinion or drum")
        elif not turning:
            raise Misreading("SCN102", "there is no stage whose reduction could be changed", "add a gearbox stage")
        else:
            k = turning[-1]
            factor = math.prod(machine.stages[j].reduction for j in turning[:-1])
        stages = list(machine.stages)
        stages[k] = replace(stages[k], reduction=ratio / factor)
        return replace(machine, stages=tuple(stages))

    def _read(self, option: Option, text: str, sources: Sources, problems: list[Problem]) -> float | bool | str | None:
        """One value in the scenario's tree, read and checked there."""
        at_key = Place(file=OPTION, line=option.line, column=1)
        tree = _told(
            _placed,
            (self.document.tree, option.key, text, option.place),
            sources,
            at_key,
            option.key,
            problems,
        )
        if tree is None:
            return None
        try:
            scenario = scenario_of(replace(self.document, tree=tree, sources=sources), self.file)
        except ScenarioError as error:
            problems += [_blamed(problem, option, text) for problem in error.problems]
            return None
        value = next((entry.value for entry in scenario.entries if entry.place == option.place), None)
        if value is None:
            fault = Misreading("SCN109", "is not read as one value", "name a value that stands in the scenario")
            problems.append(sources.problem(at_key, option.key, fault, width=len(option.key)))
        return value


def _blamed(problem: Problem, option: Option, text: str) -> Problem:
    """A problem of the file that only the value varied makes says so."""
    if problem.file == OPTION:
        return problem
    return replace(problem, text=f"{problem.text} (with {option.key} at {printable(text)})")


def _once(problems: Sequence[Problem]) -> list[Problem]:
    """Without what both ends of a range have wrong alike: their unit, or the kind of value."""
    alike = ("SCN109", "SCN110", "SCN111", "SCN112", "SCN115")
    seen = {(p.file, p.line, p.column, p.code, "" if p.code in alike else p.text): p for p in reversed(problems)}
    return list(reversed(seen.values()))


def _told(make, arguments, sources, place, key, problems):  # type: ignore[no-untyped-def]
    """What a function makes of its arguments; None with the problem told where they are misread."""
    try:
        return make(*arguments)
    except Misreading as fault:
        width = max(1, len(sources.line(place)) - place.column + 1)
        problems.append(sources.problem(place, printable(key), fault, width=width))
        return None


# --------------------------------------------------------------------------------------------- one option taken apart


def is_ratio(key: str) -> bool:
    """True for the reduction of a stage, or of the whole train, set with all else of the stage kept."""
    return _RATIO_KEY.fullmatch(key) is not None


def _path(key: str) -> Path:
    return tuple(int(step) if step.isdecimal() else step for step in _STEP.findall(key))


def _taken_apart(line: int, text: str) -> Option:
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
        line=line, typed=text, key=key, path=_path(key), ends=ends, column=text.index("=") + 2, count=count, log=log
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


def _variation(option: Option, values: tuple[float | bool | str, ...]) -> Variation:
    """The values of an option whose ends are known in SI."""
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
    si = _spaced(float(values[0]), float(values[-1]), option.count, option.log)
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


def _placed(tree: Section, key: str, text: str, at: Place) -> Section:
    """The tree with one value at a key, each value of it knowing its key."""
    _refuse_shape(tree, _path(key))
    placed = put(tree, _STEP.findall(key), Leaf(text=text, place=at), "", at)
    assert isinstance(placed, Section)
    return keyed(placed)


def _refuse_shape(tree: Section, path: Path) -> None:
    """Raise Misreading for a key that the file has, but not as one value."""
    for k in range(1, len(path) + 1):
        here, above = find(tree, path[:k]), find(tree, path[: k - 1])
        if isinstance(here, Leaf) and k < len(path):
            raise Misreading("SCN109", f"{dotted(path[:k])} is one value, {quoted(here.text)}", "vary that one")
        if isinstance(above, Listing) and here is None:
            name = ".".join(map(str, path[: k - 1]))
            items = f"items are counted from 0 to {len(above.items) - 1}, such as {name}.0"
            raise Misreading("SCN102", f"{name} is a list without {quoted(str(path[k - 1]))}", items)
    if isinstance(here, (Section, Listing)):
        names = here.entries if isinstance(here, Section) else map(str, range(len(here.items)))
        shape = "a section" if isinstance(here, Section) else "a list"
        raise Misreading("SCN109", f"is {shape}, not one value", f"in it: {', '.join(names)}")
