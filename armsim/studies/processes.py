"""Work in processes: what ends a process loses the piece of work it was at, and no other."""

import os
import signal
import threading
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor, ThreadPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager, suppress
from enum import Enum
from functools import partial
from multiprocessing import active_children, get_context, parent_process
from multiprocessing.process import BaseProcess
from typing import Any, TypeVar

Item = TypeVar("Item")
Result = TypeVar("Result")
Told = Callable[[int], None]  #: hears how many items are answered

TRIES = 3  #: a piece of work that has ended so many processes is given up
ONE_THREAD = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "NUMEXPR_NUM_THREADS")


class Missing(Enum):
    """Why there is no result of an item."""

    LOST = "its process ended before it could answer, killed or out of memory"
    LEFT = "interrupted before it was done"


class LostProcess(Exception):
    """A piece of work has ended every process that tried it."""

    def __init__(self) -> None:
        super().__init__(Missing.LOST.value)


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

    An item that ends its process TRIES times is lost, and no other with it. An interruption (Ctrl-C) ends all and
    keeps what is done. `work` and what it gives must be such as can be sent to another process.
    """
    found: dict[int, Result | Missing] = {}
    with suppress(KeyboardInterrupt), Processes(min(workers, len(items))) as processes:
        place_of = {processes.submit(work, item): k for k, item in enumerate(items)}
        for future in as_completed(place_of):
            lost = isinstance(future.exception(), LostProcess)
            found[place_of[future]] = Missing.LOST if lost else future.result()
            if told is not None:
                told(len(found))
    return [found.get(k, Missing.LEFT) for k in range(len(items))]


class Processes(ThreadPoolExecutor):
    """An executor of `workers` processes, started by spawn, of one thread each, when there is work for them.

    What was in a process that ends (killed, out of memory) is tried again in a new one, TRIES times in all; then its
    future raises LostProcess. Left by an exception, Ctrl-C among them, it ends its processes at once.
    """

    def __init__(self, workers: int) -> None:
        super().__init__(max(workers, 1))  # a thread attends to one process, so it knows what was in it when it ended
        self._of_thread: dict[int, ProcessPoolExecutor] = {}
        self._processes: dict[int, set[BaseProcess]] = {}
        self._births = threading.Lock()
        self._ended = False

    def submit(self, fn: Callable[..., Result], /, *args: Any, **kwargs: Any) -> Future[Result]:
        return super().submit(self._carried_out, partial(fn, *args, **kwargs))

    def shutdown(self, wait: bool = True, *, cancel_futures: bool = False) -> None:
        super().shutdown(wait=wait, cancel_futures=cancel_futures)
        for pool in list(self._of_thread.values()):
            pool.shutdown(wait=wait)

    def stop(self) -> None:
        """End all processes now, whatever they are at; what waits is cancelled."""
        with self._births:
            self._ended = True
            super().shutdown(wait=False, cancel_futures=True)
            for process in [process for processes in self._processes.values() for process in processes]:
                process.terminate()
        self.shutdown()

    def __exit__(self, kind: type[BaseException] | None, *_: object) -> None:
        if kind is None:
            self.shutdown()
        else:
            self.stop()

    def _carried_out(self, call: Callable[[], Result]) -> Result:
        for _ in range(TRIES):
            try:
                return self._handed(call).result()
            except BrokenProcessPool:
                if self._ended:
                    break
                self._of_thread.pop(threading.get_ident()).shutdown()
        raise LostProcess

    def _handed(self, call: Callable[[], Result]) -> Future[Result]:
        """The call given to the process of this thread, which is started if there is none."""
        me = threading.get_ident()
        if pool := self._of_thread.get(me):
            return pool.submit(call)
        with self._births, _birth():
            if self._ended:
                raise LostProcess
            others = set(active_children())
            pool = ProcessPoolExecutor(1, mp_context=get_context("spawn"), initializer=_serve)
            self._of_thread[me] = pool
            future = pool.submit(call)
            self._processes[me] = set(active_children()) - others
            return future


@contextmanager
def _birth() -> Iterator[None]:
    """A process born in here calculates in one thread, and never hears Ctrl-C: its parent ends it.

    A terminal sends Ctrl-C to all. NumPy reads how many threads it may have when it is first imported, which a script
    of the user's may do before anything of ours runs in the process: so it is told by what the process inherits.
    """
    own = {name: os.environ.get(name) for name in ONE_THREAD}
    os.environ.update(dict.fromkeys(ONE_THREAD, "1"))
    masks = hasattr(signal, "pthread_sigmask")
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT}) if masks else set()
    try:
        yield
    finally:
        if masks:
            signal.pthread_sigmask(signal.SIG_SETMASK, before)
        for name, value in own.items():
            if value is None:
                del os.environ[name]
            else:
                os.environ[name] = value


def _serve() -> None:
    """What a process does first: leave interruptions to its parent, and end when that does."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    parent = parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)
