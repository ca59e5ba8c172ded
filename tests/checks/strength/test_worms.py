"""A worm wheel under load, against worked answers."""

import math
from dataclasses import replace

import pytest

from armsim.checks.judged_parts import Loads
from armsim.checks.strength.worms import worm_strength
from tests.checks.fit.test_worms import PAIR

from ..test_locking import worm

HARD = replace(PAIR, face_width=12e-3, worm_material="hardened-steel", wear_stress=0.552e6)
SLIDING = 20e-3 / (2.0 * math.cos(math.atan(0.0625)))  # per turn of the worm [m]


def rows(pair, case="steady", torque=10.0, speed=0.5 / SLIDING):
    loads = Loads(case=case, output_torque=torque, driver_torque=0.5, driver_speed=speed)
    return {row.check: row for row in worm_strength(worm(), pair, loads)}


def test_a_wheel_of_43_teeth_in_a_steady_lift():
    found = rows(HARD)
    force = 2.0 * 10.0 / 53.75e-3
    assert found["wear"].load == pytest.approx(force)
    assert found["wear"].allowable == pytest.approx(356.040, rel=1e-5)
    assert found["rated load"].allowable == pytest.approx(1375.25, rel=1e-4)
    assert "allows 552 N" in found["rated load"].source
    # 10 N*m on a tooth of 12 mm, m_n = 1.25 cos(3.57633 deg) = 1.24757 mm, Y 0.393
    assert found["tooth bending"].load / 1e6 == pytest.approx(372.093 / (12.0 * 1.24757 * 0.393), rel=1e-4)
    assert found["tooth bending"].safety == pytest.approx(55.0 / (372.093 / (12.0 * 1.24757 * 0.393)), rel=1e-4)


def test_wear_is_no_matter_of_moments():
    assert list(rows(HARD, case="stall")) == ["tooth bending"]


def test_soft_worms_and_other_wheels_are_outside_the_rating():
    assert "rated load" not in rows(replace(HARD, worm_material="steel"))
    assert "rated load" not in rows(replace(HARD, wheel_material="brass"))
    assert "wear" not in rows(replace(HARD, wear_stress=None))


def test_a_wheel_wider_than_the_worm_touches_counts_with_what_touches():
    assert rows(replace(HARD, face_width=20e-3))["wear"].allowable == pytest.approx(356.040 * 13.4 / 12.0, rel=1e-5)


def test_without_a_face_width_nothing_is_judged():
    assert rows(PAIR) == {}


def test_a_stress_given_for_the_wheel_stands_before_that_of_its_material():
    given, shipped = (rows(pair)["tooth bending"] for pair in (replace(HARD, allowable_bending=80e6), HARD))
    assert given.load == pytest.approx(shipped.load)
    assert given.allowable == 80e6
    assert "the allowable_bending given" in given.source
    assert "trade value for bronze" in shipped.source
