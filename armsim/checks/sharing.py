"""Several motors on one train: what each gives of the load, and whether they fight.

All follow one duty, so what each gives at a speed hangs on its own no-load speed there. One whose no-load speed lies
below that of the train is dragged along, and its current comes back.
"""

from collections.abc import Iterator

from armsim.checks.assessment import Finding, Level, Motors, MotorShare, Role, Sharing
from armsim.checks.codes import finding
from armsim.checks.phrases import number
from armsim.drivetrain.circuit import DrivePoint, drive_point
from armsim.drivetrain.machine import Machine
from armsim.parts.companion import Companion

PRECISION = 1e-12  #: of a speed, over the no-load speed


def judge_motors(machine: Machine, duty: float, speed: float | None) -> Motors | None:
    """Several motors at a steady lift's arm speed [rad/s], stalled where there is none, and without load.

    None for a machine without companions: equal motors on one shaft share alike.
    """
    if not machine.companions:
        return None
    return Motors(lifting=share_at(machine, duty, speed or 0.0), idle=without_load(machine, duty))


def sharing_findings(machine: Machine, motors: Motors) -> Iterator[Finding]:
    """Motors that work against each other in the lift, or that would without its load."""
    lifting, idle = motors.lifting, motors.idle
    for share in lifting.shares:
        if share.role is Role.DRIVES or lifting.speed == 0.0:
            continue
        text = f"In the steady lift the {share.name} {share.role.value}: {number(share.current)} A in each and "
        text += f"{number(share.power)} W at its shaft, which the others make up for."
        yield finding(Level.WARNING, "motors-fight", where_of(machine, share), text, matching(machine, lifting, share))
        return
    braking = [] if idle is None else [share for share in idle.shares if share.role is Role.BRAKES]
    if idle is not None and braking:
        share, heat = braking[0], sum(one.copper for one in idle.shares)
        text = f"Without load the {share.name} brakes the others with {number(-share.current)} A in each; "
        text += f"{number(heat)} W go round as heat. Under the load of the lift all of them drive."
        yield finding(Level.NOTE, "motors-fight", where_of(machine, share), text, matching(machine, idle, share))


def where_of(machine: Machine, share: MotorShare) -> str:
    """Key of the section that a motor is described in."""
    names = [one.name for one in machine.companions]
    return f"more_motors[{names.index(share.name)}]" if share.name in names else "motor"


def matching(machine: Machine, sharing: Sharing, share: MotorShare) -> str:
    """The reduction with which a slow motor's no-load speed would be that of the quickest."""
    quickest = max(one.no_load_speed for one in sharing.shares)
    if share.no_load_speed <= 0.0 or share.name not in [one.name for one in machine.companions]:
        return "motors, or reductions, whose no-load speeds match at the arm"
    own = next(one.reduction for one in machine.companions if one.name == share.name)
    matched = own * share.no_load_speed / quickest
    return f"a reduction of {number(matched)} for it (now {number(own)}) would match no-load speeds"


def share_at(machine: Machine, duty: float, speed: float) -> Sharing:
    """What each motor gives at an arm speed [rad/s] and a duty, currents settled, all at ambient."""
    point = drive_point(machine, duty, speed * machine.shaft_turns[0])
    shares = [_first(machine, point, speed), *(_other(machine, one, point.volts, speed) for one in machine.companions)]
    return Sharing(speed=speed, volts=point.volts, shares=tuple(shares))


def _first(machine: Machine, point: DrivePoint, speed: float) -> MotorShare:
    motor = machine.motor
    same = Companion(
        name="motor",
        shaft=0,
        count=motor.count,
        resistance=machine.loop_resistance - machine.path_resistance,
        inductance=motor.inductance,
        bridge_resistance=machine.controller.resistance,
        lead_resistance=machine.lead_resistance,
        constant=motor.back_emf_constant,
        coulomb_torque=motor.coulomb_torque,
        viscous_drag=motor.viscous_drag,
        breakaway_torque=motor.breakaway_torque,
    )
    return _share(machine, same, point.current, point.volts, speed)


def _other(machine: Machine, one: Companion, volts: float, speed: float) -> MotorShare:
    return _share(machine, one, one.current(volts, speed * machine.shaft_turns[one.shaft]), volts, speed)


def _share(machine: Machine, one: Companion, current: float, volts: float, speed: float) -> MotorShare:
    turning = speed * machine.shaft_turns[one.shaft]
    friction = (one.coulomb_torque if speed > 0.0 else 0.0) + one.viscous_drag * turning
    torque = one.count * (one.constant * current - friction)
    role = Role.DRIVES if torque > 0.0 else Role.DRAGGED if current >= 0.0 else Role.BRAKES
    return MotorShare(
        name=one.name,
        count=one.count,
        shaft=one.shaft,
        speed=turning * one.reduction,
        current=current,
        torque=torque,
        power=torque * turning,
        copper=one.count * one.resistance * current**2,
        no_load_speed=one.no_load_speed(volts) / machine.shaft_turns[one.shaft],
        role=role,
    )


def without_load(machine: Machine, duty: float) -> Sharing | None:
    """The motors tied together by a train without loss or load, at the speed where they keep each other.

    None where they cannot even overcome their own friction.
    """

    def power(speed: float) -> float:
        return sum(share.power for share in share_at(machine, duty, speed).shares)

    slow, fast = 0.0, 2.0 * max(share.no_load_speed for share in share_at(machine, duty, 0.0).shares)
    if power(PRECISION * fast) <= 0.0:
        return None
    span = fast
    while fast - slow > PRECISION * span:
        middle = 0.5 * (slow + fast)
        slow, fast = (middle, fast) if power(middle) > 0.0 else (slow, middle)
    return share_at(machine, duty, slow)
