"""Side loads on shafts of the train: sums done by hand, and the friction or drag that they equal."""

import math
from dataclasses import replace

import numpy as np
import pytest

from armsim.drivetrain.train import arm_torque_overhauling, arm_torque_raised, cone
from armsim.dynamics.plan import Plan, Travel
from armsim.dynamics.run import Kind
from armsim.dynamics.trajectory import simulate
from armsim.parts.arm import Friction
from armsim.parts.side_load import SideLoad
from tests.dynamics.randoms import random_machine, random_plan
from tests.machines import arm, frictionless_motor, machine, stage

UP_AND_DOWN = Plan(start=0.0, moves=(Travel(to=1.0), Travel(to=0.1, duty=-1.0)))


def loaded(*loads: tuple[int, float, float], **more):
    """Two stages, 10:1 at 0.9 and 4:1 at 0.8, with side loads by shaft, torque and viscous drag."""
    aside = tuple(SideLoad(name=f"conveyor {k}", shaft=s, torque=t, viscous=v) for k, (s, t, v) in enumerate(loads))
    return machine(**{"stages": (stage(10.0, 0.9), stage(4.0, 0.8)), "side_loads": aside, **more})


def without_friction(**more):
    return {"motor": frictionless_motor(), "arm": arm(moment=6.0, gravity=10.0), **more}


def test_it_must_be_overcome_to_start_and_helps_to_hold() -> None:
    # the arm asks 60 N*m: 60/4/0.8 = 18.75 N*m and the conveyor's 2 before the box, (18.75 + 2)/10/0.9 at the motor;
    # sinking, 60/4 (2 - 1/0.8) = 11.25 less 2, then (2 - 1/0.9)/10
    edges = cone(loaded((1, 2.0, 7.0), **without_friction()), 0.0)
    assert edges.rise == pytest.approx(20.75 / 9.0, rel=1e-12)
    assert edges.sink == pytest.approx(9.25 * (2.0 - 1.0 / 0.9) / 10.0, rel=1e-12)


def test_the_inverted_walks_agree_with_the_cone() -> None:
    m = loaded((0, 0.01, 0.0), (1, 2.0, 0.0), (2, 3.0, 0.0))
    edges, load = cone(m, 0.4), 6.0 * 9.80665 * math.cos(0.4)
    assert arm_torque_raised(m, edges.rise) == pytest.approx(load, rel=1e-12)
    only_just = arm_torque_overhauling(m)
    assert only_just is not None
    still = replace(m, arm=replace(m.arm, first_moment=only_just / 9.80665))
    assert cone(still, 0.0).sink == pytest.approx(0.0, abs=1e-12)


def test_on_the_arms_shaft_it_is_pivot_friction_and_on_a_stages_input_drag() -> None:
    aside = loaded((2, 3.0, 0.4), (1, 0.2, 0.01), (0, 0.02, 1e-5))
    same = machine(
        stages=(stage(10.0, 0.9, drag=0.02, viscous_drag=1e-5), stage(4.0, 0.8, drag=0.2, viscous_drag=0.01)),
        arm=arm(friction=Friction(coulomb=3.6, viscous=0.45, breakaway=3.9)),
    )
    for angle in (-0.3, 0.0, 1.0):
        assert cone(aside, angle) == pytest.approx(cone(same, angle), rel=1e-12)
    one, other = simulate(aside, UP_AND_DOWN), simulate(same, UP_AND_DOWN)
    arrivals = [[event.time for event in run.events if event.kind is Kind.REACHED] for run in (one, other)]
    assert len(arrivals[0]) == 2
    assert arrivals[0] == pytest.approx(arrivals[1], rel=1e-7)
    assert one.energy.losses["side_loads"] + one.energy.losses["pivot"] + one.energy.losses["stages"] == pytest.approx(
        other.energy.losses["pivot"] + other.energy.losses["stages"], rel=1e-6
    )


def test_what_each_takes_is_its_torque_over_the_way_of_its_shaft() -> None:
    run = simulate(loaded((1, 2.0, 0.0), (1, 0.0, 0.5)), UP_AND_DOWN)
    way = float(np.sum(np.abs(np.diff(run.angle))))
    assert way > 1.9
    constant, viscous = run.energy.side_losses
    assert constant == pytest.approx(2.0 * 4.0 * way, rel=1e-6)
    assert viscous == pytest.approx(0.5 * 16.0 * float(np.trapezoid(run.speed**2, run.time)), rel=1e-3)
    assert run.energy.losses["side_loads"] == pytest.approx(constant + viscous, rel=1e-12)


def test_every_joule_is_found_with_side_loads_on_every_shaft() -> None:
    for seed in range(12):
        rng = np.random.default_rng(seed)
        m, plan = random_machine(rng), random_plan(rng)
        size = 0.1 * m.motor.count * m.motor.torque_constant * m.highest_voltage / m.motor.resistance
        loads = tuple(
            SideLoad(name=str(k), shaft=k, torque=size / len(m.shaft_turns) * m.reduction / turns)
            for k, turns in enumerate(m.shaft_turns)
        )
        run = simulate(replace(m, side_loads=loads), plan)
        assert abs(run.energy.residual) <= 1e-6 * run.energy.throughput, seed
        assert all(loss >= 0.0 for loss in run.energy.side_losses), seed
