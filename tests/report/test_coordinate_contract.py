"""The keys of a carriage in the result, against the run they tell of."""

import json
import math

import pytest

from armsim.report.contract import as_json
from armsim.studies.single import assess
from tests.scenario.texts import read

RACK = "[{gearbox: {reduction: 14, efficiency: 0.8, backlash: 0.4 deg}}, {rack: {pinion: 19, module: 1.5 mm}}]"
RAILED = read(
    arm="",
    carriage="{mass: 6 kg, payload: {mass: 8 kg}, friction: {coulomb: 5 N}, stops: {lower: 0 mm, upper: 900 mm}}",
    transmission=RACK,
    start="10 mm",
    moves="[{lift: {to: 600 mm}}]",
)


@pytest.fixture(scope="module")
def found():
    return assess(RAILED)


@pytest.fixture(scope="module")
def told(found):
    return json.loads(json.dumps(as_json(RAILED, found), allow_nan=False))


def test_places_and_speeds_are_in_metres_and_angles_null(found, told) -> None:
    assert told["load"] == "carriage"
    assert told["lift"]["final_position_m"] == pytest.approx(0.6, abs=1e-9)
    assert told["lift"]["final_angle_deg"] is None
    assert told["motion"]["speed_peak_m_per_s"] == pytest.approx(abs(found.run.peaks.speed.value), rel=1e-8)
    first = told["events"][0]
    assert (first["position_m"], first["angle_deg"]) == (0.01, None)


def test_the_train_tells_travel_and_force(told) -> None:
    """A pinion of 28.5 mm behind 14:1 travels 89.5354/14 = 6.39538 mm a motor turn."""
    train = told["transmission"]
    assert train["travel_per_motor_turn_m"] == pytest.approx(6.395385e-3, rel=1e-6)
    assert train["reduction"] is None
    last, stage = train["shafts"][-1], train["stages"][-1]
    assert last["name"] == "carriage"
    assert last["force_n"] == pytest.approx(14.0 * 9.80665 + 5.0, rel=1e-9)
    assert stage["turns_per_m"] == pytest.approx(1.0 / 0.0895354, rel=1e-6)
    assert (last["torque_nm"], stage["output_torque_nm"]) == (None, None)
    assert train["shafts"][0]["torque_nm"] is not None


def test_what_back_drives_is_a_force(found, told) -> None:
    assert told["holding"]["reverse_force_n"] == pytest.approx(found.holding.reverse_torque, rel=1e-8)
    assert told["holding"]["reverse_torque_nm"] is None


def test_smaller_pinions_are_slower_and_stronger(told) -> None:
    sizes = told["transmission"]["sizes"]
    assert [row["name"] for row in sizes] == ["17 teeth", "18 teeth", "19 teeth", "20 teeth", "21 teeth"]
    assert [row["own"] for row in sizes] == [False, False, True, False, False]
    forces = [row["force_n"] * z for row, z in zip(sizes, (17, 18, 19, 20, 21), strict=True)]
    assert forces == pytest.approx([forces[0]] * 5, rel=1e-7)  # the motor's stall torque is the same
    speeds = [row["speed_m_per_s"] for row in sizes]
    assert speeds == sorted(speeds)


def test_an_arm_has_the_same_keys_with_nothing_in_them() -> None:
    arm = read()
    told = as_json(arm, assess(arm))
    assert (told["load"], told["lift"]["final_position_m"], told["transmission"]["sizes"]) == ("arm", None, [])
    assert told["lift"]["final_angle_deg"] == pytest.approx(70.0, abs=1e-6)
    assert told["transmission"]["reduction"] == pytest.approx(100.0)
    assert told["transmission"]["shafts"][-1]["force_n"] is None
    assert math.isfinite(told["transmission"]["shafts"][-1]["torque_nm"])
