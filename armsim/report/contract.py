"""The result as one JSON object: every key always there, units in the names, null where not known.

Floats carry nine significant digits: more would differ between processors. `requirements` give their unit beside
them, since one list holds several dimensions. The top level of `holding` is the worse of motor coasting and shorted.
"""

import math
from typing import TYPE_CHECKING, Any

from armsim import __version__
from armsim.checks.assessment import (
    Assessment,
    Finding,
    Mend,
    ProtectionResult,
    Requirement,
    ShaftRow,
    StageRow,
    TripRow,
)
from armsim.checks.ripple import worst_ripple
from armsim.dynamics.run import Energy, Event, Kind, Run
from armsim.report.battery import battery_json
from armsim.report.coordinate_contract import with_lengths
from armsim.report.cycles import cycles_json
from armsim.report.duty import duty_json, heat_json
from armsim.report.holding_contract import holding_json
from armsim.report.loop import position_loop_json
from armsim.report.motors import motors_json
from armsim.report.numbers import DISPLAY, degrees, in_display, millimetres, turns_per_minute
from armsim.report.operating import operating_json
from armsim.report.parts_contract import parts_json
from armsim.report.shocks import shocks_json
from armsim.report.side_loads import side_loads_json
from armsim.report.sizes import sizes_json
from armsim.report.stays import stays_json
from armsim.report.turning import motor_turns_json, shaft_turns_json
from armsim.report.wiring import wiring_json

if TYPE_CHECKING:
    from armsim.scenario import Scenario

SCHEMA_VERSION = 1
DIGITS = 9
LOSSES = ("copper", "motor_friction", "stages", "pivot", "wiring", "battery", "bridge")


def as_json(scenario: "Scenario", assessment: Assessment) -> dict[str, Any]:
    """The result contract of one scenario, ready for json.dumps(..., allow_nan=False)."""
    run, machine = assessment.run, scenario.machine
    result = {
        "schema_version": SCHEMA_VERSION,
        "armsim": __version__,
        "scenario": {"title": scenario.title, "file": scenario.path.name if scenario.path else None},
        "inputs_sha256": scenario.sha256,
        "verdict": assessment.verdict,
        "headline": assessment.headline,
        "requirements": [requirement_json(r) for r in assessment.requirements],
        "lift": _lift(assessment),
        "motion": _motion(run, machine.arm.length),
        "position_loop": position_loop_json(run),
        "current": _current(assessment),
        "protection": [_protection(p) for p in assessment.protection],
        "wiring": wiring_json(assessment.wiring),
        "supply": _supply(assessment),
        "thermal": _thermal(run, scenario, assessment),
        "duty": duty_json(assessment.duty),
        "cycles": cycles_json(scenario, run),
        "motor_points": operating_json(assessment.operating),
        "stays": stays_json(assessment.stays),
        "holding": holding_json(assessment),
        "transmission": _transmission(assessment),
        "motors": motors_json(assessment.motors, run),
        "shocks": shocks_json(assessment.shocks),
        "energy": _energy(assessment.energy),
        "events": [_event(e) for e in run.events] if run else [],
        "findings": [finding_json(f) for f in assessment.findings],
        "warnings": [{"code": w.code, "where": w.key, "text": w.text, "hint": w.hint} for w in scenario.warnings],
        "costs": _costs(run),
    }
    cleaned: dict[str, Any] = clean(with_lengths(result, assessment.load))
    return cleaned


def clean(value: Any) -> Any:
    """Plain JSON types all the way down: numpy scalars unwrapped, floats rounded, NaN and infinities null."""
    if isinstance(value, dict):
        return {str(key): clean(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [clean(item) for item in value]
    if hasattr(value, "item"):
        value = value.item()
    if isinstance(value, float):
        return float(f"{value:.{DIGITS}g}") if math.isfinite(value) else None
    return value


def requirement_json(r: Requirement) -> dict[str, Any]:
    """A requirement, judged."""

    def shown(value: float | bool | str | None) -> float | bool | str | None:
        if value is None or isinstance(value, (bool, str)):
            return value
        return in_display(value, r.dimension)

    unit = DISPLAY[r.dimension].unit if r.dimension in DISPLAY else ""
    return {
        "name": r.name,
        "sense": r.sense,
        "unit": unit or None,
        "limit": shown(r.limit),
        "value": shown(r.value),
        "margin": shown(r.margin),
        "met": r.met,
    }


def _mend(m: Mend) -> dict[str, Any]:
    return {
        "what": m.what,
        "unit": DISPLAY[m.dimension].unit or None,
        "now": in_display(m.now, m.dimension),
        "needed": None if m.needed is None else in_display(m.needed, m.dimension),
        "text": m.text,
    }


def _lift(assessment: Assessment) -> dict[str, Any]:
    lift = assessment.lift
    return {
        "reached": lift.reached,
        "time_s": lift.time,
        "final_angle_deg": degrees(lift.final_angle),
        "stalled": lift.stalled,
        "stall_time_s": lift.stall_time,
        "stall_angle_deg": degrees(lift.stall_angle),
        "stall_kind": lift.stall_kind,
        "stall_cause": lift.stall_cause,
        "static_margin": lift.static_margin,
        "worst_angle_deg": degrees(lift.worst_angle),
        "mends": [_mend(m) for m in lift.mends],
    }


def stop_impact(run: Run | None) -> float | None:
    """Fastest meeting with a stop in a run, None if it met none. [rad/s]"""
    hits = [abs(e.speed) for e in run.events if e.kind is Kind.STOP_HIT] if run else []
    return max(hits, default=None)


def _motion(run: Run | None, arm_length: float) -> dict[str, Any]:
    peak = abs(run.peaks.speed.value) if run else None
    return {
        "speed_peak_deg_per_s": degrees(peak),
        "tip_speed_peak_m_per_s": None if peak is None else peak * arm_length,
        "stop_impact_deg_per_s": degrees(stop_impact(run)),
    }


def _current(assessment: Assessment) -> dict[str, Any]:
    run = assessment.run
    band = assessment.holding.holding_band
    return {
        "motor_peak_a": abs(run.peaks.motor_current.value) if run else None,
        "motor_rms_a": run.motor_current_rms if run else None,
        "supply_peak_a": run.peaks.supply_current.value if run else None,
        "supply_rms_a": run.supply_current_rms if run else None,
        "supply_returned_peak_a": max(0.0, -run.peaks.supply_current_back.value) if run else None,
        "holding_motor_a": assessment.holding.holding_current,
        "holding_motor_band_a": list(band) if band else None,
    }


def _protection(p: ProtectionResult) -> dict[str, Any]:
    return {
        "kind": p.kind,
        "rating_a": p.rating,
        "rating_in_force_a": p.rating if p.in_force is None else p.in_force,
        "trips": p.trips,
        "earliest_trip_s": p.earliest,
        "latest_trip_s": p.latest,
        "heat_peak": p.heat_peak,
        "stall_current_a": p.stall_current,
        "stall_earliest_trip_s": p.stall_earliest,
        "stall_latest_trip_s": p.stall_latest,
        "warm_current_a": p.warm_current,
        "trip_times": [_trip_row(row) for row in p.trip_rows],
    }


def _trip_row(row: TripRow) -> dict[str, Any]:
    return {
        "case": row.case,
        "current_a": row.current,
        "cold_earliest_s": row.cold_earliest,
        "cold_latest_s": row.cold_latest,
        "warm_earliest_s": row.warm_earliest,
        "warm_latest_s": row.warm_latest,
    }


def charge_left(run: Run | None) -> float | None:
    """State of charge at the end of a run, None for a source without a capacity. [-]"""
    battery = run.machine.battery if run else None
    if run is None or battery is None or battery.capacity is None:
        return None
    return battery.state_of_charge - float(run.charge_drawn[-1]) / battery.capacity


def undervoltage_seen(run: Run | None) -> bool | None:
    """Whether the controller reset below its undervoltage; None where it is not known to have one."""
    if run is None or run.machine.controller.undervoltage is None:
        return None
    return run.first(Kind.UNDERVOLTAGE) is not None


def _ripple(run: Run | None) -> dict[str, Any]:
    switching = worst_ripple(run) if run else None
    return {
        "ripple_peak_to_peak_a": switching.peak_to_peak if switching else None,
        "capacitor_rms_a": switching.capacitor if switching else None,
    }


def _supply(assessment: Assessment) -> dict[str, Any]:
    run, energy = assessment.run, assessment.energy
    return {
        **_ripple(run),
        "bus_voltage_min_v": run.peaks.bus_voltage.value if run else None,
        "bus_voltage_max_v": run.peaks.bus_highest.value if run else None,
        "undervoltage": undervoltage_seen(run),
        "energy_taken_wh": energy.supplied / 3600.0 if energy else None,
        "state_of_charge_end": charge_left(run),
        **battery_json(assessment.battery),
    }


def _thermal(run: Run | None, scenario: "Scenario", assessment: Assessment) -> dict[str, Any]:
    heat = scenario.machine.motor.heat
    known = run is not None and heat is not None
    return {
        "winding_peak_c": run.peaks.winding.value if run and known else None,
        "housing_peak_c": run.peaks.housing.value if run and known else None,
        "limit_c": heat.winding_limit if heat else None,
        "time_to_limit_s": assessment.time_to_limit,
        "time_to_limit_warm_s": assessment.time_to_limit_warm,
        **heat_json(assessment.heat, assessment.duty),
    }


def _shaft(s: ShaftRow) -> dict[str, Any]:
    return {
        "name": s.name,
        "turns_per_arm_turn": s.turns_per_arm_turn,
        **shaft_turns_json(s.turning),
        "speed_rpm": turns_per_minute(s.speed),
        "torque_nm": s.torque,
        "power_w": s.power,
        "reflected_inertia_kgm2": s.reflected_inertia,
    }


def _stage(s: StageRow) -> dict[str, Any]:
    return {
        "kind": s.kind,
        "name": s.name,
        "reduction": s.reduction,
        "efficiency_forward": s.efficiency_forward,
        "efficiency_reverse": s.efficiency_reverse,
        "locks": s.locks,
        "output_torque_nm": s.output_torque,
        "contact_force_n": s.contact_force,
        "backlash_deg": degrees(s.backlash),
        "safety_factor": s.safety_factor,
        "details_si": dict(s.details),
    }


def _transmission(assessment: Assessment) -> dict[str, Any]:
    t = assessment.transmission
    return {
        "reduction": t.reduction,
        "speed_ratio": 1.0 / t.reduction,
        "torque_ratio": t.torque_ratio,
        "efficiency_forward": t.efficiency_forward,
        "efficiency_reverse": t.efficiency_reverse,
        "self_locking": t.self_locking,
        **motor_turns_json(t.motor),
        "play_deg": degrees(t.play),
        "play_tip_mm": millimetres(t.tip_play),
        "reflected_inertia_kgm2": t.reflected_inertia,
        "rotor_share": t.rotor_share,
        "shafts": [_shaft(s) for s in t.shafts],
        "stages": [_stage(s) for s in t.stages],
        "side_loads": side_loads_json(t.side_loads),
        **parts_json(assessment),
        "sizes": sizes_json(assessment.sizes),
    }


def _energy(energy: Energy | None) -> dict[str, Any]:
    losses = energy.losses if energy else {}
    return {
        "supplied_j": energy.supplied if energy else None,
        "payload_lifted_j": energy.payload_lifted if energy else None,
        "stored_j": energy.stored if energy else None,
        "losses_j": dict.fromkeys(LOSSES) | {"side_loads": 0.0 if energy else None} | losses,
        "stage_losses_j": list(energy.stage_losses) if energy else None,
        "side_load_losses_j": list(energy.side_losses) if energy else None,
        "residual": energy.residual / energy.throughput if energy and energy.throughput else None,
        "residual_j": energy.residual if energy else None,
    }


def _event(e: Event) -> dict[str, Any]:
    return {
        "time_s": e.time,
        "angle_deg": degrees(e.angle),
        "speed_deg_per_s": degrees(e.speed),
        "kind": e.kind,
        "text": e.text,
    }


def finding_json(f: Finding) -> dict[str, Any]:
    """A finding."""
    return {"level": f.level, "code": f.code, "where": f.where, "text": f.text, "mend": f.mend or None}


def _costs(run: Run | None) -> dict[str, Any]:
    costs = run.costs if run else None
    return {
        "segments": costs.segments if costs else None,
        "steps": costs.steps if costs else None,
        "evaluations": costs.evaluations if costs else None,
    }
