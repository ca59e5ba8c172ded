"""Counterbalanced arms in motion: exact balance, work in the energy account, and arms that rise by themselves."""

import math

import numpy as np
import pytest

from armsim.checks.lifting import turning_points
from armsim.drivetrain.train import cone
from armsim.dynamics.plan import Hold, Plan, PowerCut, Rest, Travel
from armsim.dynamics.run import Kind
from armsim.dynamics.steering import holding_current
from armsim.dynamics.trajectory import fall, simulate
from armsim.parts.counterbalance import ConstantForceSpring, ExtensionSpring, GasSpring, Span, TorsionSpring
from tests.machines import arm, frictionless_motor, machine, stage

LOW, HIGH = math.radians(-30.0), math.radians(70.0)
UP = Plan(start=LOW, moves=(Travel(to=HIGH), Hold(duration=1.0), Travel(to=LOW, duty=-0.3)))
MOMENT = 6.0
EXACT = ExtensionSpring(
    span=Span(on_arm=0.2, anchor_x=0.0, anchor_y=0.3), rate=MOMENT * 9.80665 / 0.06, free_length=0.0
)


def with_helper(*helpers):
    return machine(arm=arm(MOMENT, counterbalances=helpers))


def test_an_exact_balance_leaves_friction_alone() -> None:
    m = with_helper(EXACT)
    for angle in np.linspace(LOW, HIGH, 7):
        edges = cone(m, float(angle))
        assert edges.rise == pytest.approx(0.05, rel=1e-9)  # the motor's own friction
        assert edges.sink == pytest.approx(-0.05, rel=1e-9)
        assert holding_current(m, float(angle)) == 0.0


@pytest.mark.parametrize(
    "helper",
    [
        TorsionSpring(rate=18.0, relaxed_at=math.radians(100.0)),
        ExtensionSpring(span=Span(on_arm=0.25, anchor_x=-0.08, anchor_y=0.30), rate=900.0, free_length=0.05),
        GasSpring(
            span=Span(on_arm=0.25, anchor_x=0.05, anchor_y=-0.35),
            force=120.0,
            rate=100.0,
            extended_length=0.7,
            resistance=200.0,
        ),
        ConstantForceSpring(force=200.0, radius=0.1),
        EXACT,
    ],
    ids=lambda helper: type(helper).__name__,
)
def test_the_energy_account_closes_with_a_spring_in_it(helper) -> None:
    run = simulate(with_helper(helper), UP)
    assert run.first(Kind.REACHED) is not None
    assert abs(run.energy.residual) < 1e-6 * run.energy.throughput


def test_a_constant_force_does_its_work_in_the_account() -> None:
    down = Plan(start=HIGH, moves=(Travel(to=LOW, duty=-0.3), Rest(duration=5.0)))
    spring = ConstantForceSpring(force=200.0, radius=0.1)
    helped, plain = simulate(with_helper(spring), down), simulate(with_helper(), down)
    # both end on the lower stop, without speed or current
    way = HIGH - math.radians(-35.0)
    assert helped.energy.stored - plain.energy.stored == pytest.approx(200.0 * 0.1 * way, rel=1e-9)


def test_a_spring_stronger_than_the_load_throws_the_arm_up_when_power_goes() -> None:
    m = machine(
        motor=frictionless_motor(),
        stages=(stage(60.0, 1.0, 1.0),),
        arm=arm(MOMENT, counterbalances=(ConstantForceSpring(force=1000.0, radius=0.1),)),
    )
    run = fall(m, Plan(start=LOW, moves=(Travel(to=0.0),)), PowerCut(), shorted=False)
    assert run is not None
    hit = run.first(Kind.STOP_HIT)
    assert hit is not None
    assert hit.angle == pytest.approx(math.radians(95.0))
    # energy: (F r theta - m g r sin theta) turned into speed
    work = 100.0 * math.radians(95.0) - MOMENT * 9.80665 * math.sin(math.radians(95.0))
    assert hit.speed == pytest.approx(math.sqrt(2.0 * work / m.inertia), rel=1e-7)


def test_a_helper_lifts_sooner_and_a_damped_one_later() -> None:
    def lift_time(*helpers) -> float:
        reached = simulate(with_helper(*helpers), UP).first(Kind.REACHED)
        assert reached is not None
        return reached.time

    strut = {"span": Span(on_arm=0.25, anchor_x=0.05, anchor_y=-0.35), "force": 120.0, "rate": 0.0}
    free = GasSpring(extended_length=0.7, **strut)
    damped = GasSpring(extended_length=0.7, resistance=3000.0, **strut)
    assert lift_time(free) < lift_time()
    assert lift_time(free) < lift_time(damped)


def test_the_worst_angle_is_found_where_a_spring_moves_it() -> None:
    # m g r cos(a) - k (b - a): the extreme is where m g r sin(a) = k
    m = with_helper(TorsionSpring(rate=18.0, relaxed_at=math.radians(100.0)))
    points = turning_points(m, LOW, HIGH)
    assert any(abs(angle - math.asin(18.0 / (MOMENT * 9.80665))) < 1e-6 for angle in points)
