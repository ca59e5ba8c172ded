"""Payload taken up and put down: momentum, and the energy account across the change."""

import math
from dataclasses import replace

import pytest

from armsim.dynamics.plan import Exchange, Follow, Hold, Limits, Plan, Rest, Travel
from armsim.dynamics.run import Kind
from armsim.dynamics.trajectory import simulate
from armsim.parts.arm import Friction, with_payload
from tests.machines import arm, frictionless_motor, machine, stage

LOW, HIGH = math.radians(-30.0), math.radians(70.0)
GENTLE = Limits(speed=1.0, acceleration=2.0)
ROUND = (
    Follow(to=HIGH, limits=GENTLE),
    Exchange(payload=0.0, name="put down"),
    Hold(duration=0.5),
    Follow(to=LOW, limits=GENTLE, name="lower"),
    Rest(duration=0.5),
    Exchange(payload=5.0),
)


def test_with_payload_moves_mass_at_its_place() -> None:
    loaded = arm(moment=6.0, inertia=3.5)
    empty = with_payload(loaded, 0.0)
    assert empty.first_moment == pytest.approx(6.0 - 5.0 * 0.62)
    assert empty.inertia == pytest.approx(3.5 - 5.0 * 0.62**2)
    assert with_payload(empty, 5.0).inertia == pytest.approx(3.5)


def test_the_account_closes_and_the_payload_keeps_what_it_was_lifted() -> None:
    run = simulate(machine(), Plan(start=LOW, moves=ROUND))
    handed = next(event for event in run.events if event.kind is Kind.PAYLOAD)
    work = 5.0 * 9.80665 * 0.62 * (math.sin(handed.angle) - math.sin(LOW))
    assert run.energy.payload_lifted == pytest.approx(work, rel=1e-6)
    assert abs(run.energy.residual) < 1e-6 * run.energy.throughput


def test_a_mass_from_rest_shares_the_momentum_of_a_lossless_machine() -> None:
    m = machine(
        motor=frictionless_motor(rotor_inertia=1e-9),
        stages=(stage(1.0, 1.0, 1.0),),
        arm=replace(with_payload(arm(moment=6.0, friction=Friction()), 0.0), gravity=0.0),
    )
    run = simulate(m, Plan(start=LOW, moves=(Travel(to=0.0), Exchange(payload=5.0), Travel(to=HIGH))))
    taken = next(event for event in run.events if event.kind is Kind.PAYLOAD)
    k = next(k for k in range(len(run.time)) if run.time[k] == taken.time and run.speed[k] < 0.99 * taken.speed)
    empty = 3.5 - 5.0 * 0.62**2
    assert run.speed[k] == pytest.approx(taken.speed * empty / 3.5, rel=1e-6)
    lost = 0.5 * empty * taken.speed**2 * (1.0 - empty / 3.5)
    assert run.energy.losses["impact"] == pytest.approx(lost, rel=1e-5)


def test_a_geared_rotor_pushes_the_arm_on_through_its_losses() -> None:
    """Impulses pass the stages as torques do: n eta J n on the arm's side of a stage of efficiency eta."""
    m = machine(arm=replace(with_payload(arm(moment=6.0, friction=Friction()), 0.0), gravity=0.0))
    run = simulate(m, Plan(start=LOW, moves=(Travel(to=0.0), Exchange(payload=5.0), Travel(to=HIGH))))
    taken = next(event for event in run.events if event.kind is Kind.PAYLOAD)
    k = next(k for k in range(len(run.time)) if run.time[k] == taken.time and run.speed[k] < taken.speed * (1 - 1e-6))
    empty, rotor = 3.5 - 5.0 * 0.62**2, 2e-4 * 60.0**2 * 0.9
    assert run.speed[k] == pytest.approx(taken.speed * (empty + rotor) / (3.5 + rotor), rel=1e-9)
    assert abs(run.energy.residual) < 1e-6 * run.energy.throughput


def test_a_mass_put_down_in_motion_takes_its_speed_along() -> None:
    run = simulate(machine(), Plan(start=LOW, moves=(Travel(to=0.0), Exchange(payload=0.0), Travel(to=HIGH))))
    handed = next(event for event in run.events if event.kind is Kind.PAYLOAD)
    carried = 0.5 * 5.0 * (0.62 * handed.speed) ** 2 + 5.0 * 9.80665 * 0.62 * (0.0 - math.sin(LOW))
    assert run.energy.payload_lifted == pytest.approx(carried, rel=1e-6)
    assert abs(run.energy.residual) < 1e-6 * run.energy.throughput
