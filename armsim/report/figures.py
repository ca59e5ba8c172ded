"""The figures of a report, each with the sentence that says what it shows."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from matplotlib.figure import Figure

from armsim.checks.assessment import Assessment, Fall, Trips
from armsim.dynamics.run import Kind, Run
from armsim.parts.battery import open_circuit_voltage
from armsim.parts.motor import Motor
from armsim.report import drawing
from armsim.report.drawing import Happening, Panel, stack
from armsim.report.numbers import NOTHING, in_display, show, typeset
from armsim.report.wording import EVENT_LABELS, HEADLINE_KINDS, plain

MOST_EVENTS = 9  #: named in one strip
PAYLOAD, STORED = "payload lifted", "stored at the end"
SHORTEST_FALL = 1e-3  #: below which an arm that stays up is shown for a second [s]
OPENS = {
    Trips.NO: "stays closed",
    Trips.POSSIBLE: "may open",
    Trips.CERTAIN: "opens for certain",
    None: "was not simulated",
}


@dataclass(frozen=True, kw_only=True)
class Picture:
    """A figure, its file stem, and one or two sentences with the finding (also its alternative text)."""

    name: str
    heading: str
    text: str
    figure: Figure


def pictures(assessment: Assessment) -> Iterator[Picture]:
    """Every figure this assessment has data for, in the order of the report."""
    run = assessment.run
    if run is not None:
        yield motion(run)
        yield currents(run, assessment)
        if run.machine.motor.heat is not None:
            yield temperatures(run, assessment)
    yield torques(assessment)
    if run is not None:
        yield motor_curves(run)
    if assessment.energy is not None:
        yield energy(assessment)
    if any(f is not None and f.run is not None for f in (assessment.holding.coasting, assessment.holding.shorted)):
        yield power_loss(assessment)


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
    start, end = float(run.time[0]), float(run.time[-1])
    return start, end if end > start else start + 1.0


def _finish(panels: list[Panel]) -> None:
    for panel in panels:
        panel.place_labels()


def motion(run: Run) -> Picture:
    """Arm angle and speed over time."""
    figure, (angle, speed) = stack((2.0, 1.5), "Time (s)", _span(run), happenings(run))
    angle.curve(run.time, np.degrees(run.angle), "arm angle", gid="angle")
    angle.frame("Arm angle (deg)")
    speed.curve(run.time, np.degrees(run.speed), "arm speed", 1, gid="speed")
    speed.frame("Arm speed (deg/s)")
    _finish([angle, speed])
    reached = run.first(Kind.REACHED)
    stall = run.first(Kind.STALL)
    if reached:
        said = f"It reaches {show(reached.angle, 'angle')} after {show(reached.time, 'time')}"
    elif stall:
        said = f"It stalls at {show(stall.angle, 'angle')} after {show(stall.time, 'time')}"
    else:
        said = f"It ends at {show(float(run.angle[-1]), 'angle')} after {show(float(run.time[-1]), 'time')}"
    fastest = run.peaks.speed
    at = f"{show(abs(fastest.value), 'angular_speed')} at {show(fastest.time, 'time')}"
    moved = np.ptp(run.angle) > NOTHING
    text = f"Arm angle and speed against time. {said}{f'; the highest speed is {at}' if moved else ' and never moves'}."
    return Picture(name="motion", heading="Motion", text=text, figure=figure)


def currents(run: Run, assessment: Assessment) -> Picture:
    """Motor and supply current with each rating, the thermal state of the protection, and the bus voltage."""
    guarded = bool(assessment.protection)
    heights = (2.1, 1.3, 1.3) if guarded else (2.1, 1.3)
    figure, panels = stack(heights, "Time (s)", _span(run), happenings(run))
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
    _finish(panels)
    return Picture(
        name="currents", heading="Currents and bus voltage", text=_currents_text(run, assessment), figure=figure
    )


def _trip_states(panel: Panel, run: Run, assessment: Assessment) -> None:
    """The device nearest to opening; others are in the table."""
    nearest = max(range(len(assessment.protection)), key=lambda k: assessment.protection[k].heat_peak or 0.0)
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


def _currents_text(run: Run, assessment: Assessment) -> str:
    peaks = run.peaks
    text = (
        f"Current and bus voltage against time. The motor peaks at {show(abs(peaks.motor_current.value), 'current')}, "
        f"the supply at {show(peaks.supply_current.value, 'current')}; the bus falls to "
        f"{show(peaks.bus_voltage.value, 'voltage')}."
    )
    for p in assessment.protection:
        text += (
            f" The {plain(p.kind)} of {show(p.rating, 'current')} gets to {show(p.heat_peak, 'share', 3)} of its "
            f"earliest trip level and {OPENS[p.trips]}."
        )
    if assessment.protection:
        text += " A rating is not a trip time: beyond it (hatched) a device opens later the smaller the excess."
    return text


def temperatures(run: Run, assessment: Assessment) -> Picture:
    """Winding and housing temperature, with the winding's limit where it is near."""
    figure, (panel,) = stack((2.1,), "Time (s)", _span(run), happenings(run))
    panel.curve(run.time, run.winding, "winding", 2, gid="winding")
    panel.curve(run.time, run.housing, "housing", gid="housing")
    heat = run.machine.motor.heat
    limit = heat.winding_limit if heat else None
    peak = run.peaks.winding.value
    text = f"Winding and housing temperature against time. The winding gets to {show(peak, 'temperature')}"
    if limit is not None:
        text += f" against a limit of {show(limit, 'temperature')}"
        if peak > run.machine.ambient + 0.3 * (limit - run.machine.ambient):
            panel.limit(limit, f"limit {typeset(show(limit, 'temperature'))}", gid="winding-limit", beyond=1)
    panel.frame("Temperature (°C)")
    _finish([panel])
    if assessment.time_to_limit is not None:
        text += f"; stalled at full drive it would be there in {show(assessment.time_to_limit, 'time', 3)}"
    return Picture(name="temperatures", heading="Temperatures", text=text + ".", figure=figure)


def torques(assessment: Assessment) -> Picture:
    """Torque needed and available at the arm over angle, and what friction holds unpowered."""
    curves, lift = assessment.curves, assessment.lift
    angle = np.degrees(curves.angle)
    figure, (panel,) = stack((3.0,), "Arm angle (deg)", (float(angle.min()), float(angle.max())))
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
    panel.frame("Torque at the arm (N·m)", low=min(0.0, lowest * 1.1), high=ceiling)
    if lift.stall_angle is not None:
        panel.mark(math.degrees(lift.stall_angle), f"stalls at {show(lift.stall_angle, 'angle', 3)}", gid="stall")
    if lift.worst_angle is not None and lift.static_margin is not None:
        k = int(np.argmin(np.abs(curves.angle - lift.worst_angle)))
        x, y = float(angle[k]), float(curves.needed[k])
        panel.dot(x, y, f"margin {show(lift.static_margin, 'ratio', 3)}", gid="worst")
        text += (
            f". The margin is smallest at {show(lift.worst_angle, 'angle', 3)}: {show(float(available[k]), 'torque')} "
            f"available over {show(y, 'torque')} needed, a factor of {show(lift.static_margin, 'ratio', 3)}"
        )
    elif float(np.max(curves.needed)) <= 0.0:
        text += (
            f". It rises by itself: at no angle does it take more than {show(float(np.max(curves.needed)), 'torque')}"
        )
    _finish([panel])
    return Picture(name="torques", heading="Torque needed and available", text=text + ".", figure=figure)


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
    speed = (voltage - motor.resistance * current) / motor.back_emf_constant
    torque = motor.torque_constant * current - motor.coulomb_torque - motor.viscous_drag * speed
    keep = torque >= 0.0
    current, speed, torque = current[keep], speed[keep], torque[keep]
    power = torque * speed
    return Curves(torque, speed, current, power, power / (voltage * current))


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
    driven[1:] &= np.diff(run.time) > 0.0  # a jump is no path
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
        panel.curve(torque, np.where(driven, path, np.nan), "path of this run" if first else "", 2, gid=f"{gid}-path")
    _finish(panels)
    best = int(np.argmax(steady.power))
    most = f"{show(float(steady.power[best]), 'power')} at {show(float(steady.torque[best]), 'torque')}"
    text = (
        f"The motor's steady curves at {show(voltage, 'voltage')} over shaft torque (black), and this run's path "
        f"while driven upward (dash-dotted). One motor gives at most {most}, and stalls at "
        f"{show(float(steady.torque[-1]), 'torque')}. The path lies below where ramp, duty, current limit, wiring or a "
        "sagging supply take from it."
    )
    return Picture(name="motor", heading="Motor curves", text=text, figure=figure)


def energy_parts(assessment: Assessment) -> list[tuple[str, float]]:
    """Where the energy went, largest first: (name, joules)."""
    account = assessment.energy
    if account is None:
        return []
    names = {PAYLOAD: account.payload_lifted, STORED: account.stored}
    parts = [*names.items(), *((plain(name), value) for name, value in account.losses.items())]
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
    figure, (panel,) = stack((0.3 * len(parts) + 0.2,), "Energy (J)", (low - 0.2 * span * (low < 0), high + 0.2 * span))
    inset = 1.75 / drawing.WIDTH  # room for the names of the bars
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


def fall_sentence(name: str, fall: Fall) -> str:
    """What the arm does after a power cut, in one sentence."""
    start = f"With the motor {name}, cut at {show(fall.at, 'angle', 3)}, the arm"
    if fall.holds:
        return f"{start} stays up."
    words = f"{start} {fall.way}"
    if fall.fall_time is not None:
        words += f" to its stop in {show(fall.fall_time, 'time', 3)}"
    elif fall.final_angle is not None:
        words += f" to {show(fall.final_angle, 'angle', 3)}"
    if fall.impact_speed is not None:
        words += f" and meets it at {show(abs(fall.impact_speed), 'angular_speed', 3)}"
    return words + "."


def power_loss(assessment: Assessment) -> Picture:
    """Arm angle after the power cut, with the motor coasting and with its terminals shorted."""
    falls = [
        (name, fall, fall.run)
        for name, fall in (("coasting", assessment.holding.coasting), ("shorted", assessment.holding.shorted))
        if fall is not None and fall.run is not None
    ]
    longest = max(float(run.time[-1] - run.time[0]) for _, _, run in falls)
    until = longest if longest > SHORTEST_FALL else 1.0
    figure, (panel,) = stack((2.2,), "Time after the cut (s)", (0.0, until))
    for name, _, run in falls:
        # each is followed until it rests or is on a stop, and stays there
        time = np.append(run.time - run.time[0], until)
        angle = np.degrees(np.append(run.angle, run.angle[-1]))
        panel.curve(time, angle, name, 0 if name == "coasting" else 1, gid=f"fall-{name}")
    panel.frame("Arm angle (deg)")
    arm = falls[0][2].machine.arm
    bottom, top = panel.axes.get_ylim()
    if math.isfinite(arm.lower_stop) and math.degrees(arm.lower_stop) > bottom:
        panel.limit(math.degrees(arm.lower_stop), "lower stop", gid="lower-stop", beyond=-1)
    if math.degrees(arm.upper_stop) < top:
        panel.limit(math.degrees(arm.upper_stop), "upper stop", gid="upper-stop", beyond=1)
    _finish([panel])
    text = "Arm angle after power is cut. " + " ".join(fall_sentence(name, fall) for name, fall, _ in falls)
    return Picture(name="power-loss", heading="Power loss", text=text, figure=figure)
