"""What --vary takes: ranges, lists and words, and what each faulty form is answered, in full."""

import os
from pathlib import Path

import pytest

from armsim.scenario import ScenarioError, starter
from armsim.scenario.varied import Template, is_ratio
from tests.scenario.varied import FAULTY

GOLDEN = Path(__file__).with_name("varied.txt")


@pytest.fixture(scope="module")
def template(tmp_path_factory):
    path = tmp_path_factory.mktemp("varied") / "mine.yaml"
    path.write_text(starter(), encoding="utf-8")
    return Template(path)


@pytest.fixture(scope="module")
def tipper():
    return Template(Path(__file__).resolve().parents[2] / "scenarios" / "crate-tipper.yaml")


@pytest.mark.parametrize(
    ("option", "numbers", "si", "between"),
    [
        ("arm.payload.mass=5kg:20kg:4", (5, 10, 15, 20), (5, 10, 15, 20), True),
        ("arm.payload.mass=10lb:20:3", (10, 15, 20), (4.5359237, 6.80388555, 9.0718474), True),
        ("arm.payload.mass=20kg:5kg:2", (20, 5), (20, 5), True),
        ("arm.length=300mm,0.6m", None, (0.3, 0.6), False),
        ("supply.protection[0].rating = 15 A : 25 A : 3", (15, 20, 25), (15, 20, 25), True),
        ("reduction=20:320:5:log", (20, 40, 80, 160, 320), (20, 40, 80, 160, 320), True),
        ("transmission.1.reduction=4:6:3", (4, 5, 6), (4, 5, 6), True),
        ("transmission.1.gears.driven=68:72:5", (68, 69, 70, 71, 72), (68, 69, 70, 71, 72), False),
        ("transmission.1.gears.driver=14,18,24", (14, 18, 24), (14, 18, 24), False),
        ("ambient=0 degC:50 degC:3", (0, 25, 50), (0, 25, 50), True),
        ("controller.when_off=shorted,open", None, ("shorted", "open"), False),
        ("requirements.breaker_trips=yes,no", None, (True, False), False),
    ],
)
def test_each_form_gives_its_values(tipper, option, numbers, si, between):
    (found,) = tipper.variations([option])
    if numbers is None:
        assert found.numbers is None
    else:
        assert found.numbers == pytest.approx(numbers, rel=1e-12)
    assert found.between is between
    if isinstance(si[0], str | bool):
        assert found.values == si
    else:
        assert found.values == pytest.approx(si, rel=1e-9)


def test_the_ends_are_kept_as_they_were_typed(tipper):
    (found,) = tipper.variations(["arm.payload.mass=5.0 kg:20.0 kg:3"])
    assert found.texts == ("5.0 kg", "12.5 kg", "20.0 kg")


def test_a_value_is_read_as_if_it_stood_in_the_file(tipper):
    changed = tipper.scenario({"arm.payload.mass": "10 lb", "controller.when_off": "open"})
    assert changed.machine.arm.payload_mass == pytest.approx(4.5359237)
    assert changed.machine.controller.shorted_when_off is False
    assert tipper.base.machine.arm.payload_mass == 12.0


def test_a_key_that_the_file_does_not_have_is_put_in(tipper):
    found = tipper.variations(["motor.brush_drop=0.5 V:1.5 V:3", "requirements.motor_current.max=20 A:30 A:2"])
    assert [len(variation.texts) for variation in found] == [3, 2]
    assert tipper.scenario({"motor.brush_drop": "1 V"}).machine.motor.brush_drop == 1.0


def test_the_reduction_of_the_train_is_set_through_its_last_stage_alone(tipper):
    before, after = tipper.base.machine, tipper.scenario({"reduction": "60"}).machine
    assert after.reduction == pytest.approx(60.0)
    assert after.stages[:-1] == before.stages[:-1]
    assert after.stages[-1].reduction == pytest.approx(60.0 / 25.0)
    assert after.stages[-1].law == before.stages[-1].law
    assert after.stages[-1].output_inertia == before.stages[-1].output_inertia


def test_the_reduction_of_one_stage_leaves_the_others(tipper):
    after = tipper.scenario({"transmission.1.reduction": "3:1"}).machine
    assert [stage.reduction for stage in after.stages[-3:]] == pytest.approx([5.0, 3.0, 4.0])


def test_a_geared_motor_is_counted_before_the_first_stage(tmp_path):
    path = tmp_path / "geared.yaml"
    text = starter().replace("  nominal_voltage:", "  built_in_reduction: 4:1\n  nominal_voltage:", 1)
    path.write_text(text, encoding="utf-8")
    template = Template(path)
    stages, listed = template.base.machine.stages, len(template.document.tree.entries["transmission"].items)
    changed = template.scenario({"transmission.0.reduction": "7"}).machine.stages
    assert changed[:-listed] == stages[:-listed]
    assert 4.0 in [stage.reduction for stage in changed[:-listed]]
    assert changed[-listed].reduction == 7.0


def test_only_reductions_by_themselves_are_set_in_the_built_machine():
    assert [is_ratio(k) for k in ("reduction", "transmission.0.reduction", "transmission.0.gearbox.reduction")] == [
        True,
        True,
        False,
    ]


def told(template, options):
    try:
        template.variations(options)
    except ScenarioError as error:
        return str(error).replace(str(template.file), "mine.yaml")
    return "nothing"


def test_every_faulty_form_is_answered_as_written_down(tipper):
    answers = "\n\n\n".join(f"$ {'  '.join(options)}\n{told(tipper, options)}" for options in FAULTY) + "\n"
    if os.environ.get("ARMSIM_WRITE_BAD"):
        GOLDEN.write_text(answers, encoding="utf-8")
    assert answers == GOLDEN.read_text(encoding="utf-8")


def test_all_faults_of_all_options_are_told_at_once(tipper):
    options = [option for options in FAULTY for option in options]
    with pytest.raises(ScenarioError) as error:
        tipper.variations(options)
    lines = {problem.line for problem in error.value.problems if problem.file == "--vary"}
    assert len(lines) >= len(options) - 3


def test_rows_without_end_are_refused(tipper):
    with pytest.raises(ScenarioError, match="250000 rows"):
        tipper.variations(["arm.payload.mass=5kg:20kg:500", "reduction=20:200:500"])
