"""A stock list gives items whose sections a scenario takes, and a faulty one is answered all at once."""

from pathlib import Path

import pytest

from armsim.scenario import ScenarioError, loads
from armsim.scenario.stock import belt_section, chain_section, gears_section, load_stock, loads_stock, section_text
from tests.scenario.texts import scenario_text

SHELF = Path(__file__).resolve().parents[2] / "scenarios" / "stock" / "orchard-shelf.yaml"

GEARS = """
title: Bench
gears:
  - module: 1.5 mm
    face_width: 15 mm
    price: 5
    teeth: [12, {teeth: 60, price: 21, mass: 0.7 kg, bore: 12 mm, material: brass}]
  - {diametral_pitch: 20, teeth: 30}
"""


def test_what_a_wheel_says_stands_before_what_its_set_says():
    small, large, inch = loads_stock(GEARS).gears
    assert (small.teeth, small.price, small.mass, small.material, small.bore) == (12, 5.0, None, "steel", None)
    assert (large.teeth, large.price, large.mass, large.material, large.bore) == (60, 21.0, 0.7, "brass", 0.012)
    assert (large.face_width, large.key) == (0.015, "gears[0].teeth[1]")
    assert inch.module == pytest.approx(0.0254 / 20)


def test_gears_run_together_where_pitch_and_angles_agree():
    small, large, inch = loads_stock(GEARS).gears
    assert small.meshes(large)
    assert not small.meshes(inch)
    (same,) = loads_stock("title: Bench\ngears: [{module: 1.5 mm, pressure_angle: 14.5 deg, teeth: [20]}]").gears
    assert not small.meshes(same)


def test_a_pair_of_gears_is_a_section_as_typed():
    small, large, _ = loads_stock(GEARS).gears
    assert section_text(gears_section(small, large)) == (
        "{gears: {module: 1.5 mm, face_width: 15 mm, driver: 12, driven: {teeth: 60, bore: 12 mm, material: brass}}}"
    )


def test_every_motor_of_the_shelf_makes_a_scenario():
    for motor in load_stock(SHELF).motors:
        machine = loads(scenario_text(motor=section_text(motor.section()))).machine
        assert machine.motor.torque_constant > 0.0
        assert machine.motor.count == 1


def test_every_stage_of_the_shelf_makes_a_scenario_with_its_reduction():
    shelf = load_stock(SHELF)
    pairs = [gears_section(shelf.gears[0], shelf.gears[3]), chain_section(shelf.sprockets[0], shelf.sprockets[3])]
    pairs += [belt_section(shelf.pulleys[0], shelf.pulleys[3]), *(stage.section() for stage in shelf.stages)]
    reductions = [70 / 14, 52 / 13, 60 / 18, 40.0, 1 + 75 / 21, 25.0, 71.0]
    for section, reduction in zip(pairs, reductions, strict=True):
        machine = loads(scenario_text(transmission=f"[{section_text(section)}]")).machine
        assert machine.reduction == pytest.approx(reduction)


def test_values_that_yaml_would_read_otherwise_are_quoted():
    assert section_text({"a": "1: 2", "b": ["#8", "-3 deg"], "c": 'say "so"'}) == (
        '{a: "1: 2", b: ["#8", "-3 deg"], c: "say \\"so\\""}'
    )


FAULTY = """
title: Bench
motors:
  - {name: small, nominal_voltage: 12 V, no_load_sped: 3000 rpm}
  - {price: 12, torque_constant: 0.02 N*m/A}
gears:
  - {module: 1.5, teeth: [12, 4]}
  - {face_width: 10 mm, teeth: [12], cost: 4}
gearboxs: []
"""


def test_a_faulty_list_is_answered_all_at_once_with_line_key_and_spelling():
    with pytest.raises(ScenarioError) as caught:
        loads_stock(FAULTY)
    told = {(p.line, p.code, p.key) for p in caught.value.problems}
    hints = {p.key: p.hint for p in caught.value.problems}
    assert told >= {
        (4, "SCN102", "motors[0].no_load_sped"),
        (5, "SCN103", "motors[1].name"),
        (7, "SCN110", "gears[0].module"),
        (7, "SCN120", "gears[0].teeth[1]"),
        (8, "SCN102", "gears[1].cost"),
        (9, "SCN102", "gearboxs"),
    }
    assert hints["motors[0].no_load_sped"] == "did you mean 'no_load_speed'?"
    assert hints["gearboxs"] == "did you mean 'gearboxes'?"
    assert hints["gears[1].cost"] == "did you mean 'price'?"


def test_a_set_of_gears_needs_its_pitch_once():
    with pytest.raises(ScenarioError) as caught:
        loads_stock("title: Bench\ngears: [{teeth: [12]}, {module: 1 mm, diametral_pitch: 20, teeth: [12]}]")
    assert [(p.code, p.key) for p in caught.value.problems] == [
        ("SCN103", "gears[0].module"),
        ("SCN122", "gears[1].diametral_pitch"),
    ]


def test_figures_of_a_motor_that_contradict_each_other_are_a_warning_with_its_place():
    row = "nominal_voltage: 12 V, no_load_speed: 3000 rpm, no_load_current: 1 A, stall_current: 20 A"
    (warning,) = loads_stock(f"title: Bench\nmotors: [{{name: odd, {row}, stall_torque: 0.9 N*m}}]").warnings
    assert warning.code == "SCN131"
    assert warning.key.startswith("motors[0].")
