"""What commands that work on very many designs share: options, where results are kept, what is said meanwhile."""

import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager, suppress
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

if TYPE_CHECKING:
    from armsim.studies.engine import Budget, Outcome, Place, Plan, Progress, Store, Work

KEPT = "chunks"  #: folder inside --output that keeps the columns
GOES_ON = "the same command goes on from there."
SHORT = 2.0  #: a study that takes less does without other processes, if nothing else is said [s]
LONG = 10.0  #: a study that takes longer says so before it begins [s]
INTERVAL = 30.0  #: time between two lines of progress where nobody watches [s]


class Form(StrEnum):
    """What --format may say."""

    NPZ = "npz"
    PARQUET = "parquet"


Workers = Annotated[
    int | None, typer.Option("--workers", metavar="N", min=1, help="Processes; as many as cores if not given.")
]
Cluster = Annotated[
    str | None, typer.Option("--cluster", metavar="ADDRESS", help="Have the workers of this Dask scheduler calculate.")
]
ChunkRows = Annotated[
    int | None, typer.Option("--chunk", metavar="N", min=1, help="Designs handed out and kept at a time.")
]
Format = Annotated[Form, typer.Option("--format", help="Of the files in --output that keep a value of every design.")]


@dataclass(frozen=True, kw_only=True)
class How:
    """How a study is carried out, as the options say."""

    workers: int | None = None
    cluster: str | None = None
    chunk: int | None = None
    form: Form = Form.NPZ
    quiet: bool = False

    def __post_init__(self) -> None:
        if self.cluster is not None and self.workers is not None:
            raise typer.BadParameter("the workers of a cluster are its own", param_hint="'--workers'")


@dataclass(frozen=True, kw_only=True)
class Question:
    """What a study asks, and what a row of it takes."""

    study: str  #: name of the command
    inputs_sha256: str  #: of all that was read
    keys: tuple[str, ...]  #: what is varied, as asked for
    seed: int | None = None
    count: int  #: rows
    row_cost: float  #: time that one worker takes for a row, roughly [s]
    columns: int  #: numbers that come of a row
    together: int = 1  #: rows below which each costs notably more


@contextmanager
def carried_out(
    question: Question, work: "Work[Any, Any]", how: How, output: Path | None = None, *, overwrite: bool = False
) -> Iterator[tuple["Store", "Outcome"]]:
    """The columns of every row, calculated where `how` says, and how that went.

    With `output` they are kept in its folder `chunks`, and what is finished there already is not calculated again;
    without, they are gone afterwards. Raises StoreError, ClusterError; on Ctrl-C it tells what is kept.
    """
    from armsim.studies.engine import Store, carry_out

    with _place(how, question.count * question.row_cost) as place, _folder(output) as folder:
        budget, plan = _planned(question, how, folder, place.workers)
        store = Store.opened(folder, plan, overwrite=overwrite)
        if not how.quiet:
            _say_before(budget, store)
        try:
            with _watched(plan.study, how.quiet) as told:
                outcome = carry_out(work, store, place, told)
        except KeyboardInterrupt:
            if output is not None:
                _say(f"interrupted: {len(store.finished)} of {plan.chunks} chunks are kept in {folder}; {GOES_ON}")
            raise
        for chunk, text in outcome.failed.items():
            _say(f"chunk {chunk}: {text}")
        yield store, outcome


def _place(how: How, time: float) -> AbstractContextManager["Place"]:
    from armsim.studies.engine import cluster, local

    if how.cluster is not None:
        return cluster(how.cluster)
    return local(1 if how.workers is None and time < SHORT else how.workers)


@contextmanager
def _folder(output: Path | None) -> Iterator[Path]:
    if output is not None:
        yield output / KEPT
        return
    with tempfile.TemporaryDirectory(prefix="armsim-", ignore_cleanup_errors=True) as folder:
        yield Path(folder)


def _planned(question: Question, how: How, folder: Path, workers: int) -> tuple["Budget", "Plan"]:
    """What the study takes, and its plan; chunks as long as those that are there already, if nothing else is said."""
    from armsim.studies.engine import Plan, plan_of
    from armsim.studies.engine.store import written_plan

    there = (written_plan(folder) or {}).get("chunk")
    chunk = how.chunk or (there if isinstance(there, int) and there >= 1 else None)
    budget = plan_of(
        question.count,
        question.row_cost,
        question.columns,
        workers=workers,
        chunk=chunk,
        together=question.together,
    )
    plan = Plan(
        study=question.study,
        inputs_sha256=question.inputs_sha256,
        keys=question.keys,
        seed=question.seed,
        count=question.count,
        chunk=budget.chunk,
        form=how.form.value,
    )
    return budget, plan


def _say_before(budget: "Budget", store: "Store") -> None:
    if store.damaged:
        _say(f"{len(store.damaged)} damaged chunks are calculated anew")
    if store.finished:
        _say(f"going on: {len(store.finished)} of {store.plan.chunks} chunks are kept in {store.folder}")
    if budget.hours * 3600 > LONG:
        _say(in_words(budget))


def in_words(budget: "Budget") -> str:
    """What a study will take, in a line."""
    workers = f"{budget.workers} worker{'s' if budget.workers > 1 else ''}"
    return (
        f"{budget.count} designs in {budget.chunks} chunks of {budget.chunk}: about "
        f"{_lasting(budget.hours * 3600)} with {workers}, {_size(budget.disk)} on the disk, "
        f"{_size(budget.memory)} of memory"
    )


@contextmanager
def _watched(study: str, quiet: bool) -> Iterator[Callable[["Progress"], None] | None]:
    """Progress on stderr: a bar where somebody watches, else a line at times."""
    if quiet or sys.stderr is None:
        yield None
    elif sys.stderr.isatty():
        with _bar(study) as told:
            yield told
    else:
        yield _Lines()


@contextmanager
def _bar(study: str) -> Iterator[Callable[["Progress"], None]]:
    from rich.console import Console
    from rich.progress import BarColumn, TextColumn
    from rich.progress import Progress as Bar

    console = Console(stderr=True, markup=False, emoji=False, highlight=False)
    columns = (TextColumn(study, markup=False), BarColumn(), TextColumn("{task.description}", markup=False))
    with Bar(*columns, console=console, transient=True) as bar:
        task = bar.add_task("", total=None)

        def told(at: "Progress") -> None:
            bar.update(task, total=at.of_rows, completed=at.rows, description=_so_far(at))

        yield told


class _Lines:
    """Says how far it is, no more often than every INTERVAL."""

    def __init__(self) -> None:
        self._last = time.monotonic()

    def __call__(self, at: "Progress") -> None:
        if time.monotonic() - self._last >= INTERVAL:
            self._last = time.monotonic()
            _say(_so_far(at))


def _so_far(at: "Progress") -> str:
    done = f"{at.chunks} of {at.of_chunks} chunks"
    if at.left is None:
        return done
    rate = f"{at.rate:,.0f}" if at.rate >= 100.0 else f"{at.rate:.2g}"
    return f"{done}, {rate} designs/s, {_lasting(at.left)} left"


def _lasting(time: float) -> str:
    """A time as people say it."""
    if time < 99.5:
        return f"{time:.0f} s"
    minutes = round(time / 60)
    return f"{minutes} min" if minutes < 100 else f"{minutes // 60} h {minutes % 60} min"


def _size(size: float) -> str:
    power = next((k for k in range(4) if size < 999.5 * 1000**k), 4)
    return f"{size / 1000**power:.3g} {('B', 'kB', 'MB', 'GB', 'TB')[power]}"


def _say(text: str) -> None:
    if sys.stderr is not None:
        with suppress(OSError, ValueError):  # nobody listens any more
            sys.stderr.write(text + "\n")
            sys.stderr.flush()
