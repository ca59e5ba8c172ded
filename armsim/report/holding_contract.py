"""The part of the result that tells of holding and falling without power."""

from collections.abc import Iterable
from typing import Any

from armsim.checks.assessment import Assessment, Fall, WormHold
from armsim.report.numbers import degrees, millimetres, turns_per_minute


def holding_json(assessment: Assessment) -> dict[str, Any]:
    """What stays up without power, by how much, and what follows where it does not."""
    holding = assessment.holding
    falls = holding.judged_falls
    return {
        "unpowered_holds": holding.unpowered_holds,
        "stays_up": holding.stays_up,
        "hold_margin": holding.hold_margin,
        "hold_angle_deg": degrees(holding.hold_angle),
        "hold_margin_torque_nm": holding.hold_margin_torque,
        "payload_to_sink_kg": holding.payload_to_sink,
        "reverse_torque_nm": holding.reverse_torque,
        "locks_shaken": holding.locks_shaken,
        "hold_margin_shaken": holding.shaken_margin,
        "worms": [_worm(w) for w in holding.worms],
        "locked_by": holding.locked_by,
        "free_play_deg": degrees(holding.free_play),
        "free_play_tip_mm": millimetres(holding.free_travel),
        "missing_backlash": list(holding.missing_backlash),
        "falls": any(f.falls for f in falls) if falls else None,
        "rises": any(f.rises for f in falls) if falls else None,
        "fall_time_s": min(_known(f.fall_time for f in falls), default=None),
        "impact_deg_per_s": degrees(max(_known(f.impact_speed for f in falls), default=None)),
        "impact_energy_j": max(_known(f.impact_energy for f in falls), default=None),
        "judged": list(holding.judged),
        "coasting": _fall(holding.coasting),
        "shorted": _fall(holding.shorted),
    }


def _worm(w: WormHold) -> dict[str, Any]:
    return {
        "stage": w.stage,
        "friction_to_lock": w.threshold,
        "friction_at_rest": w.friction,
        "margin": w.margin,
        "angle_in_hand_deg": degrees(w.angle_in_hand),
        "friction_shaken": w.vibration_friction,
        "margin_shaken": w.vibration_margin,
        "angle_in_hand_shaken_deg": degrees(w.vibration_angle_in_hand),
        "lock_loss_sliding_m_per_s": w.lock_loss_sliding_speed,
        "lock_loss_motor_rpm": turns_per_minute(w.lock_loss_motor_speed),
    }


def _fall(fall: Fall | None) -> dict[str, Any] | None:
    if fall is None:
        return None
    return {
        "at_deg": degrees(fall.at),
        "holds": fall.holds,
        "falls": fall.falls,
        "rises": fall.rises,
        "fall_time_s": fall.fall_time,
        "impact_deg_per_s": degrees(fall.impact_speed),
        "impact_energy_j": fall.impact_energy,
        "impact_payload_energy_j": fall.payload_energy,
        "cut_time_s": fall.cut_time,
        "final_angle_deg": degrees(fall.final_angle),
        "speed_peak_deg_per_s": degrees(fall.peak_speed),
    }


def _known(values: Iterable[float | None]) -> list[float]:
    return [v for v in values if v is not None]
