"""The schematic: made for every demo and kind of train, its sentence on direction true to the senses."""

from pathlib import Path

import pytest

from armsim.drivetrain.shafts import shaft_senses
from armsim.report.drawing import house_style
from armsim.report.schematic import motor_turns_drawn, schematic
from armsim.scenario import load
from tests.drivetrain.test_layout import BEVEL, BOX, CROSSED, PLAIN, RING, SUN, WORM
from tests.scenario.texts import read

DEMOS = sorted(Path("scenarios").glob("*.yaml"))


def drawn(machine):
    with house_style():
        return schematic(machine)


@pytest.mark.parametrize("text", [PLAIN, RING, SUN, WORM, CROSSED, BEVEL, BOX])
def test_each_kind_of_train_is_drawn_with_its_numbers(text):
    machine = read(transmission=text).machine
    picture = drawn(machine)
    (axes,) = picture.figure.axes
    words = {item.get_text() for item in axes.texts}
    shafts = len(shaft_senses(machine))
    assert any(word.startswith("M 1") for word in words)
    assert "arm" in words
    assert {str(k) for k in range(2, shafts + 1)} <= words | {str(shafts)}
    turns = motor_turns_drawn(machine)
    sense = shaft_senses(machine)[0]
    assert turns == {1: "counter-clockwise", -1: "clockwise", None: None}[sense]
    assert (turns or "not told") in picture.text


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_every_demo_has_one(path):
    assert drawn(load(path).machine).figure.axes
