"""Studies carried out on one machine: whole, whatever kills a part of them, and the same however they came about."""

import os
import signal
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from armsim.studies.engine import Store, carry_out, local
from tests.studies.engine import work
from tests.studies.engine.work import kept, plan

ROOT = Path(__file__).parents[3]


def bytes_of(folder):
    return {path.name: path.read_bytes() for path in sorted(folder.iterdir())}


def whole(store):
    parts = list(store.chunks())
    return {name: np.concatenate([part[name] for part in parts]) for name in parts[0]}


def begun(folder, *words):
    command = [sys.executable, "-m", "tests.studies.engine.work", str(folder), *map(str, words)]
    return subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)


def test_every_row_is_there_once_and_in_order(tmp_path):
    store, outcome = kept(tmp_path / "a", count=1001, chunk=100)
    assert (outcome.calculated, outcome.before, outcome.failed) == (11, 0, {})
    columns = whole(store)
    assert list(columns) == ["phase", "height", "odd"]
    np.testing.assert_array_equal(columns["odd"], np.arange(1001) % 2 == 1)
    np.testing.assert_allclose(columns["phase"], np.modf(np.arange(1001) * 0.6180339887498949)[0])


def test_batches_inside_a_chunk_leave_the_rows_as_they_are(tmp_path):
    store, _ = kept(tmp_path / "a", count=10_000, chunk=10_000)
    np.testing.assert_array_equal(whole(store)["phase"], work.waves(4.0, np.arange(10_000))["phase"])


def test_two_workers_keep_the_same_files_as_one(tmp_path):
    kept(tmp_path / "one")
    kept(tmp_path / "two", workers=2)
    assert bytes_of(tmp_path / "one") == bytes_of(tmp_path / "two")


def test_a_worker_that_is_killed_loses_nothing(tmp_path):
    _, outcome = kept(tmp_path / "killed", work.Killing(450, tmp_path / "mark"), workers=2)
    assert (tmp_path / "mark").exists()
    assert outcome.failed == {}
    kept(tmp_path / "calm")
    assert bytes_of(tmp_path / "killed") == bytes_of(tmp_path / "calm")


def test_a_chunk_that_kills_every_worker_is_given_up_and_the_others_go_on(tmp_path):
    store, outcome = kept(tmp_path / "a", work.Killing(450), workers=2)
    assert list(outcome.failed) == [4]
    assert store.finished == set(range(10)) - {4}
    _, again = kept(tmp_path / "a")
    assert (again.calculated, again.before) == (1, 9)


def test_a_study_that_is_killed_goes_on_where_it_was(tmp_path):
    with begun(tmp_path / "a", 4000, 100, 2, "slow") as process:
        for line in process.stdout:
            if line.startswith("5 "):
                break
        process.kill()
    left = len(list((tmp_path / "a").glob("chunk-*")))
    assert 5 <= left < 40
    _, outcome = kept(tmp_path / "a", count=4000)
    assert outcome.before >= left
    assert outcome.before + outcome.calculated == 40
    kept(tmp_path / "calm", count=4000)
    assert bytes_of(tmp_path / "a") == bytes_of(tmp_path / "calm")


@pytest.mark.parametrize("workers", [1, 2])
def test_ctrl_c_leaves_what_is_finished(tmp_path, workers):
    with begun(tmp_path / "a", 40_000, 100, workers, "slow") as process:
        for line in process.stdout:
            if line.startswith("3 "):
                break
        process.send_signal(signal.SIGINT)
        process.wait(timeout=60)
    store = Store.opened(tmp_path / "a", plan(40_000))
    assert 3 <= len(store.finished) < 400
    assert store.damaged == []
    first, columns = next(store.numbered(["phase"]))
    expected = work.waves(4.0, np.arange(first, first + 100))["phase"]
    np.testing.assert_array_equal(columns["phase"], expected)


def test_a_fault_in_the_work_is_raised_at_once(tmp_path):
    for workers in (1, 2):
        with pytest.raises(ArithmeticError, match="a fault in the work"):
            kept(tmp_path / "a", work.faulty, workers=workers)


def test_rows_that_do_not_come_are_a_fault(tmp_path):
    with pytest.raises(ValueError, match="100 rows asked for"):
        kept(tmp_path / "a", work.short)


def test_progress_counts_rows_and_tells_the_time_left(tmp_path):
    kept(tmp_path / "a", count=950)
    (tmp_path / "a" / "chunk-000002.npz").unlink()
    heard = []
    kept(tmp_path / "a", work.slow, told=heard.append, count=950)
    assert [(at.chunks, at.rows, at.of_rows) for at in heard] == [(9, 850, 950), (10, 950, 950)]
    assert heard[0].left is None
    assert heard[1].left == 0.0
    assert 0 < heard[1].rate < 1000  # a hundred rows in a tenth of a second and a little


def test_no_more_is_handed_out_than_workers_need(tmp_path):
    """What was handed out and what is not yet kept bound the memory, whatever the count."""
    store = Store.opened(tmp_path / "a", plan(3000))
    with local(2) as place:
        most, submit, put = [0], place.executor.submit, store.put
        out = [0]

        def counted(*given):
            out[0] += 1
            most[0] = max(most[0], out[0])
            return submit(*given)

        def put_away(*given):
            out[0] -= 1
            put(*given)

        place.executor.submit, store.put = counted, put_away
        carry_out(work.work(), store, place)
    assert most[0] == 4
    assert len(store.finished) == 30


@pytest.mark.skipif(not Path("/proc").is_dir(), reason="reads the memory of a process where Linux tells it")
def test_a_million_rows_take_no_more_memory_than_a_hundred_thousand(tmp_path):
    def memory(count):
        script = (
            "import resource, sys\n"
            "from tests.studies.engine.work import kept\n"
            "from armsim.studies.engine.collect import quantiles\n"
            f"store, _ = kept(__import__('pathlib').Path(sys.argv[1]), count={count}, chunk=20_000)\n"
            "quantiles(store, 'height', [0.5])\n"
            "print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024)\n"
        )
        done = subprocess.run(
            [sys.executable, "-c", script, tmp_path / str(count)], cwd=ROOT, capture_output=True, text=True, check=True
        )
        return int(done.stdout)

    columns = 17 * 1_000_000  # bytes of all columns, were they held
    assert memory(1_000_000) - memory(100_000) < columns / 4


def test_what_a_process_left_half_written_is_cleared_and_what_another_writes_is_not(tmp_path):
    kept(tmp_path / "a")
    old, new = (tmp_path / "a" / f".chunk-000003.npz.{number}" for number in (1, 2))
    for left in (old, new):
        left.write_bytes(b"half")
    os.utime(old, (0, 0))
    kept(tmp_path / "a")
    assert not old.exists()
    assert new.exists()
