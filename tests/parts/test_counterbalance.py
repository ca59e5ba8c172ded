"""Springs on the arm: true geometry, and torque as the fall of energy."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from armsim.parts.counterbalance import ConstantForceSpring, ExtensionSpring, GasSpring, Span, TorsionSpring

SPAN = Span(on_arm=0.25, anchor_x=-0.08, anchor_y=0.30)
HELPERS = [
    TorsionSpring(rate=18.0, relaxed_at=1.4),
    ExtensionSpring(span=SPAN, rate=900.0, free_length=0.12, initial_tension=15.0),
    GasSpring(span=Span(on_arm=0.25, anchor_x=0.05, anchor_y=-0.35), force=300.0, rate=400.0, extended_length=0.6),
    ConstantForceSpring(force=60.0, radius=0.1),
]


@pytest.mark.parametrize("helper", HELPERS, ids=lambda helper: type(helper).__name__)
@given(angle=st.floats(-1.2, 1.4))
def test_torque_is_the_fall_of_energy(helper, angle: float) -> None:
    step = 1e-6
    slope = (helper.energy(angle + step) - helper.energy(angle - step)) / (2.0 * step)
    assert helper.torque(angle) == pytest.approx(-slope, rel=1e-5, abs=1e-5)


def test_a_spring_of_no_free_length_above_the_pivot_makes_a_cosine() -> None:
    spring = ExtensionSpring(span=Span(on_arm=0.2, anchor_x=0.0, anchor_y=0.3), rate=1000.0, free_length=0.0)
    for angle in (-1.0, 0.0, 0.7):
        assert spring.torque(angle) == pytest.approx(1000.0 * 0.2 * 0.3 * math.cos(angle), rel=1e-12)


def test_geometry_by_hand() -> None:
    # arm level, hook 0.3 m out; anchor 0.4 m above the pivot: a 3-4-5 triangle, lever 0.3 * 0.4/0.5
    span = Span(on_arm=0.3, anchor_x=0.0, anchor_y=0.4)
    assert span.length(0.0) == pytest.approx(0.5)
    assert span.lever(0.0) == pytest.approx(-0.24)
    spring = ExtensionSpring(span=span, rate=200.0, free_length=0.35, initial_tension=10.0)
    assert spring.torque(0.0) == pytest.approx((10.0 + 200.0 * 0.15) * 0.24)
    gas = GasSpring(span=span, force=100.0, rate=50.0, extended_length=0.6, resistance=500.0)
    assert gas.torque(0.0) == pytest.approx(-(100.0 + 50.0 * 0.1) * 0.24)
    assert gas.damping(0.0) == pytest.approx(500.0 * 0.24**2)


def test_a_slack_spring_and_an_extended_strut_give_nothing() -> None:
    assert ExtensionSpring(span=SPAN, rate=900.0, free_length=2.0).torque(0.3) == 0.0
    assert GasSpring(span=SPAN, force=300.0, rate=0.0, extended_length=0.01).torque(0.3) == 0.0


def test_constant_force_on_a_drum_and_torsion_at_its_relaxed_angle() -> None:
    assert ConstantForceSpring(force=60.0, radius=0.1).torque(0.9) == pytest.approx(6.0)
    assert TorsionSpring(rate=18.0, relaxed_at=1.4).torque(1.4) == 0.0
    assert TorsionSpring(rate=18.0, relaxed_at=1.4).torque(0.4) == pytest.approx(18.0)
