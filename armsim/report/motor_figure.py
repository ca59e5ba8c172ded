"""The motor's steady curves, and the path of a run along them."""

import math
from dataclasses import dataclass

import numpy as np

from armsim.dynamics.run import Run, Series
from armsim.parts.battery import open_circuit_voltage
from armsim.parts.motor import Motor
from armsim.report.layout import finish, stack
from armsim.report.numbers import in_display, show
from armsim.report.picture import Picture
from armsim.report.view import kept_cycles, numbers

UNSEEN = 5e-3  #: share of a panel by which points of a path lie apart that does not show [-]


def shaft_torque(run: Run) -> np.ndarray:
    """Torque one motor hands to its shaft along a run: air-gap torque less its own drag. [N*m]"""
    motor = run.machine.motor
    speed = run.speed * run.machine.reduction
    return (
        motor.torque_constant * run.motor_current - np.sign(speed) * motor.coulomb_torque - motor.viscous_drag * speed
    )


@dataclass(frozen=True)
class Curves:
    """A motor's steady figures over its shaft torque, at one voltage and the reference temperature. SI."""

    torque: np.ndarray
    speed: np.ndarray
    current: np.ndarray
    power: np.ndarray
    efficiency: np.ndarray


def steady_curves(motor: Motor, voltage: float, points: int = 120) -> Curves:
    """Speed, current, output power and efficiency of one motor from no load to stall."""
    stall = voltage / motor.resistance
    current = np.linspace(0.0, stall, points * 4)
    dropped = motor.brush_drop * np.clip(current / motor.brush_knee, -1.0, 1.0)
    speed = (voltage - dropped - motor.resistance * current) / motor.back_emf_constant
    torque = motor.torque_constant * current - motor.coulomb_torque - motor.viscous_drag * speed
    keep = torque >= 0.0
    current, speed, torque = current[keep], speed[keep], torque[keep]
    power = torque * speed
    return Curves(torque, speed, current, power, power / (voltage * current))


def reach(values: Series) -> float:
    """From the lowest known value to the highest, never none."""
    known = values[np.isfinite(values)]
    return float(np.ptp(known)) or 1.0 if known.size else 1.0


def thinned(across: Series, up: Series) -> tuple[Series, Series]:
    """A path without the points that lie nearer to the last one kept than would show; gaps stay."""
    wide, high = (reach(values) for values in (across, up))
    kept, last = [], (math.inf, math.inf)
    for k, (x, y) in enumerate(zip((across / wide).tolist(), (up / high).tolist(), strict=True)):
        if not abs(x - last[0]) + abs(y - last[1]) < UNSEEN:
            kept.append(k)
            last = (x, y)
    return across[kept], up[kept]


def motor_curves(run: Run) -> Picture:
    """Speed, current, power and efficiency over shaft torque, with the path travelled while driven."""
    motor, battery = run.machine.motor, run.machine.battery
    voltage = open_circuit_voltage(battery, 0.0)
    steady = steady_curves(motor, voltage)
    if not steady.torque.size:
        raise ValueError("a motor that cannot overcome its own drag has no curves")
    figure, panels = stack(
        (1.5, 1.25, 1.15, 1.15), "Torque at one motor's shaft (N·m)", (0.0, float(steady.torque[-1]) * 1.02)
    )
    driven = np.isfinite(run.duty) & (run.speed >= 0.0) & (run.motor_current >= 0.0)
    driven[1:] &= (np.diff(run.time) > 0.0) & (np.diff(numbers(run)) == 0)  # a jump is no path
    torque = np.where(driven, shaft_torque(run), np.nan)
    speed = run.speed * run.machine.reduction
    power = torque * speed
    with np.errstate(divide="ignore", invalid="ignore"):
        drawn = run.duty * run.bus_voltage * run.motor_current
        efficiency = np.where(drawn > 0.0, power / drawn, np.nan)
    rpm = in_display(1.0, "shaft_speed")
    for panel, line, path, label, gid in (
        (panels[0], rpm * steady.speed, rpm * speed, "Speed (rpm)", "speed"),
        (panels[1], steady.current, run.motor_current, "Current (A)", "current"),
        (panels[2], steady.power, power, "Power (W)", "power"),
        (panels[3], 100.0 * steady.efficiency, 100.0 * efficiency, "Efficiency (%)", "efficiency"),
    ):
        first = panel is panels[0]
        panel.curve(steady.torque, line, f"steady at {show(voltage, 'voltage', 3)}" if first else "", gid=gid)
        panel.frame(label, low=0.0)
        panel.curve(
            *thinned(torque, np.where(driven, path, np.nan)), "path of this run" if first else "", 2, gid=f"{gid}-path"
        )
    finish(panels)
    best = int(np.argmax(steady.power))
    most = f"{show(float(steady.power[best]), 'power')} at {show(float(steady.torque[best]), 'torque')}"
    travelled = kept_cycles(run) or "this run"
    text = (
        f"The motor's steady curves at {show(voltage, 'voltage')} over shaft torque (black), and the path of "
        f"{travelled} while driven upward (dash-dotted). One motor gives at most {most}, and stalls at "
        f"{show(float(steady.torque[-1]), 'torque')}. The path lies below where ramp, duty, current limit, wiring or a "
        "sagging supply take from it."
    )
    return Picture(name="motor", heading="Motor curves", text=text, figure=figure)
