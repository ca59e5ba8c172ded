"""Backlash and wind-up at the arm, against worked answers."""

import math
from dataclasses import replace

import pytest

from armsim.checks.play import judge_play
from armsim.parts.shaft import Shaft
from armsim.studies.single import check_machine
from tests.checks.machines import LIFT
from tests.drivetrain.test_shafts import PAIRS, own
from tests.machines import machine, stage


def play(*stages, **changes):
    m = machine(stages=stages)
    found = check_machine(m, LIFT)
    rows = tuple(replace(row, **changes) for row in found.transmission.stages)
    return judge_play(m, rows, found.shocks.stages)


def test_three_pairs_of_gears():
    found = play(*(stage(p[1] / p[0], 0.97, backlash=own(p)) for p in PAIRS))
    assert math.degrees(found.backlash) == pytest.approx(0.189999, rel=5e-6)
    assert found.tip(found.backlash) == pytest.approx(2.05598e-3, rel=5e-6)
    at_arm = [math.degrees(row.backlash_at_arm) for row in found.stages]
    assert at_arm == pytest.approx([0.0168090, 0.0427446, 0.130445], rel=5e-6)
    assert math.degrees(found.likely_backlash) == pytest.approx(math.sqrt(sum(x * x for x in at_arm)))
    assert found.wind_up is None
    assert found.rigid == ("stage", "stage", "stage")


def test_a_bar_of_10_mm_winds_up():
    # 0.3 m of it twist by 6.18200 deg under 28 N*m; a 4:1 behind it leaves a quarter of that, under the same torque
    last = play(stage(60.0, stiffness=259.509), output_torque=28.0)
    assert math.degrees(last.wind_up) == pytest.approx(6.18200, rel=1e-5)
    assert last.tip(last.wind_up) == pytest.approx(math.radians(6.18200) * 0.62, rel=1e-5)
    inner = play(stage(15.0, stiffness=259.509), stage(4.0), output_torque=28.0)
    assert math.degrees(inner.wind_up) == pytest.approx(6.18200 / 4.0, rel=1e-5)
    assert inner.rigid == ("stage",)


def test_a_shaft_of_unknown_length_twists_by_so_much_a_length():
    # the hexagon's 237.344 N*m2/rad at 28 N*m
    hexagon = Shaft(hexagon=12.7e-3, shear_modulus=79.3e9, shear_stress=72e6)
    found = play(stage(60.0, output_shaft=hexagon), output_torque=28.0)
    assert found.stages[0].twist_per_length == pytest.approx(28.0 / 237.344, rel=1e-5)
    assert play(stage(60.0)).stages[0].twist_per_length is None


def test_stalled_it_winds_up_by_the_torque_of_the_stall():
    m = machine(stages=(stage(15.0, stiffness=300.0), stage(4.0, stiffness=2000.0)))
    found = check_machine(m, LIFT)
    first, last = (shock.stall.torque for shock in found.shocks.stages)
    assert found.play.wind_up_stalled == pytest.approx(first / 300.0 / 4.0 + last / 2000.0)
    assert found.play.wind_up_stalled > found.play.wind_up


def test_what_is_not_given_is_not_known():
    found = play(stage(15.0, name="first"), stage(4.0, name="last", backlash=0.01))
    assert found.backlash is None
    assert found.likely_backlash is None
    assert found.missing == ("first",)
    assert found.tip(None) is None
    assert judge_play(machine(stages=()), (), ()) is None
