"""The journal of a run: samples, events and booked losses as they come, and the Run they make at the end."""

from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from armsim.drivetrain.machine import Machine
from armsim.dynamics.field import (
    ANGLE,
    CHARGE,
    COPPER,
    CURRENT,
    CURRENT_SQUARED,
    HOUSING,
    LOADS,
    PIVOT,
    ROTOR,
    SPEED,
    STAGES,
    SUPPLIED,
    SUPPLY_SQUARED,
    WINDING,
    State,
    edge_slices,
    stored_energy,
)
from armsim.dynamics.guards import Signal
from armsim.dynamics.modes import Mode
from armsim.dynamics.run import Costs, Energy, Event, Extreme, Kind, Peaks, Run, Series, TripTimes
from armsim.dynamics.segment import Sample
from armsim.parts.arm import potential_energy, spring_energy
from armsim.parts.motor import ROTOR_LOSS


@dataclass
class Journal:
    """What has been noted so far. The only mutable thing of a run."""

    machine: Machine
    start: State
    begin: float = 0.0
    samples: list[tuple[Sample, Mode]] = field(default_factory=list)
    events: list[Event] = field(default_factory=list)
    booked: dict[str, float] = field(default_factory=lambda: {"impact": 0.0, "switching": 0.0})
    seen: dict[tuple[Signal, int], float] = field(default_factory=dict)
    segments: int = 0
    steps: int = 0
    evaluations: int = 0

    def note(self, kind: Kind, time: float, state: State, text: str = "") -> None:
        """Enter an event with the arm's angle and speed just before it."""
        self.events.append(Event(time=time, angle=float(state[ANGLE]), speed=float(state[SPEED]), kind=kind, text=text))

    def book(self, account: str, before: State, after: State) -> None:
        """Book the stored energy that a jump of the state destroys."""
        self.booked[account] += stored_energy(self.machine, before) - stored_energy(self.machine, after)


def close(journal: Journal, final: State) -> Run:
    """The Run of a finished journal."""
    machine, rows = journal.machine, journal.samples
    time = np.array([sample.time for sample, _ in rows])
    states = np.array([sample.state for sample, _ in rows])
    looks = [(sample.look, mode) for sample, mode in rows]
    supply = np.array([now.supply for now, _ in looks])
    bus = np.array([now.bus if mode.connected else np.nan for now, mode in looks])
    duty = np.array([now.duty if mode.powered else np.nan for now, mode in looks])
    earliest, latest = heat_series(machine, states)
    change = final - journal.start
    duration = max(time[-1] - journal.begin, 1e-300)
    current = states[:, CURRENT]
    return Run(
        machine=machine,
        time=time,
        angle=states[:, ANGLE],
        speed=states[:, SPEED],
        motor_current=current,
        supply_current=supply,
        bus_voltage=bus,
        duty=duty,
        motor_torque=np.array([now.torque for now, _ in looks]),
        winding=states[:, WINDING],
        housing=states[:, HOUSING],
        charge_drawn=states[:, CHARGE],
        heat_earliest=earliest,
        heat_latest=latest,
        events=tuple(journal.events),
        peaks=Peaks(
            motor_current=highest(time, np.abs(current)),
            supply_current=highest(time, supply),
            supply_current_back=lowest(time, supply),
            bus_voltage=lowest(time, bus),
            speed=highest(time, np.abs(states[:, SPEED])),
            winding=highest(time, states[:, WINDING]),
            housing=highest(time, states[:, HOUSING]),
        ),
        motor_current_rms=float(np.sqrt(max(change[CURRENT_SQUARED], 0.0) / duration)),
        supply_current_rms=float(np.sqrt(max(change[SUPPLY_SQUARED], 0.0) / duration)),
        trips=tuple(
            TripTimes(
                earliest=journal.seen.get((Signal.EARLIEST, j)),
                latest=journal.seen.get((Signal.LATEST, j)),
                heat_peak=float(series.max()),
            )
            for j, series in enumerate(earliest)
        ),
        energy=account(journal, final),
        costs=Costs(segments=journal.segments, steps=journal.steps, evaluations=journal.evaluations),
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


def account(journal: Journal, final: State) -> Energy:
    """Where the energy went between the journal's start and a final state."""
    machine, start = journal.machine, journal.start
    change = (final - start).tolist()
    arm, motor = machine.arm, machine.motor
    potential = potential_energy(arm, final[ANGLE]) - potential_energy(arm, start[ANGLE])
    share = arm.payload_mass * arm.payload_at / arm.first_moment if arm.first_moment else 0.0
    everything = list(zip(machine.stages, change[STAGES : STAGES + len(machine.stages)], strict=True))
    stage_losses = tuple(loss for stage, loss in everything if stage.kind != ROTOR_LOSS)
    rotor_loss = sum(loss for stage, loss in everything if stage.kind == ROTOR_LOSS)
    losses = {
        "battery": machine.battery.resistance * change[SUPPLY_SQUARED],
        "wiring": machine.wiring_resistance * change[SUPPLY_SQUARED],
        "other_loads": change[LOADS],
        "bridge": machine.controller.resistance * motor.count * change[CURRENT_SQUARED],
        "copper": change[COPPER],
        "motor_friction": change[ROTOR] + rotor_loss,
        "stages": sum(stage_losses),
        "pivot": change[PIVOT],
        **journal.booked,
    }
    moved = stored_energy(machine, final) - stored_energy(machine, start)
    payload = share * potential
    springs = spring_energy(arm, final[ANGLE]) - spring_energy(arm, start[ANGLE])
    stored = moved + potential - payload + springs
    supplied = change[SUPPLIED]
    sizes = [abs(supplied), abs(payload), abs(stored), sum(abs(loss) for loss in losses.values())]
    return Energy(
        supplied=supplied,
        payload_lifted=payload,
        stored=stored,
        losses=losses,
        stage_losses=stage_losses,
        throughput=max(sizes),
        residual=supplied - payload - stored - sum(losses.values()),
    )


def highest(time: Series, values: Series) -> Extreme:
    """Largest value, by the parabola through the samples around it."""
    if np.all(np.isnan(values)):
        return Extreme(value=float("nan"), time=float(time[0]))
    k = int(np.nanargmax(values))
    value, at = float(values[k]), float(time[k])
    if 0 < k < len(time) - 1 and time[k - 1] < time[k] < time[k + 1]:
        t, v = time[k - 1 : k + 2] - at, values[k - 1 : k + 2]
        left, right = (v[1] - v[0]) / -t[0], (v[2] - v[1]) / t[2]
        curve = (right - left) / (t[2] - t[0])
        slope = left + curve * -t[0]
        if np.isfinite(curve) and curve < 0.0:
            shift = float(np.clip(-slope / (2.0 * curve), t[0], t[2]))
            return Extreme(value=value + slope * shift + curve * shift * shift, time=at + shift)
    return Extreme(value=value, time=at)


def lowest(time: Series, values: Series) -> Extreme:
    """Smallest value, likewise."""
    top = highest(time, -values)
    return replace(top, value=-top.value)
