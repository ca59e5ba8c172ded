"""Moves as a person writes them, and the plan and the loop they become."""

import math

import pytest

from armsim.drivetrain.machine import loaded
from armsim.dynamics.plan import Exchange, Follow, Hold, Limits, Rest
from armsim.dynamics.steering import tuned
from armsim.parts.position_loop import LoopSettings
from tests.scenario.texts import read

DEG = math.pi / 180.0
MOVES = """
- take_up: {mass: 3 lb}
- lift: {to: 40 deg, profile: {speed: 10 rpm, acceleration: 2 rad/s^2, jerk: 600 deg/s^3}}
- hold: {for: 2 s}
- put_down: {mass: 48 oz}
- lower: {to: -10 deg, profile: {speed: 60 deg/s, acceleration: 90 deg/s/s}, patience: 5 s}
- hold: {for: 1 s, motor: shorted}
- hold: {for: 500 ms, motor: Open}
- rest: {for: 0.1 min}
"""


def scenario(**more: str):
    return read(start="-10 deg", moves=MOVES, repeat="3", power_cut="{at: worst, motor: shorted}", **more)


def test_the_cycle_becomes_a_plan() -> None:
    plan = scenario().plan
    up, lift, hold, down, lower, braked, free, rest = plan.moves
    assert up == Exchange(payload=pytest.approx(8.0 + 3 * 0.45359237), name="take up")
    assert lift == Follow(
        to=pytest.approx(40 * DEG),
        limits=Limits(speed=pytest.approx(math.tau / 6.0), acceleration=2.0, jerk=pytest.approx(600 * DEG)),
    )
    assert hold == Hold(duration=2.0)
    assert down == Exchange(payload=pytest.approx(8.0), name="put down")
    assert lower.name == "lower"
    assert lower.limits.acceleration == pytest.approx(90 * DEG)
    assert lower.limits.jerk is None
    assert lower.patience == 5.0
    assert braked == Rest(duration=1.0, shorted=True, name="hold")
    assert free == Rest(duration=0.5, shorted=False, name="hold")
    assert rest == Rest(duration=6.0)
    assert plan.power_cut.worst
    assert plan.power_cut.shorted is True


def test_gains_left_out_are_placed_for_the_load_and_noted() -> None:
    found = scenario()
    assert found.machine.controller.position_loop == LoopSettings()
    texts = {a.key.removeprefix("controller.position_loop."): a.text for a in found.assumptions if "_loop" in a.key}
    assert list(texts) == ["period", "tolerance", "proportional", "integral", "derivative"]
    light, heavy = (tuned(loaded(found.machine, mass)) for mass in (8.0, 8.0 + 3 * 0.45359237))
    assert f"{light.proportional:.6g} V/rad (" in texts["proportional"].partition(" to ")[0]
    assert f"{heavy.proportional:.6g} V/rad (" in texts["proportional"].partition(" to ")[2]
    assert texts["period"] == "0.01 s"


def test_gains_given_are_taken_in_mixed_units() -> None:
    gains = "{period: 5 ms, tolerance: 6 arcmin, proportional: 3 V/deg, derivative: 0.1 V/rpm}"
    found = scenario(controller=f"{{position_loop: {gains}}}").machine
    loop = tuned(found)
    assert loop.period == 0.005
    assert loop.tolerance == pytest.approx(0.1 * DEG)
    assert loop.proportional == pytest.approx(3.0 / DEG)
    assert loop.derivative == pytest.approx(0.1 * 60.0 / math.tau)
    placed = tuned(found, LoopSettings(period=0.005))
    assert loop.integral / loop.proportional == pytest.approx(placed.integral / placed.proportional)


def test_a_plan_without_loop_needs_none() -> None:
    plain = read(moves="[{lift: {to: 40 deg}}, {rest: {for: 1 s}}]")
    assert not any("position_loop" in a.key for a in plain.assumptions)
