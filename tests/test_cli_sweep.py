"""The command that sweeps: its streams, files and exit statuses."""

import csv
import json
from pathlib import Path

import pytest

from armsim.cli import main
from tests.studies.sweeps import GATE

WORDS = ["--vary", "reduction=100,150", "--workers", "1"]


@pytest.fixture(scope="module")
def gate(tmp_path_factory):
    path = tmp_path_factory.mktemp("gate") / "gate.yaml"
    path.write_text(GATE, encoding="utf-8")
    return path


def test_a_sweep_prints_its_conclusion_and_writes_all_rows(gate, tmp_path, capsys):
    table = tmp_path / "all.csv"
    assert main(["sweep", str(gate), *WORDS, "--csv", str(table)]) == 0
    out, err = capsys.readouterr()
    assert out.startswith("All requirements met from 100:1 to 150:1")
    assert "--output DIR" in err
    assert [row["reduction"] for row in csv.DictReader(table.read_text().splitlines())] == ["100", "150"]


def test_json_is_one_object_and_the_report_is_named_on_stderr(gate, tmp_path, capsys):
    folder = tmp_path / "report"
    assert main(["sweep", str(gate), *WORDS, "--json", "--output", str(folder), "--html"]) == 0
    out, err = capsys.readouterr()
    assert [row["values"] for row in json.loads(out)["rows"]] == [{"reduction": 100.0}, {"reduction": 150.0}]
    assert str(folder / "report.html") in err
    assert {path.name for path in folder.iterdir()} >= {"report.md", "report.html", "sweep.csv", "result.json"}


def test_strict_is_status_1_where_nothing_meets_everything(gate, capsys):
    words = ["sweep", str(gate), "--vary", "requirements.lift_time.max=0.1 s,0.2 s", "--workers", "1", "--quiet"]
    assert main(words) == 0
    assert main([*words, "--strict"]) == 1
    assert capsys.readouterr() == ("", "")


def test_rows_that_cannot_be_built_are_status_5(gate, capsys):
    words = ["--vary", "moves.0.lift.to=50 deg,80 deg", "--vary", "arm.stops.upper=70 deg,95 deg", "--workers", "1"]
    assert main(["sweep", str(gate), *words]) == 5
    assert "not run: 80 deg is above the upper stop, 70 deg" in capsys.readouterr().out


def test_faulty_options_are_status_2_all_at_once_before_anything_is_run(gate, tmp_path, capsys, monkeypatch):
    monkeypatch.setattr("armsim.commands.workload.carried_out", lambda *rest: pytest.fail("ran"))
    words = ["sweep", str(gate), "--vary", "arm.paylod.mass=5kg:9kg:3", "--vary", "reduction=20", "--json"]
    assert main([*words, "--output", str(tmp_path / "report")]) == 2
    out, err = capsys.readouterr()
    assert [problem["line"] for problem in json.loads(out)["error"]["problems"]] == [1, 2]
    assert "did you mean 'payload'?" in err
    assert "Traceback" not in err
    assert not (tmp_path / "report").exists()


def test_a_scenario_without_a_lift_is_status_2(tmp_path, capsys):
    path = tmp_path / "still.yaml"
    path.write_text(GATE.split("moves:")[0] + "moves:\n  - rest: {for: 1 s}\n", encoding="utf-8")
    assert main(["sweep", str(path), *WORDS]) == 2
    assert "no lift among its moves" in capsys.readouterr().err


def test_an_interrupted_sweep_goes_on_and_ends_with_the_same_files(tmp_path, capsys, monkeypatch):
    from armsim.studies import sweep_job

    tipper = Path(__file__).resolve().parents[1] / "scenarios" / "crate-tipper.yaml"
    words = ["sweep", str(tipper), "--vary", "arm.payload.mass=4kg,14kg,9kg,6kg,12kg", "--workers", "1", "--chunk", "2"]
    whole, halved = tmp_path / "whole", tmp_path / "halved"
    assert main([*words, "--quiet", "--output", str(whole)]) == 0

    spans, once = [], sweep_job.rows_evaluated

    def stopped(job, span):
        spans.append(span)
        if span == (4, 5) and len(spans) < 4:
            raise KeyboardInterrupt
        return once(job, span)

    monkeypatch.setattr(sweep_job, "rows_evaluated", stopped)
    assert main([*words, "--output", str(halved)]) == 130
    assert "2 of 3 chunks are kept" in capsys.readouterr().err
    assert not (halved / "report.md").exists()
    assert main([*words, "--output", str(halved)]) == 0
    assert "going on: 2 of 3 chunks" in capsys.readouterr().err
    assert spans == [(0, 2), (2, 4), (4, 5), (4, 5)]
    for name in ("sweep.csv", "result.json", "sweep.svg", "chunks/chunk-000001.npz"):
        assert (halved / name).read_bytes() == (whole / name).read_bytes()


def test_an_older_file_is_kept_unless_told(gate, tmp_path, capsys, monkeypatch):
    table = tmp_path / "all.csv"
    table.write_text("older")
    monkeypatch.setattr("armsim.commands.workload.carried_out", lambda *rest: pytest.fail("ran"))
    assert main(["sweep", str(gate), *WORDS, "--csv", str(table)]) == 4
    assert "--overwrite" in capsys.readouterr().err
    assert table.read_text() == "older"


@pytest.mark.parametrize(
    "words", [[], ["--vary", "reduction=20,30", "--html"], ["--vary", "reduction=2,3", "--overwrite"]]
)
def test_a_wrong_command_line_is_status_2(gate, words, capsys):
    assert main(["sweep", str(gate), *words]) == 2
    assert "Error:" in capsys.readouterr().err
