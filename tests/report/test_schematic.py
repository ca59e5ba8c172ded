"""The schematic: made for every demo and kind of train, its sentence on direction true to the senses."""

from pathlib import Path

import numpy as np
import pytest

from armsim.checks.transmission import inside_motor
from armsim.drivetrain.senses import motor_turning, turnings
from armsim.report.drawing import house_style
from armsim.report.schematic import schematic
from armsim.report.turning import motor_text
from armsim.scenario import load
from tests.drivetrain.test_layout import BEVEL, BOX, CROSSED, PLAIN, RING, SUN, WORM
from tests.scenario.texts import read

DEMOS = sorted(Path("scenarios").glob("*.yaml"))


PLACED = (
    "[{gears: {driver: 16, driven: 80, module: 1 mm}}, "
    "{worm: {starts: 1, wheel: 40, module: 2 mm, diameter: 24 mm, hand: left, placement: below}}, "
    "{bevel: {driver: 18, driven: 43, module: 2 mm, placement: opposite-side}}]"
)


def ways(picture, name):
    """How the curved arrows of a name bend on their way to the head: +1 to the left, which is counter-clockwise."""
    (axes,) = picture.figure.axes
    found = []
    for patch in axes.patches:
        if patch.get_gid() == name:
            tail, bend, head = patch.get_path().vertices[:3]
            found.append(int(np.sign(np.linalg.det([bend - tail, head - bend]))))
    return found


def drawn(machine):
    with house_style():
        return schematic(machine)


@pytest.mark.parametrize("text", [PLAIN, RING, SUN, WORM, CROSSED, BEVEL, BOX, PLACED])
def test_each_kind_of_train_is_drawn_with_its_numbers(text):
    machine = read(transmission=text).machine
    picture = drawn(machine)
    (axes,) = picture.figure.axes
    words = {item.get_text() for item in axes.texts}
    shafts = len(turnings(machine)) - inside_motor(machine)
    assert any(word.startswith("M 1") for word in words)
    assert "arm" in words
    assert {str(k) for k in range(2, shafts + 1)} <= words
    assert motor_text(motor_turning(machine)) in picture.text
    behind = turnings(machine)[inside_motor(machine) :]
    known = [turning.sense for turning in behind if turning.sense is not None]
    assert ways(picture, "shaft turns") == known
    assert len(ways(picture, "idler turns")) == text.count("idlers")


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_every_demo_has_one(path):
    assert drawn(load(path).machine).figure.axes
