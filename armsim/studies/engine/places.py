"""Where a study is calculated: in this process, in processes of this machine, or on a cluster."""

import logging
from collections.abc import Callable, Iterator
from concurrent.futures import CancelledError, Executor, Future
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any, TypeVar

from armsim import __version__
from armsim.studies.engine.plan import IN_HAND, Columns
from armsim.studies.processes import LostProcess, Processes, usual_workers

Result = TypeVar("Result")

ANSWERS_WITHIN = 10.0  #: time for a scheduler to answer and to have a worker [s]
VERSIONS = "'.'.join(__import__('platform').python_version_tuple()[:2]), __import__('armsim').__version__"
INSTALL = 'python -m pip install "armsim[cluster]"'


class ClusterError(Exception):
    """A cluster cannot be used."""

    exit_status = 2


class ClusterLost(Exception):
    """A cluster answers no more."""

    exit_status = 5


@dataclass(frozen=True, kw_only=True)
class Place:
    """An executor, and what is to be known of it."""

    executor: Executor
    workers: int
    window: int  #: chunks handed out at once
    lost: tuple[type[BaseException], ...]  #: raised for a chunk that ends one worker after another

    def answer(self, future: Future[Columns]) -> Columns | None:
        """What came of a chunk; None where it ended every worker that tried it."""
        try:
            return future.result()
        except self.lost:
            return None


class _Here(Executor):
    """Calls at once, in this process."""

    def submit(self, fn: Callable[..., Result], /, *args: Any, **kwargs: Any) -> Future[Result]:
        future: Future[Result] = Future()
        try:
            future.set_result(fn(*args, **kwargs))
        except Exception as fault:
            future.set_exception(fault)
        return future


@contextmanager
def local(workers: int | None = None) -> Iterator[Place]:
    """This machine, with as many processes as it has cores if nothing is said; one is this process itself."""
    workers = workers or usual_workers()
    if workers == 1:
        yield Place(executor=_Here(), workers=1, window=1, lost=())
        return
    with Processes(workers) as processes:
        yield Place(executor=processes, workers=workers, window=IN_HAND * workers, lost=(LostProcess,))


@contextmanager
def cluster(address: str) -> Iterator[Place]:
    """The workers of a Dask scheduler at an address such as tcp://127.0.0.1:8786.

    Whoever reaches a scheduler can have anything run by it: keep it on 127.0.0.1 or behind TLS. Raises ClusterError
    where it cannot be used, and ClusterLost where it goes away.
    """
    try:
        from distributed import Client, KilledWorker
    except ImportError as fault:
        raise ClusterError(f"--cluster needs Dask: {INSTALL}") from fault
    for name in ("distributed", "distributed.client", "distributed.core"):
        logging.getLogger(name).setLevel(logging.CRITICAL)  # what there is to say is said by us
    try:
        client = Client(address, timeout=ANSWERS_WITHIN, set_as_default=False)
    except (OSError, ValueError) as fault:
        raise ClusterError(f"no Dask scheduler answers at {address}: is it running, and is the port right?") from fault
    with client:
        workers = _usable_workers(client, address)
        executor = client.get_executor(pure=False)
        try:
            yield Place(executor=executor, workers=workers, window=IN_HAND * workers, lost=(KilledWorker,))
        except CancelledError as fault:
            raise ClusterLost(
                f"the scheduler at {address} went away; finished chunks are kept, and the same command goes on."
            ) from fault
        finally:
            executor.shutdown(wait=False)


def _usable_workers(client: Any, address: str) -> int:
    """How many workers a cluster has. Raises ClusterError where there are none, or not such as can be used."""
    try:
        client.wait_for_workers(1, timeout=ANSWERS_WITHIN)
    except TimeoutError as fault:
        raise ClusterError(f"the scheduler at {address} has no workers: dask worker {address} starts some") from fault
    for where, theirs in client.run(eval, VERSIONS, on_error="return").items():  # of ours it may not have anything
        if isinstance(theirs, Exception):
            raise ClusterError(f"the worker at {where} cannot import armsim ({theirs}): install {__version__} there.")
        for name, own, other in zip(("Python", "armsim"), eval(VERSIONS), theirs, strict=True):
            if own != other:
                raise ClusterError(f"the worker at {where} has {name} {other}, and here it is {own}.")
    threads = client.nthreads()
    if any(count > 1 for count in threads.values()):  # SciPy's LSODA does not stand several threads everywhere
        raise ClusterError(f"workers must have one thread each: start them with dask worker {address} --nthreads 1")
    return len(threads)
