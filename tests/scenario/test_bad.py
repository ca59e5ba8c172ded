"""Every faulty file of tests/bad is refused with exactly the text beside it.

After a change of wording: ARMSIM_WRITE_BAD=1 pytest -n0 tests/scenario/test_bad.py, then read the difference.
"""

import os
from pathlib import Path

import pytest

from armsim.scenario import ScenarioError, load

FOLDER = Path(__file__).resolve().parents[1] / "bad"
BASES = {"good-base.yaml"}  # what other files vary
FAULTY = sorted(path.name for path in FOLDER.glob("*.yaml") if path.name not in BASES)


def answer(name):
    with pytest.raises(ScenarioError) as caught:
        load(Path(name))
    return f"{caught.value}\n"


@pytest.mark.parametrize("name", FAULTY)
def test_a_faulty_file_is_answered_in_full(name, monkeypatch):
    monkeypatch.chdir(FOLDER)
    expected = FOLDER / name.replace(".yaml", ".txt")
    if os.environ.get("ARMSIM_WRITE_BAD"):
        expected.write_text(answer(name), encoding="utf-8")
    assert answer(name) == expected.read_text(encoding="utf-8")


def test_there_are_enough_of_them_and_every_text_has_its_file():
    assert len(FAULTY) >= 45
    assert {path.stem for path in FOLDER.glob("*.txt")} == {Path(name).stem for name in FAULTY}


def test_the_good_base_is_good(monkeypatch):
    monkeypatch.chdir(FOLDER)
    assert load(Path("good-base.yaml")).title == "Sluice gate"
