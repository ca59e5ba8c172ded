"""The section on duty and rating says what the assessment holds, and JSON carries the same."""

import json

import pytest

from armsim.report.contract import as_json
from armsim.report.duty import borne, duty_section, lasting
from tests.report import sample


def cells(section):
    rows = [line for line in "\n".join(section).splitlines() if line.startswith("|")]
    return dict(tuple(cell.strip() for cell in row.split("|")[1:3]) for row in rows[2:])


def test_a_repeated_cycle_has_its_class_its_factors_and_its_payload():
    assessment = sample.repeated()[1]
    section = duty_section(assessment)
    kind = assessment.duty.kind
    assert section[0].startswith(f"Duty by IEC 60034-1: {kind}, ")
    assert assessment.duty.reason.split(" (")[0] in section[0]
    shown = cells(section)
    assert shown["it passes the limit"] == "never"
    assert shown["payload of the cycle"].startswith(f"{assessment.heat.cycle_payload:.3g} kg")
    assert shown["from the settled cycle"] == f"{assessment.heat.time_to_limit_settled:.3g} s"
    assert "rest needed" not in shown
    assert assessment.heat.settles_at == pytest.approx(assessment.run.settling.winding, abs=1.0)


def test_a_single_cycle_and_a_check_say_less():
    single, checked = (cells(duty_section(case()[1])) for case in (sample.lifting, sample.checked))
    assert "the cycle settles at" not in single
    assert "current flows" in single
    assert set(checked) == {
        "continuous current",
        "runs away from",
        "payload lifted for ever",
        "payload held for ever",
        "stalled, to the limit from cold",
    }
    assert cells(duty_section(sample.stalling()[1]))["continuous current"].startswith("not known")


def test_words_for_what_is_no_number():
    assert borne(None) == "any: friction carries it"
    assert borne(0.0) == "none, not even the arm alone"
    assert (lasting(None), lasting(0.0), lasting(2.5)) == ("not within the hour", "past it already", "2.5 s")


def test_json_has_the_same_numbers():
    scenario, assessment = sample.repeated()
    result = json.loads(json.dumps(as_json(scenario, assessment), allow_nan=False))
    assert result["duty"]["class"] == assessment.duty.kind
    assert result["duty"]["cyclic_duration_factor"] == pytest.approx(assessment.duty.factor)
    thermal, heat = result["thermal"], assessment.heat
    assert thermal["cycle_payload_kg"] == pytest.approx(heat.cycle_payload)
    assert thermal["time_to_limit_s"] > thermal["time_to_limit_settled_s"] > 0.0
    rms = thermal["rms_over_continuous"] * thermal["continuous_current_a"]
    assert rms == pytest.approx(result["duty"]["motor_rms_a"])
    assert rms == pytest.approx(assessment.run.motor_current_rms, rel=0.02)
