"""Figures over time: angle and speed, currents and bus voltage, temperatures."""

import numpy as np

from armsim.checks.assessment import Assessment, Trips
from armsim.checks.phrases import told_of
from armsim.checks.protection import nearest_to_opening
from armsim.dynamics.run import Kind, Run
from armsim.report.drawing import Panel
from armsim.report.layout import Happening, finish, stack
from armsim.report.loop import fine, worst_tracking
from armsim.report.numbers import NOTHING, of, show, shown_in, typeset
from armsim.report.picture import Picture
from armsim.report.view import View, passes_over, view_of
from armsim.report.wording import EVENT_LABELS, HEADLINE_KINDS, axis_of, plain

MOST_EVENTS = 9  #: named in one strip
OPENS = {
    Trips.NO: "stays closed",
    Trips.POSSIBLE: "may open",
    Trips.CERTAIN: "opens for certain",
    None: "was not simulated",
}


def happenings(run: Run) -> list[Happening]:
    """The events worth naming in a figure: the first of each kind that matters, a repeated one with its count."""
    named = []
    for rank, kind in enumerate(HEADLINE_KINDS):
        same = [e for e in run.events if e.kind is kind and run.time[0] <= e.time <= run.time[-1]]
        if same:
            again = f", 1st of {len(same)}" if len(same) > 1 else ""
            named.append(
                (rank, Happening(same[0].time, f"{EVENT_LABELS[kind]} {show(same[0].time, 'time', 3)}{again}"))
            )
    chosen = [h for _, h in sorted(named, key=lambda pair: pair[0])[:MOST_EVENTS]]
    return sorted(chosen, key=lambda h: h.time)


def _span(run: Run) -> tuple[float, float]:
    return float(run.time[0]), float(run.time[-1])


def motion(whole: Run) -> Picture:
    """Arm angle and speed over time, and the angle that a position loop was asked for."""
    view = view_of(whole)
    run = view.run
    figure, (angle, speed) = stack((2.0, 1.5), view.x_label, _span(run), happenings(run))
    load = run.machine.arm.kind
    shown, turning = of(load, "angle"), of(load, "angular_speed")
    angle.curve(run.time, shown_in(run.angle, shown), told_of(load, "arm angle"), gid="angle")
    if np.isfinite(run.reference).any():
        angle.overlay(run.time, shown_in(run.reference, shown), "asked for", gid="reference")
    angle.frame(axis_of(load, "angle"))
    speed.curve(run.time, shown_in(run.speed, turning), told_of(load, "arm speed"), 1, gid="speed")
    speed.frame(axis_of(load, "angular_speed"))
    finish([angle, speed])
    return Picture(name="motion", heading=f"Motion{view.title_end}", text=_motion_text(view), figure=figure)


def _motion_text(view: View) -> str:
    run = view.run
    load = run.machine.arm.kind
    angle = of(load, "angle")
    reached = run.first(Kind.REACHED)
    stall = run.first(Kind.STALL)
    if reached:
        said = f"It reaches {show(reached.angle, angle)} after {show(reached.time, 'time')}"
    elif stall:
        said = f"It stalls at {show(stall.angle, angle)} after {show(stall.time, 'time')}"
    else:
        said = f"It ends at {show(float(run.angle[-1]), angle)} after {show(float(run.time[-1]), 'time')}"
    fastest = run.peaks.speed
    at = f"{show(abs(fastest.value), of(load, 'angular_speed'))} at {show(fastest.time, 'time')}"
    moved = np.ptp(run.angle) > NOTHING
    text = f"Arm angle and speed against time{view.where}. {said}"
    text += f"; the highest speed is {at}." if moved else " and never moves."
    lag = worst_tracking(run.tracks)
    if lag is not None:
        text += f" While the position loop follows a profile (dashed), the arm is off it by {fine(lag, load)} at most."
    return text


def currents(whole: Run, assessment: Assessment) -> Picture:
    """Motor and supply current with each rating, the thermal state of the protection, and the bus voltage."""
    view = view_of(whole)
    run = view.run
    guarded = bool(assessment.protection)
    heights = (2.1, 1.3, 1.3) if guarded else (2.1, 1.3)
    figure, panels = stack(heights, view.x_label, _span(run), happenings(run))
    amps, volts = panels[0], panels[-1]
    each = " (each)" if run.machine.motor.count > 1 else ""
    amps.curve(run.time, run.motor_current, f"motor{each}", gid="motor-current")
    amps.curve(run.time, run.supply_current, "supply", 1, gid="supply-current")
    seen = max(abs(run.peaks.motor_current.value), abs(run.peaks.supply_current.value))
    top = max([seen, *(p.rating for p in assessment.protection if p.rating < 2.5 * seen)])
    for number, rating in enumerate(sorted({p.rating for p in assessment.protection if p.rating <= top})):
        amps.limit(rating, f"rating {show(rating, 'current')}", gid=f"rating-{number}", beyond=1)
    bottom = min(0.0, float(np.nanmin(run.motor_current)), float(np.nanmin(run.supply_current)))
    amps.frame("Current (A)", low=bottom * 1.15, high=top)
    if guarded:
        _trip_states(panels[1], run, assessment)
    _bus(volts, run)
    finish(panels)
    heading = f"Currents and bus voltage{view.title_end}"
    return Picture(name="currents", heading=heading, text=_currents_text(view, assessment), figure=figure)


def _trip_states(panel: Panel, run: Run, assessment: Assessment) -> None:
    """The device nearest to opening; others are in the table."""
    nearest = nearest_to_opening(assessment.protection)
    if nearest >= len(run.heat_earliest):
        return
    panel.curve(run.time, 100.0 * run.heat_earliest[nearest], "earliest edge", gid="heat-earliest")
    panel.curve(run.time, 100.0 * run.heat_latest[nearest], "latest edge", 2, gid="heat-latest")
    peak = 100.0 * (assessment.protection[nearest].heat_peak or 0.01)
    if peak > 50.0:
        panel.limit(100.0, "opens", gid="trip-level", beyond=1)
    panel.frame("Trip state (%)", low=0.0, high=max(100.0 if peak > 50.0 else 0.0, peak))


def _bus(panel: Panel, run: Run) -> None:
    panel.curve(run.time, run.bus_voltage, "bus", 3, gid="bus-voltage")
    threshold = run.machine.controller.undervoltage
    lowest = float(np.nanmin(run.bus_voltage)) if np.isfinite(run.bus_voltage).any() else 0.0
    highest = float(np.nanmax(run.bus_voltage)) if np.isfinite(run.bus_voltage).any() else 1.0
    low = None
    if threshold is not None:
        low = min(lowest, threshold)
        low -= 0.2 * (highest - low)
        panel.limit(threshold, f"undervoltage {show(threshold, 'voltage')}", gid="undervoltage", beyond=-1)
    panel.frame("Bus (V)", low=low)


def _currents_text(view: View, assessment: Assessment) -> str:
    peaks = view.run.peaks
    over_all = ", over all cycles," if passes_over(view.run) else ""
    text = (
        f"Current and bus voltage against time{view.where}. The motor peaks at "
        f"{show(abs(peaks.motor_current.value), 'current')}, the supply at "
        f"{show(peaks.supply_current.value, 'current')}; the bus falls to {show(peaks.bus_voltage.value, 'voltage')}."
    )
    for p in assessment.protection:
        text += (
            f" The {plain(p.kind)} of {show(p.rating, 'current')} gets{over_all} to "
            f"{show(p.heat_peak, 'share', 3)} of its earliest trip level and {OPENS[p.trips]}."
        )
    if assessment.protection:
        text += " A rating is not a trip time: beyond it (hatched) a device opens later the smaller the excess."
    return text


def temperatures(whole: Run, assessment: Assessment) -> Picture:
    """Winding and housing temperature, with the winding's limit where it is near."""
    view = view_of(whole)
    run = view.run
    figure, (panel,) = stack((2.1,), view.x_label, _span(run), happenings(run))
    panel.curve(run.time, run.winding, "winding", 2, gid="winding")
    panel.curve(run.time, run.housing, "housing", gid="housing")
    heat = run.machine.motor.heat
    limit = heat.winding_limit if heat else None
    peak = run.peaks.winding.value
    text = f"Winding and housing temperature against time{view.where}. The winding gets to {show(peak, 'temperature')}"
    if limit is not None:
        text += f" against a limit of {show(limit, 'temperature')}"
        if peak > run.machine.ambient + 0.3 * (limit - run.machine.ambient):
            panel.limit(limit, f"limit {typeset(show(limit, 'temperature'))}", gid="winding-limit", beyond=1)
    panel.frame("Temperature (°C)")
    finish([panel])
    if assessment.time_to_limit is not None:
        text += f"; stalled at full drive it would be there in {show(assessment.time_to_limit, 'time', 3)}"
    return Picture(name="temperatures", heading=f"Temperatures{view.title_end}", text=text + ".", figure=figure)
