"""Many designs judged: settings do what their keys do in the file, columns and verdicts agree with exact runs."""

import pickle
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from armsim.checks.lifting import first_lift, static_margin
from armsim.dynamics.ensemble import pick
from armsim.dynamics.trajectory import simulate
from armsim.scenario import changed, load, loads
from armsim.studies.many import COLUMNS, Question, chunks, evaluate, judge, run_one, up_to_lift
from armsim.studies.settings import HANGING, SETTINGS, setting_for

ROOT = Path(__file__).resolve().parents[2] / "scenarios"
TIPPER = ROOT / "crate-tipper.yaml"

#: key, the line as it stands, the line to put in its place, the same in SI
MOVES = [
    ("arm.payload.mass", "mass: 12 kg, at", "mass: 9.5 kg, at", 9.5),
    ("arm.pivot_friction.viscous", "viscous: 0.05 N*m*s/rad", "viscous: 0.2 N*m*s/rad", 0.2),
    ("motor.inductance", "inductance: 0.5 mH", "inductance: 0.8 mH", 0.8e-3),
    ("motor.rotor_inertia", "1.6e-4 kg*m^2", "2.5e-4 kg*m^2", 2.5e-4),
    ("motor.thermal.winding_to_housing", "1.4 K/W", "2 K/W", 2.0),
    ("motor.thermal.housing_to_air", "3.6 K/W", "5 K/W", 5.0),
    ("motor.thermal.winding_capacity", "55 J/K", "20 J/K", 20.0),
    ("motor.thermal.housing_capacity", "620 J/K", "300 J/K", 300.0),
    ("supply.other_loads", "other_loads: 0.8 A", "other_loads: 3 A", 3.0),
    ("supply.undervoltage", "undervoltage: 16 V", "undervoltage: 18 V", 18.0),
    ("supply.protection[0].rating", "rating: 20 A", "rating: 15 A", 15.0),
    ("controller.current_limit", "current_limit: 24 A", "current_limit: 18 A", 18.0),
    ("controller.bridge_resistance", "bridge_resistance: 6 mohm", "bridge_resistance: 20 mohm", 0.02),
]


@pytest.mark.parametrize(("key", "before", "after", "value"), MOVES, ids=[row[0] for row in MOVES])
def test_a_setting_does_what_its_key_does_in_the_file(key, before, after, value) -> None:
    text = TIPPER.read_text()
    assert text.count(before) == 1
    built, base = loads(text.replace(before, after)), load(TIPPER)
    setting = setting_for(base.machine, key)
    assert setting is not None
    moved, plan = setting.apply(base.machine, value), up_to_lift(base.plan)
    run, expected = simulate(moved, plan), simulate(built.machine, plan)
    assert run.time[-1] == pytest.approx(expected.time[-1], rel=1e-9)
    assert run.energy.supplied == pytest.approx(expected.energy.supplied, rel=1e-9)
    assert run.peaks.winding.value == pytest.approx(expected.peaks.winding.value, rel=1e-9)
    assert run.trips[0].heat_peak == pytest.approx(expected.trips[0].heat_peak, rel=1e-9)


def test_the_load_of_a_carriage_is_set_by_its_own_key() -> None:
    base = load(TIPPER.with_name("seed-tray-carriage.yaml"))
    built = changed(base, {"carriage.payload.mass": "9.5 kg"})
    setting = setting_for(base.machine, "carriage.payload.mass")
    assert setting is not None
    assert setting.apply(base.machine, 9.5).arm == built.machine.arm


def test_every_setting_is_proven_above_or_by_what_hangs_on_it() -> None:
    # those that are HANGING: tests/studies/test_varied.py
    assert set(SETTINGS) - {"carriage.payload.mass", *HANGING} == {row[0] for row in MOVES} - {
        "supply.protection[0].rating"
    }


def test_a_key_that_shapes_a_part_is_no_setting() -> None:
    machine = load(TIPPER).machine
    assert setting_for(machine, "transmission[0].gears.driver") is None
    assert setting_for(machine, "supply.protection[7].rating") is None
    assert setting_for(machine, "carriage.payload.mass") is None


def varied(count: int) -> dict[str, np.ndarray]:
    rng = np.random.default_rng(11)
    return {"arm.payload.mass": rng.uniform(2.0, 24.0, count), "controller.current_limit": rng.uniform(10, 30, count)}


def test_columns_agree_with_exact_runs_and_verdicts_are_the_same() -> None:
    question, designs = Question.of(load(TIPPER)), varied(40)
    assert question.unsupported is None
    columns = evaluate(question, designs)
    assert tuple(columns) == COLUMNS
    assert columns["exact"].mean() < 0.2
    machine = question.machine
    for key, values in designs.items():
        setting = setting_for(machine, key)
        assert setting is not None
        machine = setting.apply(machine, values)
    for k in range(40):
        row = run_one(question, pick(machine, k))
        for name in ("reached", "stalled", "trips", "verdict"):
            assert columns[name][k] == row[name], (k, name)
        for name in ("motor_current", "supply_current", "energy", "bus_voltage", "winding", "static_margin"):
            assert columns[name][k] == pytest.approx(row[name], rel=1e-3), (k, name)
        assert columns["lift_time"][k] == pytest.approx(row["lift_time"], rel=1e-4, nan_ok=True), k
    assert 0 < columns["verdict"].sum() < 40


def test_a_design_at_the_edge_of_a_requirement_is_run_exactly() -> None:
    scenario = load(TIPPER)
    exact = run_one(Question.of(scenario), scenario.machine)
    (wish,) = [one for one in scenario.requirements if one.name == "lift_time"]
    at_the_edge = replace(wish, limit=float(exact["lift_time"]) * 1.0001)
    question = replace(Question.of(scenario), wishes=(at_the_edge,))
    columns = evaluate(question, {"arm.payload.mass": np.array([12.0, 6.0])})
    assert columns["exact"].tolist() == [True, False]
    assert columns["verdict"].tolist() == [1.0, 1.0]
    assert judge(question, scenario.machine, columns)["lift_time"][0] == pytest.approx(
        1e-4 * exact["lift_time"], rel=1e-6
    )


def test_the_static_margin_is_that_of_the_checks() -> None:
    scenario = load(TIPPER)
    question, masses = Question.of(scenario), np.array([3.0, 12.0, 30.0])
    columns = evaluate(question, {"arm.payload.mass": masses})
    task = first_lift(scenario.plan)
    assert task is not None
    for k, mass in enumerate(masses.tolist()):
        setting = setting_for(scenario.machine, "arm.payload.mass")
        assert setting is not None
        margin = static_margin(setting.apply(scenario.machine, mass), task)
        assert margin is not None
        assert columns["static_margin"][k] == pytest.approx(margin.value, rel=1e-12)


def test_what_cannot_be_followed_together_is_run_one_by_one() -> None:
    question = Question.of(load(ROOT / "press-hatch-gears.yaml"))
    question = replace(
        question, machine=replace(question.machine, motor=replace(question.machine.motor, brush_drop=0.5))
    )
    assert question.unsupported is not None
    columns = evaluate(question, {"supply.other_loads": np.array([0.0, 2.0])})
    assert columns["exact"].all()
    assert not columns["failed"].any()


def test_machines_built_apart_and_chunks_give_the_same() -> None:
    question, designs = Question.of(load(TIPPER)), varied(12)
    whole = evaluate(question, designs)
    parts = [evaluate(question, part) for part in chunks(designs, 5)]
    apart = evaluate(question, machines=[built(question, designs, k) for k in range(12)])
    for name in ("lift_time", "energy", "motor_current", "verdict"):
        assert np.concatenate([part[name] for part in parts]) == pytest.approx(whole[name], rel=1e-6, nan_ok=True)
        assert apart[name] == pytest.approx(whole[name], rel=1e-6, nan_ok=True)


def built(question: Question, designs: dict[str, np.ndarray], k: int):
    machine = question.machine
    for key, values in designs.items():
        setting = setting_for(machine, key)
        assert setting is not None
        machine = setting.apply(machine, float(values[k]))
    return machine


def test_a_question_goes_to_another_process() -> None:
    question = pickle.loads(pickle.dumps(Question.of(load(TIPPER))))
    again = evaluate(question, {"arm.payload.mass": np.array([12.0])})
    assert again["reached"].all()
