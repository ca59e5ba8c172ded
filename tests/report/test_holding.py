"""Holding as rows and as JSON: by how much, how surely, how freely, and unknown where it is unknown."""

import math
from dataclasses import replace

import pytest

from armsim.parts.worm import worm_stage
from armsim.report.contract import as_json
from armsim.report.holding import fall_row, holding_rows
from armsim.report.terminal import check_summary
from armsim.studies.single import check_machine
from tests.machines import MOTOR, arm, stage
from tests.report import sample

DEG = math.pi / 180.0
OF_WORM = (
    "stage friction_to_lock friction_at_rest margin angle_in_hand_deg friction_shaken margin_shaken "
    "angle_in_hand_shaken_deg lock_loss_sliding_m_per_s lock_loss_motor_rpm"
)


def worm(lead=None, **changes):
    """One start on 43 teeth of 1.25 mm module, 20 mm thick unless its lead is given, with the mean friction curve."""
    made = worm_stage(
        starts=1, wheel=43, lead_angle=math.atan(0.0625) if lead is None else lead * DEG, pressure_angle=20 * DEG,
        friction=None, static_friction=None, diameter=20e-3, module=None, density=7850.0, wheel_density=8800.0, hand=1,
        name="worm",
    )  # fmt: skip
    return replace(made, **changes)


def judged(*stages, **changes):
    made = sample.scenario(sample.tipper(stages=stages, **changes))
    return made, check_machine(made.machine, made.plan, made.requirements)


def rows(*stages, **changes):
    return {row.name: row.value for row in holding_rows(judged(*stages, **changes)[1])}


def test_a_worm_takes_two_rows():
    told = rows(worm(), stage(2.0))
    # 0.150 against 0.0587; 9.06942 - 3.57633 deg; 387.444 rpm; 0.0868: 1.47792 times, 5.27747 - 3.57633 deg
    assert told["worm, at rest"] == (
        "friction 0.15, 2.55 times what it takes: locks, 5.49 deg in hand (locks from 0.0587 on, "
        "up to 387 rpm of the motor)"
    )
    assert told["worm, shaken"] == "friction 0.0868, 1.48 times what it takes: locks, 1.7 deg in hand"
    assert told["holds without power"] == "yes, a stage locks at rest (not a brake)"
    assert told["starts to sink"] == "with no payload, however heavy"
    steep = rows(worm(8.0))
    assert steep["worm, at rest"].endswith("not in motion)")
    assert steep["worm, shaken"].endswith("does NOT lock, 2.72 deg short")  # 8 - 5.27747 deg


def test_friction_in_hand_and_the_payload_that_is_too_much():
    # 0.05 N*m of motor drag over 60:1, half of it lost in reverse: 6 N*m; of 0.2 kg*m, 0.1 are the payload's at 0.62 m
    calm = {"motor": MOTOR, "arm": arm(moment=0.2, payload_mass=0.1 / 0.62)}
    told = rows(stage(60.0, 0.8, 0.5), **calm)
    assert told["holds without power"] == "yes, friction holds 306 % of the load at 0 deg: 4.04 N*m in hand"
    assert told["starts to sink"] == "from a payload of 0.826 kg on"  # (6/9.80665 - 0.1)/0.62


def test_free_play_is_told_from_the_lock_and_from_the_motor():
    train = (stage(5.0, backlash=1.0 * DEG), worm(backlash=0.4 * DEG), stage(2.0, name="last", backlash=0.1 * DEG))
    told = rows(*train)["free play"]
    # 0.4/2 + 0.1 deg, and 1/86 more; 0.62 m to the tip
    assert told == (
        "0.3 deg from worm, which locks, to the arm (3.25 mm at the tip); "
        "0.312 deg from motor to arm (3.37 mm at the tip)"
    )
    assert rows(train[2])["free play"] == "0.1 deg from motor to arm (1.08 mm at the tip)"
    assert rows(stage(5.0), train[1], train[2])["free play"].endswith(
        "from worm, which locks, to the arm (3.25 mm at the tip)"
    )
    unknown = rows(train[0], train[1], stage(2.0, name="last"))["free play"]
    assert unknown == "not known: no backlash is given for last"


def test_the_json_has_every_key_and_null_for_what_is_not_known():
    result = as_json(*judged(worm(backlash=0.4 * DEG), stage(2.0, name="last", backlash=0.1 * DEG)))
    holding, train = result["holding"], result["transmission"]
    (told,) = holding["worms"]
    assert list(told) == OF_WORM.split()
    assert told["margin"] == pytest.approx(2.55402, rel=1e-5)
    assert told["angle_in_hand_deg"] == pytest.approx(5.49309, abs=1e-5)
    assert told["lock_loss_motor_rpm"] == pytest.approx(387.444, rel=1e-5)
    assert told["lock_loss_sliding_m_per_s"] == pytest.approx(0.406522, rel=1e-5)
    assert (holding["locks_shaken"], holding["hold_margin_shaken"], holding["locked_by"]) == (True, None, "worm")
    assert (holding["hold_margin_torque_nm"], holding["payload_to_sink_kg"]) == (None, None)
    assert holding["free_play_deg"] == train["play_deg"] == pytest.approx(0.3)
    assert holding["free_play_tip_mm"] == train["play_tip_mm"] == pytest.approx(620.0 * 0.3 * DEG)
    assert [row["backlash_deg"] for row in train["stages"]] == pytest.approx([0.4, 0.1])
    assert holding["missing_backlash"] == []

    plain = as_json(*sample.checked())["holding"]
    assert plain["worms"] == []
    assert plain["missing_backlash"] == ["first pair", "second pair", "final chain"]
    nulls = ("locks_shaken", "hold_margin_shaken", "locked_by", "free_play_deg", "free_play_tip_mm")
    assert [plain[key] for key in nulls] == [None] * 5


def test_a_fall_and_a_rise_are_told_apart_in_rows_and_json():
    for case, way in ((sample.lifting, "falls"), (sample.thrown, "rises")):
        scenario, assessment = case()
        told = fall_row("coasting", assessment.holding.coasting)
        assert told.value.startswith(f"from 70 deg {way} to its stop in ")
        holding = as_json(scenario, assessment)["holding"]
        for part in (holding, holding["coasting"]):
            assert (part["falls"], part["rises"]) == (way == "falls", way == "rises")


def test_a_check_prints_it_in_ascii():
    text = check_summary(*judged(worm(6.5, backlash=0.4 * DEG)))
    assert text.isascii()
    for words in ("worm, shaken", "free play", "starts to sink", "no longer locks", "deg at the arm"):
        assert words in text
