"""The designs of a sweep: which rows there are, the machine of each, and what many of them come to at once.

A key that is a setting, or a reduction, is moved in the built machine; any other is put into the scenario, which is
built anew once for each of its values. What cannot be built says why in its row and stops no other.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from armsim.drivetrain.machine import Machine
from armsim.dynamics.ensemble import pick, stacked
from armsim.dynamics.plan import Plan, lifts
from armsim.scenario import ScenarioError
from armsim.scenario.rebuild import Blueprint, blueprint
from armsim.scenario.uncertainty import steps
from armsim.scenario.varied import is_ratio
from armsim.scenario.vary_options import Variation
from armsim.studies.many import Question, evaluate_designs, run_each, up_to_lift
from armsim.studies.settings import Setting, setting_for
from armsim.studies.sweep_rows import WHY, Columns, Point, Row, blank, held_against, rows_of

if TYPE_CHECKING:
    from armsim.scenario.records import Measure, Wish
    from armsim.scenario.varied import Template

TOGETHER_COST, BUILT_COST, EXACT_COST = 1e-3, 3e-3, 0.1  #: time of a row on one ordinary core [s]
TOGETHER = 1024  #: rows at once; fewer share the cost of a step among too few
REBUILT = ("motor", "supply", "controller", "transmission", "arm", "carriage", "ambient")  #: sections of the machine

Places = NDArray[np.intp]
Follow = Callable[[Question, Machine, int], Columns]


class SweepError(Exception):
    """A scenario that no sweep can be made of."""

    exit_status = 2


class Built(NamedTuple):
    """A scenario at some values of the keys for which it is built anew."""

    machine: Machine
    plan: Plan
    wishes: "tuple[Wish, ...]"


class Group(NamedTuple):
    """Rows that are followed at once."""

    rows: Places
    question: Question
    machine: Machine  #: of arrays


@dataclass(frozen=True, kw_only=True)
class Job:
    """A scenario and the keys that vary. Picklable, and all that any rows are made from."""

    template: "Template"
    variations: tuple[Variation, ...]

    @property
    def keys(self) -> tuple[str, ...]:
        """The keys that vary."""
        return tuple(variation.key for variation in self.variations)

    @property
    def shape(self) -> tuple[int, ...]:
        """How many values each key has."""
        return tuple(len(variation.texts) for variation in self.variations)

    @property
    def count(self) -> int:
        """Rows of the grid."""
        return int(np.prod(self.shape))

    @property
    def row_cost(self) -> float:
        """Time that a row takes one worker, roughly. [s]"""
        if not self._followed:
            return EXACT_COST
        return BUILT_COST if self._anew else TOGETHER_COST

    @property
    def together(self) -> int:
        """Rows below which each takes notably more, where they are followed at once."""
        return TOGETHER if self._followed else 1

    @property
    def _followed(self) -> bool:
        return Question.of(self.template.base).unsupported is None

    def points(self, start: int, stop: int) -> list[Point]:
        """Rows `start` up to before `stop` of the grid; the last key runs fastest."""
        found = []
        for place in zip(
            *(axis.tolist() for axis in np.unravel_index(np.arange(start, stop), self.shape)), strict=True
        ):
            pairs = list(zip(self.variations, place, strict=True))
            texts = tuple(variation.texts[k] for variation, k in pairs)
            found.append(Point(texts, tuple(None if v.numbers is None else v.numbers[k] for v, k in pairs)))
        return found

    def columns(self, points: Sequence[Point], follow: Follow = evaluate_designs) -> Columns:
        """What each point comes to; many together where that can be done."""
        whole, why = blank(len(points)), [""] * len(points)
        whole["failed"][:] = True
        groups = list(self._groups(points, why))
        for group in groups:
            found = follow(group.question, group.machine, len(group.rows))
            for name, column in held_against(group.question, group.machine, found).items():
                whole[name][group.rows] = column
            for place in np.flatnonzero(found["failed"]).tolist():
                why[group.rows[place]] = _why(group, place)
        whole[WHY] = np.array(why, dtype=str)
        return whole

    def rows(self, points: Sequence[Point]) -> list[Row]:
        """The same row by row."""
        return rows_of(points, self.columns(points))

    def exact(self, point: Point) -> Row:
        """The row of a point by the exact run."""
        return rows_of([point], self.columns([point], exactly))[0]

    # ------------------------------------------------------------------------------------------------------- machines

    def _groups(self, points: Sequence[Point], why: list[str]) -> Iterator[Group]:
        """Points whose machines are of one structure and asked for the same; `why` is told of those not built."""
        builds: dict[tuple[str, ...], Built | str] = {}
        rows: dict[tuple[str, ...], list[int]] = {}
        for k, point in enumerate(points):
            texts = tuple(point.texts[place] for place in self._anew)
            if texts not in builds:
                builds[texts] = self._built(point)
            made = builds[texts]
            if isinstance(made, str):
                why[k] = made
            else:
                rows.setdefault(texts, []).append(k)
        alike: dict[object, list[tuple[str, ...]]] = {}
        for texts in rows:
            made = builds[texts]
            assert isinstance(made, Built)
            words = tuple(
                t for t, place in zip(texts, self._anew, strict=True) if self.variations[place].numbers is None
            )
            alike.setdefault((made.plan, made.wishes, words), []).append(texts)
        for several in alike.values():
            yield from self._joined(points, [(builds[texts], rows[texts]) for texts in several])

    def _joined(self, points: Sequence[Point], parts: "Sequence[tuple[Built | str, list[int]]]") -> Iterator[Group]:
        """One group of all, or one of each where machines differ in what they are made of."""
        made = [one for one, _ in parts if isinstance(one, Built)]
        places = np.array([k for _, rows in parts for k in rows], dtype=np.intp)
        if len(made) == 1:
            yield self._group(points, places, made[0])
            return
        try:
            several = stacked([one.machine for one in made])
        except ValueError:
            for part in parts:
                yield from self._joined(points, [part])
            return
        which = np.repeat(np.arange(len(parts)), [len(rows) for _, rows in parts])
        yield self._group(points, places, made[0]._replace(machine=pick(several, which)))

    def _group(self, points: Sequence[Point], places: Places, of: Built) -> Group:
        machine = of.machine
        for place, variation in enumerate(self.variations):
            if place in self._anew:
                continue
            pairs = ((points[k].texts[place], points[k].numbers[place]) for k in places.tolist())
            values = np.array([variation.value_of(*pair) for pair in pairs], dtype=float)
            setting = self._settings[place]
            if setting is not None:
                machine = setting.apply(machine, values)
            else:
                machine = self.template.geared(machine, variation.key, values)
        return Group(places, Question(machine=of.machine, plan=of.plan, wishes=of.wishes), machine)

    @cached_property
    def _settings(self) -> tuple[Setting | None, ...]:
        """Of each key, where it is one; none where factors of `as_built` would have to be put on its value."""
        if any(key.startswith("as_built.") for key in (*self.keys, *(e.key for e in self.template.base.entries))):
            return (None,) * len(self.keys)
        return tuple(setting_for(self.template.base.machine, bracketed(key)) for key in self.keys)

    @cached_property
    def _anew(self) -> tuple[int, ...]:
        """Keys for which the scenario is built anew."""
        return tuple(k for k, key in enumerate(self.keys) if self._settings[k] is None and not is_ratio(key))

    def _measured(self, place: int) -> "Measure | None":
        """What a key measures that may be put into what was read; None for words, counts and what bears on more."""
        key = bracketed(self.keys[place])
        entry = next((entry for entry in self.template.base.entries if entry.key == key), None)
        if entry is None or not isinstance(entry.value, float) or steps(key)[0] not in REBUILT:
            return None
        return entry.measure

    @cached_property
    def _blueprint(self) -> Blueprint | None:
        """For keys that all are numbers of the machine."""
        return blueprint(self.template.base) if all(self._measured(place) for place in self._anew) else None

    def _built(self, point: Point) -> Built | str:
        """The scenario of a point but for its settings and reductions, or why there is none."""
        base = self.template.base
        if not self._anew:
            return Built(base.machine, up_to_lift(base.plan), base.requirements)
        if self._blueprint is not None:
            built = self._blueprint.built([self._put(point, place) for place in self._anew])
            if built is not None:
                return Built(built[0], up_to_lift(built[1]), base.requirements)
        try:
            scenario = self.template.scenario({self.keys[place]: point.texts[place] for place in self._anew})
        except ScenarioError as error:
            return error.problems[0].text
        if not any(map(lifts, scenario.plan.moves)):
            return "has no lift among its moves"
        return Built(scenario.machine, up_to_lift(scenario.plan), scenario.requirements)

    def _put(self, point: Point, place: int) -> "tuple[str, float, Measure]":
        measure = self._measured(place)
        assert measure is not None
        value = self.variations[place].value_of(point.texts[place], point.numbers[place])
        return bracketed(self.keys[place]), float(value), measure


def job_of(template: "Template", variations: Sequence[Variation]) -> Job:
    """The rows that a sweep asks for. Raises SweepError for a scenario that lifts nothing."""
    if not any(map(lifts, template.base.plan.moves)):
        raise SweepError(f"{template.file} has no lift among its moves; a sweep follows the first lift of each row.")
    return Job(template=template, variations=tuple(variations))


def rows_evaluated(job: Job, span: tuple[int, int]) -> Columns:
    """The columns of some rows of the grid. Picklable, pure."""
    return job.columns(job.points(*span))


def span(start: int, stop: int) -> tuple[int, int]:
    """Which rows: all that is sent to whoever calculates them."""
    return start, stop


def exactly(question: Question, machine: Machine, count: int) -> Columns:
    """Every design by the exact run."""
    return run_each(question, [pick(machine, k) for k in range(count)])


def bracketed(key: str) -> str:
    """transmission.0.gears.driver as entries of a scenario have it: transmission[0].gears.driver."""
    first, *rest = key.split(".")
    return first + "".join(f"[{step}]" if step.isdecimal() else f".{step}" for step in rest)


def _why(group: Group, place: int) -> str:
    """What the exact run says that gave up."""
    from armsim.dynamics.segment import SolverError
    from armsim.dynamics.trajectory import simulate

    try:
        simulate(pick(group.machine, place), group.question.plan)
    except SolverError as error:
        return str(error)
    return "the run of many designs at once gave up"
