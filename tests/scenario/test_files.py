"""Scenario files as people name them."""

import pytest

from armsim.scenario.files import NoFiles, scenario_files


@pytest.fixture
def folder(tmp_path, monkeypatch):
    for name in ("b.yaml", "a.yml", "c.yaml", "notes.txt", ".hidden.yaml"):
        (tmp_path / name).touch()
    (tmp_path / "deeper.yaml").mkdir()
    monkeypatch.chdir(tmp_path)
    return tmp_path


def found(*names):
    return [path.name for path in scenario_files(names)]


def test_files_stay_in_the_order_given_and_come_once(folder):
    assert found("c.yaml", "a.yml", folder / "c.yaml", "./a.yml") == ["c.yaml", "a.yml"]


def test_a_folder_is_its_scenarios_by_name(folder):
    assert found(".") == ["a.yml", "b.yaml", "c.yaml"]
    assert found("c.yaml", ".") == ["c.yaml", "a.yml", "b.yaml"]


def test_a_pattern_that_no_shell_has_spelled_out_is_spelled_out(folder):
    assert found("*.yaml") == ["b.yaml", "c.yaml"]
    assert found("[ac].*") == ["a.yml", "c.yaml"]


def test_a_name_that_only_looks_like_a_pattern_is_a_file(folder):
    (folder / "x[1].yaml").touch()
    assert found("x[1].yaml") == ["x[1].yaml"]


def test_a_file_that_is_not_there_is_left_for_reading_to_tell(folder):
    assert found("gone.yaml") == ["gone.yaml"]


@pytest.mark.parametrize("name", ["deeper.yaml", "z*.yaml"])
def test_a_folder_or_pattern_without_scenarios_is_a_fault(folder, name):
    with pytest.raises(NoFiles, match=r"no scenario in it|no file is named like"):
        scenario_files([name])
