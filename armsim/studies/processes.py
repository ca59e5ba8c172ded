"""One piece of work done for many items, in processes: what ends a process loses the item it was at, and no other."""

import os
import signal
import threading
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from enum import Enum
from multiprocessing import active_children, get_context, parent_process
from typing import TypeVar

Item = TypeVar("Item")
Result = TypeVar("Result")
Told = Callable[[int], None]  #: hears how many items are answered


class Missing(Enum):
    """Why there is no result of an item."""

    LOST = "its process ended before it could answer, killed or out of memory"
    LEFT = "interrupted before it was done"


def usual_workers() -> int:
    """As many as this process may use cores."""
    try:
        return len(os.sched_getaffinity(0))
    except AttributeError:  # not every system tells
        return os.cpu_count() or 1


def each(
    work: Callable[[Item], Result], items: Sequence[Item], workers: int, told: Told | None = None
) -> list[Result | Missing]:
    """The result of every item, in their order.

    Where a process ends, what was then in hand is tried once more, each item in a process for itself, so that only the
    one that ends its process again is lost. An interruption (Ctrl-C) ends all and keeps what is done. `work` and what
    it gives must be such as can be sent to another process.
    """
    found: dict[int, Result] = {}
    lost: set[int] = set()
    waiting, suspects = deque(range(len(items))), deque[int]()

    def tell() -> None:
        if told is not None:
            told(len(found) + len(lost))

    try:
        while waiting:
            suspects += _worked_off(work, items, waiting, workers, found, tell)
        while suspects:
            lost |= set(_worked_off(work, items, deque([suspects.popleft()]), 1, found, tell))
            tell()
    except KeyboardInterrupt:
        pass
    return [found.get(k, Missing.LOST if k in lost else Missing.LEFT) for k in range(len(items))]


def _worked_off(
    work: Callable[[Item], Result],
    items: Sequence[Item],
    waiting: deque[int],
    workers: int,
    found: dict[int, Result],
    tell: Callable[[], None],
) -> list[int]:
    """Work off what is waiting until nothing is, or a process has ended; gives what was in hand then."""
    in_hand: dict[Future[Result], int] = {}
    with _pool(min(workers, len(waiting))) as pool:
        while waiting or in_hand:
            try:
                while waiting and len(in_hand) < workers:  # no more than are worked on: what waits cannot be lost
                    with _uninterrupted():
                        future = pool.submit(work, items[waiting[0]])
                    in_hand[future] = waiting.popleft()
                done, _ = wait(in_hand, return_when=FIRST_COMPLETED)
                for future in done:
                    found[in_hand[future]] = future.result()
                    del in_hand[future]
                    tell()
            except BrokenProcessPool:
                return list(in_hand.values())
    return []


@contextmanager
def _pool(workers: int) -> Iterator[ProcessPoolExecutor]:
    others = set(active_children())
    pool = ProcessPoolExecutor(workers, mp_context=get_context("spawn"), initializer=_serve)
    try:
        yield pool
    except KeyboardInterrupt:
        for child in set(active_children()) - others:
            child.terminate()
        raise
    finally:
        pool.shutdown(cancel_futures=True)


@contextmanager
def _uninterrupted() -> Iterator[None]:
    """A process born in here never hears Ctrl-C, which a terminal sends to all: its parent ends it."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _serve() -> None:
    """What a process does first: leave interruptions to its parent, and end when that does."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    parent = parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)
