"""Hard loads as the reader meets them."""

import math
from dataclasses import replace

import pytest

from armsim.parts.stop import Stop
from armsim.report.contract import as_json
from armsim.report.markdown import report
from armsim.report.shocks import buffer_rows, shock_cells
from armsim.studies.single import assess_machine
from tests.report import sample


def test_every_stage_has_its_line_with_torque_and_force():
    _, assessment = sample.lifting()
    head, *rows = shock_cells(assessment.shocks)
    assert [row[0] for row in rows] == ["first pair", "second pair", "final chain"]
    assert all(len(row) == len(head) for row in rows)
    peak = assessment.run.peaks.stage_torques[2].value
    assert rows[2][2].startswith(f"{peak:.3g} N*m, ")
    assert rows[2][5] == "not known"  # no stiffness was given


def test_the_result_holds_the_same_and_null_where_nothing_is_known():
    told = as_json(*sample.lifting())["shocks"]
    keys = set(told["stages"][0])
    assert {"name", "steady_torque_nm", "run_torque_nm", "run_force_n", "impact_torque_nm", "hardest", "ratio"} <= keys
    assert told["motor_stop_torque_nm"] is None
    assert told["stop_torque_nm"] is None
    checked = as_json(*sample.checked())["shocks"]
    assert set(checked["stages"][0]) == keys
    assert checked["stages"][0]["run_torque_nm"] is None


def test_a_buffer_that_was_met_has_its_row():
    m = sample.tipper()
    soft = replace(m, arm=replace(m.arm, stop=Stop(restitution=0.5, stiffness=2000.0, at=0.25)))
    assessment = assess_machine(soft, sample.CYCLE)
    (row,) = buffer_rows(assessment)
    told = as_json(sample.scenario(soft), assessment)["shocks"]
    assert told["stop_force_n"] == pytest.approx(told["stop_torque_nm"] / 0.25, rel=1e-8)
    assert told["stop_torque_nm"] >= 2000.0 * math.radians(told["stop_travel_deg"]) * (1.0 - 1e-6)
    assert row.value.endswith("where it is met")
    assert "gives way by" in report(sample.scenario(soft), assessment, [])
