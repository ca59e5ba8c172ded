"""A spread study against shares known in closed form, and that it hangs on nothing but its sample."""

import numpy as np
import pytest

from armsim.scenario import loads
from armsim.studies.lifts import evaluate, exactly
from armsim.studies.sampling import points, values
from armsim.studies.single import assess
from armsim.studies.spread import (
    NothingToStudy,
    judged,
    one_by_one,
    rows_evaluated,
    sampling_of,
    scenario_of_worst,
    study,
)
from armsim.studies.spread_rows import Held
from tests.scenario import texts

GRAVITY = 9.80665


def scenario(**sections):
    plain = {"start": "0 deg", "moves": "[{lift: {to: 10 deg}}]", "uncertainty": "{payload: {uniform: [4 kg, 12 kg]}}"}
    return texts.read(**{**plain, "requirements": "{static_margin: {min: 2.2}, lift_time: {max: 20 s}}", **sections})


@pytest.fixture(scope="module")
def found():
    return study(scenario(), count=32)


def test_the_share_is_that_of_the_payloads_below_the_one_with_the_margin_asked_for(found):
    # level, 5 kg at 0.3 m and the payload at 0.6 m: margin 2.2 where 2.2 g (1.5 + 0.6 m) is the torque available,
    # which the machine as drawn, of 8 kg, tells by its own margin
    available = found.drawn["static_margin"] * GRAVITY * (1.5 + 0.6 * 8.0)
    edge = (available / (2.2 * GRAVITY) - 1.5) / 0.6
    share = (edge - 4.0) / 8.0
    assert 0.1 < share < 0.9
    (time, margin) = found.single
    assert margin.share == pytest.approx(share, abs=1 / 32)  # a point in each of 32 slices
    assert margin.low < share < margin.high
    assert time.share == found.lifting.share == 1.0
    assert found.together.met == margin.met


def test_the_worst_is_the_heaviest_and_its_file_runs_to_the_same_lift(found):
    payloads = found.columns["input 0"]
    assert found.worst.values[0] == pytest.approx(payloads.max(), rel=1e-6)
    again = assess(loads(scenario_of_worst(found)))
    assert again.lift.time == pytest.approx(found.worst.row["lift_time"], rel=1e-9)
    assert again.verdict == "fail"


def test_a_lone_input_brings_about_all_of_the_variance(found):
    for influence in found.influences:
        assert influence.total == pytest.approx((1.0,), abs=0.2)  # the estimator's scatter of 32 points


def test_percentiles_of_the_lift_time_are_those_of_the_payloads_it_grows_with(found):
    order = np.argsort(found.columns["input 0"])
    times = found.columns["lift_time"][order]
    assert (np.diff(times) > 0.0).all()
    (row,) = [row for row in found.percentiles if row.name == "lift_time"]
    assert row.values[1] == pytest.approx((times[15] + times[16]) / 2.0, rel=1e-6)


def test_each_input_is_tried_at_the_values_of_a_twentieth(found):
    (turn,) = found.turns
    assert (turn.low, turn.high) == pytest.approx((4.4, 11.6))
    assert turn.at_low["lift_time"] < found.drawn["lift_time"] < turn.at_high["lift_time"]


def test_portions_change_nothing():
    sampling = sampling_of(scenario(uncertainty="{payload: 20 %, efficiency: 5 %}"), count=16)
    assert sampling.rows == 16 + 16 * 3

    def rows(size):
        parts = [rows_evaluated(sampling, span) for span in sampling.spans(size)]
        return {name: np.concatenate([part[name] for part in parts]) for name in parts[0]}

    whole, parts = rows(64), rows(7)
    for name, column in whole.items():
        assert np.array_equal(column, parts[name], equal_nan=True)


def test_mixtures_differ_from_their_point_in_one_input():
    sampling = sampling_of(scenario(uncertainty="{payload: 20 %, efficiency: 5 %}"), count=16)
    table = sampling.values(0, sampling.rows)
    for k in range(16):
        own, (other, first, second) = table[k], table[16 + 3 * k : 19 + 3 * k]
        assert first.tolist() == [other[0], own[1]]
        assert second.tolist() == [own[0], other[1]]
        assert (own != other).all()


def test_without_a_section_usual_tolerances_are_taken_and_said_to_be(found):
    usual = study(scenario(uncertainty=""), count=16)
    assert usual.customary
    assert "motor_constant" in {one.name for one in usual.inputs}
    assert not found.customary


def test_rows_that_nobody_could_evaluate_count_as_failed(found):
    sampling = found.sampling
    parts = list(one_by_one(sampling, 8))
    whole, lacking = judged(sampling, Held(reversed(parts))), judged(sampling, Held(parts[1:]))
    assert whole.together == found.together
    assert lacking.failed == 8
    assert lacking.lifting.met == found.lifting.met - 8


def test_machines_that_the_scenario_refuses_count_as_not_met():
    # friction at rest below that in motion is refused: of 0.3 to 0.9 with 0.6 in motion a half
    half = scenario(
        arm="{length: 0.6 m, mass: 5 kg, pivot_friction: {coulomb: 0.6 N*m, breakaway: 0.7 N*m}}",
        uncertainty="{arm.pivot_friction.breakaway: {uniform: [0.3 N*m, 0.9 N*m]}}",
        requirements="{lift_time: {max: 20 s}}",
    )
    found = study(half, count=16)
    assert found.failed == 8
    assert found.together.share == 0.5
    assert found.influences == () or len(found.influences[0].total) == 1


@pytest.mark.parametrize("sections", [{}, {"uncertainty": ""}], ids=["one input", "usual ones"])
def test_many_together_are_what_each_is_by_the_exact_run(sections):
    sampling = sampling_of(scenario(**sections), count=16)
    inputs = sampling.variation.inputs
    table = values(inputs, points(len(inputs), 1, 0, 16)[:, : len(inputs)])
    together = evaluate(sampling.question, sampling.variation, table)
    alone = exactly(sampling.question, sampling.variation, table)
    assert not together["exact"].all()
    assert alone["exact"].all()
    for name, tolerance in (("lift_time", 1e-4), ("supply_current", 1e-3), ("energy", 1e-3), ("static_margin", 1e-9)):
        assert together[name] == pytest.approx(alone[name], rel=tolerance)
    for name in sampling.question.margins:
        assert ((together[name] >= 0.0) == (alone[name] >= 0.0)).all()


def test_moves_without_a_lift_are_refused():
    with pytest.raises(NothingToStudy):
        study(scenario(start="20 deg", moves="[{lower: {to: 0 deg}}]"))
