"""What engines are given to calculate in tests: columns that follow from the number of the row."""

import os
import signal
import sys
import time
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from armsim.studies.engine import Plan, Store, Work, carry_out, cluster, local


@dataclass(frozen=True)
class Rows:
    """Numbers of rows, as a grid would make values of them."""

    def __call__(self, start, stop):
        return np.arange(start, stop)


def waves(amplitude, rows):
    """Three columns of a row number, in elementwise steps."""
    phase = (rows * 0.6180339887498949) % 1.0
    return {"phase": phase, "height": amplitude * phase * (1.0 - phase), "odd": rows % 2 == 1}


@dataclass(frozen=True)
class Killing:
    """Ends its process at a row: once, leaving a mark, or always."""

    row: int
    mark: Path | None = None

    def __call__(self, amplitude, rows):
        if self.row in rows and not (self.mark and self.mark.exists()):
            if self.mark:
                self.mark.touch()
            os.kill(os.getpid(), signal.SIGKILL)
        return waves(amplitude, rows)


def slow(amplitude, rows):
    time.sleep(0.1)
    return waves(amplitude, rows)


def faulty(amplitude, rows):
    raise ArithmeticError("a fault in the work")


def short(amplitude, rows):
    return {"phase": rows[1:] * 1.0}


def work(function=waves):
    return Work(function=function, task=4.0, source=Rows())


def plan(count=1000, chunk=100, **changes):
    return Plan(
        **{"study": "waves", "inputs_sha256": "0" * 64, "keys": ("row",), "count": count, "chunk": chunk} | changes
    )


def kept(folder, function=waves, workers=1, told=None, **changes):
    """A study carried out on this machine, and its store."""
    store = Store.opened(folder, plan(**changes))
    with local(workers) as place:
        outcome = carry_out(work(function), store, place, told)
    return store, outcome


if __name__ == "__main__":  # as a process of its own: FOLDER COUNT CHUNK WORKERS slow|fast [ADDRESS]
    folder, count, chunk, workers, pace, *address = sys.argv[1:]
    import tests.studies.engine.work as this

    store = Store.opened(Path(folder), plan(int(count), int(chunk)))
    with cluster(address[0]) if address else local(int(workers)) as place:
        carry_out(
            this.work(this.slow if pace == "slow" else this.waves),
            store,
            place,
            lambda at: print(f"{at.chunks} of {at.of_chunks}", flush=True),
        )
