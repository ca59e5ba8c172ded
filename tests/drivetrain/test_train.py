"""The torque recursion against worked answers, a root search, and its own inverses."""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from armsim.drivetrain.senses import turnings
from armsim.drivetrain.shafts import reflected_inertias
from armsim.drivetrain.train import (
    all_driving,
    arm_torque_overhauling,
    arm_torque_raised,
    cone,
    motion_torque,
    respond,
    walk,
)
from armsim.parts.arm import Arm, Friction
from armsim.parts.stage import ConstantEfficiency, Stage
from tests.machines import arm, frictionless_motor, machine, stage


def load(torque: float, inertia: float) -> Arm:
    """An arm whose gravity torque at the horizontal is `torque`."""
    return Arm(length=1.0, inertia=inertia, first_moment=torque, gravity=1.0)


def train(stages: tuple[Stage, ...], rotor: float, arm_: Arm, drag: float = 0.0):
    motor = frictionless_motor(rotor_inertia=rotor, coulomb_torque=drag, breakaway_torque=drag)
    return machine(motor=motor, stages=stages, arm=arm_)


def three_stage_train(losses_of=(0.97, 0.965, 0.95)):
    stages = (
        stage(53 / 17, losses_of[0], output_inertia=6.2e-5, sense=-1),
        stage(61 / 19, losses_of[1], output_inertia=3.4e-4, sense=-1),
        stage(45 / 16, losses_of[2], sense=1),
    )
    return train(stages, 3.1e-5, load(11.7, 0.82))


class TestWorkedAnswers:
    """A three-stage train with inertia on every shaft: reduction 28.1511, load 11.7 N*m."""

    def test_raising(self) -> None:
        motion = respond(three_stage_train(), 0.0, 0.0, +1, 0.66, (0, 0, 0))
        assert motion is not None
        assert motion.acceleration == pytest.approx(5.67937, abs=5e-6)
        assert motion.branch == (1, 1, 1)

    def test_power_cut_while_rising(self) -> None:
        motion = respond(three_stage_train(), 0.0, 0.0, +1, 0.0, (0, 0, 0))
        assert motion is not None
        assert motion.acceleration == pytest.approx(-13.7803, abs=5e-5)

    def test_power_cut_while_falling(self) -> None:
        motion = respond(three_stage_train(), 0.0, 0.0, -1, 0.0, (0, 0, 0))
        assert motion is not None
        assert motion.acceleration == pytest.approx(-13.6660, abs=5e-5)

    def test_friction_cone_with_static_efficiencies(self) -> None:
        edges = cone(three_stage_train((0.95, 0.945, 0.93)), 0.0)
        assert edges.sink == pytest.approx(0.342912, abs=5e-7)
        assert edges.rise == pytest.approx(0.497796, abs=5e-7)

    def test_hold_window_of_a_worm_at_rest(self) -> None:
        worm = train((stage(43, 0.278564, -1.53868),), 1e-5, load(9.0, 1.0))
        edges = cone(worm, 0.0)
        assert edges.sink == pytest.approx(-0.322048, rel=5e-6)
        assert edges.rise == pytest.approx(0.751362, rel=5e-6)
        assert edges.holds(0.0)

    def test_hold_window_of_gears_with_drag(self) -> None:
        geared = train((stage(186, 0.91, drag=0.004),), 1e-5, load(11.2, 1.0))
        edges = cone(geared, 0.0)
        assert edges.sink == pytest.approx(0.0502597, abs=5e-8)
        assert edges.rise == pytest.approx(0.0701704, abs=5e-8)
        assert not edges.holds(0.0)

    def test_back_driving_through_four_stages(self) -> None:
        etas = (0.97, 0.965, 0.96, 0.94)
        stages = tuple(stage(118**0.25, eta) for eta in etas)
        edges = cone(train(stages, 1e-5, load(9.4, 1.0)), 0.0)
        assert edges.sink == pytest.approx(9.4 * 0.837883 / 118, rel=1e-6)

    def test_three_lossy_stages_back_drive_although_the_whole_is_under_a_half(self) -> None:
        lossy = train(tuple(stage(118 ** (1 / 3), 0.78) for _ in range(3)), 1e-5, load(9.4, 1.0), drag=0.021)
        without_drag = replace(lossy, motor=frictionless_motor())
        assert cone(without_drag, 0.0).sink == pytest.approx(0.0294799, abs=5e-8)
        assert cone(lossy, 0.0).sink == pytest.approx(0.00847991, abs=5e-9)
        assert arm_torque_overhauling(lossy) == pytest.approx(6.69609, abs=5e-6)

    def test_lift_and_lower_currents_at_the_horizontal(self) -> None:
        # 6 kg at 0.45 m, 120:1, eta 0.70; motor of 12 V, 5000 rpm, 2.5 A no-load, 120 A stall, 70 % Coulomb drag
        constant = (12.0 - 0.1 * 2.5) / (5000.0 * math.pi / 30.0)
        lifter = train((stage(120, 0.70),), 8e-5, load(6 * 9.80665 * 0.45, 1.0), drag=0.7 * constant * 2.5)
        edges = cone(lifter, 0.0)
        assert edges.rise / constant == pytest.approx(15.7964, abs=5e-5)
        assert edges.sink / constant == pytest.approx(3.86857, abs=5e-5)


class TestJamming:
    """A worm with a constant friction of 0.10: eta_f 0.367542, eta_b -0.698042, 43:1, rotor 4.2e-5 kg*m2."""

    @staticmethod
    def worm(inertia: float, torque: float):
        return train((stage(43, 0.367542, -0.698042),), 4.2e-5, load(torque, inertia))

    @pytest.mark.parametrize(("inertia", "torque", "magnitude"), [(0.085, 3.1, 118.090), (0.100, 3.1, 275.525)])
    def test_power_cut_while_lowering_retards(self, inertia: float, torque: float, magnitude: float) -> None:
        motion = respond(self.worm(inertia, torque), 0.0, -1.0, -1, 0.0, (0,))
        assert motion is not None
        assert motion.acceleration == pytest.approx(magnitude, rel=2e-4)  # the answer's efficiencies carry six digits
        assert motion.branch == (-1,)

    def test_a_heavy_arm_behind_a_light_rotor_has_no_solution(self) -> None:
        assert respond(self.worm(0.35, 9.0), 0.0, -1.0, -1, 0.0, (0,)) is None

    def test_the_inertia_from_which_on_it_jams(self) -> None:
        assert respond(self.worm(0.111251 * (1 - 1e-5), 3.1), 0.0, -1.0, -1, 0.0, (0,)) is not None
        assert respond(self.worm(0.111251 * (1 + 1e-5), 3.1), 0.0, -1.0, -1, 0.0, (0,)) is None

    @pytest.mark.parametrize(
        ("inertia", "effective", "rel"), [(0.085, 0.0183245, 1e-4), (0.100, 0.00785383, 2e-4), (0.35, -0.166657, 1e-5)]
    )
    def test_inertia_that_a_load_driven_worm_leaves(self, inertia: float, effective: float, rel: float) -> None:
        # seen at the wheel; the answer's efficiencies carry six digits, and most of it cancels
        found = walk(self.worm(inertia, 3.1), 0.0, -1.0, -1, (-1,), (0,)).motor.slope * 43
        assert found == pytest.approx(effective, rel=rel)

    def test_rotor_inertia_seen_at_the_wheel(self) -> None:
        assert walk(self.worm(1e-12, 0.0), 0.0, 1.0, 1, (1,), (0,)).motor.slope * 43 == pytest.approx(0.0776580)

    def test_of_two_solutions_the_motor_driven_one_is_taken(self) -> None:
        motion = respond(self.worm(0.35, 9.0), 0.0, -1.0, -1, -0.06, (0,))
        assert motion is not None
        assert motion.acceleration == pytest.approx(-26.2804, rel=1e-5)
        assert motion.branch == (1,)

    def test_steady_lowering_needs_torque_in_the_lowering_sense(self) -> None:
        assert cone(self.worm(0.085, 3.1), 0.0).sink == pytest.approx(-0.0503240, abs=5e-8)

    def test_a_worm_behind_a_chain(self) -> None:
        def slope(inertia: float) -> float:
            stages = (stage(43, 0.367542, -0.698042, output_inertia=9e-4), stage(45 / 16, 0.96))
            pair = train(stages, 4.2e-5, load(3.0, inertia))
            # seen at the wheel: the line's slope at the motor times the worm's ratio over the chain's
            return walk(pair, 0.0, -1.0, -1, (-1, -1), (0, 0)).motor.slope * 43 / (45 / 16)

        assert slope(0.5) == pytest.approx(0.0347451, rel=2e-5)
        assert slope(1.9) == pytest.approx(-0.0836520, rel=2e-5)
        assert slope(0.910847 * (1 - 1e-5)) > 0.0 > slope(0.910847 * (1 + 1e-5))


@pytest.mark.parametrize(("torque", "share"), [(0.01, 0.368), (0.05, 0.8096), (0.2, 0.8924)])
def test_drag_eats_the_efficiency_of_a_light_load(torque: float, share: float) -> None:
    """Mesh efficiency 0.92, drag 6 mN*m: of 10, 50 and 200 mN*m at the input 36.8, 80.96 and 89.24 % come out."""
    out = share * torque * 20.0
    dragged = train((stage(20.0, 0.92, drag=6e-3),), 0.0, load(out, 1.0))
    assert walk(dragged, 0.0, 1.0, 1, (1,), (0,)).motor.offset == pytest.approx(torque, rel=1e-12)


torques = st.floats(-3.0, 3.0)
efficiencies = st.floats(0.3, 0.99)


@st.composite
def trains(draw: st.DrawFn):
    stages = []
    for _ in range(draw(st.integers(0, 4))):
        forward = draw(efficiencies)
        reverse = draw(st.one_of(st.just(2.0 - 1.0 / forward), st.floats(0.01, forward)))
        stages.append(
            stage(
                draw(st.floats(0.5, 12.0)),
                forward,
                max(reverse, 0.01),
                drag=draw(st.floats(0.0, 0.01)),
                input_inertia=draw(st.floats(0.0, 1e-4)),
            )
        )
    friction = Friction(coulomb=draw(st.floats(0.0, 1.0)), breakaway=draw(st.floats(1.0, 2.0)))
    return machine(stages=tuple(stages), arm=arm(draw(st.floats(-8.0, 8.0)), friction=friction))


@given(trains(), torques, st.sampled_from([-1, 1]), st.floats(-1.5, 1.5))
def test_the_walk_of_the_answer_gives_back_the_torque(m, torque, sense, angle) -> None:
    regimes = (0,) * len(m.stages)
    motion = respond(m, angle, 0.0, sense, torque, regimes)
    assert motion is not None
    lines = walk(m, angle, 0.0, sense, motion.branch, regimes)
    assert lines.motor.at(motion.acceleration) == pytest.approx(torque, abs=1e-9)
    for branch, line in zip(motion.branch, lines.outputs, strict=True):
        assert branch * sense * line.at(motion.acceleration) >= -1e-9


@given(trains(), torques, st.sampled_from([-1, 1]), st.floats(-1.5, 1.5))
def test_the_answer_agrees_with_bisection_on_the_needed_torque(m, torque, sense, angle) -> None:
    def needed(acceleration: float) -> float:
        """The recursion written out with a sign test at each stage, as one would by hand."""
        turns, inertias = m.shaft_turns, m.shaft_inertias
        value = inertias[-1] * acceleration + m.arm.first_moment * m.arm.gravity * math.cos(angle)
        value += sense * m.arm.friction.coulomb
        for k in reversed(range(len(m.stages))):
            part = m.stages[k]
            forward, reverse = part.law.running(0.0, 0)
            value = value / (part.reduction * forward) if value * sense > 0 else value * reverse / part.reduction
            value += sense * part.drag + inertias[k] * turns[k] * acceleration
        return value + sense * m.motor.count * m.motor.coulomb_torque

    low, high = -1e6, 1e6
    for _ in range(200):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if needed(middle) < torque else (low, middle)
    motion = respond(m, angle, 0.0, sense, torque, (0,) * len(m.stages))
    assert motion is not None
    assert motion.acceleration == pytest.approx(0.5 * (low + high), rel=1e-7, abs=1e-7)


@given(trains(), st.floats(0.1, 5.0))
def test_raised_torque_is_the_inverse_of_the_rise_edge(m, torque) -> None:
    raised = arm_torque_raised(m, torque)
    if raised > 0.0:
        loaded = replace(m, arm=replace(m.arm, first_moment=raised, gravity=1.0))
        assert cone(loaded, 0.0).rise == pytest.approx(torque, rel=1e-9)


@given(trains())
def test_overhauling_torque_is_where_the_sink_edge_passes_zero(m) -> None:
    torque = arm_torque_overhauling(m)
    assert torque is not None
    at_edge = replace(m, arm=replace(m.arm, first_moment=torque, gravity=1.0))
    assert cone(at_edge, 0.0).sink == pytest.approx(0.0, abs=1e-9 * (1.0 + torque))


@given(trains(), st.integers(0, 4), st.floats(0.1, 40.0))
def test_a_locking_stage_anywhere_holds_any_load(m, place, moment) -> None:
    locking = stage(30.0, 0.4, -0.5)
    at = min(place, len(m.stages))
    locked = replace(m, stages=(*m.stages[:at], locking, *m.stages[at:]), arm=replace(m.arm, first_moment=moment))
    assert cone(locked, 0.0).holds(0.0)
    assert arm_torque_overhauling(locked) is None


@given(trains(), torques, st.sampled_from([-1, 1]))
def test_a_mirrored_arm_moves_in_mirror(m, torque, sense) -> None:
    mirrored = replace(m, arm=replace(m.arm, first_moment=-m.arm.first_moment))
    regimes = (0,) * len(m.stages)
    here, there = respond(m, 0.3, 0.0, sense, torque, regimes), respond(mirrored, 0.3, 0.0, -sense, -torque, regimes)
    assert here is not None
    assert there is not None
    assert there.acceleration == pytest.approx(-here.acceleration, rel=1e-9, abs=1e-12)


def test_senses_and_reflected_inertia_of_a_gear_and_chain_train() -> None:
    m = three_stage_train()
    assert tuple(turning.sense for turning in turnings(m)) == (1, -1, 1, 1)
    assert m.reduction == pytest.approx(28.1511, abs=5e-5)
    n1, n2 = 61 / 19 * 45 / 16, 45 / 16
    assert reflected_inertias(m) == pytest.approx(
        (3.1e-5 * 28.15113**2, 6.2e-5 * n1**2, 3.4e-4 * n2**2, 0.82), rel=1e-5
    )
    assert all_driving(m) == (1, 1, 1)


def test_a_corner_leaves_the_sense_unknown() -> None:
    m = machine(stages=(stage(3.0, sense=-1), stage(30.0, sense=None), stage(2.0, sense=1)))
    assert tuple(turning.sense for turning in turnings(m)) == (None, None, 1, 1)


def test_constant_efficiency_ignores_speed() -> None:
    law = ConstantEfficiency(forward=0.9, reverse=0.8)
    assert law.running(123.0, 0) == law.static() == (0.9, 0.8)


def test_two_stages_that_unload_together_do_so_whatever_the_rounding() -> None:
    # all three driven by the load: (3.5 a + m g r cos) 0.078125/0.5 + drag and inertia, then 0.01 twice, then 0.05 N*m
    d = 6.722524861463294e-05
    pair = stage(0.5, 0.5, 0.078125, drag=d, input_inertia=d)
    m = machine(
        stages=(stage(1.0, 0.5, 0.01), stage(1.0, 0.375, 0.01), pair),
        arm=arm(0.015625, friction=Friction(breakaway=1.0)),
    )
    motion = respond(m, 1.5, 0.0, +1, 0.0, (0, 0, 0))
    weight = 0.015625 * 9.80665 * math.cos(1.5)
    slope = 1e-4 * (3.5 * 0.15625 + 0.5 * d) + 0.5 * 2e-4
    offset = 1e-4 * (weight * 0.15625 + d) + 0.05
    assert motion is not None
    assert motion.acceleration == pytest.approx(-offset / slope, rel=1e-9)


@pytest.mark.parametrize(
    ("speed", "expected"),
    [(0.001, 5.81312), (0.02, 5.52827), (0.05, 4.45998), (0.1, 3.80506), (0.5, 5.40000), (2.0, 11.5500)],
)
def test_friction_falls_from_breakaway_before_it_rises_with_speed(speed: float, expected: float) -> None:
    """A small industrial joint: 3.35 N*m, 5.81 N*m at rest, 0.05 rad/s, 4.10 N*m*s/rad."""
    joint = Friction(coulomb=3.35, breakaway=5.81, viscous=4.10, stribeck_speed=0.05)
    m = train((), 1e-5, arm(moment=0.0, inertia=0.4, friction=joint))
    for sense in (-1, 1):
        assert sense * motion_torque(m, 0.2, sense * speed, 0.0, sense) == pytest.approx(expected, rel=2e-6)
        assert sense * walk(m, 0.2, sense * speed, sense, (), ()).motor.offset == pytest.approx(expected, rel=2e-6)
    edges = cone(m, 0.2)
    assert (edges.sink, edges.rise) == pytest.approx((-5.81, 5.81))
