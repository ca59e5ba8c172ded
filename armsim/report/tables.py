"""The rows of every table, in plain text: terminal and Markdown only lay them out."""

import math
from collections.abc import Iterable, Sequence

import numpy as np

from armsim.checks.assessment import (
    Assessment,
    ProtectionResult,
    Requirement,
    ShaftRow,
    StageRow,
    Trips,
)
from armsim.checks.ripple import worst_ripple
from armsim.report.battery import charge_rows
from armsim.report.contract import charge_left, stop_impact, undervoltage_seen
from armsim.report.cycles import cycle_rows
from armsim.report.holding import fall_row, holding_rows
from armsim.report.loop import loop_rows
from armsim.report.numbers import UNKNOWN, figure, of, show, show_difference
from armsim.report.parts import part_rows
from armsim.report.rows import Row
from armsim.report.shocks import buffer_rows
from armsim.report.turning import motor_words
from armsim.report.wiring import wiring_rows
from armsim.report.wording import detail_dimension, plain

TRAVELLING = ("rack", "drum")  #: stages whose output is a travel
REQUIREMENT_HEAD = ("verdict", "requirement", "value", "limit", "margin")
_SENSES = {"max": "at most ", "min": "at least ", "is": ""}


def requirement_cells(r: Requirement) -> tuple[str, str, str, str, str]:
    """Judgement, name, value, limit, margin."""
    judged = "OPEN" if r.met is None else "PASS" if r.met else "FAIL"
    margin = "" if r.margin is None else f"margin {show_difference(r.margin, r.dimension)}"
    value = "not reached" if r.value is None and r.met is False else show(r.value, r.dimension)
    return judged, plain(r.name), value, _SENSES[r.sense] + show(r.limit, r.dimension), margin


def lift_row(assessment: Assessment) -> Row:
    """How the lift went."""
    lift, angle = assessment.lift, of(assessment.load, "angle")
    if lift.reached:
        return Row("lift time", f"{show(lift.time, 'time')} to {show(lift.final_angle, angle)}")
    if lift.stalled:
        text = f"does not arrive: stalls at {show(lift.stall_angle, angle)} after {show(lift.stall_time, 'time')}"
        return Row("lift time", text + (f" ({lift.stall_cause})" if lift.stall_cause else ""))
    if lift.reached is False:
        return Row("lift time", f"does not arrive: ends at {show(lift.final_angle, angle)}")
    return Row("lift time", UNKNOWN)


def motion_rows(assessment: Assessment) -> list[Row]:
    """Speeds of the run."""
    run = assessment.run
    if run is None:
        return []
    peak = abs(run.peaks.speed.value)
    tip = f" ({show(peak * run.machine.arm.length, 'velocity', 3)} at the tip)" if assessment.load == "arm" else ""
    speed = of(assessment.load, "angular_speed")
    rows = [Row("highest speed", show(peak, speed) + tip)]
    impact = stop_impact(run)
    if impact is not None:
        rows.append(Row("meets a stop at", show(impact, speed)))
    rows += buffer_rows(assessment)
    return rows


def supply_rows(assessment: Assessment) -> list[Row]:
    """Currents and voltage of the run."""
    run, energy = assessment.run, assessment.energy
    if run is None:
        return []
    peaks, each = run.peaks, " each" if run.machine.motor.count > 1 else ""
    motor = (
        f"peak {show(abs(peaks.motor_current.value), 'current')}, rms {show(run.motor_current_rms, 'current')}{each}"
    )
    supply = f"peak {show(peaks.supply_current.value, 'current')}, rms {show(run.supply_current_rms, 'current')}"
    if peaks.supply_current_back.value < 0.0:
        supply += f", returns up to {show(-peaks.supply_current_back.value, 'current')}"
    bus = f"{show(peaks.bus_voltage.value, 'voltage')} at {show(peaks.bus_voltage.time, 'time')}"
    seen = undervoltage_seen(run)
    if seen is not None:
        bus += "; RESETS on undervoltage" if seen else "; no reset on undervoltage"
    rows = [Row("motor current", motor), Row("supply current", supply), Row("lowest bus voltage", bus)]
    switching = worst_ripple(run)
    if switching is not None:
        text = f"up to {show(switching.peak_to_peak, 'current', 3)} from peak to peak in each winding, "
        text += f"{show(switching.extra_copper, 'share', 2)} more copper loss at most; the controller's capacitor "
        rows.append(Row("switching ripple", f"{text}carries up to {show(switching.capacitor, 'current', 3)} rms"))
    if energy is not None:
        taken = show(energy.supplied, "battery_energy")
        left = charge_left(run)
        rows.append(
            Row("energy taken", taken + (f", {show(left, 'share', 3)} of charge left" if left is not None else ""))
        )
    return rows


def heat_rows(assessment: Assessment) -> list[Row]:
    """Temperatures of the run."""
    run = assessment.run
    if run is None:
        return []
    heat = run.machine.motor.heat
    if heat is None:
        return [Row("winding", f"{UNKNOWN} (no thermal data)")]
    text = f"{show(run.peaks.winding.value, 'temperature')} at most"
    if heat.winding_limit is not None:
        text += f", limit {show(heat.winding_limit, 'temperature')}"
    if assessment.time_to_limit is not None:
        text += f"; stalled at full drive it is there in {show(assessment.time_to_limit, 'time', 3)}"
    if assessment.time_to_limit_warm is not None:
        text += f", from its hottest here in {show(assessment.time_to_limit_warm, 'time', 3)}"
    return [Row("winding", text)]


def device_name(p: ProtectionResult) -> str:
    """Kind and rating, and what it is worth in the warmth around it where that differs."""
    name = f"{plain(p.kind)} {show(p.rating, 'current')}"
    return name if p.in_force is None else f"{name} (here {show(p.in_force, 'current', 3)})"


def protection_row(p: ProtectionResult) -> Row:
    """What a device does in the run."""
    name = device_name(p)
    if p.trips is None:
        return Row(name, "trips: not known (not simulated)")
    heat = f"; trip state up to {show(p.heat_peak, 'share', 3)}" if p.heat_peak is not None else ""
    if p.trips is Trips.NO:
        return Row(name, f"trips: no{heat}")
    return Row(name, f"trips: {p.trips} (earliest {or_never(p.earliest)}, latest {or_never(p.latest)}){heat}")


def stall_row(p: ProtectionResult) -> Row:
    """How long a device takes with the motor stalled."""
    if p.stall_earliest is None:
        opens = "never opens at that"
    elif p.stall_latest is None:
        opens = f"may open from {show(p.stall_earliest, 'time', 3)} on, not for certain"
    else:
        opens = f"opens between {show(p.stall_earliest, 'time', 3)} and {show(p.stall_latest, 'time', 3)}"
    return Row(device_name(p), f"{show(p.stall_current, 'current')} through it when stalled: {opens}")


def or_never(time: float | None) -> str:
    """A trip time, or that there is none."""
    return "never" if time is None else show(time, "time", 3)


def static_rows(assessment: Assessment) -> list[Row]:
    """Margin, reduction and holding, which need no run; holding comes last."""
    lift, train = assessment.lift, assessment.transmission
    margin = show(lift.static_margin, "ratio", 3)
    if lift.worst_angle is not None:
        margin += f" times the torque needed, at {show(lift.worst_angle, of(assessment.load, 'angle'), 3)}"
    travels = assessment.load == "carriage"
    way = f"{show(math.tau / train.reduction, 'length')} a motor turn" if travels else f"{figure(train.reduction)}:1"
    efficiency = f"{way}, efficiency {show(train.efficiency_forward, 'share', 3)} lifting"
    locked = train.efficiency_reverse <= 0.0
    efficiency += ", locks in reverse" if locked else f", {show(train.efficiency_reverse, 'share', 3)} in reverse"
    return [
        Row("static margin", margin),
        Row("travel" if travels else "reduction", efficiency),
        Row("motor turns to lift", motor_words(train.motor)),
        *holding_rows(assessment),
    ]


def number_rows(assessment: Assessment) -> list[Row]:
    """The numbers that matter of a run, most asked first."""
    return [
        lift_row(assessment),
        *motion_rows(assessment),
        *loop_rows(assessment.run),
        *supply_rows(assessment),
        *charge_rows(assessment.battery),
        *(protection_row(p) for p in assessment.protection),
        *wiring_rows(assessment.wiring),
        *heat_rows(assessment),
        *cycle_rows(assessment.run),
        *static_rows(assessment),
        *part_rows(assessment),
        fall_row("coasting", assessment.holding.coasting, assessment.load),
        fall_row("shorted", assessment.holding.shorted, assessment.load),
    ]


def shaft_cells(shafts: Sequence[ShaftRow], load: str = "arm") -> list[tuple[str, ...]]:
    """Head and rows of the shaft table; with a carriage the last row is a travel."""
    inertia = "mass, at carriage" if load == "carriage" else "inertia, at arm"
    way = "turns for 1 m" if load == "carriage" else "reduction"
    rows: list[tuple[str, ...]] = [("shaft", way, "turns", "speed", "torque", "power", inertia)]
    for k, s in enumerate(shafts):
        travels = load == "carriage" and k == len(shafts) - 1
        turns = figure(s.turns_per_arm_turn / math.tau) if load == "carriage" else f"{figure(s.turns_per_arm_turn)}:1"
        rows.append(
            (
                s.name,
                "-" if travels else turns,
                "-" if travels else s.turning.word or "not known",
                show(s.speed, "velocity" if travels else "shaft_speed"),
                show(s.torque, "force" if travels else "torque"),
                show(s.power, "power"),
                show(s.reflected_inertia, of(load, "inertia")),
            )
        )
    return rows


def stage_cells(stages: Iterable[StageRow]) -> list[tuple[str, ...]]:
    """Head and rows of the stage table."""
    rows: list[tuple[str, ...]] = [
        ("stage", "reduction", "efficiency", "in reverse", "output torque", "contact force", "safety factor")
    ]
    rows += [
        (
            s.name if s.name == s.kind else f"{s.name} ({s.kind})",
            f"{show(math.tau / s.reduction, 'length')} a turn" if s.kind in TRAVELLING else f"{figure(s.reduction)}:1",
            show(s.efficiency_forward, "share", 3),
            "locks" if s.locks else show(s.efficiency_reverse, "share", 3),
            show(s.output_torque, "force" if s.kind in TRAVELLING else "torque"),
            show(s.contact_force, "force"),
            show(s.safety_factor, "ratio", 3),
        )
        for s in stages
    ]
    return rows


def detail_text(stage: StageRow) -> str:
    """A stage's geometry in one line."""
    play = "backlash_travel" if stage.kind in TRAVELLING else "backlash_angle"
    shown = {**stage.details, play: stage.backlash} if stage.backlash is not None else stage.details
    return "; ".join(f"{plain(name)} {show(value, detail_dimension(name))}" for name, value in shown.items())


def torque_cells(assessment: Assessment, rows: int = 7) -> list[tuple[str, ...]]:
    """Head and rows of torque needed and available, at even steps of angle."""
    curves = assessment.curves
    alone = ("gravity alone",) if np.any(curves.gravity != curves.load) else ()
    angle, torque = of(assessment.load, "angle"), of(assessment.load, "torque")
    head = "position" if assessment.load == "carriage" else "angle"
    cells: list[tuple[str, ...]] = [(head, *alone, "needed", "available", "available/needed", "stays up unpowered")]
    last = curves.angle.size - 1
    for k in sorted({round(j * last / (rows - 1)) for j in range(rows)}):
        needed, available, holdable = (float(x[k]) for x in (curves.needed, curves.available, curves.holdable))
        held = "not known" if math.isnan(holdable) else "yes" if abs(float(curves.load[k])) <= holdable else "no"
        cells.append(
            (
                show(float(curves.angle[k]), angle, 3),
                *(show(float(curves.gravity[k]), torque) for _ in alone),
                show(needed, torque),
                show(available, torque),
                figure(available / needed, 3) if needed > 0.0 else "-",
                held,
            )
        )
    return cells
