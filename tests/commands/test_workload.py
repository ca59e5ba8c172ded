"""What commands on very many designs say and keep: before, meanwhile, when interrupted, and the second time."""

import os
import pty
import re
import signal
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest
import typer

from armsim.commands import workload
from armsim.commands.workload import Form, How, Question, carried_out
from armsim.studies.engine import Progress, StoreError, plan_of
from tests.studies.engine import work

ROOT = Path(__file__).parents[2]

SCRIPT = """
import sys
from pathlib import Path
from armsim.commands.workload import How, carried_out
from tests.studies.engine import work
from tests.commands.test_workload import question
if __name__ == "__main__":
    with carried_out(question(40_000), work.work(work.slow), How(chunk=100), Path(sys.argv[1])) as (store, outcome):
        print(outcome)
"""


def question(count=1000, **changes):
    usual = {"study": "waves", "inputs_sha256": "0" * 64, "keys": ("row",), "row_cost": 1e-3, "columns": 3}
    return Question(**usual | {"count": count} | changes)


def phases(store):
    return np.concatenate([columns["phase"] for columns in store.chunks()])


def test_results_without_a_folder_are_there_and_then_gone(capsys):
    with carried_out(question(), work.work(), How()) as (store, outcome):
        np.testing.assert_array_equal(phases(store), work.waves(4.0, np.arange(1000))["phase"])
        assert outcome.failed == {}
    assert not store.folder.exists()
    assert capsys.readouterr() == ("", "")


def test_the_second_time_nothing_is_calculated(tmp_path, capsys):
    with carried_out(question(), work.work(), How(chunk=64), tmp_path) as (store, _):
        assert store.folder == tmp_path / "chunks"
    with carried_out(question(), work.work(work.faulty), How(), tmp_path) as (store, outcome):
        assert (outcome.calculated, outcome.before) == (0, 16)
    assert capsys.readouterr().err == f"going on: 16 of 16 chunks are kept in {tmp_path / 'chunks'}\n"


def test_another_question_is_refused_unless_told_to_overwrite(tmp_path):
    with carried_out(question(), work.work(), How(), tmp_path):
        pass
    with (
        pytest.raises(StoreError, match="seed: None there, 1 now"),
        carried_out(question(seed=1), work.work(), How(), tmp_path),
    ):
        pass
    with carried_out(question(seed=1), work.work(), How(), tmp_path, overwrite=True) as (_, outcome):
        assert outcome.before == 0


def test_chunks_given_up_are_told(tmp_path, capsys):
    how = How(workers=2, chunk=100)
    with carried_out(question(), work.work(work.Killing(450)), how, tmp_path) as (_, outcome):
        assert list(outcome.failed) == [4]
    assert "chunk 4: every process that tried rows 400 to 499 was ended\n" in capsys.readouterr().err


def test_a_long_study_says_first_what_it_takes():
    """1e8 rows of 20 columns at 60 us: 6000 s on one worker, 19 of 596 rounds on 32."""
    assert workload.in_words(plan_of(10**8, 60e-6, 20, workers=32)) == (
        "100000000 designs in 596 chunks of 167936: about 3 min with 32 workers, 16 GB on the disk, 10.1 GB of memory"
    )


def test_the_table_of_a_hundred_million_designs_is_as_calculated():
    page = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    rows = [row for row in page.splitlines() if re.match(r"\| [\d.]+ (us|ms) \|", row)]
    assert rows == [row_of(cost, workers) for cost in (1e-4, 1e-3) for workers in (2, 32, 256)]


def row_of(cost, workers):
    budget = plan_of(10**8, cost, 23, workers=workers)
    cells = (
        f"{cost * 1e6:.0f} us" if cost < 1e-3 else f"{cost * 1e3:.0f} ms",
        workers,
        f"{budget.chunks:,}",
        f"{budget.chunk:,}",
        f"{budget.hours:.2g} h",
        workload._size(budget.disk),
        workload._size(budget.memory),
    )
    return f"| {' | '.join(map(str, cells))} |"


@pytest.mark.parametrize(
    ("rate", "said"), [(0.8123, "0.81"), (99.4, "99"), (1234.5, "1,234"), (2e6, "2,000,000"), (0.0, None)]
)
def test_rates_are_said_in_plain_figures(rate, said):
    at = Progress(chunks=1, of_chunks=4, rows=100, of_rows=100, rate=rate)
    assert workload._so_far(at) == "1 of 4 chunks" + (f", {said} designs/s, 0 s left" if said else "")


@pytest.mark.parametrize(
    ("time", "said"), [(0.4, "0 s"), (99.0, "99 s"), (190.0, "3 min"), (5940.0, "99 min"), (36_000.0, "10 h 0 min")]
)
def test_times_are_said_as_people_do(time, said):
    assert workload._lasting(time) == said


@pytest.mark.parametrize(("size", "said"), [(0, "0 B"), (999, "999 B"), (1e3, "1 kB"), (16e9, "16 GB"), (3e12, "3 TB")])
def test_sizes_are_said_as_people_do(size, said):
    assert workload._size(size) == said


def test_a_line_comes_at_times_where_nobody_watches(monkeypatch, capsys):
    class Clock:
        now = 100.0

        def monotonic(self):
            return self.now

    clock = Clock()
    monkeypatch.setattr(workload, "time", clock)
    lines = workload._Lines()
    for chunks in range(1, 10):
        clock.now += 12.0
        lines(Progress(chunks=chunks, of_chunks=10, rows=chunks * 12, of_rows=120, rate=1.0))
    assert capsys.readouterr().err.splitlines() == [
        "3 of 10 chunks, 1 designs/s, 84 s left",
        "6 of 10 chunks, 1 designs/s, 48 s left",
        "9 of 10 chunks, 1 designs/s, 12 s left",
    ]


def test_lines_come_of_a_study_where_nobody_watches(monkeypatch, capsys):
    monkeypatch.setattr(workload, "INTERVAL", 0.0)
    with carried_out(question(), work.work(), How(workers=1, chunk=100)):
        pass
    lines = capsys.readouterr().err.splitlines()
    assert len(lines) == 11
    assert lines[0] == "0 of 10 chunks"
    assert re.fullmatch(r"10 of 10 chunks, [\d,]+ designs/s, 0 s left", lines[-1])


def test_quiet_says_nothing(monkeypatch, capsys):
    monkeypatch.setattr(workload, "INTERVAL", 0.0)
    with carried_out(question(), work.work(), How(workers=1, chunk=100, quiet=True)):
        pass
    assert capsys.readouterr() == ("", "")


def test_a_cluster_has_workers_of_its_own():
    with pytest.raises(typer.BadParameter):
        How(workers=2, cluster="tcp://127.0.0.1:8786")


def test_forms_are_those_of_the_engine():
    from armsim.studies.engine.files import FORMS

    assert tuple(form.value for form in Form) == FORMS


def test_options_are_there_before_anything_heavy():
    heavy = "('numpy', 'rich.progress')"
    script = f"import sys, armsim.commands.workload; print([name for name in {heavy} if name in sys.modules])"
    done = subprocess.run([sys.executable, "-c", script], cwd=ROOT, capture_output=True, text=True, check=True)
    assert done.stdout == "[]\n"


def test_ctrl_c_tells_what_is_kept_and_a_bar_shows_how_far_it_is(tmp_path):
    script = tmp_path / "script.py"
    script.write_text(SCRIPT)
    ours, theirs = pty.openpty()
    surroundings = os.environ | {"PYTHONPATH": str(ROOT), "TERM": "xterm", "COLUMNS": "120"}
    with subprocess.Popen(
        [sys.executable, script, tmp_path / "out"], cwd=ROOT, stderr=theirs, stdout=subprocess.PIPE, env=surroundings
    ) as process:
        os.close(theirs)
        seen = ""
        while not re.search(r"[3-9] of 400 chunks", seen):
            seen += os.read(ours, 4096).decode()
        asked = time.perf_counter()
        process.send_signal(signal.SIGINT)
        while True:
            try:
                if not (more := os.read(ours, 4096)):
                    break
            except OSError:  # the other end has gone
                break
            seen += more.decode()
        process.wait(30)
    os.close(ours)
    assert time.perf_counter() - asked < 15.0  # all of it takes 20 s
    kept = len(list((tmp_path / "out" / "chunks").glob("chunk-*")))
    assert kept >= 3
    assert f"interrupted: {kept} of 400 chunks are kept in {tmp_path / 'out' / 'chunks'}" in seen.replace("\r\n", "")
    assert re.search(r"\d+ of 400 chunks, [\d,]+ designs/s, \d+ (s|min) left", seen)
