"""Which way motor and shafts turn, in words that agree with each other."""

import pytest

from armsim.checks.transmission import shaft_rows, steady_walk
from armsim.drivetrain.senses import motor_turning, turnings
from armsim.report.turning import motor_text, motor_turns_json, motor_words, shaft_turns_json, views_text
from tests.scenario.texts import read

PAIR = "{gears: {driver: 16, driven: 55}}"
WORM = "{worm: {starts: 1, wheel: 40, module: 2 mm, diameter: 24 mm, name: worm%s}}"
PLACED = WORM % ", placement: below"


def machine_of(*stages):
    return read(transmission=f"[{', '.join(stages)}]").machine


@pytest.mark.parametrize(
    ("stages", "words", "both_ends"),
    [
        ((PAIR,), "clockwise, seen where the arm rises counter-clockwise", True),
        ((PAIR, PAIR), "counter-clockwise, seen where the arm rises counter-clockwise", True),
        ((PLACED,), "clockwise, seen at its shaft end", False),
        ((PLACED, PAIR), "counter-clockwise, seen at its shaft end", False),
        ((PAIR, PLACED), "counter-clockwise, seen from worm, looking back along the shaft", True),
    ],
)
def test_the_motor_is_told_from_where_it_is_seen(stages, words, both_ends):
    motor = motor_turning(machine_of(*stages))
    word, seen = words.split(", ", 1)
    other = {"clockwise": "counter-clockwise", "counter-clockwise": "clockwise"}[word]
    assert motor_words(motor) == words
    text = motor_text(motor)
    assert text.startswith(f"Motor turns {word} to lift, {seen}")
    assert text.endswith(f"if the shaft points at you, {other} if it points away.") is both_ends


def test_what_is_not_told_asks_for_the_key():
    motor = motor_turning(machine_of(WORM % ""))
    assert motor_words(motor) == "not known: give placement of worm"
    assert "not known" in motor_text(motor)
    told = motor_turns_json(motor)
    assert told.pop("motor_turns_hidden_by") == "worm"
    assert set(told.values()) == {None}


def test_programs_get_the_axes_too():
    machine = machine_of(PLACED)
    told = motor_turns_json(motor_turning(machine))
    assert told["motor_turns"] is None  # crossed shafts turn neither alike nor against each other
    assert told["motor_turns_seen"] == told["motor_turns_at_shaft_end"] == "clockwise"
    worm, arm = (shaft_turns_json(turning) for turning in turnings(machine)[-2:])
    assert (worm["axis"], worm["turns"], worm["seen_before"]) == ([1.0, 0.0, 0.0], "clockwise", "worm")
    assert (arm["axis"], arm["turns"], arm["seen_before"]) == ([0.0, 0.0, 1.0], "counter-clockwise", None)
    parallel = motor_turns_json(motor_turning(machine_of(PAIR)))
    assert (parallel["motor_turns"], parallel["motor_turns_at_shaft_end"]) == ("opposite", None)


def test_the_column_of_turns_says_from_where_each_is_seen():
    machine = machine_of(PAIR, PLACED, "{bevel: {driver: 18, driven: 43, placement: same-side, name: bevel}}")
    rows = shaft_rows(machine, steady_walk(machine, 0.0, 0.0), None)
    assert views_text(rows, "arm") == (
        "Turns are those of a lift, seen where the arm rises counter-clockwise; of shafts before bevel from there, "
        "looking back along the shaft; of shafts before worm from there, looking back along the shaft."
    )
