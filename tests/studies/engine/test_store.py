"""A folder keeps one study, whole files only, and says what is wrong with another."""

import json
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from armsim.studies.engine import Store, StoreError
from armsim.studies.engine.files import FORMS, DamagedFile, NoParquet, read_columns, write_columns
from tests.studies.engine import work
from tests.studies.engine.work import kept, plan

ROOT = Path(__file__).parents[3]
COLUMNS = {"lift_time": np.array([1.5, np.nan]), "reached": np.array([True, False]), "trips": np.array([0.0, 2.0])}


@pytest.fixture(params=FORMS)
def form(request):
    if request.param == "parquet":
        pytest.importorskip("pyarrow")
    return request.param


def test_columns_come_back_as_they_were(tmp_path, form):
    path = tmp_path / f"a.{form}"
    write_columns(path, COLUMNS, form)
    found = read_columns(path)
    assert list(found) == list(COLUMNS)
    for name, column in COLUMNS.items():
        assert found[name].dtype == column.dtype
        np.testing.assert_array_equal(found[name], column)
    assert list(read_columns(path, ["trips"])) == ["trips"]
    assert [path.name for path in tmp_path.iterdir()] == [f"a.{form}"]


def test_the_same_columns_are_the_same_bytes(tmp_path, form):
    for name in "ab":
        write_columns(tmp_path / f"{name}.{form}", COLUMNS, form)
    assert (tmp_path / f"a.{form}").read_bytes() == (tmp_path / f"b.{form}").read_bytes()


def test_no_byte_of_the_data_changes_unseen(tmp_path, form):
    path = tmp_path / f"a.{form}"
    column = np.random.default_rng(1).normal(size=64)
    write_columns(path, {"x": column}, form)
    good = path.read_bytes()
    data = len(good) if form == "npz" else 500  # what follows the pages of a Parquet file has no check sum
    seen = 0
    for place in range(0, data, 3):
        path.write_bytes(good[:place] + bytes([good[place] ^ 0x55]) + good[place + 1 :])
        try:
            assert read_columns(path)["x"].tobytes() == column.tobytes()
        except DamagedFile:
            seen += 1
    assert seen > 128


@pytest.mark.parametrize(
    ("rest", "zeros"), [(0, False), (40, False), (1200, False), (-1, False), (400, True), (0, True)]
)
def test_a_torn_file_is_calculated_anew(tmp_path, form, rest, zeros):
    kept(tmp_path / "a", form=form)
    path = tmp_path / "a" / f"chunk-000003.{form}"
    good = path.read_bytes()
    path.write_bytes(good[:rest] + (bytes(len(good) - rest) if zeros else b""))
    store = Store.opened(tmp_path / "a", plan(form=form))
    assert (store.damaged, len(store.finished)) == ([3], 9)
    _, outcome = kept(tmp_path / "a", form=form)
    assert (outcome.calculated, outcome.before) == (1, 9)
    assert path.read_bytes() == good


def test_a_whole_file_of_too_few_rows_is_calculated_anew(tmp_path):
    kept(tmp_path / "a")
    write_columns(tmp_path / "a" / "chunk-000003.npz", work.waves(4.0, np.arange(300, 350)), "npz")
    assert Store.opened(tmp_path / "a", plan()).damaged == [3]


def test_another_plan_is_refused_with_what_differs(tmp_path):
    kept(tmp_path / "a")
    before = {path: path.stat().st_mtime_ns for path in (tmp_path / "a").iterdir()}
    with pytest.raises(StoreError) as refused:
        kept(tmp_path / "a", seed=4, keys=("row", "column"))
    assert str(refused.value) == (
        f"{tmp_path / 'a'} keeps results of another study, and nothing was calculated:\n"
        "  keys: ['row'] there, ['row', 'column'] now\n"
        "  seed: None there, 4 now\n"
        "Give --output another name, or add --overwrite to begin anew."
    )
    assert refused.value.exit_status == 4
    assert {path: path.stat().st_mtime_ns for path in (tmp_path / "a").iterdir()} == before


def test_every_part_of_a_plan_counts(tmp_path):
    there = plan().as_json()
    for name, value in there.items():
        assert [line.split(":")[0] for line in plan().differences(there | {name: f"not {value}"})] == [name]
    assert plan().differences(json.loads(json.dumps(there))) == []


def test_overwriting_begins_another_plan_anew_and_keeps_the_same(tmp_path):
    kept(tmp_path / "a")
    assert len(Store.opened(tmp_path / "a", plan(), overwrite=True).finished) == 10
    other = Store.opened(tmp_path / "a", plan(seed=4), overwrite=True)
    assert other.finished == set()
    assert [path.name for path in (tmp_path / "a").iterdir()] == ["plan.json"]


def test_a_folder_of_other_things_is_left_alone(tmp_path):
    (tmp_path / "letter.txt").write_text("dear")
    with pytest.raises(StoreError, match=r"holds letter\.txt and no plan"):
        Store.opened(tmp_path, plan())
    assert [path.name for path in tmp_path.iterdir()] == ["letter.txt"]


def test_a_plan_torn_by_a_power_cut_is_written_anew_where_nothing_else_is(tmp_path):
    (tmp_path / "plan.json").write_text("{")
    Store.opened(tmp_path, plan())
    assert json.loads((tmp_path / "plan.json").read_text())["study"] == "waves"


def test_a_full_disk_is_told_and_keeps_what_is_finished(tmp_path):
    script = (
        "import errno, os, sys; from pathlib import Path\n"
        "from tests.studies.engine.work import kept\n"
        "from armsim.studies.engine import files, StoreError\n"
        "def fsync(number, left=[4]):\n"
        "    left[0] -= 1\n"
        "    if left[0] < 0: raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))\n"
        "files.os.fsync = fsync\n"
        "try: kept(Path(sys.argv[1]), workers=2)\n"
        "except StoreError as fault: print(fault, fault.exit_status)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script, tmp_path / "a"], cwd=ROOT, capture_output=True, text=True, check=True
    )
    kept_text = "3 of 10 chunks are kept, and the same command goes on from there."
    assert done.stdout == f"cannot keep results in {tmp_path / 'a'}: the disk is full. {kept_text} 4\n"
    assert len(Store.opened(tmp_path / "a", plan()).finished) == 3


def test_a_file_that_may_not_grow_is_told_too(tmp_path):
    script = (
        "import resource, signal, sys; from pathlib import Path\n"
        "from tests.studies.engine.work import kept\n"
        "from armsim.studies.engine import StoreError\n"
        "signal.signal(signal.SIGXFSZ, signal.SIG_IGN)\n"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (20_000, resource.RLIM_INFINITY))\n"
        "try: kept(Path(sys.argv[1]), count=10_000, chunk=3_000)\n"
        "except StoreError as fault: print(fault)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script, tmp_path / "a"], cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert done.stdout.startswith(f"cannot keep results in {tmp_path / 'a'}: ")
    assert [path.name for path in (tmp_path / "a").iterdir()] == ["plan.json"]


def test_a_folder_that_cannot_be_made_is_told(tmp_path):
    (tmp_path / "file").touch()
    with pytest.raises(StoreError, match="cannot keep results in"):
        Store.opened(tmp_path / "file" / "a", plan())


def test_what_is_missing_for_parquet_is_told(tmp_path, monkeypatch):
    monkeypatch.setitem(sys.modules, "pyarrow", None)
    with pytest.raises(NoParquet, match=r"armsim\[parquet\]"):
        kept(tmp_path / "a", form="parquet")
