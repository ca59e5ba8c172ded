"""The load's own coordinate in the result: of a carriage, lengths and forces in keys beside those of an arm.

Every key that tells of an arm's angle or torque has one of a carriage's beside it; the one that does not apply is null.
"""

import math
from typing import Any

#: keys of a carriage beside those of an arm: name, and what one of the arm's unit is of the carriage's
_DEG = math.pi / 180.0
_BESIDE: dict[str, tuple[str, float]] = {
    **{
        f"{stem}_deg": (f"{name}_m", _DEG)
        for stem, name in {
            "final_angle": "final_position",
            "stall_angle": "stall_position",
            "worst_angle": "worst_position",
            "hold_angle": "hold_position",
            "angle": "position",
            "target": "target",
            "tracking_error": "tracking_error",
            "overshoot": "overshoot",
            "steady_error": "steady_error",
            "drift": "drift",
            "free_play": "free_play",
            "play": "play",
            "at": "at",
            "stop_travel": "stop_travel",
        }.items()
    },
    **{
        f"{stem}_deg_per_s": (f"{stem}_m_per_s", _DEG)
        for stem in ("speed_peak", "stop_impact", "speed", "impact", "no_load_speed")
    },
    **{
        f"{stem}_torque_nm": (f"{stem}_force_n", 1.0)
        for stem in ("hold_margin", "reverse", "motor_stop", "impact", "stop")
    },
    "train_stiffness_nm_per_deg": ("train_stiffness_n_per_m", 1.0 / _DEG),
    "reflected_inertia_kgm2": ("reflected_mass_kg", 1.0),
}
_TURN = math.tau
#: keys of rows, of which the last is of the carriage itself
_ROWS: dict[str, dict[str, tuple[str, float]]] = {
    "shafts": {
        "speed_rpm": ("speed_m_per_s", _TURN / 60.0),
        "torque_nm": ("force_n", 1.0),
    },
    "stages": {
        "reduction": ("turns_per_m", 1.0 / _TURN),
        "output_torque_nm": ("output_force_n", 1.0),
        "backlash_deg": ("backlash_m", _DEG),
        **{
            f"{case}_torque_nm": (f"{case}_output_force_n", 1.0)
            for case in ("steady", "run", "cut", "stall", "motor_stop", "impact")
        },
    },
}
#: keys of all of them
_ALL_ROWS: dict[str, dict[str, tuple[str, float]]] = {
    "shafts": {
        "turns_per_arm_turn": ("turns_per_m", 1.0 / _TURN),
        "reflected_inertia_kgm2": ("reflected_mass_kg", 1.0),
    },
}
_TRAIN = {"reduction": ("turns_per_m", 1.0 / _TURN), "torque_ratio": ("force_per_torque_n_per_nm", 1.0)}


def with_lengths(result: dict[str, Any], load: str) -> dict[str, Any]:
    """The result of a load, arm or carriage, with the keys of both kinds."""
    told: dict[str, Any] = _told(result, load == "carriage")
    told["load"] = load
    train = told["transmission"]
    _beside(train, _TRAIN, load == "carriage")
    turns = train["turns_per_m"]
    train["travel_per_motor_turn_m"] = None if turns is None else 1.0 / turns
    if load == "carriage":
        train["speed_ratio"] = None
    return told


def _told(value: Any, carriage: bool) -> Any:
    if isinstance(value, list):
        return [_told(item, carriage) for item in value]
    if not isinstance(value, dict):
        return value
    told = {
        key: _rows(key, item, carriage) if key in _ROWS and isinstance(item, list) else _told(item, carriage)
        for key, item in value.items()
    }
    _beside(told, _BESIDE, carriage)
    return told


def _rows(name: str, rows: list[dict[str, Any]], carriage: bool) -> list[dict[str, Any]]:
    told = [dict(row) for row in rows]
    for k, row in enumerate(told):
        _beside(row, _ALL_ROWS.get(name, {}), carriage)
        _beside(row, _ROWS[name], carriage and k == len(told) - 1)
    return told


def _beside(row: dict[str, Any], table: dict[str, tuple[str, float]], carriage: bool) -> None:
    """Put a carriage's keys beside an arm's, and the value in the one that applies."""
    for key, (name, size) in table.items():
        if key not in row or name in row:
            continue
        value = row[key]
        row[name] = value * size if carriage and value is not None else None
        if carriage:
            row[key] = None
