"""A cluster of a scheduler and workers on this machine: the same results as alone, also when a worker is killed."""

import json
import subprocess
import sys
import time
from pathlib import Path

import pytest

from armsim.studies.engine import ClusterError, Store, carry_out, cluster
from tests.studies.engine import work
from tests.studies.engine.work import kept, plan

ROOT = Path(__file__).parents[3]


def started(*words):
    command = [sys.executable, "-m", "dask", *words, "--no-dashboard"]
    return subprocess.Popen(command, cwd=ROOT, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)


def worker(address, *words):
    return started("worker", address, "--host", "127.0.0.1", "--no-nanny", *words)


@pytest.fixture(scope="module")
def scheduler(tmp_path_factory):
    """Its address; it listens on the loopback only."""
    pytest.importorskip("distributed")
    told = tmp_path_factory.mktemp("cluster") / "scheduler.json"
    process = started("scheduler", "--host", "127.0.0.1", "--port", "0", "--scheduler-file", str(told))
    try:
        end = time.monotonic() + 30.0
        while not told.exists() and time.monotonic() < end:
            time.sleep(0.05)
        yield json.loads(told.read_text())["address"]
    finally:
        process.terminate()
        process.wait(30)


@pytest.fixture
def workers(scheduler, tmp_path_factory):
    folders = [tmp_path_factory.mktemp("worker") for _ in range(2)]
    both = [worker(scheduler, "--nthreads", "1", "--local-directory", str(folder)) for folder in folders]
    yield both
    for process in both:
        process.kill()
        process.wait(30)


def wait_for_two(scheduler):
    end = time.monotonic() + 30.0
    while time.monotonic() < end:
        with cluster(scheduler) as place:
            if place.workers == 2:
                return
    raise AssertionError("the second worker did not come")


def bytes_of(folder):
    return {path.name: path.read_bytes() for path in sorted(folder.iterdir())}


def test_a_cluster_keeps_the_same_files_as_this_process_though_a_worker_is_killed(tmp_path, scheduler, workers):
    store = Store.opened(tmp_path / "cluster", plan(3000))

    def told(at):
        if at.chunks == 8:
            workers[0].kill()

    assert scheduler.startswith("tcp://127.0.0.1:")
    wait_for_two(scheduler)
    with cluster(scheduler) as place:
        outcome = carry_out(work.work(work.slow), store, place, told)
    assert workers[0].wait(30) != 0
    assert (outcome.calculated, outcome.failed) == (30, {})
    kept(tmp_path / "alone", count=3000)
    assert bytes_of(tmp_path / "cluster") == bytes_of(tmp_path / "alone")


def test_a_fault_in_the_work_comes_back_as_it_is(tmp_path, scheduler, workers):
    store = Store.opened(tmp_path / "a", plan())
    with cluster(scheduler) as place, pytest.raises(ArithmeticError, match="a fault in the work"):
        carry_out(work.work(work.faulty), store, place)


def test_an_address_where_nothing_answers_is_told(monkeypatch):
    pytest.importorskip("distributed")
    monkeypatch.setattr("armsim.studies.engine.places.ANSWERS_WITHIN", 0.5)
    for address in ("tcp://127.0.0.1:9", "nowhere at all"):
        with pytest.raises(ClusterError, match="no Dask scheduler answers at "), cluster(address):
            pass


def test_a_cluster_without_workers_is_told(scheduler, monkeypatch):
    monkeypatch.setattr("armsim.studies.engine.places.ANSWERS_WITHIN", 0.5)
    with pytest.raises(ClusterError, match="has no workers"), cluster(scheduler):
        pass


def test_workers_of_another_version_are_refused(scheduler, workers, monkeypatch):
    monkeypatch.setattr("armsim.__version__", "0.0.1")
    with pytest.raises(ClusterError, match=r"has armsim \S+, and here it is 0\.0\.1"), cluster(scheduler):
        pass


def test_workers_of_several_threads_are_refused(scheduler, tmp_path):
    process = worker(scheduler, "--nthreads", "2", "--local-directory", str(tmp_path))
    try:
        with pytest.raises(ClusterError, match="--nthreads 1"), cluster(scheduler):
            pass
    finally:
        process.kill()
        process.wait(30)


def test_what_to_install_is_told(monkeypatch):
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(ClusterError, match=r'pip install "armsim\[cluster\]"'), cluster("tcp://127.0.0.1:8786"):
        pass
