"""The duty that a run puts the motor to and what the motor bears: a section, and their part of the result."""

from typing import Any

from armsim.checks.assessment import Assessment
from armsim.checks.duty import Duty, HeatRating
from armsim.report.marking import prose, table
from armsim.report.numbers import UNKNOWN, figure, show
from armsim.report.rows import Row

PATTERN = ("on_time", "still_time", "light_time", "longest_rest")
FOR_EVER = (
    "Payloads borne for ever are at the continuous current, the winding at its limit in the end, anywhere on the way "
    "of the first lift."
)
SETTLED = (
    "Where the cycle settles follows from the currents of the run's last cycle. The payload of the cycle is found by "
    "running cycles with others, or, where the position loop makes every move, by scaling the currents on the same "
    "motion, which holds to a few percent."
)


def duty_json(duty: Duty | None) -> dict[str, Any]:
    """The class, why, and the pattern it is told from."""
    p = duty.pattern if duty else None
    return {
        "class": duty.kind if duty else None,
        "reason": duty.reason if duty else None,
        "cyclic_duration_factor": duty.factor if duty else None,
        "cycle_time_s": p.cycle_time if p else None,
        **{f"{name}_s": getattr(p, name) if p else None for name in PATTERN},
        "starting_heat_share": p.starting_share if p else None,
        "braking_heat_share": p.braking_share if p else None,
        "motor_rms_a": p.rms if p else None,
    }


def heat_json(heat: HeatRating | None, duty: Duty | None) -> dict[str, Any]:
    """What the motor bears."""
    h = heat
    return {
        "continuous_current_a": h.continuous_current if h else None,
        "runaway_current_a": h.runaway_current if h else None,
        "rms_over_continuous": duty.pattern.rms / h.continuous_current if h and duty and h.continuous_current else None,
        "continuous_payload_lift_kg": h.lift_payload if h else None,
        "continuous_payload_hold_kg": h.hold_payload if h else None,
        "winding_time_constant_s": h.winding_time_constant if h else None,
        "overload_factor": h.overload if h else None,
        "overload_factor_one_node": h.overload_one_node if h else None,
        "overload_factor_rms_rule": h.overload_rms if h else None,
        "rms_rule_trusted": h.rms_trusted if h else None,
        "cycle_settles_at_winding_c": h.settles_at if h else None,
        "cycle_passes_limit_in": h.passes_in if h else None,
        "rest_needed_s": h.rest_needed if h else None,
        "cycle_payload_kg": h.cycle_payload if h else None,
        "cycle_payload_ends_by": h.cycle_payload_by if h else None,
        "time_to_limit_settled_s": h.time_to_limit_settled if h else None,
    }


def duty_section(assessment: Assessment) -> list[str]:
    """Markdown: the class with its reason, and a table; nothing where neither is known."""
    duty, heat = assessment.duty, assessment.heat
    if duty is None and heat is None:
        return []
    lines = [] if duty is None else [prose(duty_text(duty))]
    rows = [Row(*row) for row in (*pattern_rows(duty), *heat_rows(assessment))]
    cells = [(prose(row.name), prose(row.value)) for row in rows]
    lines.append(table(("", "value"), cells, numeric=False))
    if heat is not None:
        lines.append(prose(FOR_EVER if heat.overload is None else f"{FOR_EVER} {SETTLED}"))
    return lines


def duty_text(duty: Duty) -> str:
    """The class in words, with the figures that belong to it by the standard."""
    if duty.kind is None:
        return f"Duty by IEC 60034-1: none. {duty.reason}"
    factor = show(duty.factor, "share", 2)
    added = {
        "S2": f", {show(duty.pattern.on_time, 'time', 3)}",
        "S3": f", {factor}, cycles of {show(duty.pattern.cycle_time, 'time', 3)}",
        "S4": f", {factor}, cycles of {show(duty.pattern.cycle_time, 'time', 3)}",
        "S5": f", {factor}, cycles of {show(duty.pattern.cycle_time, 'time', 3)}",
    }.get(duty.kind, "")
    return f"Duty by IEC 60034-1: {duty.kind}{added}. {duty.reason}"


def pattern_rows(duty: Duty | None) -> list[tuple[str, str]]:
    """Times and shares of the cycle."""
    if duty is None:
        return []
    p = duty.pattern
    on = f"{show(p.on_time, 'time', 3)} of {show(p.cycle_time, 'time', 3)}"
    return [
        ("current flows", f"{on}, of it {show(p.still_time, 'time', 3)} standing still"),
        ("longest rest", show(p.longest_rest, "time", 3)),
        ("heat of starting", f"{show(p.starting_share, 'share', 2)} of the copper heat"),
        ("heat of electric braking", f"{show(p.braking_share, 'share', 2)} of the copper heat"),
    ]


def heat_rows(assessment: Assessment) -> list[tuple[str, str]]:
    """What the motor bears, and where its cycle leads."""
    duty, heat = assessment.duty, assessment.heat
    if heat is None:
        return [("continuous current", f"{UNKNOWN}: no thermal data, or no winding limit")]
    rows = [("continuous current", f"{show(heat.continuous_current, 'current')} at standstill, each motor")]
    if duty is not None and heat.continuous_current > 0.0:
        share = show(duty.pattern.rms / heat.continuous_current, "share", 3)
        rows.append(("rms current of the cycle", f"{show(duty.pattern.rms, 'current')}, {share} of that"))
    rows += [
        ("runs away from", f"{show(heat.runaway_current, 'current')} on, at standstill"),
        ("payload lifted for ever", f"{borne(heat.lift_payload)} at {show(heat.limit, 'temperature')}"),
        ("payload held for ever", f"{borne(heat.hold_payload)} at {show(heat.limit, 'temperature')}"),
    ]
    if heat.overload is not None and heat.overload_rms is not None:
        trust = "may be trusted" if heat.rms_trusted else "allows too much"
        text = f"{figure(heat.overload, 3)} times the continuous current while on; {figure(heat.overload_rms, 3)} by "
        text += f"the rms rule, which {trust} (the winding's time constant is "
        text += f"{show(heat.winding_time_constant, 'time', 3)})"
        rows += [("overload of this pattern", text), *cycle_rows(heat)]
    cold, warm = assessment.time_to_limit, assessment.time_to_limit_warm
    rows.append(("stalled, to the limit from cold", lasting(cold)))
    if duty is not None:
        rows.append(("from the hottest of the run", lasting(warm)))
    if heat.overload is not None:
        rows.append(("from the settled cycle", lasting(heat.time_to_limit_settled)))
    return rows


def cycle_rows(heat: HeatRating) -> list[tuple[str, str]]:
    """Where the run's own cycle leads."""
    end = "nowhere: it runs away" if heat.settles_at is None else show(heat.settles_at, "temperature", 3)
    passed = "never" if heat.passes_in is None else f"in cycle {heat.passes_in}"
    rows = [("the cycle settles at", end), ("it passes the limit", passed)]
    if heat.passes_in is not None:
        rest = (
            "no rest would do" if heat.rest_needed is None else f"{show(heat.rest_needed, 'time', 3)} more each cycle"
        )
        rows.append(("rest needed", rest))
    if heat.cycle_payload_by is not None:
        ends = "torque ends it before heat does" if heat.cycle_payload_by == "torque" else "settles at the limit"
        rows.append(("payload of the cycle", f"{borne(heat.cycle_payload)} ({ends})"))
    return rows


def borne(payload: float | None) -> str:
    """A payload, none, or any."""
    if payload is None:
        return "any: friction carries it"
    return "none, not even the arm alone" if payload == 0.0 else show(payload, "mass", 3)


def lasting(time: float | None) -> str:
    """A time to the limit."""
    return "not within the hour" if time is None else "past it already" if time == 0.0 else show(time, "time", 3)
