import json
from pathlib import Path

import pytest

from armsim.cli import main
from tests.studies.stocks import TASK, written


def test_it_prints_the_best_and_writes_them_where_asked(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    task, stock = written(tmp_path)
    out, rows = tmp_path / "out", tmp_path / "best.csv"
    words = ["choose", str(task), "--stock", str(stock), "--for", "simplest", "--stages", "1"]
    assert main([*words, "--output", str(out), "--csv", str(rows), "--workers", "1"]) == 0
    said = capsys.readouterr().out
    assert said.startswith("Of 76 combinations the simplest that meets every requirement: ")
    assert f"Report: {out / 'report.md'}" in said
    assert rows.read_text() == (out / "best.csv").read_text()
    assert main([*words, "--output", str(out)]) == 4
    assert main([*words, "--csv", str(rows)]) == 4
    assert main([*words, "--csv", str(rows), "--overwrite", "--quiet"]) == 0


def test_as_json_it_prints_one_object_also_where_it_fails(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    task, stock = written(tmp_path)
    words = ["choose", str(task), "--stages", "1", "--json"]
    assert main([*words, "--stock", str(stock)]) == 0
    assert json.loads(capsys.readouterr().out)["for"] == "fastest"
    stock.write_text("title: empty\n")
    assert main([*words, "--stock", str(stock)]) == 2
    assert "no motors to choose from" in json.loads(capsys.readouterr().out)["error"]["text"]


def test_where_none_passes_only_strict_makes_it_fail(tmp_path: Path) -> None:
    task, stock = written(tmp_path, TASK.replace("{max: 28 A}", "{max: 3 A}"))
    words = ["choose", str(task), "--stock", str(stock), "--stages", "1", "--quiet"]
    assert main(words) == 0
    assert main([*words, "--strict"]) == 1


@pytest.mark.parametrize("words", [["--html"], ["--overwrite"], ["--for", "nicest"], ["--stages", "0"]])
def test_options_that_say_nothing_are_refused(words: list[str], tmp_path: Path) -> None:
    task, stock = written(tmp_path)
    assert main(["choose", str(task), "--stock", str(stock), *words]) == 2
