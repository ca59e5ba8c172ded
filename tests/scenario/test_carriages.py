"""A carriage in a scenario: places in lengths, speeds along the guide, the stages that drive it."""

import math

import pytest

from armsim.parts.carriage import Carriage
from armsim.scenario import Scenario
from tests.scenario.texts import read, refused, understood

RACK = "[{gearbox: {reduction: 12, efficiency: 0.8}}, {rack: {pinion: 19, module: 1.5 mm, efficiency: 0.96}}]"
SECTIONS = {
    "arm": "",
    "carriage": "{mass: 6 kg, payload: {mass: 8 kg}, stops: {lower: 0 mm, upper: 40 in}}",
    "transmission": RACK,
    "start": "0 mm",
    "moves": "[{lift: {to: 600 mm}}]",
}


def railed(**sections: str) -> Scenario:
    return read(**{**SECTIONS, **sections})


def carriage(text: str) -> Carriage:
    load = railed(carriage=text).machine.arm
    assert isinstance(load, Carriage)
    return load


def test_places_are_lengths() -> None:
    scenario = railed(start="2 cm", power_cut="{at: 300 mm}")
    plan, load = scenario.plan, scenario.machine.arm
    assert (plan.start, plan.moves[0].to, plan.power_cut.angle) == (0.02, 0.6, 0.3)
    assert load.upper_stop == pytest.approx(1.016)


def test_a_guides_friction_falls_over_a_speed_along_it() -> None:
    guide = "{mass: 6 kg, friction: {coulomb: 6 N, breakaway: 9 N, stribeck_speed: 20 mm/s}}"
    friction = carriage(guide).friction
    assert friction.excess(0.02) == pytest.approx(3.0 / math.e)
    (problem,) = refused(**{**SECTIONS, "carriage": guide.replace("breakaway: 9 N, ", "")})
    assert (problem.code, problem.key) == ("SCN121", "carriage.friction.stribeck_speed")


def test_a_rack_turns_its_pinion_by_its_travel() -> None:
    """19 teeth of 1.5 mm have a radius of 14.25 mm: 70.1754 rad a metre, twelve times that at the motor."""
    assert railed().machine.reduction == pytest.approx(12.0 * 70.1754, rel=1e-6)


def test_a_drum_takes_its_rope_at_the_middle() -> None:
    one = railed(transmission="[{drum: {diameter: 60 mm, rope_diameter: 4 mm}}]")
    assert one.machine.reduction == pytest.approx(1.0 / 0.032)
    assert any(note.key == "transmission[0].drum.travel" and "0.201062 m" in note.text for note in one.assumptions)


def test_profiles_and_gains_are_along_the_guide() -> None:
    scenario = railed(
        moves="[{lift: {to: 0.6 m, profile: {speed: 12 in/s, acceleration: 0.8 m/s^2, jerk: 4 m/s^3}}}]",
        controller="{position_loop: {proportional: 2 V/mm, tolerance: 0.5 mm}}",
    )
    limits = scenario.plan.moves[0].limits
    assert (limits.speed, limits.acceleration, limits.jerk) == (pytest.approx(0.3048), 0.8, 4.0)
    loop = scenario.machine.controller.position_loop
    assert (loop.proportional, loop.tolerance) == (pytest.approx(2000.0), 5e-4)


def test_the_loop_is_content_with_a_millimetre_unless_told_otherwise() -> None:
    assert railed().machine.controller.position_loop.tolerance == 1e-3
    assert read().machine.controller.position_loop.tolerance == pytest.approx(math.radians(0.5))


def test_incline_friction_counterweight_and_stops() -> None:
    load = carriage(
        "{mass: 6 kg, payload: {mass: 8 kg}, incline: 30 deg, friction: {coulomb: 5 N, viscous: 9 N*s/m}, "
        "friction_coefficient: 0.1, counterweight: 2 kg, stops: {lower: -5 mm, stiffness: 40 N/mm}}"
    )
    pressed = 14.0 * 9.80665 * math.cos(math.radians(30.0))
    assert load.friction.breakaway == pytest.approx(5.0 + 0.1 * pressed)
    assert load.weight == pytest.approx(9.80665 * (7.0 - 2.0))
    assert (load.lower_stop, load.stop.stiffness) == (-0.005, 40000.0)


def test_straight_up_is_the_default_and_said() -> None:
    scenario = railed()
    assert scenario.machine.arm.incline == math.pi / 2.0
    assert any(note.key == "carriage.incline" for note in scenario.assumptions)


def test_what_was_understood_is_echoed_in_metres() -> None:
    assert understood(railed(), "moves[0].lift.to") == "0.6 m"


@pytest.mark.parametrize(
    ("change", "key", "words"),
    [
        ({"moves": "[{lift: {to: 60 deg}}]"}, "moves[0].lift.to", "expected a length, got an angle"),
        ({"moves": "[{lift: {to: 1200 mm}}]"}, "moves[0].lift.to", "above the upper stop, 1.016 m"),
        ({"transmission": "[{gearbox: {reduction: 9, efficiency: 0.8}}]"}, "transmission", "does not end with a rack"),
        ({"transmission": ""}, "transmission", "does not end with a rack"),
        ({"arm": "{length: 0.6 m, mass: 5 kg}"}, "carriage", "an arm is given too"),
    ],
)
def test_what_does_not_go_with_a_carriage_is_refused(change: dict[str, str], key: str, words: str) -> None:
    assert any(problem.key == key and words in problem.text for problem in refused(**{**SECTIONS, **change}))


def test_what_does_not_go_with_an_arm_is_refused() -> None:
    (problem,) = refused(transmission=RACK)
    assert (problem.key, problem.hint) == ("transmission[1].rack", "write carriage in place of arm")
    (problem,) = refused(moves="[{lift: {to: 600 mm}}]")
    assert "expected an angle, got a length" in problem.text


def test_taking_up_and_putting_down_change_what_is_carried() -> None:
    scenario = railed(moves="[{lift: {to: 600 mm}}, {put_down: {mass: 8 kg}}, {lower: {to: 0 mm}}]")
    assert scenario.plan.moves[1].payload == 0.0


@pytest.mark.parametrize("stage", ["rack: {pinion: 19, module: 1.5 mm", "drum: {diameter: 60 mm, rope_diameter: 4 mm"])
def test_what_comes_out_of_a_rack_or_drum_is_no_shaft(stage: str) -> None:
    text = f"[{{gearbox: {{reduction: 12, efficiency: 0.8}}}}, {{{stage}, output_shaft: {{diameter: 10 mm}}}}}}]"
    (problem,) = refused(**{**SECTIONS, "transmission": text})
    assert problem.key == f"transmission[1].{stage.split(':')[0]}.output_shaft"


def test_backlash_of_a_rack_is_a_travel() -> None:
    text = RACK.replace("efficiency: 0.96", "efficiency: 0.96, backlash: 0.1 mm")
    assert railed(transmission=text).machine.stages[-1].backlash == pytest.approx(1e-4)
