"""Holding and falling without power, as rows of text."""

from armsim.checks.assessment import Assessment, Fall, Holding, WormHold
from armsim.report.numbers import UNKNOWN, figure, of, show
from armsim.report.rows import Row


def holding_rows(assessment: Assessment) -> list[Row]:
    """Whether it stays up without power, by what and by how much, how freely it moves, and the current that holds."""
    holding = assessment.holding
    reverse = holding.reverse_torque
    return [
        Row("holds without power", _holds(holding, assessment.load)),
        Row("starts to sink", _sinking(holding.payload_to_sink)),
        *(row for worm in holding.worms for row in _worm_rows(worm)),
        Row(
            "back-driven by",
            "nothing at the arm" if reverse is None else f"{show(reverse, of(assessment.load, 'torque'))} at the arm",
        ),
        Row("free play", _free_play(assessment)),
        Row("holding current", _holding_current(assessment)),
    ]


def _holds(holding: Holding, load: str) -> str:
    text, margin = "yes" if holding.unpowered_holds else "NO", holding.hold_margin_torque
    if margin is None:
        return text + ", a stage locks at rest (not a brake)"
    if holding.hold_margin is None:
        return text
    text += f", friction holds {show(holding.hold_margin, 'share', 3)} of the load at "
    text += f"{show(holding.hold_angle, of(load, 'angle'), 3)}: {show(abs(margin), of(load, 'torque'), 3)} "
    return text + ("in hand" if margin >= 0.0 else "short")


def _worm_rows(worm: WormHold) -> list[Row]:
    """Friction over what locking needs, at rest and shaken, and up to what speed it locks."""
    rest = f"friction {figure(worm.friction, 3)}, {_in_hand(worm.margin, worm.angle_in_hand)}"
    rest += f" (locks from {figure(worm.threshold, 3)} on"
    if worm.lock_loss_motor_speed is not None:
        speed = worm.lock_loss_motor_speed
        rest += f", up to {show(speed, 'shaft_speed', 3)} of the motor" if speed > 0.0 else ", not in motion"
    shaken = f"friction {figure(worm.vibration_friction, 3)}, "
    shaken += _in_hand(worm.vibration_margin, worm.vibration_angle_in_hand)
    return [Row(f"{worm.stage}, at rest", rest + ")"), Row(f"{worm.stage}, shaken", shaken)]


def _in_hand(margin: float, angle: float) -> str:
    verdict = "locks" if margin >= 1.0 else "does NOT lock"
    side = "in hand" if margin >= 1.0 else "short"
    return f"{figure(margin, 3)} times what it takes: {verdict}, {show(abs(angle), 'angle', 3)} {side}"


def _sinking(payload: float | None) -> str:
    if payload is None:
        return "with no payload, however heavy"
    return f"from a payload of {show(payload, 'mass', 3)} on" if payload > 0.0 else "even without a payload"


def _free_play(assessment: Assessment) -> str:
    """What backlash leaves free between the arm and what holds it: a locking stage, else the motor."""
    holding, train = assessment.holding, assessment.transmission
    if holding.missing_backlash:
        return f"{UNKNOWN}: no backlash is given for {', '.join(holding.missing_backlash)}"
    if assessment.load == "carriage":
        return _free_travel(holding, train.play)
    whole = f"{show(train.play, 'angle', 3)} from motor to arm ({show(train.tip_play, 'length', 3)} at the tip)"
    if holding.locked_by is None:
        return whole
    tip = show(holding.free_travel, "length", 3)
    own = f"{show(holding.free_play, 'angle', 3)} from {holding.locked_by}, which locks, to the arm ({tip} at the tip)"
    return own if train.play is None else f"{own}; {whole}"


def _free_travel(holding: Holding, play: float | None) -> str:
    whole = f"{show(play, 'length', 3)} from motor to carriage"
    if holding.locked_by is None:
        return whole
    own = f"{show(holding.free_play, 'length', 3)} from {holding.locked_by}, which locks, to the carriage"
    return own if play is None else f"{own}; {whole}"


def _holding_current(assessment: Assessment) -> str:
    holding = assessment.holding
    text = show(holding.holding_current, "current")
    if holding.holding_at is not None:
        text += f" at {show(holding.holding_at, of(assessment.load, 'angle'), 3)}"
    if holding.holding_band is not None:
        low, high = holding.holding_band
        text += f" (it stays between {figure(low, 3)} and {show(high, 'current', 3)})"
    return text


def fall_row(name: str, fall: Fall | None, load: str = "arm") -> Row:
    """What the arm does when power goes, motor coasting or shorted."""
    name = f"power lost, {name}"
    if fall is None:
        return Row(name, "not simulated")
    when = "" if fall.cut_time is None else f" (t = {show(fall.cut_time, 'time', 3)})"
    start = f"from {show(fall.at, of(load, 'angle'), 3)}{when} "
    if fall.holds:
        return Row(name, start + "stays up")
    text = start + fall.way
    if fall.fall_time is not None:
        text += f" to its stop in {show(fall.fall_time, 'time', 3)}"
    elif fall.final_angle is not None:
        text += f" to {show(fall.final_angle, of(load, 'angle'), 3)}"
    if fall.impact_speed is not None:
        text += f", meets it at {show(abs(fall.impact_speed), of(load, 'angular_speed'), 3)}"
    if fall.impact_energy is not None and fall.payload_energy is not None:
        text += f" ({show(fall.impact_energy, 'energy', 3)}, {show(fall.payload_energy, 'energy', 3)} in the payload)"
    return Row(name, text)
