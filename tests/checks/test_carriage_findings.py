"""Findings that only a carriage has."""

import math

import pytest

from armsim.checks.carriage_findings import carriage_findings
from armsim.dynamics.plan import Follow, Limits, Plan, Travel
from armsim.parts.arm import Friction
from armsim.parts.carriage import Carriage
from armsim.parts.rack import drum_stage
from tests.machines import machine

DRUM = drum_stage(diameter=60e-3, rope_diameter=4e-3, efficiency=0.95, name="drum")
LEVEL = math.radians(30.0)


def codes(load: Carriage, *moves) -> list[str]:
    one = machine(stages=(DRUM,), arm=load)
    return [found.code for found in carriage_findings(one, Plan(start=0.5, moves=moves))]


def lower(acceleration: float) -> Follow:
    return Follow(to=0.0, limits=Limits(speed=0.2, acceleration=acceleration), name="lower")


@pytest.mark.parametrize(("friction", "slack"), [(48.9, False), (49.1, True)])
def test_a_rope_goes_slack_where_friction_carries_the_carriage(friction: float, slack: bool) -> None:
    """10 kg on 30 deg pull with 49.03325 N."""
    load = Carriage(mass=10.0, incline=LEVEL, guide=Friction(coulomb=friction, breakaway=friction))
    assert ("rope-slackens" in codes(load, Travel(to=0.0, duty=-1.0))) is slack


@pytest.mark.parametrize(("acceleration", "slack"), [(3.90, False), (3.91, True)])
def test_a_rope_goes_slack_where_it_is_let_down_faster_than_the_carriage_sinks(
    acceleration: float, slack: bool
) -> None:
    """(49.03325 - 10)/10 = 3.903325 m/s2."""
    load = Carriage(mass=10.0, incline=LEVEL, guide=Friction(coulomb=10.0, breakaway=10.0))
    assert ("rope-slackens" in codes(load, lower(acceleration))) is slack


def test_the_counterweight_that_balances_is_told() -> None:
    load = Carriage(mass=10.0, incline=LEVEL)
    one = machine(stages=(DRUM,), arm=load)
    (found,) = carriage_findings(one, Plan(start=0.0, moves=()))
    assert "49.0 N" in found.text
    assert "5.00 kg" in found.mend
