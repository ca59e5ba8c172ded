"""How sure is it: the share of machines, of inputs that are not known exactly, that meet what is asked.

Every machine follows the first lift of the scenario's moves. Rows are made from their numbers, so that the result hangs
neither on who evaluates them nor on how many at once.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from armsim.scenario import Scenario
from armsim.scenario.records import Uncertain
from armsim.scenario.uncertainty import customary
from armsim.studies.engine.collect import quantiles
from armsim.studies.lifts import Columns, Question, evaluate, exactly, question_of
from armsim.studies.sampling import Array, points, power_of_two, values
from armsim.studies.sensitivity import Influence, influences
from armsim.studies.shares import LEVELS, Chance, Percentiles, chance
from armsim.studies.spread_rows import Held, Points, Rows, kept, mixtures, tally
from armsim.studies.varied import Variation

COUNT, SEED, CHUNK = 2048, 1, 4096
LEAST_COUNT, MOST_COUNT = 16, 2**27
BASE_SHARE = 4  #: of the points, the first fourth also serves the shares of variance
LEAST_BASE, MOST_BASE = 64, 2**16  #: but no fewer and no more, which would make shares no surer than they are read
TOGETHER_COST, BUILT_COST, EXACT_COST = 5e-4, 2e-3, 0.06  #: time of a row on one ordinary core [s]
LOW, HIGH = 0.05, 0.95  #: of an input, at which it is tried alone


class NothingToStudy(Exception):
    """A scenario without a lift, or without anything uncertain."""

    exit_status = 2


@dataclass(frozen=True, kw_only=True)
class Sampling:
    """What is to be evaluated: picklable, and all that any rows are made from."""

    variation: Variation
    question: Question
    seed: int
    count: int  #: points, a power of two
    base: int  #: of them, those with a second sample, for the shares of variance

    @property
    def rows(self) -> int:
        """All that is evaluated: the points, then what serves the shares of variance, point by point."""
        return self.count + self.base * (len(self.variation.inputs) + 1)

    def values(self, start: int, stop: int) -> Array:
        """SI values of the inputs of rows `start` up to before `stop`, made from these numbers alone.

        Behind the points stand for each of the first ones the point of the second sample, then the point itself with
        input 1, 2, ... of the second.
        """
        inputs = self.variation.inputs
        size, parts = len(inputs), []
        if start < self.count:
            own = points(size, self.seed, start, min(stop, self.count) - start)
            parts.append(values(inputs, own[:, :size]))
        if stop > self.count:
            low, high = max(start, self.count) - self.count, stop - self.count
            first, last = low // (size + 1), (high - 1) // (size + 1) + 1
            both = points(size, self.seed, first, last - first)
            own, other = values(inputs, both[:, :size]), values(inputs, both[:, size:])
            mixed = np.repeat(own[:, None, :], size + 1, axis=1)
            mixed[:, 0] = other
            for k in range(size):
                mixed[:, k + 1, k] = other[:, k]
            before = first * (size + 1)
            parts.append(mixed.reshape(-1, size)[low - before : high - before])
        return np.concatenate(parts)

    @property
    def row_cost(self) -> float:
        """Time that a row takes one worker, roughly. [s]"""
        if self.question.unsupported(self.variation.scenario.machine) is not None:
            return EXACT_COST
        return BUILT_COST if self.variation.builds else TOGETHER_COST

    def spans(self, size: int) -> Iterator[tuple[int, int]]:
        """Rows in portions: from, up to before."""
        for start in range(0, self.rows, size):
            yield start, min(start + size, self.rows)


def rows_evaluated(sampling: Sampling, span: tuple[int, int]) -> Columns:
    """The columns of some rows. Picklable, pure."""
    return evaluate(sampling.question, sampling.variation, sampling.values(*span))


def span(start: int, stop: int) -> tuple[int, int]:
    """Which rows: all that is sent to whoever evaluates them."""
    return start, stop


def one_by_one(sampling: Sampling, size: int = CHUNK) -> Iterator[tuple[int, Columns]]:
    """Every row evaluated here, in portions: the number of the first, and columns."""
    for rows in sampling.spans(size):
        yield rows[0], rows_evaluated(sampling, rows)


@dataclass(frozen=True, kw_only=True)
class Turn:
    """One input at a low and a high value, the others as drawn."""

    input: Uncertain
    low: float  #: SI, below which a twentieth of all lies
    high: float  #: above which a twentieth lies
    at_low: dict[str, float]  #: a row of columns
    at_high: dict[str, float]


@dataclass(frozen=True, kw_only=True)
class Worst:
    """The machine of the sample that misses by most, or comes nearest to it."""

    number: int  #: its point
    values: tuple[float, ...]  #: of the inputs, SI
    row: dict[str, float]


@dataclass(frozen=True, kw_only=True)
class SpreadStudy:
    """What a spread study found."""

    scenario: Scenario
    sampling: Sampling
    customary: bool  #: the scenario does not say what is uncertain: usual tolerances were taken
    points: Points  #: all of them, to be read while whoever keeps them does
    columns: Columns  #: of the first SHOWN points and of their inputs, a row each
    drawn: dict[str, float]  #: the row of the machine as drawn
    together: Chance  #: of lifting and meeting every requirement that can be judged
    lifting: Chance
    single: tuple[Chance, ...]  #: of each requirement, in the scenario's order
    percentiles: tuple[Percentiles, ...]
    influences: tuple[Influence, ...]
    turns: tuple[Turn, ...]
    worst: Worst
    failed: int  #: points whose run failed, counted as not met

    @property
    def judged(self) -> tuple[str, ...]:
        """Columns of the margins of requirements that can be judged."""
        return tuple(name for name, one in zip(self.sampling.question.margins, self.single, strict=True) if one.count)

    @property
    def inputs(self) -> tuple[Uncertain, ...]:
        """What is uncertain."""
        return self.sampling.variation.inputs


def sampling_of(scenario: Scenario, count: int = COUNT, seed: int = SEED) -> Sampling:
    """What to evaluate for a scenario; usual tolerances where it states none. Raises NothingToStudy."""
    question = question_of(scenario.machine, scenario.plan, scenario.requirements)
    if question is None:
        raise NothingToStudy("the moves of this scenario have no lift: there is nothing whose spread could be told")
    inputs = scenario.uncertainty or customary(scenario)
    if not inputs:
        raise NothingToStudy("nothing of this scenario is uncertain: give it a section `uncertainty`")
    count = power_of_two(count)
    base = min(count, MOST_BASE, max(LEAST_BASE, count // BASE_SHARE))
    variation = Variation(scenario=scenario, inputs=inputs)
    return Sampling(variation=variation, question=question, seed=seed, count=count, base=base)


def study(scenario: Scenario, count: int = COUNT, seed: int = SEED, chunk: int = CHUNK) -> SpreadStudy:
    """Evaluate the sample of a scenario in this process, and judge it. Raises NothingToStudy."""
    sampling = sampling_of(scenario, count, seed)
    return judged(sampling, Held(one_by_one(sampling, chunk)))


def judged(sampling: Sampling, rows: Rows) -> SpreadStudy:
    """What the evaluated rows of a sampling say. Rows that are missing count as machines whose run failed.

    They are read several times, portion by portion, and kept by the study, whose table of machines they are.
    """
    scenario, question = sampling.variation.scenario, sampling.question
    points = Points(rows=rows, count=sampling.count, question=question)
    counted = tally(points)
    columns, others = kept(points), mixtures(rows, sampling.count, sampling.base, len(sampling.variation.inputs))
    return SpreadStudy(
        scenario=scenario,
        sampling=sampling,
        customary=not scenario.uncertainty,
        points=points,
        columns=columns | inputs_of(sampling, 0, len(columns["failed"])),
        drawn=_rows_of(sampling, _drawn(sampling))[0],
        together=chance("together", counted.together, sampling.count),
        lifting=chance("lifts", counted.lifting, sampling.count),
        single=tuple(
            chance(wish.name, counted.single.get(name, 0), sampling.count if name in counted.single else 0)
            for name, wish in zip(question.margins, question.wishes, strict=True)
        ),
        percentiles=tuple(percentiles(points, counted.known)),
        influences=influences([columns, *others]),
        turns=tuple(turns(sampling)),
        worst=worst(sampling, counted.worst),
        failed=counted.failed,
    )


def percentiles(points: Points, known: Mapping[str, int]) -> Iterator[Percentiles]:
    """Of every measure that any machine has, exactly."""
    for name, count in known.items():
        if count:
            low, middle, high = quantiles(points, name, LEVELS)
            yield Percentiles(name=name, values=(low, middle, high), count=count)


def inputs_of(sampling: Sampling, start: int, stop: int) -> Columns:
    """SI values of the inputs of some points, a column each."""
    table = sampling.values(start, stop)
    return {f"input {k}": table[:, k].astype(np.float32) for k in range(table.shape[1])}


def _drawn(sampling: Sampling) -> Array:
    return np.array([[one.nominal for one in sampling.variation.inputs]])


def _rows_of(sampling: Sampling, table: Array) -> list[dict[str, float]]:
    """By the exact run."""
    columns = exactly(sampling.question, sampling.variation, table)
    return [{name: float(column[k]) for name, column in columns.items()} for k in range(len(table))]


def turns(sampling: Sampling) -> Iterator[Turn]:
    """Every input alone at its low and its high value."""
    inputs = sampling.variation.inputs
    ends = values(inputs, np.repeat([[LOW], [HIGH]], len(inputs), axis=1))
    table = np.repeat(_drawn(sampling), 2 * len(inputs), axis=0)
    for k in range(len(inputs)):
        table[2 * k : 2 * k + 2, k] = ends[:, k]
    rows = _rows_of(sampling, table)
    for k, one in enumerate(inputs):
        low, high = float(ends[0, k]), float(ends[1, k])
        yield Turn(input=one, low=low, high=high, at_low=rows[2 * k], at_high=rows[2 * k + 1])


def worst(sampling: Sampling, number: int) -> Worst:
    """A point run exactly."""
    size = len(sampling.variation.inputs)
    exact = values(sampling.variation.inputs, points(size, sampling.seed, number, 1)[:, :size])
    return Worst(number=number, values=tuple(exact[0].tolist()), row=_rows_of(sampling, exact)[0])


def scenario_of_worst(study: SpreadStudy) -> str:
    """A scenario file that runs the worst machine."""
    from armsim.scenario.values import file_text

    texts = study.sampling.variation.texts(list(study.worst.values))
    remark = f"The worst machine of {study.sampling.count} sampled, number {study.worst.number} of seed "
    return file_text(study.scenario, texts, f"{remark}{study.sampling.seed}")
