"""Wishes against results."""

from dataclasses import dataclass

import pytest

from armsim.checks.assessment import Lift, ProtectionResult, Trips
from armsim.checks.requirements import judge, overall, worst_trip
from armsim.parts.battery import constant_source
from armsim.parts.bridge import Controller
from armsim.studies.single import assess_machine, check_machine

from .machines import LIFT, machine


@dataclass(frozen=True)
class Wish:
    name: str
    dimension: str
    sense: str
    limit: float | bool


TIME = Wish("lift_time", "time", "max", 2.5)
BUS = Wish("bus_voltage", "voltage", "min", 10.0)
HOLDS = Wish("holds_unpowered", "flag", "is", True)
QUIET = Wish("breaker_trips", "flag", "is", False)
REACHED = Lift(reached=True, time=1.8)


def only(wish, values, lift=REACHED):
    (result,) = judge([wish], values, lift)
    return result.margin, result.met


def test_margins_are_the_room_left_on_the_side_that_counts():
    assert only(TIME, {"lift_time": 1.8}) == (pytest.approx(0.7), True)
    assert only(TIME, {"lift_time": 2.6}) == (pytest.approx(-0.1), False)
    assert only(TIME, {"lift_time": 2.5}) == (0.0, True)
    assert only(BUS, {"bus_voltage": 9.0}) == (pytest.approx(-1.0), False)
    assert only(BUS, {"bus_voltage": 11.0}) == (pytest.approx(1.0), True)


def test_flags_are_met_or_not():
    assert only(HOLDS, {"holds_unpowered": True}) == (None, True)
    assert only(HOLDS, {"holds_unpowered": False}) == (None, False)


@pytest.mark.parametrize(
    ("word", "quiet", "wanted"), [("no", True, False), ("possible", False, False), ("certain", False, True)]
)
def test_only_a_sure_answer_of_a_breaker_meets_a_wish(word, quiet, wanted):
    assert only(QUIET, {"breaker_trips": word}) == (None, quiet)
    assert only(Wish("breaker_trips", "flag", "is", True), {"breaker_trips": word}) == (None, wanted)


def test_a_lift_that_does_not_arrive_misses_its_time_and_an_unknown_value_is_not_judged():
    assert only(TIME, {"lift_time": None}, Lift(reached=False)) == (None, False)
    assert only(TIME, {"lift_time": None}, Lift()) == (None, None)
    assert only(Wish("winding_temperature", "temperature", "max", 110.0), {}) == (None, None)


def test_the_worst_device_speaks():
    def device(trips):
        return ProtectionResult(kind="x", rating=1.0, trips=trips, earliest=None, latest=None, heat_peak=None)

    assert worst_trip(()) == "no"
    assert worst_trip((device(Trips.NO), device(Trips.CERTAIN), device(Trips.POSSIBLE))) == "certain"
    assert worst_trip((device(Trips.NO), device(Trips.POSSIBLE))) == "possible"
    assert worst_trip((device(None),)) is None


def test_verdict_of_the_whole():
    good = judge([TIME], {"lift_time": 1.0}, REACHED)
    bad = judge([TIME], {"lift_time": 3.0}, REACHED)
    open_ = judge([TIME], {}, Lift())
    assert overall(good, True) == "pass"
    assert overall(bad, True) == "fail"
    assert overall((), True) == "none"
    assert overall((), False) == "fail"
    assert overall(good, False) == "fail"
    assert overall(good + open_, None) == "none"
    assert overall(bad + open_, None) == "fail"


@pytest.mark.parametrize(("level", "resets"), [(7.0, False), (11.0, True)])
def test_a_controller_that_resets_in_the_run_misses_a_wish(level, resets):
    # stalled at the start the bus falls to about 9 V
    weak = machine(battery=constant_source(12.5, 0.03), controller=Controller(undervoltage=level))
    wish = Wish("controller_resets", "flag", "is", False)
    (found,) = assess_machine(weak, LIFT, [wish]).requirements
    assert found.value is resets
    assert found.met is not resets
    (unknown,) = check_machine(weak, LIFT, [wish]).requirements
    assert unknown.met is None
