"""Work in processes: in order, whatever order it is done in; what kills one loses one; Ctrl-C keeps what is done."""

import os
import subprocess
import sys
import time
from multiprocessing import active_children
from pathlib import Path

import pytest

from armsim.studies.processes import Missing, each
from tests.studies import work

ROOT = Path(__file__).parents[2]


@pytest.mark.parametrize("workers", [1, 3])
def test_results_come_in_the_order_of_the_items(workers):
    counts = []
    assert each(work.squared, [5, 1, 4, 2], workers, counts.append) == [25, 1, 16, 4]
    assert counts == [1, 2, 3, 4]


def test_no_items_are_no_work():
    assert each(work.squared, [], 2) == []


def test_a_killed_process_loses_its_item_and_no_other():
    counts = []
    assert each(work.squared_or_killed, [1, 2, 3, 4, 5, 6], 2, counts.append) == [1, 4, Missing.LOST, 16, 25, 36]
    assert counts[-1] == 6


def test_what_is_killed_once_is_tried_again(tmp_path):
    (tmp_path / "b").touch()  # not killed itself, though its process may go down with that of a
    assert each(work.killed_once, [tmp_path / "a", tmp_path / "b"], 2) == ["a", "b"]


def test_processes_calculate_in_one_thread_and_this_one_keeps_its_own(monkeypatch):
    monkeypatch.delenv("OMP_NUM_THREADS", raising=False)
    monkeypatch.setenv("MKL_NUM_THREADS", "7")
    assert each(work.surrounding, ["OMP_NUM_THREADS", "MKL_NUM_THREADS"], 2) == ["1", "1"]
    assert "OMP_NUM_THREADS" not in os.environ
    assert os.environ["MKL_NUM_THREADS"] == "7"


def test_an_interruption_keeps_what_is_done_and_ends_what_is_not():
    def interrupt(done: int) -> None:
        raise KeyboardInterrupt

    begun = time.perf_counter()
    assert each(work.slept, [0.0, 60.0, 0.0], 1, interrupt) == [0.0, Missing.LEFT, Missing.LEFT]
    assert time.perf_counter() - begun < 30.0
    assert active_children() == []


@pytest.mark.skipif(not Path("/proc").is_dir(), reason="looks processes up where Linux has them")
def test_no_process_outlives_the_one_that_began_it():
    script = (
        "import os; from armsim.studies.processes import each; from tests.studies import work\n"
        "if __name__ == '__main__':\n"
        "    print(os.getpid(), flush=True)\n"
        "    each(work.slept, [60.0, 60.0], 2)\n"
    )
    with subprocess.Popen([sys.executable, "-c", script], cwd=ROOT, stdout=subprocess.PIPE, text=True) as parent:
        assert int(parent.stdout.readline()) == parent.pid
        children = wait_until(lambda: len(children_of(parent.pid)) >= 3 and children_of(parent.pid))
        time.sleep(2.0)  # until they are at work
        parent.kill()
    assert wait_until(lambda: not any(alive(child) for child in children))


def wait_until(true):
    end = time.monotonic() + 30.0
    while time.monotonic() < end:
        if found := true():
            return found
        time.sleep(0.1)
    return None


def children_of(pid):
    lists = Path(f"/proc/{pid}/task").glob("*/children")  # each thread has its own
    return [int(word) for text in lists for word in text.read_text().split()]


def alive(pid):
    try:
        state = Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()[0]
    except OSError:
        return False
    return state != "Z" and os.path.exists(f"/proc/{pid}")
