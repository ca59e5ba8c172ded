"""The JSON result: every key, always, and nothing that JSON does not know."""

import json
import math
from dataclasses import replace

import numpy as np
import pytest

from armsim.report.contract import as_json, clean
from armsim.report.parts_contract import parts_json
from tests.report import sample

KEYS = {
    "": "schema_version armsim scenario inputs_sha256 verdict headline requirements lift motion position_loop current "
    "protection wiring supply thermal duty cycles motor_points stays holding transmission shocks energy events "
    "findings warnings costs",
    "lift": "reached time_s final_angle_deg stalled stall_time_s stall_angle_deg static_margin worst_angle_deg "
    "stall_kind stall_cause mends",
    "motion": "speed_peak_deg_per_s tip_speed_peak_m_per_s stop_impact_deg_per_s",
    "current": "motor_peak_a motor_rms_a supply_peak_a supply_rms_a holding_motor_a",
    "supply": "ripple_peak_to_peak_a capacitor_rms_a "
    "bus_voltage_min_v bus_voltage_max_v undervoltage energy_taken_wh state_of_charge_end "
    "open_circuit_v resistance_at_once_ohm resistance_settled_ohm power_max_w short_circuit_a capacity_ah "
    "charge_per_cycle_ah "
    "cycle_mean_a usable_charge_ah lowest_charge cycles_per_charge bus_voltage_at_lowest_charge_v",
    "thermal": "winding_peak_c housing_peak_c limit_c time_to_limit_s time_to_limit_warm_s time_to_limit_settled_s "
    "continuous_current_a runaway_current_a rms_over_continuous continuous_payload_lift_kg continuous_payload_hold_kg "
    "winding_time_constant_s overload_factor overload_factor_one_node overload_factor_rms_rule rms_rule_trusted "
    "cycle_settles_at_winding_c cycle_passes_limit_in rest_needed_s cycle_payload_kg cycle_payload_ends_by",
    "duty": "class reason cyclic_duration_factor cycle_time_s on_time_s still_time_s light_time_s longest_rest_s "
    "starting_heat_share braking_heat_share motor_rms_a",
    "cycles": "count completed stepped settled settles_at_winding_c settles_at_housing_c table",
    "holding": "unpowered_holds hold_margin hold_angle_deg hold_margin_torque_nm payload_to_sink_kg reverse_torque_nm "
    "locks_shaken hold_margin_shaken worms locked_by free_play_deg free_play_tip_mm missing_backlash "
    "falls rises fall_time_s impact_deg_per_s coasting shorted",
    "transmission": "reduction speed_ratio torque_ratio efficiency_forward efficiency_reverse self_locking "
    "motor_turns motor_turns_seen motor_turns_seen_from motor_turns_at_shaft_end motor_turns_hidden_by "
    "play_deg play_tip_mm shafts stages fit strength weakest play",
    "shocks": "stages most_loaded train_stiffness_nm_per_deg motor_stop_torque_nm impact_torque_nm unbounded "
    "stop_torque_nm stop_force_n stop_travel_deg",
    "energy": "supplied_j payload_lifted_j stored_j losses_j residual",
}
ROWS = {
    "requirements": "name limit value margin met",
    "protection": "kind rating_a rating_in_force_a trips earliest_trip_s latest_trip_s heat_peak "
    "warm_current_a trip_times",
    "wiring": "where name resistance_ohm current_peak_a current_rms_a drop_peak_v drop_peak_share drop_rms_v "
    "drop_rms_share heat_w hottest_c hottest_at_s settles_c runs_away limit_c ampacity_a next_size",
    "findings": "level code where text",
}
PART_ROWS = {
    "fit": "stage rule given wanted fit text mend",
    "strength": "stage part check case load allowable unit safety lasting source",
}
PLAY = (
    "backlash_deg likely_backlash_deg backlash_tip_mm likely_backlash_tip_mm wind_up_deg wind_up_stalled_deg "
    "wind_up_tip_mm wind_up_stalled_tip_mm missing rigid stages"
)
LOSSES = "copper motor_friction stages pivot wiring battery bridge"


@pytest.fixture(params=["lifting", "stalling", "looped", "repeated", "checked"])
def result(request):
    return as_json(*getattr(sample, request.param)())


@pytest.mark.parametrize("section", KEYS)
def test_every_key_is_there_whatever_was_asked(result, section):
    part = result[section] if section else result
    assert set(KEYS[section].split()) <= set(part)


def test_rows_carry_their_keys(result):
    for section, keys in ROWS.items():
        assert result[section]
        for row in result[section]:
            assert set(keys.split()) <= set(row)
    assert set(LOSSES.split()) <= set(result["energy"]["losses_j"])
    for row in result["transmission"]["shafts"]:
        assert {"name", "speed_rpm", "torque_nm", "power_w"} <= set(row)
    for row in result["transmission"]["stages"]:
        assert {"kind", "reduction", "efficiency_forward", "contact_force_n", "safety_factor", "backlash_deg"} <= set(
            row
        )


def test_parts_carry_their_keys(result):
    train = result["transmission"]
    for name, keys in PART_ROWS.items():
        assert train[name]
        for row in train[name]:
            assert set(row) == set(keys.split())
    assert set(train["play"]) == set(PLAY.split())
    assert train["weakest"] == min(train["strength"], key=lambda row: row["safety"])


def test_a_stage_has_the_least_safety_of_its_working_cases(result):
    train = result["transmission"]
    for stage in train["stages"]:
        working = [
            row["safety"]
            for row in train["strength"]
            if row["stage"] == stage["name"] and row["case"] not in ("stall", "motor_stop", "impact")
        ]
        assert stage["safety_factor"] == min(working, default=None)  # these gears' metal has no known strength
    assert train["stages"][-1]["safety_factor"] is not None


def test_strength_is_told_in_the_unit_beside_it():
    _, assessment = sample.checked()
    rows = as_json(*sample.checked())["transmission"]["strength"]
    steady = {(row["stage"], row["check"]): row for row in rows if row["case"] == "steady"}
    pull = steady["final chain", "tension"]
    # output over reduction and efficiency, at the driver's mean radius 13 p / tau; a seventh of 13.9 kN
    torque = assessment.transmission.stages[-1].output_torque
    assert pull["unit"] == "N"
    assert pull["load"] == pytest.approx(torque * 13 / 44 / 0.95 / (13 * 12.7e-3 / math.tau), rel=1e-8)
    assert pull["allowable"] == pytest.approx(13900.0 / 7.0, rel=1e-8)
    tooth = replace(assessment.strength[0], load=61.8404e6, allowable=138e6, dimension="stress")
    told = parts_json(replace(assessment, strength=(tooth,)))["weakest"]
    assert (told["load"], told["allowable"], told["unit"]) == (pytest.approx(61.8404), pytest.approx(138.0), "MPa")
    assert told["safety"] == pytest.approx(2.23155, rel=1e-5)


def test_it_is_json_without_nan_and_reads_back_the_same(result):
    assert json.loads(json.dumps(result, allow_nan=False)) == result


def test_numbers_are_those_of_the_run_in_the_units_of_their_names():
    _, assessment = sample.lifting()
    result, run = as_json(*sample.lifting()), assessment.run
    assert result["lift"]["final_angle_deg"] == pytest.approx(70.0, abs=1e-6)
    assert result["lift"]["time_s"] == pytest.approx(assessment.lift.time, rel=1e-8)
    assert result["motion"]["tip_speed_peak_m_per_s"] == pytest.approx(abs(run.peaks.speed.value) * 0.62, rel=1e-8)
    assert result["supply"]["energy_taken_wh"] == pytest.approx(assessment.energy.supplied / 3600.0, rel=1e-8)
    assert result["transmission"]["reduction"] == pytest.approx(4.0 * 4.5 * 44.0 / 13.0, rel=1e-8)
    assert abs(result["energy"]["residual"]) < 1e-6
    account = result["energy"]
    spent = account["payload_lifted_j"] + account["stored_j"] + sum(account["losses_j"].values())
    assert account["supplied_j"] == pytest.approx(spent, rel=1e-5)


def test_the_limit_of_a_requirement_is_in_the_unit_beside_it():
    rows = {row["name"]: row for row in as_json(*sample.lifting())["requirements"]}
    assert rows["lift_time"]["limit"] == 2.5
    assert rows["lift_time"]["unit"] == "s"
    assert rows["holds_unpowered"]["limit"] is True
    assert rows["breaker_trips"]["value"] == "no"
    assert rows["winding_temperature"]["unit"] == "degC"


def test_what_was_not_simulated_is_null_and_never_zero():
    result = as_json(*sample.checked())
    assert result["motion"] == dict.fromkeys(result["motion"])
    assert result["thermal"]["winding_peak_c"] is None
    assert result["energy"]["supplied_j"] is None
    assert result["events"] == []
    assert result["thermal"]["limit_c"] == 130.0


def test_no_thermal_data_means_no_temperatures_though_the_run_has_a_column():
    assert as_json(*sample.stalling())["thermal"] == dict.fromkeys(KEYS["thermal"].split())


def test_the_top_of_holding_is_the_worse_of_coasting_and_shorted():
    holding = as_json(*sample.lifting())["holding"]
    assert (holding["falls"], holding["rises"]) == (True, False)
    assert holding["fall_time_s"] == min(holding["coasting"]["fall_time_s"], holding["shorted"]["fall_time_s"])
    assert holding["impact_deg_per_s"] == max(
        holding["coasting"]["impact_deg_per_s"], holding["shorted"]["impact_deg_per_s"]
    )


def test_holding_says_by_how_much():
    # motor drag of 0.05 N*m behind 60.923:1, 87.0069 % in reverse, and 0.9 N*m of the bearing hold 4.40107 N*m
    holding = as_json(*sample.checked())["holding"]
    assert holding["hold_margin"] == pytest.approx(4.40107 / 58.8399, rel=1e-5)
    assert holding["hold_margin_torque_nm"] == pytest.approx(4.40107 - 58.8399, rel=1e-6)
    assert holding["payload_to_sink_kg"] == 0.0  # 2.9 kg*m are the arm's own


def test_cleaning_unwraps_and_rounds_and_nulls():
    dirty = {"a": np.float64(1.0 / 3.0), "b": [math.nan, math.inf, np.int64(3)], "c": (np.bool_(True), "x")}
    assert clean(dirty) == {"a": 0.333333333, "b": [None, None, 3], "c": [True, "x"]}
