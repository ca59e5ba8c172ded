"""Do the protective devices open: in the run by both edges of their bands, and with the motor stalled from cold."""

import math
from collections.abc import Sequence

from armsim.checks.assessment import ProtectionResult, Trips
from armsim.drivetrain.circuit import drive_point
from armsim.drivetrain.machine import Machine
from armsim.dynamics.run import Run, TripTimes
from armsim.parts.protection import Edge, Protection, trip_time


def verdict(times: TripTimes) -> Trips:
    """A band is no line: certain once the latest edge trips, possible once the earliest does."""
    if times.latest is not None:
        return Trips.CERTAIN
    return Trips.NO if times.earliest is None else Trips.POSSIBLE


def judge_protection(machine: Machine, duty: float, run: Run | None) -> tuple[ProtectionResult, ...]:
    """Each device in the run, if there is one, and against the stall current at a duty."""
    current = drive_point(machine, duty).supply_current
    times = [None] * len(machine.protection) if run is None else list(run.trips)
    return tuple(_judge(device, seen, current) for device, seen in zip(machine.protection, times, strict=True))


def nearest_to_opening(results: Sequence[ProtectionResult]) -> int:
    """Which of some devices came nearest to its trip level in the run."""
    return max(range(len(results)), key=lambda k: results[k].heat_peak or 0.0)


def _judge(device: Protection, seen: TripTimes | None, current: float) -> ProtectionResult:
    return ProtectionResult(
        kind=device.kind,
        rating=device.rating,
        trips=None if seen is None else verdict(seen),
        earliest=None if seen is None else seen.earliest,
        latest=None if seen is None else seen.latest,
        heat_peak=None if seen is None else seen.heat_peak,
        stall_current=current,
        stall_earliest=_from_cold(device.earliest, current / device.rating),
        stall_latest=_from_cold(device.latest, current / device.rating),
    )


def _from_cold(edge: Edge, multiple: float) -> float | None:
    time = trip_time(edge, multiple)
    return time if math.isfinite(time) else None
