"""Each kind of counterbalance from its text to the part, in mixed units, against factors worked out by hand."""

import math

import pytest

from armsim.parts.arm import gravity_torque, load_torque
from armsim.parts.counterbalance import ConstantForceSpring, ExtensionSpring, GasSpring, Span, TorsionSpring
from tests.scenario.texts import read, refused

POUND_FORCE = 4.4482216152605  # [N]
KILOPOND = 9.80665  # [N]


def text(counterbalance):
    return f"{{length: 0.6 m, mass: 5 kg, payload: {{mass: 8 kg}}, counterbalance: {counterbalance}}}"


def built(counterbalance):
    return read(arm=text(counterbalance)).machine.arm


def assumed(counterbalance):
    assumptions = read(arm=text(counterbalance)).assumptions
    return {a.key.removeprefix("arm.counterbalance"): a.text for a in assumptions if "counterbalance" in a.key}


@pytest.mark.parametrize(
    ("rate", "newton_metres_per_radian"),
    [
        ("0.3 N*m/deg", 0.3 * 180.0 / math.pi),
        ("17.2 N*m/rad", 17.2),
        ("300 mN*m/deg", 0.3 * 180.0 / math.pi),
        ("2 in-lb/deg", 2.0 * POUND_FORCE * 0.0254 * 180.0 / math.pi),
    ],
)
def test_a_torsion_spring_by_its_rate(rate, newton_metres_per_radian):
    (spring,) = built(f"{{kind: torsion-spring, torsion_rate: {rate}, relaxed_at: 110 deg}}").counterbalances
    assert isinstance(spring, TorsionSpring)
    assert spring.rate == pytest.approx(newton_metres_per_radian, rel=1e-12)
    assert spring.relaxed_at == pytest.approx(110.0 * math.pi / 180.0, rel=1e-12)


@pytest.mark.parametrize(
    ("rate", "newtons_per_metre"),
    [("1.2 N/mm", 1200.0), ("7 lbf/in", 7.0 * POUND_FORCE / 0.0254), ("0.1 kgf/mm", 100.0 * KILOPOND)],
)
def test_an_extension_spring_between_its_two_points(rate, newtons_per_metre):
    (spring,) = built(
        f"{{kind: extension-spring, rate: {rate}, free_length: 7 in, initial_tension: 2 lbf, "
        "on_arm: 200 mm, anchor: {x: -80 mm, y: 1 ft}}"
    ).counterbalances
    assert spring == ExtensionSpring(
        span=Span(on_arm=0.2, anchor_x=-0.08, anchor_y=pytest.approx(0.3048)),
        rate=pytest.approx(newtons_per_metre, rel=1e-12),
        free_length=pytest.approx(0.1778, rel=1e-12),
        initial_tension=pytest.approx(2.0 * POUND_FORCE, rel=1e-12),
    )


def test_a_gas_spring_with_all_its_keys():
    (spring,) = built(
        "{kind: gas-spring, force: 15 kgf, rate: 0.5 N/mm, extended_length: 16 in, damping: 0.4 N*s/mm, "
        "on_arm: 8 in, anchor: {x: 2 in, y: -12 in}}"
    ).counterbalances
    assert spring == GasSpring(
        span=Span(on_arm=pytest.approx(0.2032), anchor_x=pytest.approx(0.0508), anchor_y=pytest.approx(-0.3048)),
        force=pytest.approx(15.0 * KILOPOND, rel=1e-12),
        rate=pytest.approx(500.0, rel=1e-12),
        extended_length=pytest.approx(0.4064, rel=1e-12),
        resistance=pytest.approx(400.0, rel=1e-12),
    )


def test_what_a_gas_spring_leaves_out_is_listed():
    bare = "{kind: gas-spring, force: 150 N, extended_length: 420 mm, on_arm: 0.2 m, anchor: {x: 0 m, y: -0.3 m}}"
    (spring,) = built(bare).counterbalances
    assert isinstance(spring, GasSpring)
    assert (spring.rate, spring.resistance) == (0.0, 0.0)
    assert assumed(bare) == {".rate": "none: the same force all the way", ".damping": "none"}


def test_what_an_extension_spring_leaves_out_is_listed():
    bare = "{kind: extension-spring, rate: 1 N/mm, free_length: 0.1 m, on_arm: 0.2 m, anchor: {x: 0 m, y: 0.3 m}}"
    (spring,) = built(bare).counterbalances
    assert isinstance(spring, ExtensionSpring)
    assert spring.initial_tension == 0.0
    assert assumed(bare) == {".initial_tension": "none"}


def test_a_constant_force_on_its_drum():
    arm = built("{kind: constant-force, force: 20 lbf, drum_radius: 3 in}")
    assert arm.counterbalances == (
        ConstantForceSpring(force=pytest.approx(20.0 * POUND_FORCE), radius=pytest.approx(0.0762)),
    )
    # what is left to carry: (5*0.3 + 8*0.6) g level, less 88.96 N on 76.2 mm
    assert load_torque(arm, 0.0) == pytest.approx(6.3 * 9.80665 - 88.964432305 * 0.0762, rel=1e-9)


def test_a_counterweight_is_mass_on_the_far_side():
    arm = built("{kind: mass, mass: 22 lb, at: 10 in}")
    mass, at = 22.0 * 0.45359237, 0.254
    assert arm.counterbalances == ()
    assert arm.first_moment == pytest.approx(5.0 * 0.3 + 8.0 * 0.6 - mass * at, rel=1e-12)
    # a slender 0.6 m bar about its end, the payload at the tip, the weight behind
    assert arm.inertia == pytest.approx(5.0 * 0.36 / 3.0 + 8.0 * 0.36 + mass * at**2, rel=1e-12)
    assert gravity_torque(arm, math.pi / 3.0) == pytest.approx((6.3 - 2.5346741636) * 9.80665 / 2.0, rel=1e-9)
    assert assumed("{kind: mass, mass: 22 lb, at: 10 in}") == {}


def test_a_counterweight_comes_on_top_of_a_given_inertia():
    # which counts the arm alone, neither payload nor counterweight
    arm = read(
        arm="{length: 0.6 m, mass: 5 kg, inertia: 0.7 kg*m^2, counterbalance: {kind: mass, mass: 6 kg, at: 0.2 m}}"
    ).machine.arm
    assert arm.inertia == pytest.approx(0.7 + 6.0 * 0.04, rel=1e-12)


def test_no_counterbalance_is_said_so():
    arm = "{length: 0.6 m, mass: 5 kg}"
    assert read(arm=arm).machine.arm.counterbalances == ()
    assert [a.text for a in read(arm=arm).assumptions if a.key == "arm.counterbalance"] == ["none"]


def test_a_spring_hooked_beyond_the_tip_is_asked_about():
    far = "{{kind: extension-spring, rate: 1 N/mm, free_length: 0.1 m, on_arm: {}, anchor: {{x: 0 m, y: 0.3 m}}}}"
    (warning,) = read(arm=text(far.format("70 cm"))).warnings
    assert (warning.code, warning.key) == ("SCN133", "arm.counterbalance.on_arm")
    assert read(arm=text(far.format("60 cm"))).warnings == ()


@pytest.mark.parametrize(
    ("counterbalance", "missing"),
    [
        ("{kind: torsion-spring}", ["torsion_rate", "relaxed_at"]),
        ("{kind: extension-spring}", ["rate", "free_length", "on_arm", "anchor"]),
        ("{kind: gas-spring}", ["force", "extended_length", "on_arm", "anchor"]),
        ("{kind: constant-force}", ["force", "drum_radius"]),
        ("{kind: mass}", ["mass", "at"]),
    ],
)
def test_every_key_that_a_kind_needs_is_asked_for_at_once(counterbalance, missing):
    problems = refused(arm=text(counterbalance))
    assert [problem.key for problem in problems] == [f"arm.counterbalance.{key}" for key in missing]
    assert {problem.code for problem in problems} == {"SCN103"}


def test_keys_of_another_kind_are_refused():
    problems = refused(
        arm=text("{kind: mass, mass: 6 kg, at: 0.2 m, force: 3 N, damping: 2 N*s/m, initial_tension: 1 N}")
    )
    assert [(p.code, p.key.rsplit(".", 1)[1]) for p in problems] == [
        ("SCN121", "force"),
        ("SCN121", "damping"),
        ("SCN121", "initial_tension"),
    ]
