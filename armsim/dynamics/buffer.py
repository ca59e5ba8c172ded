"""The load on a moving arm by mode: within a mode the law of a buffer is smooth, whether it is met, slack or left."""

from collections.abc import Callable
from dataclasses import replace

from armsim.drivetrain.machine import Load
from armsim.dynamics.modes import Press
from armsim.parts.arm import free_torque, load_damping

SLOWEST_MEETING = 0.1  #: share of the no-load speed; a slower meeting gets this one's loss, or a drive that then
#: speeds up into the buffer would find a wall. Restitution goes to one with speed, as it does in experiments.

TorqueAt = Callable[[float, float], float]


def buffer_travel(arm: Load, press: Press, angle: float) -> float:
    """How far the buffer is pressed, > 0. [rad]"""
    return press.side * (angle - (arm.upper_stop if press.side > 0 else arm.lower_stop))


def buffer_torque(arm: Load, press: Press, angle: float, speed: float) -> float:
    """Torque of the buffer against being pressed, k x (1 + c w); none while it is slack. [N*m]"""
    if press.slack or arm.stop.stiffness is None:
        return 0.0
    return arm.stop.stiffness * buffer_travel(arm, press, angle) * (1.0 + press.damping * press.side * speed)


def buffer_loss(arm: Load, press: Press, angle: float, speed: float) -> float:
    """Power lost in the buffer; one that is slack springs back by itself and loses all it had stored. [W]"""
    elastic = (arm.stop.stiffness or 0.0) * buffer_travel(arm, press, angle)
    return (buffer_torque(arm, press, angle, speed) - elastic) * press.side * speed


def buffer_damping(arm: Load, press: Press | None, angle: float, speed: float) -> float:
    """What the buffer's torque is above its elastic one, per arm speed. [N*m*s/rad]"""
    return 0.0 if press is None or speed == 0.0 else buffer_loss(arm, press, angle, speed) / (speed * speed)


def load_in(arm: Load, press: Press | None, sense: int) -> TorqueAt:
    """What gives the load torque at an angle [rad] and a speed [rad/s] in a mode that moves in `sense`. [N*m]

    Friction counts as far as it is curved: what is level or straight over speed is in the walk's forms.
    """

    def free(angle: float, speed: float) -> float:
        return free_torque(arm, angle) + load_damping(arm, angle) * speed  # type: ignore[no-any-return]

    def rubbed(angle: float, speed: float) -> float:
        return free(angle, speed) + sense * arm.friction.excess(speed)  # type: ignore[no-any-return]

    load = free if arm.friction.stribeck_speed is None else rubbed
    if press is None:
        return load
    return lambda angle, speed: load(angle, speed) + press.side * buffer_torque(arm, press, angle, speed)


def pressed(arm: Load, angle: float, sense: int, before: Press | None, no_load_speed: float) -> Press | None:
    """The buffer that an arm meets or leans on when it sets off in `sense`; one it already leans on is kept."""
    if arm.stop.rigid:
        return None
    if angle > arm.upper_stop or (angle == arm.upper_stop and sense > 0):
        side = 1
    elif angle < arm.lower_stop or (angle == arm.lower_stop and sense < 0):
        side = -1
    else:
        return None
    if before is not None and before.side == side:
        return replace(before, slack=False)
    return Press(side=side, damping=arm.stop.damping(SLOWEST_MEETING * no_load_speed))
