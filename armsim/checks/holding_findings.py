"""Findings on holding without power: by what, how surely, up to what speed, and how freely it moves all the same."""

import math
from collections.abc import Iterator

from armsim.checks.assessment import Assessment, Finding, Level, WormHold
from armsim.checks.codes import finding
from armsim.checks.locking import lock_loss_speed, locking_stage
from armsim.checks.phrases import degrees, number, place, rate
from armsim.drivetrain.machine import Machine
from armsim.drivetrain.shafts import free_play

SAFE_HOLD = 1.5  #: hold margin below which friction is thin ice
BRAKE = "Fit a brake or a lock that needs no power; block the arm before reaching under it."


def holding_findings(machine: Machine, assessment: Assessment) -> Iterator[Finding]:
    """Everything that holds or does not without power, at rest, shaken and in motion."""
    holding = assessment.holding
    locking = [stage.name for stage in machine.stages if stage.locks()]
    if holding.hold_angle is not None and holding.unpowered_holds:
        if locking:
            text = f"At rest and unpowered it stays up because {' and '.join(locking)} locks itself. A self-locking "
            text += "gear is not a brake: wear, fresh oil or vibration can set it free."
            yield finding(Level.NOTE, "holds-by-locking", "transmission", text, BRAKE)
            yield from shaken_findings(assessment)
            yield from free_play_findings(machine, assessment)
        else:
            margin, shaken = holding.hold_margin or 0.0, holding.shaken_margin
            text = f"At rest and unpowered it stays up by friction alone, {number(margin)} times the load at "
            text += f"{place(machine, holding.hold_angle)}. Wear, warmth and vibration lower friction."
            if shaken is not None:
                text += f" With {holding.worms[0].stage} shaken, {number(shaken)} times."
                margin = min(margin, shaken)
            level = Level.WARNING if margin < SAFE_HOLD else Level.NOTE
            yield finding(level, "holds-by-friction", "transmission", text, BRAKE)
    yield from lock_loss_findings(machine, assessment)
    if machine.controller.shorted_when_off and not holding.unpowered_holds:
        yield finding(
            Level.NOTE,
            "shorting-needs-control",
            "controller.when_off",
            "Off means shorted here, but many controllers that lose their supply leave the motor open; a broken motor "
            "wire does so too. Count on what happens with open terminals.",
        )


def shaken_findings(assessment: Assessment) -> Iterator[Finding]:
    """Whether vibration undoes the locking of a worm, and what holds the arm then."""
    holding = assessment.holding
    if holding.locks_shaken is None:
        return
    locking = [worm for worm in holding.worms if worm.margin >= 1.0]
    text, where = " ".join(map(_friction_in_hand, locking)), f"transmission: {locking[0].stage}"
    if holding.locks_shaken:
        yield finding(Level.NOTE, "holds-when-shaken", where, text)
        return
    margin = holding.shaken_margin or 0.0
    text += f" Shaken, the arm hangs on the other friction of the drive, {number(margin)} times the load"
    text += ": it gives way." if margin < 1.0 else ", and vibration lowers that too."
    yield finding(Level.WARNING, "holds-until-shaken", where, text, BRAKE)


def _friction_in_hand(worm: WormHold) -> str:
    at_rest, shaken = number(worm.friction), number(worm.vibration_friction)
    verdict = "still locks" if worm.vibration_margin >= 1.0 else "no longer locks"
    return (
        f"At rest {worm.stage} has {number(worm.margin)} times the friction it needs to lock: {at_rest} against "
        f"{number(worm.threshold)}, {_angle(worm.angle_in_hand)} of friction angle. Vibration is taken to leave it "
        f"{shaken}: {number(worm.vibration_margin)} times, {_angle(worm.vibration_angle_in_hand)}, it {verdict}."
    )


def _angle(in_hand: float) -> str:
    return f"{degrees(in_hand)} in hand" if in_hand >= 0.0 else f"{degrees(-in_hand)} short"


def free_play_findings(machine: Machine, assessment: Assessment) -> Iterator[Finding]:
    """What lies between a locking stage and the arm is held by nothing but its backlash."""
    holding, play = assessment.holding, free_play(machine, locking_stage(machine) or 0)
    if holding.free_play == 0.0:
        return
    text, mend = (
        f"{holding.locked_by} holds, but what lies between it and the arm is free to move by its backlash: ",
        "",
    )
    if play.missing:
        text += f"how far is not known, since that of {' and '.join(play.missing)} is not given"
        text += f"; the others leave {_free(machine, play.given)}" if play.given > 0.0 else ""
        mend = "give each of these stages its backlash, such as 0.4 deg at its output shaft"
    else:
        text += (
            f"{_free(machine, play.given)}. The load rests the arm on one side of it; a push, or a load that changes "
        )
        text += "its sign, takes it to the other"
    yield finding(Level.NOTE, "free-play", "transmission", f"{text}.", mend)


def _free(machine: Machine, play: float) -> str:
    if machine.arm.kind == "carriage":
        return f"{number(play * 1e3)} mm at the carriage"
    return f"{number(math.degrees(play))} deg at the arm, {number(play * machine.arm.length * 1e3)} mm at its tip"


def lock_loss_findings(machine: Machine, assessment: Assessment) -> Iterator[Finding]:
    """Stages that lock at rest and not at speed: a cut while lowering may not be caught."""
    run = assessment.run
    fastest_down = None if run is None else max(0.0, -float(run.speed.min()))
    for k, stage in enumerate(machine.stages):
        speed = lock_loss_speed(machine, k)
        if speed is None:
            continue
        if speed > 0.0:
            text = (
                f"{stage.name} locks at rest, but not while the arm moves faster than {rate(machine, speed)}: friction "
            )
            text += "falls with speed. Power lost while lowering faster than that may not stop the arm."
        else:
            text = f"{stage.name} locks at rest, but at no speed at all: friction in motion is too low for it. Power "
            text += "lost while lowering may not stop the arm."
        risky = fastest_down is not None and fastest_down > speed
        if risky and fastest_down is not None:
            text += f" The run lowers at up to {rate(machine, fastest_down)}."
        level = Level.WARNING if risky else Level.NOTE
        yield finding(level, "locks-only-at-rest", f"transmission: {stage.name}", text, BRAKE)
