"""The command line: exit statuses, streams, one JSON object, and nothing written when something is wrong."""

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from armsim import __version__
from armsim.__main__ import start
from armsim.cli import main

ROOT = Path(__file__).resolve().parents[1]
TIPPER = ROOT / "scenarios" / "crate-tipper.yaml"
FALLS = ROOT / "scenarios" / "press-hatch-gears.yaml"


@pytest.fixture
def starter(tmp_path, capsys):
    path = tmp_path / "mine.yaml"
    assert main(["new", str(path)]) == 0
    capsys.readouterr()
    return path


@pytest.fixture
def faulty(tmp_path):
    path = tmp_path / "faulty.yaml"
    path.write_text("title: Nothing else\nmotor: {stall_torqe: 2 N*m}\n")
    return path


def command(*words, **kwargs):
    return subprocess.run(
        [sys.executable, "-m", "armsim", *map(str, words)],
        capture_output=True, text=True, timeout=120, check=False, cwd=kwargs.pop("cwd", ROOT), **kwargs,
    )  # fmt: skip


# ------------------------------------------------------------------------------------------------ asking about it


def test_the_version_goes_to_stdout_alone(capsys):
    assert main(["--version"]) == 0
    assert capsys.readouterr() == (f"armsim {__version__}\n", "")


def test_no_words_at_all_shows_the_help_and_is_a_wrong_command_line(capsys):
    assert main([]) == 2
    out, err = capsys.readouterr()
    assert "Usage: armsim" in out
    assert err == ""


def test_the_help_names_every_exit_status(capsys):
    assert main(["--help"]) == 0
    out = capsys.readouterr().out
    table = [line.split()[0] for line in out.split("Exit status:")[1].splitlines() if line.strip()]
    assert table == ["0", "1", "2", "3", "4", "5", "70", "130"]


@pytest.mark.parametrize(
    "words",
    [
        ["rnu"],
        ["run"],
        ["run", "a.yaml", "--jsn"],
        ["run", "a.yaml", "--overwrite"],
        ["run", "a.yaml", "--html"],
    ],
)
def test_a_wrong_command_line_is_status_2_on_stderr(words, capsys):
    assert main(words) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert "Error:" in err


def test_a_wrong_command_line_with_json_is_one_object(capsys):
    assert main(["run", "--json"]) == 2
    assert json.loads(capsys.readouterr().out)["error"]["status"] == 2


def test_help_and_version_load_nothing_heavy():
    heavy = {"numpy", "scipy", "matplotlib", "yaml", "armsim.scenario"}
    for words in (["--help"], ["--version"], ["run", "--help"]):
        script = f"import sys; from armsim.cli import main; main({words!r}); print(*{heavy!r} & set(sys.modules))"
        done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True, cwd=ROOT)
        assert done.stdout.splitlines()[-1] == ""


# ------------------------------------------------------------------------------------------------------ run, check


def test_a_run_prints_its_summary_on_stdout_and_how_to_get_a_report_on_stderr(starter, capsys):
    assert main(["run", str(starter)]) == 0
    out, err = capsys.readouterr()
    assert "LIFTS" in out
    assert out.isascii()
    assert "\x1b" not in out
    assert "--output DIR" in err
    assert sorted(p.name for p in starter.parent.iterdir()) == ["mine.yaml"]


def test_a_run_with_json_prints_one_object_and_nothing_else(starter, capsys):
    assert main(["run", str(starter), "--json"]) == 0
    out, err = capsys.readouterr()
    result = json.loads(out, parse_constant=lambda word: pytest.fail(f"{word} is not JSON"))
    assert result["lift"]["reached"] is True
    assert result["lift"]["time_s"] > 0
    assert "Traceback" not in err


def test_a_check_simulates_nothing_and_says_so_in_json(starter, capsys):
    assert main(["check", str(starter), "--json"]) == 0
    result = json.loads(capsys.readouterr().out)
    assert result["lift"]["static_margin"] > 1
    assert result["lift"]["time_s"] is None
    assert result["events"] == []


def test_a_check_loads_neither_scipy_nor_matplotlib():
    script = (
        f"import sys; from armsim.cli import main; assert main(['check', {str(TIPPER)!r}]) == 0; "
        "print(*{'scipy', 'matplotlib'} & set(sys.modules), file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True, cwd=ROOT)
    assert done.stderr.splitlines()[-1] == ""


def test_strict_turns_a_failed_verdict_into_status_1(capsys):
    assert main(["check", str(FALLS)]) == 0
    assert main(["check", str(FALLS), "--strict"]) == 1
    assert main(["check", str(TIPPER), "--strict"]) == 0
    capsys.readouterr()


def test_a_report_is_written_where_asked_and_named_on_stdout(starter, tmp_path, capsys):
    folder = tmp_path / "deep" / "report"
    assert main(["run", str(starter), "--output", str(folder)]) == 0
    assert str(folder / "report.md") in capsys.readouterr().out
    assert (folder / "report.md").read_text(encoding="utf-8").startswith("# ")


def test_a_page_is_written_when_asked_and_named_on_stdout(starter, tmp_path, capsys):
    folder = tmp_path / "report"
    assert main(["run", str(starter), "--output", str(folder), "--html"]) == 0
    assert str(folder / "report.html") in capsys.readouterr().out
    assert (folder / "report.md").exists()
    assert (folder / "report.html").read_text(encoding="utf-8").startswith("<!DOCTYPE html>")


def test_quiet_says_nothing_at_all(starter, tmp_path, capsys):
    assert main(["run", str(starter), "--output", str(tmp_path / "report"), "--quiet"]) == 0
    assert capsys.readouterr() == ("", "")
    assert (tmp_path / "report" / "report.md").exists()


def test_an_older_report_is_kept_unless_told(starter, tmp_path, capsys, monkeypatch):
    folder = tmp_path / "report"
    folder.mkdir()
    (folder / "report.md").write_text("older")
    monkeypatch.setattr("armsim.studies.single.assess", lambda scenario: pytest.fail("simulated before looking"))
    assert main(["run", str(starter), "--output", str(folder)]) == 4
    assert "--overwrite" in capsys.readouterr().err
    assert [p.name for p in folder.iterdir()] == ["report.md"]
    assert (folder / "report.md").read_text() == "older"
    monkeypatch.undo()
    assert main(["run", str(starter), "--output", str(folder), "--overwrite"]) == 0
    assert (folder / "report.md").read_text(encoding="utf-8") != "older"


# -------------------------------------------------------------------------------------------------------- failures


def test_a_faulty_scenario_is_status_2_with_its_place(faulty, tmp_path, capsys):
    assert main(["run", str(faulty), "--output", str(tmp_path / "report")]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert f"{faulty}:2:" in err
    assert "stall_torque" in err
    assert not (tmp_path / "report").exists()


def test_a_faulty_scenario_with_json_gives_every_problem(faulty, capsys):
    assert main(["check", str(faulty), "--json"]) == 2
    error = json.loads(capsys.readouterr().out)["error"]
    assert error["status"] == 2
    unknown = next(p for p in error["problems"] if p["key"] == "motor.stall_torqe")
    assert (unknown["line"], unknown["code"]) == (2, "SCN102")


@pytest.mark.parametrize("name", ["missing.yaml", "."])
def test_a_file_that_cannot_be_read_is_status_2(name, tmp_path, capsys):
    assert main(["run", str(tmp_path / name)]) == 2
    assert "Traceback" not in capsys.readouterr().err


def test_a_solver_that_gives_up_is_status_3(starter, capsys, monkeypatch):
    from armsim.dynamics.segment import SolverError

    def give_up(scenario):
        raise SolverError("the step became too small at t = 0.4 s")

    monkeypatch.setattr("armsim.studies.single.assess", give_up)
    assert main(["run", str(starter), "--json"]) == 3
    out, err = capsys.readouterr()
    assert json.loads(out)["error"] == {"status": 3, "text": "the step became too small at t = 0.4 s", "problems": []}
    assert "t = 0.4 s" in err


def test_a_fault_of_ours_is_status_70_and_keeps_its_traceback_for_debug(starter, capsys, monkeypatch):
    def stumble(scenario):
        raise ZeroDivisionError("by mistake")

    monkeypatch.setattr("armsim.studies.single.assess", stumble)
    assert main(["run", str(starter)]) == 70
    plain = capsys.readouterr().err
    assert "by mistake" in plain
    assert "Traceback" not in plain
    assert main(["run", str(starter), "--debug"]) == 70
    assert "Traceback" in capsys.readouterr().err


def test_an_interruption_is_status_130_and_leaves_nothing_behind(starter, tmp_path, capsys, monkeypatch):
    def interrupt(*_, **__):
        raise KeyboardInterrupt

    monkeypatch.setattr("armsim.report.write.write_report", interrupt)
    assert main(["run", str(starter), "--output", str(tmp_path / "report")]) == 130
    assert sorted(p.name for p in tmp_path.iterdir()) == ["mine.yaml"]


@pytest.mark.skipif(os.name == "nt", reason="POSIX signals")
def test_ctrl_c_in_a_running_process_is_130_without_a_traceback(tmp_path):
    slow = tmp_path / "slow.yaml"
    creeping = "lift: {to: 70 deg, profile: {speed: 0.2 deg/s, acceleration: 1 deg/s^2}}"  # 50 000 looks of the loop
    slow.write_text(TIPPER.read_text().replace("lift: {to: 70 deg}", creeping))
    assert creeping in slow.read_text()
    process = subprocess.Popen(
        [sys.executable, "-m", "armsim", "run", slow, "--output", tmp_path / "report"],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, cwd=ROOT,
    )  # fmt: skip
    time.sleep(2.0)
    process.send_signal(signal.SIGINT)
    _, err = process.communicate(timeout=60)
    assert process.returncode == 130
    assert b"Traceback" not in err
    assert sorted(p.name for p in tmp_path.iterdir()) == ["slow.yaml"]


@pytest.mark.skipif(os.name == "nt", reason="POSIX signals")
def test_a_process_is_interrupted_with_its_status_before_and_not_after_its_work(monkeypatch):
    def interrupted():
        raise KeyboardInterrupt

    handler = signal.getsignal(signal.SIGINT)
    try:
        monkeypatch.setattr("armsim.cli.main", interrupted)
        assert start() == 130
        monkeypatch.setattr("armsim.cli.main", lambda: 3)
        assert start() == 3
        os.kill(os.getpid(), signal.SIGINT)  # on the way out: nothing is raised
    finally:
        signal.signal(signal.SIGINT, handler)


# ------------------------------------------------------------------------------------------------------------- new


def test_the_schema_is_printed_alone_and_written_where_asked(starter, tmp_path, capsys):
    assert main(["schema"]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    assert json.loads(out)["properties"]["motor"]
    target = tmp_path / "armsim.schema.json"
    assert main(["schema", "--output", str(target)]) == 0
    assert capsys.readouterr().out == f"{target}\n"
    assert target.read_text() == out
    assert main(["schema", "--output", str(target)]) == 4
    assert main(["schema", "--output", str(target), "--overwrite"]) == 0
    assert main(["schema", "--overwrite"]) == 2


def test_parts_lists_kinds_and_tables_and_knows_what_was_meant(capsys):
    assert main(["parts"]) == 0
    assert "Roller chains" in capsys.readouterr().out
    assert main(["parts", "wire", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["rows"][0]["current_a"] == 20
    assert main(["parts", "wires", "--json"]) == 2
    out, err = capsys.readouterr()
    assert "did you mean wire?" in json.loads(out)["error"]["text"]
    assert "did you mean wire?" in err


def test_a_new_scenario_is_never_put_over_another_unless_told(starter, capsys):
    starter.write_text("mine")
    assert main(["new", str(starter)]) == 4
    assert starter.read_text() == "mine"
    assert main(["new", str(starter), "--overwrite"]) == 0
    assert "title:" in starter.read_text()
    capsys.readouterr()


def test_a_new_scenario_in_a_folder_that_is_not_there_is_status_4(tmp_path, capsys):
    assert main(["new", str(tmp_path / "no" / "mine.yaml")]) == 4
    assert "cannot write" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


# --------------------------------------------------------------------------------------------------------- streams


@pytest.mark.skipif(os.name == "nt", reason="POSIX pipes")
@pytest.mark.parametrize(("words", "status"), [("--help", 0), (f"check {TIPPER}", 0), (f"check {FALLS} --strict", 1)])
def test_a_reader_that_leaves_is_met_with_silence_and_the_right_status(words, status):
    line = f'"{sys.executable}" -m armsim {words} | true; exit ${{PIPESTATUS[0]}}'
    done = subprocess.run(["bash", "-c", line], capture_output=True, text=True, check=False, cwd=ROOT)
    assert (done.returncode, done.stderr) == (status, "")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs /dev/full")
def test_a_full_disk_behind_stdout_is_status_4():
    with open("/dev/full", "w") as full:
        done = subprocess.run(
            [sys.executable, "-m", "armsim", "check", TIPPER], stdout=full, stderr=subprocess.PIPE, text=True,
            check=False, cwd=ROOT,
        )  # fmt: skip
    assert done.returncode == 4
    assert done.stderr.startswith("armsim: cannot write to standard output")


@pytest.mark.skipif(os.name == "nt", reason="POSIX shell")
@pytest.mark.parametrize("closed", [">&-", "2>&-", ">&- 2>&-"])
def test_a_closed_stream_is_no_fault(closed):
    line = f'"{sys.executable}" -m armsim check {TIPPER} {closed}'
    assert subprocess.run(["bash", "-c", line], capture_output=True, check=False, cwd=ROOT).returncode == 0


def test_a_narrow_code_page_never_breaks_a_run():
    done = command("check", TIPPER, env={**os.environ, "PYTHONIOENCODING": "ascii"})
    assert (done.returncode, "Traceback" in done.stderr) == (0, False)


def test_colour_is_left_out_when_nobody_looks():
    done = command("check", TIPPER, env={**os.environ, "FORCE_COLOR": "1", "NO_COLOR": "1"})
    assert "\x1b" not in done.stdout
