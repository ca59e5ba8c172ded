"""A scenario with changed values is the one that an edited file would give, and its faults are told like a file's."""

from pathlib import Path

import pytest

from armsim.scenario import ScenarioError, changed, load, loads

TIPPER = Path(__file__).resolve().parents[2] / "scenarios" / "crate-tipper.yaml"
TEXT = TIPPER.read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def tipper():
    return load(TIPPER)


def edited(typed, instead):
    assert TEXT.count(typed) == 1
    return loads(TEXT.replace(typed, instead))


def problems(scenario, changes):
    with pytest.raises(ScenarioError) as caught:
        changed(scenario, changes)
    return caught.value.problems


@pytest.mark.parametrize(
    ("changes", "typed", "instead"),
    [
        ({"title": "Another"}, "title: Crate tipper, gears and a chain", "title: Another"),
        ({"supply.undervoltage": "15 V"}, "undervoltage: 16 V", "undervoltage: 15 V"),
        ({"repeat": 3}, "start: -30 deg", "start: -30 deg\nrepeat: 3"),
    ],
)
def test_it_is_what_an_edited_file_gives(tipper, changes, typed, instead):
    found, wanted = changed(tipper, changes), edited(typed, instead)
    assert (found.machine, found.plan, found.title) == (wanted.machine, wanted.plan, wanted.title)
    assert (found.requirements, found.parts_list) == (wanted.requirements, wanted.parts_list)


def test_the_scenario_itself_stays_as_it_was(tipper):
    heavier = changed(tipper, {"arm.payload.mass": "10 kg"})
    assert tipper.machine.arm.payload_mass == load(TIPPER).machine.arm.payload_mass != 10.0
    assert heavier.machine.arm.payload_mass == 10.0
    assert heavier.path is None  # no file holds it
    assert heavier.sha256 != tipper.sha256
    assert changed(tipper, {"arm.payload.mass": "10 kg"}).sha256 == heavier.sha256


@pytest.mark.parametrize("key", ["transmission.0.gears.driven", "transmission[0].gears.driven"])
def test_items_of_lists_are_named_by_their_index(tipper, key):
    teeth = changed(tipper, {key: 60}).machine.stages
    assert teeth[1].reduction == pytest.approx(60 / 14)  # the first is the motor itself
    assert [s.reduction for s in teeth[2:]] == [s.reduction for s in tipper.machine.stages[2:]]


def test_a_change_of_a_change_keeps_both(tipper):
    twice = changed(changed(tipper, {"arm.payload.mass": "10 kg"}), {"ambient": "5 degC"})
    at_once = changed(tipper, {"arm.payload.mass": "10 kg", "ambient": "5 degC"})
    assert twice.machine == at_once.machine
    places = {entry.key: entry.place.line for entry in twice.entries if entry.place.file == "changes"}
    assert places == {"arm.payload.mass": 1, "ambient": 2}


def test_sections_and_lists_may_be_given_whole_and_keys_taken_out(tipper):
    other = changed(
        tipper,
        {
            "arm.payload": None,
            "transmission": [{"gearbox": {"reduction": "100:1", "efficiency": 0.8}}],
            "requirements": {"lift_time": {"max": "3 s"}, "holds_unpowered": False},
        },
    )
    assert tipper.machine.arm.payload_mass > other.machine.arm.payload_mass == 0.0
    assert [stage.reduction for stage in other.machine.stages[1:]] == [100.0]
    assert {wish.name: wish.limit for wish in other.requirements} == {"lift_time": 3.0, "holds_unpowered": False}


def test_another_way_of_saying_one_thing_drops_the_first(tipper):
    other = changed(tipper, {"supply.bench.voltage": "24 V", "supply.bench.current_limit": "30 A"})
    assert "supply.battery.capacity" not in {entry.key for entry in other.entries}


def test_one_section_may_be_named_as_a_list_of_one(tipper):
    longer = {
        changed(tipper, {key: "5 m"}).machine.wiring for key in ("supply.wiring.length", "supply.wiring.0.length")
    }
    assert len(longer) == 1
    assert longer != {tipper.machine.wiring}


def test_a_fault_names_the_change_and_what_to_write(tipper):
    (problem,) = problems(tipper, {"ambient": "5 degC", "arm.payload.mass": 10})
    assert str(problem).splitlines() == [
        "changes:2:19: SCN110 arm.payload.mass: needs a unit: one of kg, g, lb, oz",
        "    2 | arm.payload.mass: 10",
        "                          ^^",
        "      hint: write 10 kg or 10 lb",
    ]


def test_all_faults_are_told_at_once(tipper):
    found = problems(tipper, {"arm.payload.mas": "3 kg", "start": "5 m", "motor.stall_torque": "two"})
    assert {(p.key, p.code) for p in found} == {
        ("arm.payload.mas", "SCN102"),
        ("start", "SCN111"),
        ("motor.stall_torque", "SCN113"),
    }
    assert next(p.hint for p in found if p.key == "arm.payload.mas") == "did you mean 'mass'?"


@pytest.mark.parametrize(
    ("changes", "code", "text"),
    [
        ({"transmission.9.gears.driven": 3}, "SCN120", "transmission has items 0 to 2, not '9'"),
        ({"transmission.last": None}, "SCN120", "transmission has items 0 to 2, not 'last'"),
        ({"supply.protection.1.rating": "3 A"}, "SCN120", "supply.protection has item 0 alone, not '1'"),
        ({"arm.inertia": None}, "SCN107", "there is no 'inertia' to take out of arm"),
        ({"": 3}, "SCN102", "a change without a key"),
    ],
)
def test_a_key_that_leads_nowhere_says_what_is_there(tipper, changes, code, text):
    (problem,) = problems(tipper, changes)
    assert (problem.code, problem.text, problem.file) == (code, text, "changes")


def test_a_variant_changes_like_its_base():
    spring = load(TIPPER.with_name("press-hatch-spring.yaml"))
    assert changed(spring, {"arm.counterbalance.rate": "3 N/mm"}).machine.arm.counterbalances[0].rate == 3000.0


def test_a_scenario_made_in_code_has_no_keys(tipper):
    from dataclasses import replace

    with pytest.raises(ValueError, match="made in code"):
        changed(replace(tipper, document=None), {"ambient": "5 degC"})
