"""The command that compares: what fails is told and stops no other, and what is written is always the same."""

import csv
import json
import os
import re
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from armsim.cli import main
from armsim.commands.compare import status_of
from armsim.studies.compare import Comparison
from tests.studies.proposals import A, B, D, failure
from tests.studies.work import judged_or_killed

ROOT = Path(__file__).resolve().parents[1]


def variant(folder, name, text=""):
    path = folder / f"{name}.yaml"
    path.write_text(f"variant_of: tipper.yaml\n{text}\n")
    return path


@pytest.fixture(scope="module")
def four(tmp_path_factory):
    """One that passes, one that stalls, one with a fault and one whose process is killed."""
    folder = tmp_path_factory.mktemp("four")
    assert main(["new", str(folder / "tipper.yaml")]) == 0
    variant(folder, "stalls", "arm: {payload: {mass: 60 kg}}")
    variant(folder, "faulty", "motor: {stall_torqe: 2 N*m}")
    variant(folder, "killed", "arm: {payload: {mass: 9 kg}}")
    variant(folder, "late", "requirements: {lift_time: {max: 0.3 s}}")
    return folder


def tree(folder):
    return {str(p.relative_to(folder)): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}


def names(folder, *labels):
    return [str(folder / f"{label}.yaml") for label in labels]


# ------------------------------------------------------------------------------------------------- some of many fail


@pytest.fixture(scope="module")
def mixed(four, tmp_path_factory):
    target = tmp_path_factory.mktemp("mixed") / "report"
    words = ["compare", *names(four, "tipper", "faulty", "killed", "stalls"), "--json", "--output", str(target)]
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("armsim.studies.compare.judged", judged_or_killed)
        out = target.parent / "out.txt"
        with out.open("w") as stream:
            patch.setattr(sys, "stdout", stream)
            status = main(words)
    return status, json.loads(out.read_text()), target


def test_what_fails_is_told_and_the_others_are_right(mixed, four, capsys):
    status, answer, _ = mixed
    assert status == 5
    tipper, faulty, killed, stalls = answer["scenarios"]
    assert [one["label"] for one in answer["scenarios"]] == ["tipper", "faulty", "killed", "stalls"]
    assert faulty["error"]["status"] == 2
    assert [problem["code"] for problem in faulty["error"]["problems"]] == ["SCN102"]
    assert killed["error"]["text"] == "its process ended before it could answer, killed or out of memory"
    assert (stalls["verdict"], stalls["measures"]["lift_time_s"]) == ("fail", None)
    assert answer["choice"] == ["tipper"]
    assert main(["run", *names(four, "tipper"), "--json"]) == 0
    alone = json.loads(capsys.readouterr().out)
    assert tipper["measures"]["lift_time_s"] == alone["lift"]["time_s"]
    assert tipper["measures"]["supply_peak_a"] == alone["current"]["supply_peak_a"]
    assert tipper["measures"]["static_margin"] == alone["lift"]["static_margin"]
    assert tipper["measures"]["energy_per_cycle_j"] == alone["energy"]["supplied_j"]
    assert tipper["measures"]["winding_peak_c"] == alone["thermal"]["winding_peak_c"]
    assert tipper["inputs_sha256"] == alone["inputs_sha256"]


def test_the_folder_holds_the_comparison_and_the_report_of_each_that_ran(mixed, four, tmp_path):
    _, answer, target = mixed
    assert json.loads((target / "result.json").read_text()) == answer
    assert sorted(path.name for path in (target / "runs").iterdir()) == ["stalls", "tipper"]
    assert main(["run", *names(four, "tipper"), "--quiet", "--output", str(tmp_path / "alone")]) == 0
    assert tree(target / "runs" / "tipper") == tree(tmp_path / "alone")
    report = (target / "report.md").read_text()
    for name in ("trade-off.png", "courses.png", "margins-arm.png"):
        assert ((target / name).exists()) == (f"]({name})" in report)
    assert "runs/stalls/report.md" in report
    assert "killed could not be run" in report
    rows = list(csv.DictReader((target / "compare.csv").read_text().splitlines()))
    assert [row["verdict"] for row in rows] == ["pass", "", "", "fail"]
    assert not [path for path in target.parent.iterdir() if path.name.startswith(".")]


@pytest.mark.parametrize(
    ("outcomes", "left", "status", "strict"),
    [
        ([A, B], [], 0, 0),
        ([A, D], [], 0, 1),  # d fails
        ([A, failure("x")], [], 5, 5),
        ([failure("x", status=2), failure("y", status=2)], [], 2, 2),
        ([failure("x", status=2), failure("y", status=70)], [], 5, 5),
        ([A, failure("x")], ["y"], 130, 130),
    ],
)
def test_the_status_of_many(outcomes, left, status, strict):
    comparison = Comparison(outcomes=tuple(outcomes), left=tuple(left))
    assert status_of(comparison, strict=False) == status
    assert status_of(comparison, strict=True) == strict


def test_faults_alone_are_told_on_stderr_with_their_places_and_nothing_is_written(four, tmp_path, capsys):
    assert main(["compare", *names(four, "faulty", "gone"), "--output", str(tmp_path / "report")]) == 2
    out, err = capsys.readouterr()
    assert "faulty.yaml:2" in err
    assert "gone.yaml" in err
    assert "None could be judged." in out
    assert not (tmp_path / "report").exists()


def test_strict_asks_for_a_pass_of_all(four, capsys):
    assert main(["compare", *names(four, "tipper", "late"), "--workers", "2", "--strict"]) == 1
    out, err = capsys.readouterr()
    assert "1 of 2 meets every requirement: tipper." in out
    assert "Take tipper: it is the only one that passes." in out
    assert "late fails: misses lift time by" in out
    assert err == "No report written; add --output DIR for one with figures.\n"


# ------------------------------------------------------------------------------------------------ what is given to it


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ([], "Missing argument"),
        (["tipper.yaml"], "two scenarios or more"),
        (["empty"], "has no scenario in it"),
        (["none*.yaml"], "no file is named like"),
        (["tipper.yaml", "stalls.yaml", "--overwrite"], "--output DIR or --csv FILE"),
        (["tipper.yaml", "stalls.yaml", "--workers", "0"], "--workers"),
        (["tipper.yaml", "stalls.yaml", "--html"], "--output DIR"),
    ],
)
def test_a_wrong_command_line_is_status_2(four, words, told, capsys, monkeypatch):
    monkeypatch.chdir(four)
    (four / "empty").mkdir(exist_ok=True)
    assert main(["compare", *words]) == 2
    assert told in capsys.readouterr().err


def test_nothing_older_is_replaced_unless_told_and_that_is_known_before_the_first_run(
    four, tmp_path, capsys, monkeypatch
):
    monkeypatch.setattr("armsim.studies.compare.each", lambda *_: pytest.fail("ran"))
    older, folder = tmp_path / "older.csv", tmp_path / "report"
    older.write_text("mine")
    (folder / "runs" / "a").mkdir(parents=True)
    (folder / "runs" / "a" / "report.md").write_text("mine")
    words = ["compare", *names(four, "tipper", "stalls")]
    for option in (["--csv", str(older)], ["--csv", str(tmp_path / "no" / "x.csv")], ["--output", str(folder)]):
        assert main([*words, *option]) == 4
        assert "nothing was written" in capsys.readouterr().err
    assert older.read_text() == "mine"
    assert (folder / "runs" / "a" / "report.md").read_text() == "mine"


# ------------------------------------------------------------------------------------------------- same bytes, Ctrl-C


def test_reports_are_the_same_bytes_whatever_does_the_work_and_replace_older_ones_whole(four, tmp_path):
    words = ["compare", *names(four, "tipper", "late"), "--quiet", "--html"]
    one, other = tmp_path / "one", tmp_path / "other"
    (other / "runs" / "long-gone").mkdir(parents=True)
    (other / "runs" / "long-gone" / "report.md").write_text("of an older comparison")
    (other / "mine.txt").write_text("mine")
    assert main([*words, "--workers", "2", "--output", str(one), "--csv", str(tmp_path / "table.csv")]) == 0
    assert main([*words, "--workers", "1", "--output", str(other), "--overwrite"]) == 0
    assert tree(other) == tree(one) | {"mine.txt": b"mine"}
    assert (tmp_path / "table.csv").read_bytes() == (one / "compare.csv").read_bytes()
    page = (one / "report.html").read_text(encoding="utf-8")
    assert page.count("<svg") + page.count("data:image") >= 3
    linked = set(re.findall(r'href="(runs/[^"]*)"', page))
    assert linked == {"runs/tipper/report.html", "runs/late/report.html"}
    assert all((one / link).exists() for link in linked)


@pytest.mark.skipif(os.name == "nt", reason="POSIX signals")
def test_ctrl_c_keeps_and_tells_what_is_done(four, tmp_path):
    creeping = "moves: [{lift: {to: 70 deg, profile: {speed: 0.2 deg/s, acceleration: 1 deg/s^2}}}]"
    slow, target = variant(four, "slow", creeping), tmp_path / "report"
    process = subprocess.Popen(
        [sys.executable, "-m", "armsim", "compare", *names(four, "tipper"), slow, "--workers", "1", "--output", target],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, cwd=ROOT, start_new_session=True,
    )  # fmt: skip
    end = time.monotonic() + 60.0
    while not list(tmp_path.rglob("runs/tipper/report.md")) and time.monotonic() < end:
        time.sleep(0.1)
    time.sleep(1.0)  # until its record has come back too
    os.killpg(process.pid, signal.SIGINT)  # as a terminal does: all of them hear it
    out, err = process.communicate(timeout=60)
    assert process.returncode == 130
    assert "Interrupted: slow not done." in out
    assert "Traceback" not in err
    assert (target / "runs" / "tipper" / "report.md").exists()
    assert json.loads((target / "result.json").read_text())["not_done"] == ["slow"]
