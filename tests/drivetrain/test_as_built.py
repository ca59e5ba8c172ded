"""Machines off their sheets: factors do what the same figures on the sheet would do."""

import math

import numpy as np
import pytest

from armsim.drivetrain.as_built import FACTORS, largest_factor, touches, with_efficiency, with_friction
from armsim.parts.worm import WormLaw
from tests.machines import machine, stage


def worm(**more):
    law = {"lead_angle": math.radians(5.0), "pressure_angle": math.radians(20.0), "static_friction": 0.1}
    return machine(stages=(stage(2.0, 0.95), stage(30.0, 0.5, law=WormLaw(**{**law, "friction": 0.06, **more}))))


def test_a_mesh_less_efficient_is_the_mesh_of_that_efficiency():
    # of one mesh the reverse efficiency is 2 - 1/eta: 0.9 by 0.95 is a mesh of 0.855
    (worn,) = with_efficiency(machine(stages=(stage(60.0, 0.9),)), 0.95).stages
    assert worn.law.forward == pytest.approx(0.855)
    assert worn.law.reverse == pytest.approx(2.0 - 1.0 / 0.855)


def test_a_stage_without_loss_gets_the_reverse_loss_of_a_mesh():
    (worn,) = with_efficiency(machine(stages=(stage(60.0, 1.0),)), 0.9).stages
    assert worn.law.reverse == pytest.approx(2.0 - 1.0 / 0.9)


def test_efficiency_leaves_worms_alone_and_friction_meets_them():
    drawn = worm()
    assert with_efficiency(drawn, 0.9).stages[1] == drawn.stages[1]
    rough = with_friction(drawn, 1.5)
    assert rough.stages[1].law.friction == pytest.approx(0.09)
    assert rough.stages[1].law.static_friction == pytest.approx(0.15)
    assert rough.arm.friction.breakaway == pytest.approx(1.35)


def test_the_largest_friction_is_that_at_which_the_worm_stops():
    law = worm().stages[1].law
    most = largest_factor(worm(), "friction")
    # the thread's efficiency (cos a - mu tan l)/(...) is nothing at mu = cos a/tan l
    assert most * law.static_friction == pytest.approx(math.cos(math.radians(20.0)) / math.tan(math.radians(5.0)), 2e-3)
    with_friction(worm(), most)
    with pytest.raises(ValueError):
        with_friction(worm(), 1.01 * most)


def test_a_factor_of_one_changes_nothing_and_one_on_nothing_is_seen():
    for name, apply in FACTORS.items():
        assert apply(machine(), 1.0) == machine()
        assert touches(machine(), name)
    assert not touches(machine(stages=()), "efficiency")
    assert largest_factor(machine(stages=()), "efficiency") == math.inf


@pytest.mark.parametrize("name", FACTORS)
def test_an_array_of_factors_does_what_each_of_them_does(name):
    factors = np.array([0.9, 0.97, 1.05])
    many = FACTORS[name](machine(), factors)
    for k, factor in enumerate(factors.tolist()):
        one = FACTORS[name](machine(), factor)
        for get in (
            lambda m: m.stages[0].law.forward,
            lambda m: m.stages[0].law.reverse,
            lambda m: m.arm.friction.coulomb,
            lambda m: m.motor.back_emf_constant,
            lambda m: m.motor.resistance,
        ):
            assert np.broadcast_to(get(many), 3)[k] == pytest.approx(get(one))
