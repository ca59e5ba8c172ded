"""Figures of a sizing: torque over angle, and the load's way in the plane of torque and speed with motors' lines."""

from collections.abc import Iterator

import numpy as np

from armsim.checks.phrases import told_of
from armsim.report.drawing import PENS
from armsim.report.layout import finish, stack
from armsim.report.numbers import DISPLAY, in_display, of, show, shown_in
from armsim.report.picture import Picture
from armsim.report.size_tables import overdriven
from armsim.report.wording import axis_of
from armsim.studies.size import Fit, Sizing
from armsim.studies.trial import arm_line, geared

MOST_LINES = 3  #: motors that a plane can show apart beside the load


def size_pictures(sizing: Sizing) -> Iterator[Picture]:
    """Every figure of a report of a sizing."""
    yield over_angle(sizing)
    yield plane(sizing)


def over_angle(sizing: Sizing) -> Picture:
    """What the lift asks on its way."""
    demand, kind = sizing.demand, sizing.load.kind
    place, effort = of(kind, "angle"), of(kind, "torque")
    angle = shown_in(demand.angle, place)
    figure, (panel,) = stack([3.6], axis_of(kind, "angle"), (float(angle[0]), float(angle[-1])))
    course = demand.trapezoid
    panel.curve(angle, demand.steady, "raised slowly", gid="steady")
    panel.curve(shown_in(course.angle, place), course.torque, "in thirds", 1, gid="thirds")
    if demand.level is not None:
        panel.curve(shown_in(demand.level.angle, place), demand.level.torque, "least power", 2, gid="level")
    panel.curve(angle, demand.gravity, "gravity", 3, gid="gravity")
    if np.any(demand.balance != 0.0):
        panel.curve(angle, demand.balance, "counterbalance", 4, gid="balance")
    panel.frame(axis_of(kind, "torque"))
    finish([panel])
    text = (
        f"Torque at the arm over its angle: gravity, what raising slowly asks (black), and two ways of making the lift "
        f"in {show(demand.time, 'time')}. In thirds it needs up to {show(course.peak_torque, effort)}"
    )
    text += "." if demand.level is None else f", at the least level of power {show(demand.level.peak_power, 'power')}."
    return Picture(name="demand", heading="What the lift asks", text=told_of(kind, text), figure=figure)


def plane(sizing: Sizing) -> Picture:
    """Torque and speed of the load, and what motors can keep, each at its quickest reduction."""
    demand, kind = sizing.demand, sizing.load.kind
    effort, rate = of(kind, "torque"), of(kind, "angular_speed")
    shown = chosen(sizing)
    lines = [
        (fit, *arm_line(geared(fit.machine, fit.quickest.reduction, sizing.efficiency)))
        for fit in shown
        if fit.quickest
    ]
    course = demand.trapezoid
    speeds = [*(max(speed) for _, _, speed in lines), course.peak_speed]
    figure, (panel,) = stack([4.2], axis_of(kind, "angular_speed"), (0.0, 1.05 * in_display(max(speeds), rate)))
    panel.curve(shown_in(course.speed, rate), course.torque, "the load, in thirds", gid="thirds")
    if demand.level is not None:
        panel.curve(shown_in(demand.level.speed, rate), demand.level.torque, "least power", 1, gid="level")
    for pen, (fit, torque, speed) in enumerate(lines, 2):
        label = f"{fit.name}, {show(fit.quickest.reduction if fit.quickest else None, 'ratio', 3)}:1"
        panel.curve(
            shown_in(np.array(speed), rate), np.array(torque), label, min(pen, len(PENS) - 1), gid=f"motor-{pen}"
        )
    panel.frame(axis_of(kind, "torque"))
    finish([panel])
    drawn = "; ".join(fit.name for fit, _, _ in lines)
    text = (
        f"Torque over speed at the arm, in {DISPLAY[rate].unit} and {DISPLAY[effort].unit}. The load's way through the "
        "lift runs from rest to rest; what lies under a motor's line it can keep at full drive on this source. "
    )
    text += f"Drawn, each at the reduction with its quickest lift: {drawn}. " if drawn else "No motor lifts. "
    text += "What speeds up the rotor comes on top of the load's torque."
    return Picture(name="plane", heading="Torque and speed", text=told_of(kind, text), figure=figure)


def chosen(sizing: Sizing) -> list[Fit]:
    """The motors drawn, each once: those that do first, those above their voltage last, then cheaper ones first."""
    fits = [fit for fit in sizing.fits if fit.quickest is not None]
    order = sorted(fits, key=lambda fit: (overdriven(fit), fit.window is None, fit.price is None, fit.price or 0.0))
    different = [fit for k, fit in enumerate(order) if all(fit.machine != other.machine for other in order[:k])]
    return different[:MOST_LINES]
