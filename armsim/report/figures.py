"""The figures of a report, each with the sentence that says what it shows."""

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from armsim.checks.assessment import Assessment, Fall
from armsim.checks.phrases import told_of
from armsim.report import drawing, layout
from armsim.report.cycles_figure import cycles
from armsim.report.layout import finish, stack
from armsim.report.motor_figure import motor_curves
from armsim.report.numbers import in_display, of, show, shown_in
from armsim.report.picture import Picture
from armsim.report.schematic import schematic
from armsim.report.time_figures import currents, motion, temperatures
from armsim.report.trip_figure import trips
from armsim.report.view import passes_over
from armsim.report.wording import axis_of, plain

PAYLOAD, STORED = "payload lifted", "stored at the end"
SHORTEST_FALL = 1e-3  #: below which an arm that stays up is shown for a second [s]


def pictures(assessment: Assessment) -> Iterator[Picture]:
    """Every figure this assessment has data for, in the order of the report, in words for what is moved."""
    for one in _pictures(assessment):
        text, heading = (told_of(assessment.load, words) for words in (one.text, one.heading))
        yield replace(one, text=text, heading=heading)


def _pictures(assessment: Assessment) -> Iterator[Picture]:
    run = assessment.run
    if run is not None:
        yield motion(run)
        yield currents(run, assessment)
        if assessment.protection:
            yield trips(assessment)
        if run.machine.motor.heat is not None:
            yield temperatures(run, assessment)
        if passes_over(run):
            yield cycles(run)
    yield torques(assessment)
    if run is not None:
        yield motor_curves(run)
        yield schematic(run.machine)
    if assessment.energy is not None:
        yield energy(assessment)
    if any(f is not None and f.run is not None for f in (assessment.holding.coasting, assessment.holding.shorted)):
        yield power_loss(assessment)


def torques(assessment: Assessment) -> Picture:
    """Torque needed and available at the arm over angle, and what friction holds unpowered."""
    curves, lift = assessment.curves, assessment.lift
    shown, torque = of(assessment.load, "angle"), of(assessment.load, "torque")
    angle = shown_in(curves.angle, shown)
    figure, (panel,) = stack((3.0,), axis_of(assessment.load, "angle"), (float(angle.min()), float(angle.max())))
    available, holdable = np.asarray(curves.available), np.asarray(curves.holdable)
    panel.curve(angle, curves.needed, "needed to raise", gid="needed")
    panel.curve(angle, available, "available at stall", 1, gid="available")
    text = "Torque at the arm against angle: needed to raise it, available with the motor stalled, held without power"
    lowest = float(np.nanmin(curves.needed))
    if np.any(curves.gravity != curves.load):
        text += ", and gravity alone as it would be without springs"
        lowest = min(lowest, float(np.nanmin(curves.gravity)))
        panel.curve(angle, curves.gravity, "gravity alone", 2, gid="gravity")
    ceiling = 1.15 * max(
        float(np.nanmax(curves.needed)),
        float(np.nanmax(curves.gravity)),
        float(np.nanmax(np.where(np.isfinite(available), available, 0))),
    )
    if assessment.holding.reverse_torque is None:
        panel.note("a stage locks: any load stays up unpowered", pen=3)
    else:
        panel.curve(angle, np.where(holdable <= ceiling, holdable, np.nan), "stays up unpowered", 3, gid="holdable")
    panel.frame(
        "Torque at the arm (N·m)" if assessment.load == "arm" else "Force at the carriage (N)",
        low=min(0.0, lowest * 1.1),
        high=ceiling,
    )
    if lift.stall_angle is not None:
        panel.mark(in_display(lift.stall_angle, shown), f"stalls at {show(lift.stall_angle, shown, 3)}", gid="stall")
    if lift.worst_angle is not None and lift.static_margin is not None:
        k = int(np.argmin(np.abs(curves.angle - lift.worst_angle)))
        x, y = float(angle[k]), float(curves.needed[k])
        panel.dot(x, y, f"margin {show(lift.static_margin, 'ratio', 3)}", gid="worst")
        text += (
            f". The margin is smallest at {show(lift.worst_angle, shown, 3)}: {show(float(available[k]), torque)} "
            f"available over {show(y, torque)} needed, a factor of {show(lift.static_margin, 'ratio', 3)}"
        )
    elif float(np.max(curves.needed)) <= 0.0:
        text += f". It rises by itself: at no angle does it take more than {show(float(np.max(curves.needed)), torque)}"
    finish([panel])
    return Picture(name="torques", heading="Torque needed and available", text=text + ".", figure=figure)


def energy_parts(assessment: Assessment) -> list[tuple[str, float]]:
    """Where the energy went, largest first: (name, joules)."""
    account = assessment.energy
    if account is None:
        return []
    names = {PAYLOAD: account.payload_lifted, STORED: account.stored}
    parts = [
        *names.items(),
        *((told_of(assessment.load, plain(name)), value) for name, value in account.losses.items()),
    ]
    kept = [(name, value) for name, value in parts if abs(value) > 1e-6 * max(account.throughput, 1e-12)]
    return sorted(kept, key=lambda part: -part[1])


def energy(assessment: Assessment) -> Picture:
    """Horizontal bars: where what the supply gave went."""
    account = assessment.energy
    if account is None:
        raise ValueError("no energy account without a run")
    parts = energy_parts(assessment) or [("nothing moved", 0.0)]
    values = [value for _, value in parts]
    low, high = min(0.0, *values), max(0.0, *values) or 1.0
    span = high - low
    figure, (panel,) = stack(
        (0.3 * len(parts) + 0.2,), "Energy (J)", (low - 0.24 * span * (low < 0), high + 0.2 * span)
    )
    inset = 1.75 / layout.WIDTH  # room for the names of the bars
    place = panel.axes.get_position()
    panel.axes.set_position((inset, place.y0, place.x1 - inset, place.height))
    rows = range(len(parts))
    panel.axes.barh(
        rows, values, height=0.62, color="#bcd7e8", edgecolor=drawing.BLUE, linewidth=0.9, gid="energy-bars"
    )
    panel.axes.axvline(0.0, color=drawing.BLACK, linewidth=0.8)
    panel.axes.set_yticks(rows, [name for name, _ in parts])
    panel.axes.invert_yaxis()
    panel.axes.grid(visible=False, axis="y")
    for row, value in zip(rows, values, strict=True):
        gap = 0.01 * span
        panel.axes.text(
            value + (gap if value >= 0 else -gap),
            row,
            show(value, "energy", 3),
            va="center",
            ha="left" if value >= 0 else "right",
            gid="label",
        )
    share = account.payload_lifted / account.supplied if account.supplied > 0 else None
    text = f"Where the energy went over the whole run: the supply gave {show(account.supplied, 'energy')}; "
    text += f"{show(account.payload_lifted, 'energy')} raised the payload"
    text += f" ({show(share, 'share', 3)})" if share is not None else ""
    lost = [(n, v) for n, v in parts if n not in (PAYLOAD, STORED)]
    if lost:
        text += f"; the largest loss is {lost[0][0]} with {show(lost[0][1], 'energy')}"
    return Picture(name="energy", heading="Energy", text=text + ".", figure=figure)


def fall_sentence(name: str, fall: Fall, load: str = "arm") -> str:
    """What the arm does after a power cut, in one sentence."""
    start = f"With the motor {name}, cut at {show(fall.at, of(load, 'angle'), 3)}, the arm"
    if fall.holds:
        return f"{start} stays up."
    words = f"{start} {fall.way}"
    if fall.fall_time is not None:
        words += f" to its stop in {show(fall.fall_time, 'time', 3)}"
    elif fall.final_angle is not None:
        words += f" to {show(fall.final_angle, of(load, 'angle'), 3)}"
    if fall.impact_speed is not None:
        words += f" and meets it at {show(abs(fall.impact_speed), of(load, 'angular_speed'), 3)}"
    return words + "."


def power_loss(assessment: Assessment) -> Picture:
    """Arm angle after the power cut, with the motor coasting and with its terminals shorted."""
    falls = [
        (name, fall, fall.run)
        for name, fall in (("coasting", assessment.holding.coasting), ("shorted", assessment.holding.shorted))
        if fall is not None and fall.run is not None
    ]
    shown = of(assessment.load, "angle")
    longest = max(float(run.time[-1] - run.time[0]) for _, _, run in falls)
    until = longest if longest > SHORTEST_FALL else 1.0
    figure, (panel,) = stack((2.2,), "Time after the cut (s)", (0.0, until))
    for name, _, run in falls:
        # each is followed until it rests or is on a stop, and stays there
        time = np.append(run.time - run.time[0], until)
        angle = shown_in(np.append(run.angle, run.angle[-1]), shown)
        panel.curve(time, angle, name, 0 if name == "coasting" else 1, gid=f"fall-{name}")
    panel.frame(axis_of(assessment.load, "angle"))
    arm = falls[0][2].machine.arm
    bottom, top = panel.axes.get_ylim()
    if math.isfinite(arm.lower_stop) and in_display(arm.lower_stop, shown) > bottom:
        panel.limit(in_display(arm.lower_stop, shown), "lower stop", gid="lower-stop", beyond=-1)
    if in_display(arm.upper_stop, shown) < top:
        panel.limit(in_display(arm.upper_stop, shown), "upper stop", gid="upper-stop", beyond=1)
    finish([panel])
    text = "Arm angle after power is cut. " + " ".join(
        fall_sentence(name, fall, assessment.load) for name, fall, _ in falls
    )
    return Picture(name="power-loss", heading="Power loss", text=text, figure=figure)
