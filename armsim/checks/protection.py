"""Do the protective devices open: in the run by both edges of their bands, and with the motor stalled from cold."""

import math
from collections.abc import Iterator, Sequence

from armsim.checks.assessment import Finding, Level, ProtectionResult, TripRow, Trips
from armsim.checks.codes import finding
from armsim.checks.phrases import number
from armsim.drivetrain.circuit import drive_point
from armsim.drivetrain.machine import Machine
from armsim.dynamics.run import Run, Series, TripTimes
from armsim.parts.protection import Edge, Protection, heating, trip_time

MULTIPLES = (2.0, 3.0, 6.0)  #: of the rating, for which trip times are told
HOLDS = 0.95  #: share of its rating that a device holds, as its number leads one to expect


def verdict(times: TripTimes) -> Trips:
    """A band is no line: certain once the latest edge trips, possible once the earliest does."""
    if times.latest is not None:
        return Trips.CERTAIN
    return Trips.NO if times.earliest is None else Trips.POSSIBLE


def judge_protection(machine: Machine, duty: float, run: Run | None) -> tuple[ProtectionResult, ...]:
    """Each device in the run, if there is one, and against the stall current at a duty."""
    point = drive_point(machine, duty)
    times = [None] * len(machine.protection) if run is None else list(run.trips)
    return tuple(
        _judge(
            device,
            seen,
            abs(point.duty * point.current) if device.branch else point.supply_current,
            None if run is None else rms_through(device, run),
        )
        for device, seen in zip(machine.protection, times, strict=True)
    )


def through(device: Protection, run: Run) -> Series:
    """Current through a device over a run: the supply's, or one controller's share of it. [A]"""
    if not device.branch:
        return run.supply_current
    machine = run.machine
    return (run.supply_current - machine.other_loads) / machine.motor.count


def rms_through(device: Protection, run: Run) -> float:
    """Root mean square of that over all of the run. [A]"""
    if not device.branch:
        return run.supply_current_rms
    loads, lasted = run.machine.other_loads, float(run.time[-1] - run.time[0])
    mean = float(run.charge_drawn[-1] - run.charge_drawn[0]) / lasted if lasted > 0.0 else 0.0
    square = run.supply_current_rms**2 - 2.0 * loads * mean + loads**2
    return math.sqrt(max(square, 0.0)) / run.machine.motor.count


def nearest_to_opening(results: Sequence[ProtectionResult]) -> int:
    """Which of some devices came nearest to its trip level in the run."""
    return max(range(len(results)), key=lambda k: results[k].heat_peak or 0.0)


def _judge(device: Protection, seen: TripTimes | None, current: float, rms: float | None) -> ProtectionResult:
    warm = device.in_force if rms is None else rms
    rows = tuple(trip_rows(device, current, warm))
    return ProtectionResult(
        kind=device.kind,
        rating=device.rating,
        trips=None if seen is None else verdict(seen),
        earliest=None if seen is None else seen.earliest,
        latest=None if seen is None else seen.latest,
        heat_peak=None if seen is None else seen.heat_peak,
        in_force=None if device.factor == 1.0 else device.in_force,
        stall_current=current,
        stall_earliest=rows[0].cold_earliest,
        stall_latest=rows[0].cold_latest,
        warm_current=warm,
        trip_rows=rows,
    )


def trip_rows(device: Protection, stalled: float, warm: float) -> Iterator[TripRow]:
    """Times at the stall current and at multiples of the rating, from cold and after long running at a current [A]."""
    cases = [
        ("stalled", stalled),
        *((f"{multiple:g} times its rating", multiple * device.rating) for multiple in MULTIPLES),
    ]
    early, late = (heating(edge, warm / device.in_force) for edge in (device.earliest, device.latest))
    for case, current in cases:
        multiple = current / device.in_force
        yield TripRow(
            case=case,
            current=current,
            cold_earliest=_or_never(device.earliest, multiple, 0.0),
            cold_latest=_or_never(device.latest, multiple, 0.0),
            warm_earliest=_or_never(device.earliest, multiple, early),
            warm_latest=_or_never(device.latest, multiple, late),
        )


def _or_never(edge: Edge, multiple: float, start: float) -> float | None:
    time = trip_time(edge, multiple, start)
    return time if math.isfinite(time) else None


def steady_findings(machine: Machine, run: Run | None) -> Iterator[Finding]:
    """Devices whose number is no current that they hold, and cycles that one would not bear for ever."""
    for k, device in enumerate(machine.protection):
        where, share = f"supply.protection[{k}]", device.earliest.ultimate_multiple
        held, sure = share * device.in_force, device.latest.ultimate_multiple * device.in_force
        name = f"{device.kind} of {number(device.rating)} A"
        if share < HOLDS:
            text = f"The number of the {name} is no current that it holds: {number(held)} A is all that it carries for "
            yield finding(Level.NOTE, "holds-below-rating", where, f"{text}good.")
        rms = None if run is None else rms_through(device, run)
        if run is None or rms is None or rms <= held or verdict(run.trips[k]) is not Trips.NO:
            continue
        text = f"The {name} bears the run; repeated for ever, its rms of {number(rms)} A "
        text += "would open it for certain" if rms > sure else "may open it"
        text += f", since it holds {number(held)} A."
        yield finding(Level.WARNING, "trips-when-repeated", where, text, "longer rests, less current, or more rating")
