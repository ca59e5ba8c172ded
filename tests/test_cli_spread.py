"""The spread command: what it prints, writes and refuses."""

import json
from types import SimpleNamespace

import pytest

from armsim.cli import main
from tests.scenario import texts

SECTIONS = {
    "start": "0 deg",
    "moves": "[{lift: {to: 10 deg}}]",
    "uncertainty": "{payload: {uniform: [4 kg, 12 kg]}, motor_resistance: 10 %}",
    "requirements": "{static_margin: {min: 2.2}, lift_time: {max: 20 s}}",
}


@pytest.fixture
def armsim(capsys):
    def call(*words):
        status = main([str(word) for word in words])
        out, err = capsys.readouterr()
        return SimpleNamespace(returncode=status, stdout=out, stderr=err)

    return call


@pytest.fixture
def scenario(tmp_path):
    file = tmp_path / "gate.yaml"
    file.write_text(texts.scenario_text(**SECTIONS), encoding="utf-8")
    return file


def test_the_answer_comes_first_and_says_how_sure_it_is(armsim, scenario):
    done = armsim("spread", scenario, "--count", "20")
    assert done.returncode == 0
    first = done.stdout.splitlines()[0]
    assert " % (" in first
    assert "of such machines meet all requirements" in first
    assert "32 machines, seed 1" in done.stdout  # a power of two


def test_json_alone_on_stdout_and_the_same_for_the_same_seed(armsim, scenario):
    one, again, other = (armsim("spread", scenario, "--count", "16", "--json", "--seed", n) for n in ("1", "1", "2"))
    assert json.loads(one.stdout)["together"]["judged"] == 16
    assert one.stdout == again.stdout
    assert one.stdout != other.stdout


def test_all_machines_can_be_had_as_csv_and_an_older_one_is_kept(armsim, scenario, tmp_path):
    table = tmp_path / "all.csv"
    assert armsim("spread", scenario, "--count", "16", "--csv", table).returncode == 0
    assert len(table.read_text(encoding="utf-8").splitlines()) == 17
    refused = armsim("spread", scenario, "--count", "16", "--csv", table)
    assert refused.returncode == 4
    assert "Add --overwrite" in refused.stderr
    assert armsim("spread", scenario, "--count", "16", "--csv", table, "--overwrite").returncode == 0


def test_a_folder_is_written_whole_and_never_over_an_older_one(armsim, scenario, tmp_path):
    out = tmp_path / "out"
    done = armsim("spread", scenario, "--count", "16", "--output", out, "--html")
    assert done.returncode == 0
    assert f"Report: {out / 'report.html'}" in done.stdout
    assert (out / "worst.yaml").exists()
    assert armsim("run", out / "worst.yaml", "--json").returncode == 0
    assert armsim("spread", scenario, "--count", "16", "--output", out).returncode == 4


@pytest.mark.parametrize(
    ("options", "told"),
    [(("--html",), "--output"), (("--count", "3"), "--count"), (("--overwrite",), "--output")],
)
def test_options_that_make_no_sense_are_refused(armsim, scenario, options, told):
    done = armsim("spread", scenario, *options)
    assert done.returncode == 2
    assert told in done.stderr


def test_moves_without_a_lift_are_no_fault_of_ours(armsim, tmp_path):
    file = tmp_path / "down.yaml"
    sections = {**SECTIONS, "start": "20 deg", "moves": "[{lower: {to: 0 deg}}]"}
    file.write_text(texts.scenario_text(**sections), encoding="utf-8")
    done = armsim("spread", file, "--json")
    assert done.returncode == 2
    assert "no lift" in json.loads(done.stdout)["error"]["text"]
