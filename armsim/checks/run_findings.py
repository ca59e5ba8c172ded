"""Findings of a run and of its power cuts."""

import math
from collections.abc import Iterator

import numpy as np

from armsim.checks.assessment import Assessment, Fall, Finding, Level, ProtectionResult, Trips
from armsim.checks.codes import finding
from armsim.checks.holding import SETTLING
from armsim.checks.holding_findings import BRAKE
from armsim.checks.phrases import number, percent, place, rate, span, times
from armsim.checks.rest_findings import mend_text
from armsim.checks.shocks import GENTLE
from armsim.checks.stalls import MENDS, stall_cause, stall_kind, travel_outcomes
from armsim.drivetrain.machine import Machine
from armsim.dynamics.run import Event, Kind, Run
from armsim.parts.battery import open_circuit_voltage
from armsim.parts.outlet import Outlet, capacitance_to_stay_below

SAG = 0.8  #: share of open-circuit voltage below which the bus is worth a word
CLOSED = 1e-6  #: largest residual of a trusted energy account, over the throughput
RISE, CEILING = 1.02, 1.2  #: of the set voltage: what is worth a word, and what electronics usually stand [-]
TRICKLE = 0.01  #: current into the source below which nothing is said [A]
CAUGHT = math.radians(1.0)  #: overshoot of a hold from which on it is worth a word
SETTLED = (Kind.DRIVE_ON, Kind.HOLD, Kind.REST, Kind.END)


def travel_findings(machine: Machine, assessment: Assessment, run: Run) -> Iterator[Finding]:
    """Travels that did not arrive."""
    for outcome in travel_outcomes(run):
        if outcome.reached:
            continue
        end, kind = outcome.stall or outcome.during[-1], stall_kind(machine, outcome)
        lifting = outcome.name == "lift"
        text = f"The {outcome.name} begun at t = {number(outcome.begun.time)} s fails at t = {number(end.time)} s and "
        text += f"{place(machine, end.angle)}: {stall_cause(machine, outcome)}."
        mends = [mend_text(assessment) if lifting else "", MENDS.get(kind, "") if kind else ""]
        code = "does-not-lift" if lifting else "does-not-lower"
        yield finding(Level.ERROR, code, "moves", text, "; or ".join(mend for mend in mends if mend))


def protection_findings(machine: Machine, assessment: Assessment, run: Run) -> Iterator[Finding]:
    """Trips in the run, by both edges, and devices that close again."""
    for k, (device, result) in enumerate(zip(machine.protection, assessment.protection, strict=True)):
        where = f"supply.protection[{k}]"
        if result.trips is Trips.CERTAIN:
            text = f"The {_called(result)} opens: {span(result.earliest, result.latest)}."
            yield finding(Level.ERROR, "trips-for-certain", where, text, "less current, a shorter duty, or more rating")
        elif result.trips is Trips.POSSIBLE:
            text = f"The {_called(result)} may open, {span(result.earliest, result.latest)}. Two devices of one type "
            text += "differ by as much."
            yield finding(Level.WARNING, "trips-within-band", where, text, "less current, or the maker's own curve")
        if device.resets_itself and result.trips in (Trips.CERTAIN, Trips.POSSIBLE):
            reclosed = run.first(Kind.BREAKER_RECLOSES)
            text = f"The {_called(result)} closes again by itself and the arm moves without warning"
            text += "." if reclosed is None else f", here first at t = {number(reclosed.time)} s."
            yield finding(Level.WARNING, "recloses-unasked", where, text, "a device that a person must reset")


def _called(result: ProtectionResult) -> str:
    return f"{result.kind} of {number(result.rating)} A"


def supply_findings(machine: Machine, run: Run) -> Iterator[Finding]:
    """Bus voltage, resets, and current that comes back."""
    resets = [event for event in run.events if event.kind is Kind.UNDERVOLTAGE]
    if resets:
        text = f"The controller resets on undervoltage {times(len(resets))}, first at t = {number(resets[0].time)} s "
        text += f"at {place(machine, resets[0].angle)}; each time the arm is left to itself."
        yield finding(
            Level.ERROR, "undervoltage-resets", "supply.undervoltage", text, "less current or less resistance"
        )
    bus, source = run.peaks.bus_voltage, open_circuit_voltage(machine.battery, 0.0)
    if math.isfinite(bus.value) and bus.value < SAG * source:
        text = f"The bus falls to {number(bus.value)} V at t = {number(bus.time)} s, {percent(bus.value / source)} of "
        text += f"the {number(source)} V without load."
        yield finding(Level.WARNING, "bus-sags", "supply", text, "thicker or shorter wires, or a stronger battery")
    back = run.peaks.supply_current_back
    if back.value < -TRICKLE:
        text = f"Up to {number(-back.value)} A flow back into the source (t = {number(back.time)} s), which takes them."
        yield finding(Level.NOTE, "returns-energy", "supply", text)
    if machine.outlet is not None:
        yield from outlet_findings(machine, machine.outlet, run)


def outlet_findings(machine: Machine, outlet: Outlet, run: Run) -> Iterator[Finding]:
    """What a supply with limits does to the run."""
    limited = run.first(Kind.SUPPLY_LIMITS)
    if limited is not None:
        bus = run.peaks.bus_voltage.value
        text = f"The supply comes to its limit of {number(outlet.current_limit)} A at t = {number(limited.time)} s and "
        text += f"{place(machine, limited.angle)}; the bus falls as far as {number(max(bus, 0.0))} V and the motor "
        text += "gets no more."
        yield finding(Level.WARNING, "supply-limits", "supply.bench.current_limit", text, "a supply that gives more")
    peak, source = run.peaks.bus_highest, machine.highest_voltage
    if not outlet.can_sink and peak.value > RISE * source:
        ceiling = machine.controller.overvoltage or CEILING * source
        energy = 0.5 * outlet.capacitance * (peak.value**2 - source**2)
        text = f"The supply takes no current back: {number(energy)} J from the motor raise the bus from "
        text += f"{number(source)} V to {number(peak.value)} V (t = {number(peak.time)} s)."
        mend = "a battery, a brake resistor that switches in above the set voltage, or a slower stop"
        if peak.value > ceiling:
            needed = capacitance_to_stay_below(source, ceiling, energy)
            mend += f"; {number(1e3 * needed)} mF on the bus would keep it below {number(ceiling)} V"
        level = Level.ERROR if peak.value > ceiling else Level.WARNING
        yield finding(level, "bus-rises", "supply.bench.can_sink", text, mend)
    resets = [event for event in run.events if event.kind is Kind.OVERVOLTAGE]
    if resets:
        text = f"The controller switches off on overvoltage {times(len(resets))}, first at t = "
        text += f"{number(resets[0].time)} s at {place(machine, resets[0].angle)}; each time the arm is left to itself."
        yield finding(Level.ERROR, "overvoltage-resets", "supply.overvoltage", text, "a supply that takes current back")


def heat_findings(machine: Machine, run: Run) -> Iterator[Finding]:
    """The winding against its limit; of many cycles only where it stays within."""
    heat = machine.motor.heat
    if heat is None or heat.winding_limit is None:
        return
    peak = run.peaks.winding
    text = f"The winding comes to {number(peak.value)} degC at t = {number(peak.time)} s; its limit is "
    text += f"{number(heat.winding_limit)} degC."
    if peak.value > heat.winding_limit and len(run.cycles) > 1:
        return  # told by the cycle in which it passes
    if peak.value > heat.winding_limit:
        yield finding(
            Level.ERROR, "winding-too-hot", "motor.thermal", text, "less current, shorter stalls, longer rests"
        )
    elif peak.value > heat.winding_limit - 10.0:
        yield finding(Level.WARNING, "winding-near-limit", "motor.thermal", text, "longer rests or less current")


def motion_findings(machine: Machine, run: Run) -> Iterator[Finding]:
    """Stops met, holds lost, sinking at rest, and jams."""
    hits = [
        event for event in run.events if event.kind is Kind.STOP_HIT and abs(event.speed) > GENTLE * machine.arm.small
    ]
    if hits:
        worst = max(hits, key=lambda event: abs(event.speed))
        energy = 0.5 * machine.inertia * worst.speed**2
        text = f"The arm runs into its stop at {place(machine, worst.angle)} with {rate(machine, abs(worst.speed))} "
        text += f"({number(energy)} J, rotor included)."
        yield finding(Level.WARNING, "hits-stop", "arm.stops", text, "slow down before the stop, or a damper on it")
    lost = run.first(Kind.CANNOT_HOLD)
    if lost is not None:
        text = f"At {place(machine, lost.angle)} the drive cannot give the current that the hold asks for."
        yield finding(Level.ERROR, "cannot-hold", "controller.current_limit", text)
    caught = max((t for t in run.tracks if t.tracking_error is None), key=lambda t: t.overshoot, default=None)
    if caught is not None and caught.overshoot > CAUGHT * machine.arm.small:
        text = f"The {caught.name} from t = {number(caught.begun)} s catches the arm in motion, which swings "
        text += f"{place(machine, caught.overshoot)} past {place(machine, caught.target)}."
        yield finding(Level.NOTE, "caught-in-motion", "moves", text, "a profile for the move before it")
    moved = list(sinkings(run))
    if moved:
        begun, sunk = moved[0]
        text = f"In the {begun.kind.value.partition('_')[0]} from t = {number(begun.time)} s the arm moves from "
        text += f"{place(machine, begun.angle)} to {place(machine, sunk)}" + (
            f"; so {len(moved)} times." if moved[1:] else "."
        )
        yield finding(Level.WARNING, "sinks-while-held", "moves", text, BRAKE)
    jammed = run.first(Kind.JAM)
    if jammed is not None:
        text = f"At t = {number(jammed.time)} s and {place(machine, jammed.angle)} the self-locking stage stops the "
        text += f"drive at once from {rate(machine, abs(jammed.speed))}: a blow for teeth and shafts that is not "
        text += "modelled further."
        yield finding(Level.WARNING, "jams", "transmission", text, "let the speed run down under power instead")


def sinkings(run: Run) -> Iterator[tuple[Event, float]]:
    """Holds and rests in which the arm moves, with the angle it comes to [rad]."""
    events = run.events
    for k, event in enumerate(events):
        if event.kind in (Kind.HOLD, Kind.REST):
            end = next((later for later in events[k + 1 :] if later.kind in SETTLED), None)
            final = float(run.angle[-1]) if end is None else end.angle
            if abs(final - event.angle) > SETTLING * run.machine.arm.small:
                yield event, final


def fall_findings(machine: Machine, assessment: Assessment) -> Iterator[Finding]:
    """What the power cuts show."""
    coasting, shorted = assessment.holding.coasting, assessment.holding.shorted
    if assessment.run is not None and coasting is None and shorted is None:
        yield finding(Level.NOTE, "cut-not-reached", "power_cut", "The run never comes to where power was to be cut.")
    if coasting is not None and not coasting.holds:
        text = f"Power lost at {place(machine, coasting.at)} with the motor open: {_leaves(machine, coasting)}."
        yield finding(Level.WARNING, "falls-unpowered", "power_cut", text, BRAKE)
    if shorted is not None and not shorted.holds:
        text = f"Power lost at {place(machine, shorted.at)} with the motor shorted: {_leaves(machine, shorted)}. "
        text += "A shorted motor slows the arm and does not hold it."
        yield finding(Level.WARNING, "shorted-creeps", "power_cut", text, BRAKE)


def _leaves(machine: Machine, fall: Fall) -> str:
    if fall.fall_time is not None and fall.impact_speed is not None:
        return f"the arm {fall.way} to its stop in {number(fall.fall_time)} s, at {rate(machine, fall.impact_speed)}"
    end = place(machine, fall.final_angle) if fall.final_angle is not None else "an unknown angle"
    if fall.run is not None and float(fall.run.speed[-1]) != 0.0:
        seconds = float(np.ptp(fall.run.time))
        return f"the arm still moves at {end} after {number(seconds)} s"
    return f"the arm {fall.way} to {end}, at up to {rate(machine, fall.peak_speed or 0.0)}"


def trust_findings(run: Run) -> Iterator[Finding]:
    """Whether the run's own books balance."""
    energy = run.energy
    if abs(energy.residual) > CLOSED * energy.throughput:
        lost = f"{number(abs(energy.residual))} J of {number(energy.throughput)} J"
        text = f"{lost} are unaccounted for: do not trust this run."
        yield finding(Level.ERROR, "energy-open", "run", text)
