"""Several motors on one train: a table, and its part of the result."""

from collections.abc import Sequence
from typing import Any

from armsim.checks.assessment import Motors, MotorShare, Sharing
from armsim.dynamics.run import Run
from armsim.report.marking import prose, table
from armsim.report.numbers import degrees, of, show, turns_per_minute

HEAD = ("motor", "speed", "current, each", "torque", "power", "no load by itself, at the arm", "what it does")


def motor_cells(sharing: Sharing, load: str) -> list[tuple[str, ...]]:
    """Head and rows of the motors at one speed of what they move."""
    rows: list[tuple[str, ...]] = [HEAD]
    rows += [
        (
            name_of(share),
            show(share.speed, "shaft_speed"),
            show(share.current, "current"),
            show(share.torque, "torque"),
            show(share.power, "power"),
            show(share.no_load_speed, of(load, "angular_speed")),
            share.role.value,
        )
        for share in sharing.shares
    ]
    return rows


def name_of(share: MotorShare) -> str:
    """The motor's name, with how many there are of it."""
    return share.name if share.count == 1 else f"{share.count} x {share.name}"


def motors_section(motors: Motors | None, run: Run | None, load: str) -> list[str]:
    """Markdown: how the motors share the steady lift, what they do without load, their currents in the run."""
    if motors is None:
        return []
    lifting, parts = motors.lifting, []
    at = "With the motors stalled" if lifting.speed == 0.0 else "In the same lift"
    parts += [f"{at}, by motor; torque and power are at the shaft it turns.", _table(lifting, load)]
    if motors.idle is None:
        parts.append("Without load they cannot turn themselves.")
    else:
        at = show(motors.idle.speed, of(load, "angular_speed"))
        parts += [f"Tied together by a train without loss or load they would keep {at}:", _table(motors.idle, load)]
    if run is not None:
        told = [
            f"{one.name} peak {show(peak.value, 'current')}, rms {show(rms, 'current')}"
            for one, peak, rms in zip(
                run.machine.companions, run.peaks.companion_currents, run.companion_currents_rms, strict=True
            )
        ]
        parts.append(prose(f"Currents of further motors in the run, each: {'; '.join(told)}."))
    return parts


def _table(sharing: Sharing, load: str) -> str:
    head, *rows = ([prose(cell) for cell in row] for row in motor_cells(sharing, load))
    return table(head, rows, numeric=False)


def motors_json(motors: Motors | None, run: Run | None) -> dict[str, Any] | None:
    """Both tables and the run's currents; null where there is one motor, or equal ones on its shaft."""
    if motors is None:
        return None
    return {
        "lifting": _sharing(motors.lifting),
        "no_load": None if motors.idle is None else _sharing(motors.idle),
        "further": [] if run is None else _currents(run),
    }


def _currents(run: Run) -> list[dict[str, Any]]:
    peaks: Sequence[Any] = run.peaks.companion_currents
    return [
        {"name": one.name, "peak_a": peak.value, "rms_a": rms}
        for one, peak, rms in zip(run.machine.companions, peaks, run.companion_currents_rms, strict=True)
    ]


def _sharing(sharing: Sharing) -> dict[str, Any]:
    return {
        "speed_deg_per_s": degrees(sharing.speed),
        "terminal_voltage_v": sharing.volts,
        "motors": [
            {
                "name": share.name,
                "count": share.count,
                "speed_rpm": turns_per_minute(share.speed),
                "current_a": share.current,
                "torque_nm": share.torque,
                "power_w": share.power,
                "copper_w": share.copper,
                "no_load_speed_deg_per_s": degrees(share.no_load_speed),
                "role": share.role.value,
            }
            for share in sharing.shares
        ],
    }
