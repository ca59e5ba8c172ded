"""Combinations followed in their lift: many at once, each physics once, in as many processes as there are."""

from collections import defaultdict
from collections.abc import Sequence
from concurrent.futures import Future
from contextlib import ExitStack
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from armsim.drivetrain.machine import Machine
from armsim.parts.stage import ConstantEfficiency, Stage
from armsim.studies.candidates import Candidate, plain
from armsim.studies.combinations import places_of
from armsim.studies.estimates import with_train
from armsim.studies.many import COLUMNS, Question, evaluate, evaluate_designs
from armsim.studies.processes import Processes
from armsim.studies.shelf import Choice

Columns = dict[str, NDArray[Any]]
SHARE = 512  #: designs from which on another process takes some
DIGITS = 12  #: to which equal physics agree
OTHERS_AFTER = 2000  #: designs after which other processes are started

#: what of a stage its physics are, all else alike
PHYSICS = ("reduction", "forward", "reverse", "drag", "viscous_drag", "input_inertia", "output_inertia")
INNER = (3, 4, 5)  #: of a later stage, and the output's inertia of the one before: what turns on a shaft between


@dataclass(kw_only=True)
class Trials:
    """Follows combinations by their numbers; equal physics are followed once."""

    candidates: Sequence[Candidate]
    choices: Sequence[Choice]
    workers: int = 1
    followed: int = 0  #: different designs
    asked: int = 0  #: combinations
    known: dict[bytes, tuple[Any, ...]] = field(default_factory=dict)
    _open: ExitStack = field(default_factory=ExitStack)
    _pool: Processes | None = None

    def __enter__(self) -> "Trials":
        return self

    def __exit__(self, *fault: Any) -> None:
        self._open.__exit__(*fault)

    def columns(self, numbers: NDArray[np.int64]) -> Columns:
        """What came of each, in order."""
        rows: list[tuple[Any, ...] | None] = [None] * len(numbers)
        groups: dict[tuple[int, int, Any], list[tuple[int, tuple[int, ...]]]] = defaultdict(list)
        for row, number in enumerate(numbers.tolist()):
            motor, at = places_of(number, len(self.choices))
            kinds = None
            if not all(plain(self.choices[k].stage) for k in at):
                kinds = tuple(type(self.choices[k].stage.law) for k in at)
            groups[motor, len(at), kinds].append((row, at))
        for (motor, _, kinds), members in groups.items():
            table = np.array([at for _, at in members])
            found = self._group(motor, table, kinds is None)
            for (row, _), values in zip(members, found, strict=True):
                rows[row] = values
        self.asked += len(numbers)
        return {name: np.array([row[k] for row in rows if row]) for k, name in enumerate(COLUMNS)}

    def _group(self, motor: int, table: NDArray[np.int64], even: bool) -> list[tuple[Any, ...]]:
        """Results of the trains of one motor and one length."""
        question = self.candidates[motor].question
        if even:
            keys = physics_of(self._figures(table), motor)
        else:
            keys = [b"uneven" + row.tobytes() + bytes((motor,)) for row in table]
        fresh = list({key: k for k, key in enumerate(keys) if key not in self.known}.items())
        if fresh:
            rows = table[[k for _, k in fresh]]
            columns = self._followed(question, rows, even)
            for n, (key, _) in enumerate(fresh):
                self.known[key] = tuple(columns[name][n] for name in COLUMNS)
            self.followed += len(fresh)
        return [self.known[key] for key in keys]

    def _figures(self, table: NDArray[np.int64]) -> NDArray[np.float64]:
        """Of each train's stages: rows x stages x PHYSICS."""
        return np.array([figures(choice.stage) for choice in self.choices])[table]

    def _followed(self, question: Question, table: NDArray[np.int64], even: bool) -> Columns:
        parts = min(self.workers, max(len(table) // SHARE, 1))
        if parts == 1 or self.followed < OTHERS_AFTER:
            return self._part(question, table, even)(0, len(table))
        if self._pool is None:
            self._pool = self._open.enter_context(Processes(self.workers))
        edges = np.linspace(0, len(table), parts + 1).astype(int).tolist()
        work = self._part(question, table, even)
        asked: list[Future[Columns]] = [self._pool.submit(work, a, b) for a, b in pairwise(edges)]
        done = [future.result() for future in asked]
        return {name: np.concatenate([part[name] for part in done]) for name in COLUMNS}

    def _part(self, question: Question, table: NDArray[np.int64], even: bool) -> "Part":
        if even:
            return Part(question=question, figures=self._figures(table))
        bare = [replace(c.stage, kind="gears" if plain(c.stage) else "worm", corner=None) for c in self.choices]
        trains = tuple(tuple(bare[k] for k in row) for row in table.tolist())
        return Part(question=question, trains=trains)


def figures(stage: Stage) -> tuple[float, ...]:
    """PHYSICS of a stage; efficiencies at rest."""
    forward, reverse = stage.law.static()
    values = (stage.reduction, forward, reverse, stage.drag, stage.viscous_drag)
    return tuple(map(float, (*values, stage.input_inertia, stage.output_inertia)))


def physics_of(trains: NDArray[np.float64], motor: int) -> list[bytes]:
    """Keys that are equal where two trains move alike.

    A shaft on which nothing turns that counts is no part of the physics: trains with none but such shafts inside, and
    without a stage that locks, are told by their products.
    """
    rows, depth, wide = trains.shape
    inner = np.abs(trains[:, 1:, INNER]).sum(axis=(1, 2)) + np.abs(trains[:, :-1, -1]).sum(axis=1)
    bare = (inner == 0.0) & (trains[:, :, 2] > 0.0).all(axis=1)
    whole = rounded(trains.reshape(rows, depth * wide))
    short = rounded(np.column_stack([np.prod(trains[:, :, :3], axis=1), trains[:, 0, 3:6], trains[:, -1, 6]]))
    return [
        bytes((motor, is_bare)) + (short[k] if is_bare else whole[k]).tobytes()
        for k, is_bare in enumerate(bare.tolist())
    ]


def rounded(values: NDArray[np.float64]) -> NDArray[np.float64]:
    """To DIGITS."""
    with np.errstate(divide="ignore"):
        scale = np.where(values == 0.0, 1.0, 10.0 ** (DIGITS - 1 - np.floor(np.log10(np.abs(values)))))
    return np.round(values * scale) / scale + 0.0


@dataclass(frozen=True, kw_only=True)
class Part:
    """Trains of one motor and one length, for any process."""

    question: Question
    figures: NDArray[np.float64] | None = None
    trains: tuple[tuple[Stage, ...], ...] = ()

    def __call__(self, start: int, stop: int) -> Columns:
        """Columns of some of them."""
        if self.figures is None:
            machines = [with_train(self.question.machine, train) for train in self.trains[start:stop]]
            return evaluate(self.question, machines=machines)
        return evaluate_designs(self.question, train_of(self.question.machine, self.figures[start:stop]), stop - start)


def train_of(machine: Machine, trains: NDArray[np.float64]) -> Machine:
    """A machine of arrays with the trains of such figures."""
    stages = []
    for k in range(trains.shape[1]):
        one: dict[str, Any] = dict(zip(PHYSICS, trains[:, k].T.copy(), strict=True))
        law = ConstantEfficiency(forward=one.pop("forward"), reverse=one.pop("reverse"))
        stages.append(Stage(kind="gears", name="", law=law, **one))
    return with_train(machine, tuple(stages))
