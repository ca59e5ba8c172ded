"""How studies are cut, and what they are said to take."""

import math

import pytest

from armsim.studies.engine import plan_of
from armsim.studies.engine.plan import BATCH
from tests.studies.engine.work import plan


@pytest.mark.parametrize(("count", "chunk"), [(1, 1), (1, 9), (10, 3), (9, 3), (1000, 1)])
def test_chunks_cover_every_row_once(count, chunk):
    one = plan(count=count, chunk=chunk)
    rows = [row for k in range(one.chunks) for row in range(*one.span(k))]
    assert rows == list(range(count))


def test_a_hundred_million_rows_on_paper():
    """Twenty columns at 60 us a row: 1e8 * 160 bytes, 6000 s, chunks of 10 s / 60 us to the next 4096."""
    budget = plan_of(100_000_000, 60e-6, 20, workers=32)
    assert budget.chunk == 41 * BATCH == math.ceil(10 / 60e-6 / 4096) * 4096
    assert budget.chunks == math.ceil(1e8 / budget.chunk) == 596
    assert budget.disk == 16e9
    assert budget.hours == pytest.approx(6000 / 3600 * 19 / 596)  # 19 rounds of 32 workers
    assert budget.memory == pytest.approx(33 * 150e6 + 64 * 3 * 160 * budget.chunk)


def test_a_chunk_does_not_depend_on_the_workers():
    assert len({plan_of(10**6, 1e-4, 20, workers=n).chunk for n in (1, 2, 100)}) == 1


@pytest.mark.parametrize(
    ("count", "row_cost", "chunks"),
    [
        (40, 0.05, 8),  # five rows a quarter of a second
        (1, 0.05, 1),
        (10_000, 0.05, 64),  # shares for everyone
        (100_000, 0.05, 500),  # ten seconds each
        (1_000_000, 1e-6, 4),  # nothing is gained by handing out less than a quarter of a second
    ],
)
def test_chunks_are_long_enough_to_hand_out_and_short_enough_to_lose(count, row_cost, chunks):
    assert plan_of(count, row_cost, 20).chunks == chunks


def test_a_chunk_that_is_asked_for_is_taken():
    assert plan_of(1000, 1e-6, 20, chunk=10).chunks == 100
