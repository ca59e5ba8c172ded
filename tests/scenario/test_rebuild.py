"""A machine built with other numbers is the one that its file, changed, would make."""

from pathlib import Path

import pytest

from armsim.scenario import ScenarioError, changed, load
from armsim.scenario.rebuild import blueprint
from armsim.scenario.records import Measure
from armsim.scenario.values import written
from tests.scenario import texts

NUMBER = Measure(dimension=None)
DEMOS = Path(__file__).resolve().parents[2] / "scenarios"


@pytest.mark.parametrize("name", ["crate-tipper", "press-hatch-worm", "seed-tray-carriage", "sluice-gate"])
def test_every_figure_of_a_demo_put_off_a_little(name):
    scenario = load(DEMOS / f"{name}.yaml")
    plan = blueprint(scenario)
    assert plan.machine([]) == scenario.machine
    tried = 0
    for entry in scenario.entries:
        if entry.measure is None or entry.key.startswith(("requirements", "parts_list")):
            continue
        value = entry.value * 0.97 + (0.5 if entry.key == "ambient" else 0.0)
        text = written(value, entry.measure)
        try:
            expected = changed(scenario, {entry.key: text}).machine
        except ScenarioError:
            expected = None
        found = plan.machine([(entry.key, value, entry.measure)])
        if expected is None or found is None:
            assert found is expected, entry.key
            continue
        # a value that goes through text comes back to the last bit or the one beside it
        assert repr(_rounded(found)) == repr(_rounded(expected)), entry.key
        tried += 1
    assert tried > 15


def _rounded(part):
    """The same with every number to twelve digits."""
    if isinstance(part, float):
        return float(f"{part:.11e}")
    if isinstance(part, tuple):
        return tuple(map(_rounded, part))
    if hasattr(part, "__dataclass_fields__"):
        return {name: _rounded(getattr(part, name)) for name in part.__dataclass_fields__}
    if isinstance(part, dict):
        return {name: _rounded(value) for name, value in part.items()}
    return part


def test_numbers_that_disagree_make_no_machine():
    scenario = texts.read(arm="{length: 0.6 m, mass: 5 kg, pivot_friction: {coulomb: 0.6 N*m, breakaway: 0.9 N*m}}")
    plan = blueprint(scenario)
    assert plan.machine([("arm.pivot_friction.breakaway", 0.5, NUMBER)]) is None
    assert plan.machine([("arm.pivot_friction.breakaway", 0.7, NUMBER)]).arm.friction.breakaway == 0.7


def test_a_key_that_the_file_leaves_out_can_be_given():
    scenario = texts.read()
    machine = blueprint(scenario).machine([("ambient", 3.0, NUMBER), ("supply.battery.state_of_charge", 0.4, NUMBER)])
    assert (machine.ambient, machine.battery.state_of_charge) == (3.0, 0.4)
