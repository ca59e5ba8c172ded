"""What handing out costs: the same work in this process, in one other, and in two. Compare the ratios.

Two processes on two free cores come near half the time of one; on a busy machine they cannot.
"""

import time

import pytest

from tests.studies.engine import work
from tests.studies.engine.work import kept


def busy(amplitude, rows):
    """A hundredth of a second of arithmetic, whatever else the machine does."""
    end = time.process_time() + 0.01
    while time.process_time() < end:
        pass
    return work.waves(amplitude, rows)


@pytest.mark.benchmark(group="200 chunks of 10 ms")
@pytest.mark.parametrize("workers", [1, 2])
def test_workers(benchmark, workers, tmp_path):
    folders = iter(tmp_path / str(k) for k in range(10))
    _, outcome = benchmark.pedantic(
        lambda: kept(next(folders), busy, workers=workers, count=20_000, chunk=100), rounds=3
    )
    assert outcome.calculated == 200
