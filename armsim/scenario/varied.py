"""One scenario with some of its values changed again and again: what may be varied, and the scenario at each value.

A value is put into the tree as if it had been typed in the file, so it is read, checked and explained like any other.
"""

import math
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path as FilePath
from typing import Any, TypeVar

from armsim.drivetrain.machine import Machine
from armsim.scenario.changes import put
from armsim.scenario.loading import scenario_of
from armsim.scenario.problems import Misreading, Place, Problem, ScenarioError, printable, quoted
from armsim.scenario.readers import Reading
from armsim.scenario.records import Scenario
from armsim.scenario.source import Leaf, Listing, Section, Sources
from armsim.scenario.special_readers import read_reduction
from armsim.scenario.validate import Path, dotted, find
from armsim.scenario.variants import keyed, read_document
from armsim.scenario.vary_options import MOST, OPTION, Option, Variation, path_of, taken_apart, variation_of

NOT_GEARED = ("rack", "drum", "rotor loss")  #: kinds of stages that make no slower turns of turns
Made = TypeVar("Made")
_RATIO_KEY = re.compile(r"(?:transmission\.(\d+)\.)?reduction")


class Template:
    """A scenario file, ready to be given other values."""

    def __init__(self, file: FilePath) -> None:
        """Read it. Raises ScenarioError for whatever is wrong with it as it stands."""
        self.file = FilePath(file)
        self.document = read_document(self.file)
        self.base = scenario_of(self.document, self.file)

    @classmethod
    def of(cls, scenario: Scenario) -> "Template":
        """Of a scenario that was read already. Raises ValueError for one that was made in code."""
        if scenario.document is None:
            raise ValueError("a scenario that was made in code has no keys to vary")
        made = cls.__new__(cls)
        made.document, made.base = scenario.document, scenario
        made.file = scenario.path or FilePath(scenario.document.file)
        return made

    def variations(self, options: Sequence[str]) -> tuple[Variation, ...]:
        """What each --vary asks for. Raises ScenarioError with every problem of all of them."""
        sources = Sources(lines=dict(self.document.sources.lines))
        sources.add(OPTION, "\n".join(" ".join(text.splitlines()) for text in options))
        found: list[Variation] = []
        problems: list[Problem] = []
        seen: dict[Path, int] = {}
        for line, text in enumerate(options, start=1):
            start = Place(file=OPTION, line=line, column=1)
            option = _told(taken_apart, (line, text), sources, start, text.partition("=")[0], problems)
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
                variation = _told(variation_of, (option, values), sources, option.place, option.key, problems)
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
                scenario = replace(scenario, machine=self.geared(scenario.machine, key, ratio))
        return scenario

    def _values(
        self, option: Option, sources: Sources, problems: list[Problem]
    ) -> tuple[float | bool | str, ...] | None:
        """Each end of an option in SI, or None with the problems told."""
        values: list[float | bool | str | None] = []
        before = len(problems)
        for text in option.ends:
            if is_ratio(option.key):
                values.append(_told(self._ratio, (option, text), sources, option.place, option.key, problems))
            else:
                values.append(self._read(option, text, sources, problems))
        return None if len(problems) > before else tuple(v for v in values if v is not None)

    def _ratio(self, option: Option, text: str) -> float:
        leaf = Leaf(text=text, place=option.place, key=option.key)
        ratio = read_reduction(leaf, Reading(sources=Sources()))
        self.geared(self.base.machine, option.key, ratio)
        return ratio

    def geared(self, machine: Machine, key: str, ratio: Any) -> Machine:
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


def _told(
    make: Callable[..., Made],
    arguments: tuple[Any, ...],
    sources: Sources,
    place: Place,
    key: str,
    problems: list[Problem],
) -> Made | None:
    """What a function makes of its arguments; None with the problem told where they are misread."""
    try:
        return make(*arguments)
    except Misreading as fault:
        width = max(1, len(sources.line(place)) - place.column + 1)
        problems.append(sources.problem(place, printable(key), fault, width=width))
        return None


def is_ratio(key: str) -> bool:
    """True for the reduction of a stage, or of the whole train, set with all else of the stage kept."""
    return _RATIO_KEY.fullmatch(key) is not None


def _placed(tree: Section, key: str, text: str, at: Place) -> Section:
    """The tree with one value at a key, each value of it knowing its key."""
    _refuse_shape(tree, path_of(key))
    placed = put(tree, [str(step) for step in path_of(key)], Leaf(text=text, place=at), "", at)
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
