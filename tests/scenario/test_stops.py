"""Stops and stiffness from their text to the parts, against sums done by hand."""

import math

import pytest

from armsim.parts.stop import Stop
from tests.scenario.texts import read


def built(stops):
    return read(arm=f"{{length: 0.6 m, mass: 5 kg, payload: {{mass: 8 kg}}, stops: {stops}}}")


def assumed(scenario):
    return {a.key: a.text for a in scenario.assumptions if a.key.startswith("arm.stops")}


def test_a_stop_is_rigid_unless_told_otherwise():
    scenario = built("{lower: -40 deg}")
    assert scenario.machine.arm.stop == Stop()
    assert "not bounded" in assumed(scenario)["arm.stops.stiffness"]
    assert built("{lower: -40 deg, restitution: 30 %}").machine.arm.stop.restitution == pytest.approx(0.3)


def test_a_buffer_by_force_and_place_turns_into_torque_per_angle():
    scenario = built("{lower: -40 deg, stiffness: 60 N/mm, at: 300 mm}")
    assert scenario.machine.arm.stop.stiffness == pytest.approx(60e3 * 0.3**2)
    assert scenario.machine.arm.stop.restitution == 1.0
    assert set(assumed(scenario)) == {"arm.stops.stiffness", "arm.stops.restitution"}


@pytest.mark.parametrize(
    ("text", "rate"),
    [("40 N*m/deg", 40.0 * 180.0 / math.pi), ("2300 N*m/rad", 2300.0), ("300 in-lb/deg", 33.8954487 * 180.0 / math.pi)],
)
def test_a_buffer_by_torque_per_angle(text, rate):
    stop = built(f"{{upper: 80 deg, stiffness: {text}, restitution: 0.5}}").machine.arm.stop
    assert stop == Stop(restitution=0.5, stiffness=pytest.approx(rate, rel=1e-8))


def test_a_stage_may_have_a_stiffness():
    stages = read(
        transmission="[gears: {driver: 12, driven: 40, stiffness: 50 N*m/deg}, "
        "gearbox: {reduction: 30, efficiency: 0.8}]"
    )
    first, second = stages.machine.stages[-2:]
    assert first.stiffness == pytest.approx(50.0 * 180.0 / math.pi)
    assert second.stiffness is None
