"""Which way motor and shafts turn to lift, in words and keys."""

from collections.abc import Sequence
from typing import Any

from armsim.checks.assessment import ShaftRow
from armsim.drivetrain.senses import WORDS, MotorTurning, Turning

AXIS_DIGITS = 12  #: what a cosine of a right angle leaves is not told
#: how the load is seen so that its shaft turns counter-clockwise
VIEWS = {
    "arm": "where the arm rises counter-clockwise",
    "rack": "where the carriage rises to the right of its pinion",
    "drum": "where the drum winds its rope counter-clockwise",
}


def motor_words(motor: MotorTurning) -> str:
    """Which way the motor turns to lift, in one line."""
    shaft = motor.shaft
    if shaft.word is None:
        return f"not known: give placement of {shaft.hidden_by}"
    return f"{shaft.word}, seen {'at its shaft end' if motor.points_on else seen_from(shaft, motor.seen)}"


def motor_text(motor: MotorTurning) -> str:
    """Which way the motor turns to lift, in a sentence."""
    shaft, word = motor.shaft, motor.shaft.word
    if shaft.sense is None or word is None:
        return (
            f"Which way the motor turns to lift is not known: it depends on the side where the parts of "
            f"{shaft.hidden_by} lie. Give its placement, or try it with the drive disconnected."
        )
    if motor.end_sense is not None:
        return f"Motor turns {word} to lift, seen at its shaft end."
    return (
        f"Motor turns {word} to lift, seen {seen_from(shaft, motor.seen)}; so it does at its shaft end if the shaft "
        f"points at you, {WORDS[-shaft.sense]} if it points away."
    )


def seen_from(turning: Turning, seen: str) -> str:
    """From where a shaft is seen to turn as told."""
    return VIEWS[seen] if turning.corner is None else f"from {turning.corner}, looking back along the shaft"


def views_text(shafts: Sequence[ShaftRow], seen: str) -> str:
    """How the column of turns is to be read."""
    corners = list(dict.fromkeys(s.turning.corner for s in reversed(shafts) if s.turning.corner is not None))
    before = "".join(f"; of shafts before {name} from there, looking back along the shaft" for name in corners)
    return f"Turns are those of a lift, seen {VIEWS[seen]}{before}."


def motor_turns_json(motor: MotorTurning) -> dict[str, Any]:
    """The same for programs; same and opposite compare with the load's shaft where it is parallel."""
    shaft = motor.shaft
    parallel = shaft.sense is not None and shaft.corner is None
    return {
        "motor_turns": None if not parallel else "same" if shaft.sense == 1 else "opposite",
        "motor_turns_seen": shaft.word,
        "motor_turns_seen_from": None if shaft.sense is None else seen_from(shaft, motor.seen),
        "motor_turns_at_shaft_end": None if motor.end_sense is None else shaft.word,
        "motor_turns_hidden_by": shaft.hidden_by,
    }


def shaft_turns_json(turning: Turning) -> dict[str, Any]:
    """How a shaft turns about its axis: x to the right, y up, z towards who sees the load; a carriage has none."""
    return {
        "sense": turning.sense,
        "axis": None if turning.axis is None else [round(part, AXIS_DIGITS) + 0.0 for part in turning.axis],
        "turns": None if turning.axis is None else turning.word,
        "seen_before": turning.corner,
    }
