"""What locks, how surely, and up to what speed: worms by their friction at rest, shaken and in motion."""

from dataclasses import replace

from armsim.checks.assessment import WormHold
from armsim.drivetrain.machine import Machine
from armsim.parts.worm import WormLaw, friction_angle
from armsim.parts.worm_pair import FRICTION_SPREAD, WormPair


def worm_holds(machine: Machine) -> tuple[WormHold, ...]:
    """Every worm of the train, motor's side first."""
    found = []
    for k, stage in enumerate(machine.stages):
        law = stage.law
        if not isinstance(law, WormLaw):
            continue
        turning = law.lock_loss_speed()
        pair = stage.hardware
        spread = pair.friction_spread if isinstance(pair, WormPair) else FRICTION_SPREAD
        found.append(
            WormHold(
                stage=stage.name,
                threshold=law.threshold,
                friction=law.static_friction,
                margin=law.static_friction / law.threshold,
                angle_in_hand=law.angle_in_hand(),
                band=angle_band(law, spread),
                vibration_friction=law.shaken.static_friction,
                vibration_margin=law.shaken.static_friction / law.threshold,
                vibration_angle_in_hand=law.shaken.angle_in_hand(),
                lock_loss_sliding_speed=law.lock_loss_sliding_speed(),
                lock_loss_motor_speed=None if turning is None else turning * machine.reduction / machine.shaft_turns[k],
            )
        )
    return tuple(found)


def angle_band(law: WormLaw, spread: float) -> tuple[float, float]:
    """Friction angle at rest less the lead angle, with friction lower and higher by a share of itself. [rad, rad]"""
    low, high = (
        friction_angle(law.static_friction * (1.0 + sign * spread), law.pressure_angle) - law.lead_angle
        for sign in (-1.0, 1.0)
    )
    return float(low), float(high)


def shaken(machine: Machine) -> Machine:
    """The machine under vibration: its worms with the friction that is left then, everything else as it is."""
    stages = tuple(
        replace(stage, law=stage.law.shaken) if isinstance(stage.law, WormLaw) else stage for stage in machine.stages
    )
    return replace(machine, stages=stages)


def locks_shaken(machine: Machine) -> bool | None:
    """Whether a worm that locks at rest does so under vibration.

    None where no worm locks at rest, or where another stage does, of which no such figure is known.
    """
    locking = [stage for stage in machine.stages if stage.locks()]
    worms = [stage.law for stage in locking if isinstance(stage.law, WormLaw)]
    if any(worm.shaken.static_friction >= worm.threshold for worm in worms):
        return True
    return False if worms and len(worms) == len(locking) else None


def locking_stage(machine: Machine) -> int | None:
    """Place in the train of the stage nearest to the arm that locks at rest: what lies behind it stays free to move."""
    return next((k for k in reversed(range(len(machine.stages))) if machine.stages[k].locks()), None)


def lock_loss_speed(machine: Machine, k: int) -> float | None:
    """Arm speed above which a stage that locks at rest no longer does, None if it does up to no-load speed. [rad/s]"""
    speed = machine.stages[k].law.lock_loss_speed()
    if speed is None or speed >= machine.no_load_speed * machine.shaft_turns[k]:
        return None
    return speed / machine.shaft_turns[k]
