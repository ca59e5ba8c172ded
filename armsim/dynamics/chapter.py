"""What a stretch of a run leaves behind as arrays, and the Run that such stretches make together."""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from armsim.drivetrain.machine import Machine
from armsim.dynamics.guards import Signal
from armsim.dynamics.run import (
    Costs,
    Cycle,
    Energy,
    Event,
    Extreme,
    Peaks,
    Run,
    Series,
    Settling,
    Track,
    TripTimes,
)
from armsim.dynamics.state import (
    ANGLE,
    BRUSHES,
    BUFFER,
    CHARGE,
    COPPER,
    CURRENT,
    CURRENT_SQUARED,
    HOUSING,
    LOADS,
    PIVOT,
    RELAXING,
    ROTOR,
    SPEED,
    STAGES,
    SUPPLIED,
    SUPPLY_SQUARED,
    WINDING,
    State,
    asides,
    companion_entries,
    companions,
    edge_slices,
)
from armsim.parts.motor import ROTOR_LOSS


@dataclass(frozen=True, kw_only=True)
class Chapter:
    """A finished journal as arrays: a run without repeats, or one cycle of one with."""

    time: Series
    states: NDArray[np.float64]
    supply: Series
    bus: Series  #: NaN while disconnected
    duty: Series  #: NaN while the bridge is off
    torque: Series
    current_slope: Series  #: [A/s]
    acceleration: Series  #: [rad/s2]
    warming: Series  #: of the winding [K/s]
    reference: Series  #: of a position loop at work, else NaN
    outputs: NDArray[np.float64]  #: torque delivered by each stage while moving, else NaN
    companions: range  #: where their currents stand in a state
    drivers: NDArray[np.float64]  #: torque with which the driver of each stage pushes, likewise
    stop: Series  #: torque of a buffer on the arm
    events: tuple[Event, ...]
    tracks: tuple[Track, ...]
    booked: dict[str, float]
    payload: float
    stored: float
    change: State  #: of the state from start to end
    costs: Costs


def bind(
    machine: Machine,
    chapters: list[Chapter],
    peaks: Peaks,
    change: State,
    seen: dict[tuple[Signal, int], float],
    energy: Energy,
    duration: float | None = None,
    cycles: tuple[Cycle, ...] = (),
    settling: Settling | None = None,
) -> Run:
    """One Run of chapters in order; all else is of everything, chapters left out included."""

    def joined(part: Callable[[Chapter], Series]) -> Series:
        return np.concatenate([part(one) for one in chapters])

    states = np.concatenate([one.states for one in chapters])
    earliest, latest = heat_series(machine, states)
    time = joined(lambda one: one.time)
    lasted = max(float(time[-1] - time[0]) if duration is None else duration, 1e-300)
    return Run(
        machine=machine,
        time=time,
        angle=states[:, ANGLE],
        speed=states[:, SPEED],
        motor_current=states[:, CURRENT],
        supply_current=joined(lambda one: one.supply),
        bus_voltage=joined(lambda one: one.bus),
        duty=joined(lambda one: one.duty),
        companion_currents=tuple(states[:, k] for k in companion_entries(machine)),
        companion_currents_rms=tuple(
            math.sqrt(max(square, 0.0) / lasted) for square in change[companions(machine)][1::3].tolist()
        ),
        motor_torque=joined(lambda one: one.torque),
        reference=joined(lambda one: one.reference),
        winding=states[:, WINDING],
        housing=states[:, HOUSING],
        charge_drawn=states[:, CHARGE],
        heat_earliest=earliest,
        heat_latest=latest,
        events=tuple(event for one in chapters for event in one.events),
        tracks=tuple(track for one in chapters for track in one.tracks),
        peaks=peaks,
        motor_current_rms=math.sqrt(max(change[CURRENT_SQUARED], 0.0) / lasted),
        supply_current_rms=math.sqrt(max(change[SUPPLY_SQUARED], 0.0) / lasted),
        trips=tuple(
            TripTimes(
                earliest=seen.get((Signal.EARLIEST, j)),
                latest=seen.get((Signal.LATEST, j)),
                heat_peak=float(series.max()),
            )
            for j, series in enumerate(earliest)
        ),
        energy=energy,
        costs=Costs(
            segments=sum(one.costs.segments for one in chapters),
            steps=sum(one.costs.steps for one in chapters),
            evaluations=sum(one.costs.evaluations for one in chapters),
        ),
        cycles=cycles,
        settling=settling,
    )


def peaks_of(one: Chapter) -> Peaks:
    """Extremes of a chapter."""
    time, states = one.time, one.states
    current, speed = states[:, CURRENT], states[:, SPEED]
    return Peaks(
        motor_current=highest(time, np.abs(current), np.sign(current) * one.current_slope),
        supply_current=highest(time, one.supply),
        supply_current_back=lowest(time, one.supply),
        bus_voltage=lowest(time, one.bus),
        bus_highest=highest(time, one.bus),
        speed=highest(time, np.abs(speed), np.sign(speed) * one.acceleration),
        winding=highest(time, states[:, WINDING], one.warming),
        housing=highest(time, states[:, HOUSING]),
        stage_torques=tuple(highest(time, np.abs(column)) for column in one.outputs.T),
        driver_torques=tuple(highest(time, np.abs(column)) for column in one.drivers.T),
        stop_torque=highest(time, one.stop),
        companion_currents=tuple(highest(time, np.abs(states[:, k])) for k in one.companions),
    )


def most(peaks: list[Peaks]) -> Peaks:
    """The extremes of all."""

    def best(pick: Callable[[Peaks], Extreme], sign: float = 1.0) -> Extreme:
        known = [pick(one) for one in peaks if not math.isnan(pick(one).value)]
        return max(known, key=lambda extreme: sign * extreme.value) if known else pick(peaks[0])

    return Peaks(
        motor_current=best(lambda one: one.motor_current),
        supply_current=best(lambda one: one.supply_current),
        supply_current_back=best(lambda one: one.supply_current_back, -1.0),
        bus_voltage=best(lambda one: one.bus_voltage, -1.0),
        bus_highest=best(lambda one: one.bus_highest),
        speed=best(lambda one: one.speed),
        winding=best(lambda one: one.winding),
        housing=best(lambda one: one.housing),
        stage_torques=tuple(
            best(lambda one, k=k: one.stage_torques[k])  # type: ignore[misc]
            for k in range(len(peaks[0].stage_torques))
        ),
        driver_torques=tuple(
            best(lambda one, k=k: one.driver_torques[k])  # type: ignore[misc]
            for k in range(len(peaks[0].driver_torques))
        ),
        stop_torque=best(lambda one: one.stop_torque),
        companion_currents=tuple(
            best(lambda one, k=k: one.companion_currents[k])  # type: ignore[misc]
            for k in range(len(peaks[0].companion_currents))
        ),
    )


def heat_series(machine: Machine, states: NDArray[np.float64]) -> tuple[tuple[Series, ...], tuple[Series, ...]]:
    """Thermal state of each device's edges over their trip levels. [-]"""
    pairs = []
    for device, (first, second) in zip(machine.protection, edge_slices(machine), strict=True):
        pairs.append(
            (
                states[:, first] @ np.array(device.earliest.weights) / device.earliest.trip_level,
                states[:, second] @ np.array(device.latest.weights) / device.latest.trip_level,
            )
        )
    return tuple(a for a, _ in pairs), tuple(b for _, b in pairs)


class CompanionAccount(NamedTuple):
    """What the circuits and rotors of all companions took."""

    copper: float  #: [J]
    bridges: float  #: [J]
    leads: float  #: [J]
    friction: float  #: [J]


def companion_account(machine: Machine, quadratures: list[float]) -> CompanionAccount:
    """From what stands of each: current, integral of its square, and friction, in turn."""
    pairs = list(zip(machine.companions, quadratures[1::3], strict=True))
    return CompanionAccount(
        copper=sum(one.count * one.resistance * square for one, square in pairs),
        bridges=sum(one.count * one.bridge_resistance * square for one, square in pairs),
        leads=sum(one.count * one.lead_resistance * square for one, square in pairs),
        friction=sum(quadratures[2::3]),
    )


def balance(machine: Machine, change: State, *, payload: float, stored: float, booked: dict[str, float]) -> Energy:
    """The account of a change of state, with what went into payloads, what is stored, and what was booked."""
    motor, parts = machine.motor, change.tolist()
    everything = list(zip(machine.stages, parts[STAGES : STAGES + len(machine.stages)], strict=True))
    stage_losses = tuple(loss for stage, loss in everything if stage.kind != ROTOR_LOSS)
    rotor_loss = sum(loss for stage, loss in everything if stage.kind == ROTOR_LOSS)
    aside, others = parts[asides(machine)], companion_account(machine, parts[companions(machine)])
    losses = {
        "battery": machine.battery.resistance * parts[SUPPLY_SQUARED] + parts[RELAXING],
        "wiring": machine.wiring_resistance * parts[SUPPLY_SQUARED]
        + machine.lead_resistance * motor.count * parts[CURRENT_SQUARED]
        + others.leads,
        "other_loads": parts[LOADS],
        "bridge": machine.controller.resistance * motor.count * parts[CURRENT_SQUARED] + others.bridges,
        "copper": parts[COPPER] + others.copper,
        "brushes": parts[BRUSHES],
        "motor_friction": parts[ROTOR] + rotor_loss + others.friction,
        "stages": sum(stage_losses),
        "pivot": parts[PIVOT],
        **({"side_loads": sum(aside)} if aside else {}),
        **booked,
    }
    if not machine.arm.stop.rigid:
        losses["impact"] += parts[BUFFER]
    supplied = parts[SUPPLIED]
    sizes = [abs(supplied), abs(payload), abs(stored), sum(abs(loss) for loss in losses.values())]
    return Energy(
        supplied=supplied,
        payload_lifted=payload,
        stored=stored,
        losses=losses,
        stage_losses=stage_losses,
        side_losses=tuple(aside),
        throughput=max(sizes),
        residual=supplied - payload - stored - sum(losses.values()),
    )


def highest(time: Series, values: Series, slopes: Series | None = None) -> Extreme:
    """Largest value: the top of the cubic between samples where their slopes are known, else of a parabola."""
    if np.all(np.isnan(values)):
        return Extreme(value=float("nan"), time=float(time[0]))
    k = int(np.nanargmax(values))
    found = [Extreme(value=float(values[k]), time=float(time[k]))]
    if slopes is not None:
        around = range(max(k - 2, 0), min(k + 3, len(time) - 1))  # an instant may stand twice, with another slope
        found += [hermite_top(time, values, slopes, j) for j in around if time[j + 1] > time[j]]
    elif 0 < k < len(time) - 1 and time[k - 1] < time[k] < time[k + 1]:
        found.append(parabola_top(time[k - 1 : k + 2], values[k - 1 : k + 2]))
    return max(found, key=lambda extreme: extreme.value)


def parabola_top(time: Series, values: Series) -> Extreme:
    """Top of the parabola through three samples, kept between them; the middle one where it has none."""
    t, v = time - time[1], values
    left, right = (v[1] - v[0]) / -t[0], (v[2] - v[1]) / t[2]
    curve = (right - left) / (t[2] - t[0])
    slope = left + curve * -t[0]
    if not (np.isfinite(curve) and curve < 0.0):
        return Extreme(value=float(v[1]), time=float(time[1]))
    shift = float(np.clip(-slope / (2.0 * curve), t[0], t[2]))
    return Extreme(value=float(v[1] + slope * shift + curve * shift * shift), time=float(time[1] + shift))


def hermite_top(time: Series, values: Series, slopes: Series, k: int) -> Extreme:
    """Top of the cubic between two samples that rises from the first and falls to the second; else the higher end."""
    span = float(time[k + 1] - time[k])
    a, b = float(values[k]), float(values[k + 1])
    rise, fall = span * float(slopes[k]), span * float(slopes[k + 1])
    if rise > 0.0 > fall:
        # v = a + rise s + c s^2 + d s^3 on 0..1
        c, d = 3.0 * (b - a) - 2.0 * rise - fall, rise + fall - 2.0 * (b - a)
        root = rise / (-c + math.sqrt(c * c - 3.0 * d * rise))
        if 0.0 < root < 1.0:
            return Extreme(value=a + root * (rise + root * (c + root * d)), time=float(time[k]) + root * span)
    return max(Extreme(value=a, time=float(time[k])), Extreme(value=b, time=float(time[k + 1])), key=lambda e: e.value)


def lowest(time: Series, values: Series) -> Extreme:
    """Smallest value, likewise."""
    top = highest(time, -values)
    return replace(top, value=-top.value)
