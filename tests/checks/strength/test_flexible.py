"""Strength of chains and belts against worked answers."""

import math
from dataclasses import replace

import pytest

from armsim.checks.judged_parts import Loads
from armsim.checks.strength.flexible import belt_strength, chain_strength, flat_belt_strength
from armsim.parts.belt import BeltDrive, Pulley, belt_stage
from armsim.parts.chain import ChainDrive, Sprocket, chain_stage
from armsim.parts.flat_belt import FlatBeltDrive, flat_belt_stage
from armsim.scenario.chain_numbers import find_chain
from armsim.scenario.tables import belt_profiles

P = 12.7e-3
PITCH_RADIUS, MEAN_RADIUS = P / math.sin(math.pi / 45) / 2.0, 45 * P / math.tau


def loads(driver, output=0.0, case="steady", speed=0.0):
    return Loads(case=case, output_torque=output, driver_torque=driver, driver_speed=speed)


def chain_rows(load, number="40", **others):
    drive = ChainDrive(size=find_chain(number), driver=Sprocket(teeth=16), driven=Sprocket(teeth=45), **others)
    stage = chain_stage(drive, efficiency=1.0, reverse=None, density=7850.0, name="chain")
    return {row.check: row for row in chain_strength(stage, drive, load)}


#: 62 N*m at 45 teeth of number 40, without loss; the worked answers take the pull at the pitch radius, 0.08 % less
WORKED = loads(62.0 * 16 / 45, 62.0)
PULL = 681.087 * PITCH_RADIUS / MEAN_RADIUS


def test_chain_pull_against_breaking_load_and_fatigue():
    rows = chain_rows(WORKED)
    assert rows["tension"].load == pytest.approx(PULL, rel=2e-6)
    assert 7.0 * rows["tension"].safety == pytest.approx(20.4086 * 681.087 / PULL, rel=1e-5)
    assert rows["fatigue"].allowable == pytest.approx(3603.06, rel=1e-4)  # 810 lbf of the catalogue
    assert rows["fatigue"].safety == pytest.approx(5.29016 * 681.087 / PULL, rel=1e-4)


def test_an_offset_link_bears_less():
    rows = chain_rows(WORKED, links=97)
    assert rows["fatigue"].safety == pytest.approx(3.43861 * 681.087 / PULL, rel=1e-4)
    assert rows["tension"].safety == pytest.approx(0.65 * chain_rows(WORKED, links=96)["tension"].safety)


def test_loads_given_for_a_chain_stand_before_its_standard():
    rows = chain_rows(WORKED, breaking_load=18.6e3, allowable_load=3e3)
    assert rows["tension"].allowable == pytest.approx(18.6e3 / 7.0)
    assert rows["fatigue"].allowable == 3e3
    assert rows["tension"].source.startswith("a seventh of the breaking load (given; 7 to 10")
    assert "the allowable_load given" in rows["fatigue"].source
    assert "the published allowable load" in chain_rows(WORKED)["fatigue"].source
    (stalled,) = chain_rows(loads(1.0, case="stall"), breaking_load=18.6e3, links=97).values()
    assert stalled.allowable == pytest.approx(0.65 * 9.3e3)
    assert chain_rows(WORKED, number="08B", allowable_load=5e3)["fatigue"].allowable == 5e3


def test_a_stall_may_reach_half_the_breaking_load():
    edge = 13900.0 / 2.0 * 16 * P / math.tau
    (row,) = chain_rows(loads(edge, case="stall")).values()
    assert row.safety == pytest.approx(1.0)
    assert chain_rows(loads(edge, case="stall"), service_factor=1.5)[row.check].safety == pytest.approx(1.0)
    assert chain_rows(loads(edge, case="stall"), links=97)[row.check].safety == pytest.approx(0.65)


def test_running_shock_counts_in_what_runs():
    for case in ("steady", "run", "cut"):
        load = replace(WORKED, case=case)
        assert chain_rows(load, service_factor=1.4)["tension"].load == pytest.approx(1.4 * PULL, rel=2e-6)


def test_two_strands_break_at_twice_the_load_and_tire_at_seven_tenths_more():
    one, two = chain_rows(WORKED), chain_rows(WORKED, number="40-2")
    assert two["tension"].safety / one["tension"].safety == pytest.approx(2.0)
    assert two["fatigue"].safety / one["fatigue"].safety == pytest.approx(1.7)


def test_a_chain_of_no_published_fatigue_limit_is_judged_by_its_breaking_load_alone():
    assert set(chain_rows(WORKED, number="08B")) == {"tension"}


def test_the_power_rating_is_told_beside_the_fatigue_limit():
    row = chain_rows(loads(20.0, speed=95 * math.tau / 60))["fatigue"]
    assert "46.2 N*m at the driver at this speed" in row.source
    assert "15 000 h" not in chain_rows(WORKED)["fatigue"].source


def belt_rows(load, profile="5M", driver=18, driven=60, **others):
    pulleys = {"driver": Pulley(teeth=driver), "driven": Pulley(teeth=driven)}
    drive = BeltDrive(profile=belt_profiles()[profile], **pulleys, **others)
    stage = belt_stage(drive, efficiency=0.96, reverse=None, density=2700.0, name="belt")
    return {row.check: row for row in belt_strength(stage, drive, load)}


def test_belt_pull_against_the_allowable_tension():
    row = belt_rows(loads(2.4), allowable_tension=200.0, belt_teeth=122)["tension"]
    assert row.load == pytest.approx(167.552, rel=3e-6)
    assert row.safety == pytest.approx(200.0 / 167.552, rel=3e-6)
    assert belt_rows(loads(2.4), belt_teeth=122) == {}
    assert belt_rows(loads(2.4), allowable_tension=200.0, service_factor=1.3)["tension"].load == pytest.approx(
        1.3 * 167.552, rel=3e-6
    )


def test_few_teeth_in_mesh_lower_the_allowable_tension():
    five = belt_rows(loads(1.0), driver=11, driven=11, belt_teeth=60, allowable_tension=200.0)["tension"]
    assert five.allowable == pytest.approx(160.0)
    assert "80.0 % by teeth in mesh" in five.source


def test_the_smallest_belt_is_judged_by_its_standard():
    row = belt_rows(loads(0.151289), "MXL", 20, 50, belt_teeth=105, width=6.35e-3)["tension"]
    assert row.safety == pytest.approx(1.0, rel=1e-5)
    assert "RMA IP-24" in row.source


def test_a_slack_strand_lets_teeth_jump():
    # T1 + T2 = 2 T0, and T2 a tenth of T1 - T2: at 60 N installed, 100 N of pull leave 10 N slack side
    row = belt_rows(loads(100.0 * 18 * 5e-3 / math.tau), tension=60.0)["jumping of teeth"]
    assert row.safety == pytest.approx(1.0)


def flat_rows(load, **others):
    drive = FlatBeltDrive(
        **{"driver": 40e-3, "driven": 120e-3, "centre_distance": 0.3, "friction": 0.3, "tension": 100.0, **others}
    )
    stage = flat_belt_stage(drive, efficiency=0.95, reverse=None, name="belt")
    return {row.check: row for row in flat_belt_strength(stage, drive, load)}


def test_a_flat_belt_slips_by_the_capstan_law():
    wrap = math.pi - 2.0 * math.asin(40.0 / 300.0)
    ratio = math.exp(0.3 * wrap)
    edge = 200.0 * (ratio - 1.0) / (ratio + 1.0)
    assert flat_rows(loads(edge * 0.02))["slip"].safety == pytest.approx(1.0)
    assert flat_rows(loads(edge * 0.01))["slip"].safety == pytest.approx(2.0)
    assert "slip" not in flat_rows(loads(1.0), friction=None)


def test_the_tight_strand_carries_half_the_pull_more_until_the_belt_slips():
    row = flat_rows(loads(0.4), allowable_tension=150.0)["tension"]
    assert row.load == pytest.approx(110.0)
    slipping = flat_rows(loads(40.0), allowable_tension=150.0)
    assert slipping["tension"].load == pytest.approx(100.0 + slipping["slip"].allowable / 2.0)
