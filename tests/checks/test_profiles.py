"""Whether a profile can be followed, and the largest like it that can: against hand reckoning and against runs."""

import math
from dataclasses import replace

import pytest

from armsim.checks.profiles import demand, largest_scale, profile_findings, scaled
from armsim.dynamics.plan import Exchange, Follow, Limits, Plan
from armsim.dynamics.steering import along
from armsim.dynamics.trajectory import simulate
from armsim.parts.battery import constant_source
from armsim.parts.bridge import Controller

from .machines import GRAVITY, TC, B, K, machine, stage

DEG = math.pi / 180.0
LEVEL = replace(machine().arm, gravity=0.0)


def move(speed: float, acceleration: float, to: float = 60.0, jerk: float | None = None) -> Follow:
    return Follow(to=to * DEG, limits=Limits(speed=speed, acceleration=acceleration, jerk=jerk))


def test_demand_is_current_and_voltage_by_hand() -> None:
    """Hardest as the speed is reached and still rising: i from load and inertia through the train, v = R i + k w."""
    m = machine(battery=constant_source(12.56, 0.0), wiring=(), other_loads=0.0)
    asked = move(0.8, 50.0)
    hardest = demand(m, along(-30.0 * DEG, asked.to, asked.limits))
    w, angle = 0.8 * 120.0, -30.0 * DEG + 0.8**2 / (2.0 * 50.0)
    arm = 6.0 * GRAVITY * 0.45 * math.cos(angle) + 6.0 * 0.45**2 * 50.0
    current = (arm / (120.0 * 0.70) + 8e-5 * 50.0 * 120.0 + TC + B * w) / K
    assert hardest.current == pytest.approx(current, rel=1e-6)
    assert hardest.share == pytest.approx((0.104 * current + K * w) / 12.56, rel=1e-6)


def test_a_profile_within_reach_is_followed_and_nothing_is_said() -> None:
    plan = Plan(start=-30.0 * DEG, moves=(move(0.8, 2.0),))
    assert not list(profile_findings(machine(), plan))
    assert not simulate(machine(), plan).tracks[0].limited


@pytest.mark.parametrize("jerk", [None, 4000.0])
def test_a_profile_beyond_reach_is_warned_of_with_one_that_just_fits(jerk: float | None) -> None:
    rash = move(8.0, 60.0, jerk=jerk)
    (found,) = profile_findings(machine(), Plan(start=-30.0 * DEG, moves=(rash,)))
    assert found.code == "profile-too-fast"
    scale = largest_scale(machine(), -30.0 * DEG, rash)
    assert scale is not None
    fits, over = (replace(rash, limits=scaled(rash.limits, share)) for share in (0.97 * scale, 1.1 * scale))
    runs = [simulate(machine(), Plan(start=-30.0 * DEG, moves=(each,))) for each in (fits, over)]
    assert not runs[0].tracks[0].limited
    assert runs[1].tracks[0].limited
    assert f"{math.degrees(scaled(rash.limits, scale).speed):.3g}" in found.mend


def test_a_current_limit_decides_where_it_is_below_the_voltage() -> None:
    m = machine(controller=Controller(resistance=0.004, current_limit=20.0))
    (found,) = profile_findings(m, Plan(start=-30.0 * DEG, moves=(move(1.0, 30.0),)))
    assert "current limit" in found.text


def test_a_load_too_heavy_at_any_speed_has_no_profile_that_fits() -> None:
    weak = machine(stages=(stage(6.0, 0.70),))
    (found,) = profile_findings(weak, Plan(start=-30.0 * DEG, moves=(move(1.0, 1.0),)))
    assert "no slower profile fits" in found.mend


def test_each_move_is_judged_with_the_payload_it_carries() -> None:
    m = machine(controller=Controller(resistance=0.004, current_limit=20.0))
    quick = move(0.5, 1.0)
    down = replace(quick, to=-30.0 * DEG, name="lower")
    plan = Plan(start=-30.0 * DEG, moves=(quick, Exchange(payload=12.0), down, Exchange(payload=6.0)))
    loads = [found.where for found in profile_findings(m, plan)]
    assert "moves[0].lift.profile" not in loads
    heavy = Plan(start=-30.0 * DEG, moves=(Exchange(payload=12.0), quick))
    assert [found.where for found in profile_findings(m, heavy)] == ["moves[1].lift.profile"]
