"""Fit, strength and play as parts of the result."""

from typing import Any

from armsim.checks.assessment import Assessment
from armsim.checks.judged_parts import PlayResult, StrengthRow
from armsim.checks.strength import weakest
from armsim.report.numbers import degrees, millimetres

UNITS = {"stress": ("MPa", 1e-6), "force": ("N", 1.0), "torque": ("N*m", 1.0)}


def parts_json(assessment: Assessment) -> dict[str, Any]:
    """What goes beside shafts and stages; every row of every case."""
    weak = weakest(assessment.strength)
    return {
        "fit": [
            {
                "stage": row.stage,
                "rule": row.rule,
                "given": row.given,
                "wanted": row.wanted,
                "fit": str(row.fit),
                "text": row.text or None,
                "mend": row.mend or None,
            }
            for row in assessment.fit
        ],
        "strength": [_strength(row) for row in assessment.strength],
        "weakest": None if weak is None else _strength(weak),
        "play": _play(assessment.play, assessment.load),
    }


def _strength(row: StrengthRow) -> dict[str, Any]:
    unit, factor = UNITS[row.dimension]
    return {
        "stage": row.stage,
        "part": row.part,
        "check": row.check,
        "case": row.case,
        "load": row.load * factor,
        "allowable": row.allowable * factor,
        "unit": unit,
        "safety": row.safety if row.load > 0.0 else None,
        "lasting": row.lasting,
        "source": row.source,
    }


def _play(play: PlayResult | None, load: str) -> dict[str, Any] | None:
    """Degrees are of an arm alone; what a carriage gives way is in the millimetres."""
    if play is None:
        return None

    def turn(angle: float | None) -> float | None:
        return degrees(angle) if load == "arm" else None

    return {
        "backlash_deg": turn(play.backlash),
        "likely_backlash_deg": turn(play.likely_backlash),
        "backlash_tip_mm": millimetres(play.tip(play.backlash)),
        "wind_up_deg": turn(play.wind_up),
        "wind_up_stalled_deg": turn(play.wind_up_stalled),
        "likely_backlash_tip_mm": millimetres(play.tip(play.likely_backlash)),
        "wind_up_tip_mm": millimetres(play.tip(play.wind_up)),
        "wind_up_stalled_tip_mm": millimetres(play.tip(play.wind_up_stalled)),
        "missing": list(play.missing),
        "rigid": list(play.rigid),
        "stages": [
            {
                "stage": row.stage,
                "backlash_deg": turn(row.backlash),
                "backlash_at_arm_deg": turn(row.backlash_at_arm),
                "stiffness_nm_per_rad": row.stiffness,
                "wind_up_deg": turn(row.wind_up),
                "wind_up_stalled_deg": turn(row.wind_up_stalled),
            }
            for row in play.stages
        ],
    }
