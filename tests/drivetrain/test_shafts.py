"""Play seen at the arm against worked answers, and against turning every wheel by hand."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from armsim.drivetrain.shafts import free_play
from armsim.parts.stage import play_angle
from tests.machines import machine, stage

DEG = math.pi / 180.0
# teeth, module [mm] and normal backlash [mm] of three pairs, the play of each at its own output and at the arm [deg]
PAIRS = [
    (17, 53, 1.0, 0.0716667, 0.164895, 0.0168090),
    (19, 61, 1.25, 0.0816667, 0.130609, 0.0427446),
    (18, 55, 1.5, 0.0882500, 0.130445, 0.130445),
]


def own(pair):
    _, driven, module, normal, _, _ = pair
    return play_angle(normal * 1e-3 / math.cos(20.0 * DEG), module * 1e-3 * driven / 2.0)


@pytest.mark.parametrize("pair", PAIRS)
def test_play_along_the_pitch_circle_turns_the_output_wheel_by_its_share(pair):
    assert own(pair) / DEG == pytest.approx(pair[4], rel=5e-6)


def test_slack_of_a_chain_and_an_idlers_second_mesh():
    # 45 teeth of 12.7 mm pitch: 182.062 mm; 0.32 mm of slack
    assert play_angle(0.32e-3, 0.182062 / 2.0) / DEG == pytest.approx(0.201411, rel=1e-5)
    assert play_angle(1e-4, 0.05, meshes=2) == pytest.approx(4e-3)


def test_the_last_stage_counts_most_at_the_arm():
    m = machine(stages=tuple(stage(p[1] / p[0], backlash=own(p)) for p in PAIRS))
    assert free_play(m).angle / DEG == pytest.approx(0.189999, rel=5e-6)
    assert free_play(m).angle * 0.62 == pytest.approx(2.05598e-3, rel=5e-6)
    assert free_play(m, 1).angle / DEG == pytest.approx(0.0427446 + 0.130445, rel=5e-6)
    assert free_play(m, 2).angle / DEG == pytest.approx(0.130445, rel=5e-6)


@given(st.lists(st.tuples(st.floats(0.2, 60.0), st.floats(0.0, 0.05)), max_size=5), st.integers(0, 4))
def test_play_is_how_far_the_arm_turns_with_the_input_held(train, first):
    m = machine(stages=tuple(stage(n, backlash=play) for n, play in train))
    first = min(first, len(train))
    turned = 0.0  # walk outward: each output follows its input's turn over the reduction, and then turns freely
    for n, play in train[first:]:
        turned = turned / n + play
    assert free_play(m, first).angle == pytest.approx(turned, rel=1e-9, abs=1e-15)


def test_what_is_not_given_is_not_known():
    m = machine(stages=(stage(5.0, name="a"), stage(4.0, backlash=0.002), stage(3.0, name="b")))
    assert free_play(m).angle is None
    assert free_play(m).missing == ("a", "b")
    assert free_play(m).given == pytest.approx(0.002 / 3.0)
    assert free_play(m, 3).angle == 0.0
    assert free_play(machine(stages=())).angle == 0.0
