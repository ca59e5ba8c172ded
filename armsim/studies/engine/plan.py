"""What a study of many rows is, how it is cut into chunks, and what it will cost."""

import itertools
import math
from collections.abc import Callable
from dataclasses import asdict, dataclass, fields
from typing import Any, Generic, TypeVar

import numpy as np
from numpy.typing import NDArray

from armsim import __version__

Columns = dict[str, NDArray[Any]]  #: one array a column, all of one length
Task = TypeVar("Task")
Chunk = TypeVar("Chunk")

BATCH = 4096  #: rows calculated at once: larger temporaries are mapped anew each time in a cluster's processes
PER_CHUNK = 10.0  #: time a chunk takes at best: an interruption loses little, and handing out costs nothing [s]
LEAST_PER_CHUNK = 0.25  #: below this, handing out costs more than a hundredth [s]
SHARES = 64  #: chunks at least, where they stay longer than that, so that all workers have some
IN_HAND = 2  #: chunks at work or waiting, for each worker
COPIES = 3  #: of a chunk in memory while it is received and written
PROCESS = 150e6  #: memory of a process with NumPy and SciPy loaded [byte]


@dataclass(frozen=True, kw_only=True)
class Plan:
    """What makes two studies the same. Kept with the results, which are good for this plan and no other."""

    study: str  #: the kind of study, as its command is called
    inputs_sha256: str  #: of all that was read
    keys: tuple[str, ...]  #: what is varied and how, as asked for
    seed: int | None = None  #: of random numbers, where there are any
    count: int  #: rows, >= 1
    chunk: int  #: rows of a chunk, >= 1
    form: str = "npz"  #: of the files that keep the columns: npz or parquet
    version: str = __version__  #: of armsim

    @property
    def chunks(self) -> int:
        """How many chunks there are."""
        return math.ceil(self.count / self.chunk)

    def span(self, chunk: int) -> tuple[int, int]:
        """First row of a chunk, and the first beyond it."""
        return chunk * self.chunk, min((chunk + 1) * self.chunk, self.count)

    def as_json(self) -> dict[str, Any]:
        return asdict(self) | {"keys": list(self.keys)}

    def differences(self, other: dict[str, Any]) -> list[str]:
        """What of another plan, read from JSON, is not as here: one line each."""
        mine = self.as_json()
        return [
            f"{f.name}: {other.get(f.name)!r} there, {mine[f.name]!r} now"
            for f in fields(self)
            if other.get(f.name) != mine[f.name]
        ]


@dataclass(frozen=True, kw_only=True)
class Work(Generic[Task, Chunk]):
    """How any rows of a study are calculated. All three can be sent to another process, and small at that."""

    function: Callable[[Task, Chunk], Columns]  #: results of rows, in their order
    task: Task  #: what is the same for all rows
    source: Callable[[int, int], Chunk]  #: rows from ... up to before ..., made from these numbers alone

    def __call__(self, start: int, stop: int) -> Columns:
        """The columns of rows `start` up to before `stop`. Raises ValueError where the function gives others."""
        edges = [*range(start, stop, BATCH), stop]
        parts = [self.function(self.task, self.source(a, b)) for a, b in itertools.pairwise(edges)]
        columns = {name: np.concatenate([np.asarray(part[name]) for part in parts]) for name in parts[0]}
        wrong = [name for name, column in columns.items() if column.shape != (stop - start,)]
        if wrong:
            raise ValueError(f"{stop - start} rows asked for, and not that many came in: {', '.join(wrong)}")
        return columns


@dataclass(frozen=True, kw_only=True)
class Budget:
    """What a study will take."""

    count: int  #: rows
    chunk: int  #: rows of a chunk
    chunks: int
    disk: float  #: of all columns, uncompressed [byte]
    memory: float  #: of the process that hands out and keeps, and of all workers [byte]
    time: float  #: of one worker for everything [s]
    workers: int

    @property
    def hours(self) -> float:
        """Of all workers together [h]; the last chunks do not share out evenly."""
        rounds = math.ceil(self.chunks / self.workers)
        return self.time * rounds / self.chunks / 3600


def plan_of(
    count: int, row_cost: float, columns: int, *, workers: int = 1, chunk: int | None = None, together: int = 1
) -> Budget:
    """How to cut `count` rows of `row_cost` seconds each into chunks, and what that takes.

    `columns` is how many numbers of eight bytes come of a row. A chunk lasts about PER_CHUNK where there are rows for
    SHARES of them, and holds whole batches where it holds several; it has no fewer than `together` rows where there are
    so many. It does not depend on the workers, so that others can go on with it.
    """
    if chunk is None:
        rows = max(min(PER_CHUNK / row_cost, count / SHARES), LEAST_PER_CHUNK / row_cost, together)
        chunk = min(math.ceil(rows / BATCH) * BATCH if rows > BATCH else math.ceil(rows), count)
    in_hand = IN_HAND * workers if workers > 1 else 1
    kept = COPIES * 8.0 * columns * chunk
    return Budget(
        count=count,
        chunk=chunk,
        chunks=math.ceil(count / chunk),
        disk=8.0 * columns * count,
        memory=PROCESS * (workers + 1 if workers > 1 else 1) + in_hand * kept,
        time=count * row_cost,
        workers=workers,
    )
