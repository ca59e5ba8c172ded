"""Carrying a plan out: chunks handed to an executor, a few more than it has workers, and kept as they come."""

import time
from collections import deque
from collections.abc import Callable
from concurrent.futures import FIRST_COMPLETED, Future, wait
from dataclasses import dataclass
from typing import Any

from armsim.studies.engine.places import Place
from armsim.studies.engine.plan import Columns, Work
from armsim.studies.engine.store import Store


@dataclass(frozen=True, kw_only=True)
class Progress:
    """How far a study is."""

    chunks: int  #: done, with those kept from before
    of_chunks: int
    rows: int  #: of these chunks
    of_rows: int
    rate: float  #: rows a second since this process began; 0 where none are done [1/s]

    @property
    def left(self) -> float | None:
        """Time that the others will take; None while it is not known. [s]"""
        return (self.of_rows - self.rows) / self.rate if self.rate > 0.0 else None


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """How carrying out a plan ended."""

    calculated: int  #: chunks now
    before: int  #: chunks kept from before
    failed: dict[int, str]  #: chunks given up, and why


def carry_out(
    work: Work[Any, Any], store: Store, place: Place, told: Callable[[Progress], object] | None = None
) -> Outcome:
    """Calculate every chunk that the store does not have, at the place, and keep it there.

    A chunk that ends one worker after another is given up and the others go on. Anything else that goes wrong, in
    the work or with the disk, and an interruption, are raised: what is finished stays kept, and the same call goes on
    from there. `told` hears at the start and after every chunk.
    """
    plan = store.plan
    before = len(store.finished)
    waiting = deque(chunk for chunk in range(plan.chunks) if chunk not in store.finished)
    in_hand: dict[Future[Columns], int] = {}
    failed: dict[int, str] = {}
    account = _Account(store)
    if told is not None:
        told(account.progress())
    try:
        while waiting or in_hand:
            while waiting and len(in_hand) < place.window:
                chunk = waiting.popleft()
                in_hand[place.executor.submit(_calculated, work, *plan.span(chunk))] = chunk
            for future in wait(in_hand, return_when=FIRST_COMPLETED).done:
                chunk = in_hand.pop(future)
                if (columns := place.answer(future)) is None:
                    failed[chunk] = f"every process that tried rows {_named(plan.span(chunk))} was ended"
                else:
                    store.put(chunk, columns)
                if told is not None:
                    told(account.progress())
            del future  # its columns are on the disk
    except BaseException:
        for future in in_hand:
            future.cancel()
        raise
    return Outcome(calculated=len(store.finished) - before, before=before, failed=failed)


def _calculated(work: Work[Any, Any], start: int, stop: int) -> Columns:
    return work(start, stop)  # a function has a short name, which a cluster calls its tasks by


def _named(span: tuple[int, int]) -> str:
    return f"{span[0]} to {span[1] - 1}"


class _Account:
    """Counts rows and time since it was made."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self._begun = time.monotonic()
        self._rows = self._done()

    def _done(self) -> int:
        plan = self._store.plan
        last = plan.chunks - 1
        missing = plan.chunks * plan.chunk - plan.count if last in self._store.finished else 0
        return len(self._store.finished) * plan.chunk - missing

    def progress(self) -> Progress:
        rows = self._done()
        since = time.monotonic() - self._begun
        return Progress(
            chunks=len(self._store.finished),
            of_chunks=self._store.plan.chunks,
            rows=rows,
            of_rows=self._store.plan.count,
            rate=(rows - self._rows) / since if since > 0.0 else 0.0,
        )
