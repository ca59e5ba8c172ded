"""The journal of a run: samples, events and booked losses as they come, and the Run they make at the end."""

import math
from dataclasses import dataclass, field

import numpy as np

from armsim.drivetrain.machine import Machine
from armsim.dynamics.chapter import Chapter, balance, bind, peaks_of
from armsim.dynamics.field import Look
from armsim.dynamics.guards import Signal
from armsim.dynamics.modes import Mode
from armsim.dynamics.run import Costs, Event, Kind, Run, Series
from armsim.dynamics.segment import Sample
from armsim.dynamics.state import ANGLE, CURRENT, HOUSING, SPEED, WINDING, State, companion_entries, stored_energy
from armsim.dynamics.steering import Steering
from armsim.dynamics.tracking import Course, judge_course
from armsim.parts.arm import payload_energy, potential_energy, spring_energy
from armsim.parts.motor import heat_flows


@dataclass
class Journal:
    """What has been noted so far. The only mutable thing of a run."""

    machine: Machine  #: as loaded now
    start: State
    samples: list[tuple[Sample, Mode]] = field(default_factory=list)
    events: list[Event] = field(default_factory=list)
    booked: dict[str, float] = field(default_factory=lambda: {"impact": 0.0, "switching": 0.0})
    payload: float = 0.0  #: energy that went into payloads before the last change of load [J]
    stored: float = 0.0  #: energy stored besides, likewise [J]
    loaded: State = field(init=False)  #: state at the last change of load
    courses: list[Course] = field(default_factory=list)
    seen: dict[tuple[Signal, int], float] = field(default_factory=dict)
    ends: list[float] = field(default_factory=list)  #: of all segments, in time [s]
    steps: int = 0
    evaluations: int = 0

    def __post_init__(self) -> None:
        self.loaded = self.start

    def note(self, kind: Kind, time: float, state: State, text: str = "") -> None:
        """Enter an event with the arm's angle and speed just before it."""
        self.events.append(Event(time=time, angle=float(state[ANGLE]), speed=float(state[SPEED]), kind=kind, text=text))

    def book(self, account: str, before: State, after: State) -> None:
        """Book the stored energy that a jump of the state destroys."""
        self.booked[account] += stored_energy(self.machine, before) - stored_energy(self.machine, after)

    def exchange(self, machine: Machine, before: State, after: State) -> None:
        """The payload changes: close the account of the old one; one that leaves takes its motion along."""
        self.payload, self.stored = self.balances(before)
        gone = stored_energy(self.machine, before) - stored_energy(machine, after)
        self.stored -= gone
        if machine.arm.payload_mass < self.machine.arm.payload_mass:
            self.payload += gone
        else:
            self.booked["impact"] += gone
        self.machine, self.loaded = machine, after

    def balances(self, now: State) -> tuple[float, float]:
        """Energy that went into payloads and into what is stored besides, from the start to now. [J]"""
        machine, then = self.machine, self.loaded
        arm = machine.arm
        potential = potential_energy(arm, now[ANGLE]) - potential_energy(arm, then[ANGLE])
        lifted = payload_energy(arm, now[ANGLE]) - payload_energy(arm, then[ANGLE])
        moved = stored_energy(machine, now) - stored_energy(machine, then)
        springs = spring_energy(arm, now[ANGLE]) - spring_energy(arm, then[ANGLE])
        return self.payload + lifted, self.stored + moved + potential - lifted + springs

    def begin_course(self, steering: Steering, name: str) -> None:
        """A position loop begins to follow a reference; one that only stays where the last one ended goes on."""
        last = self.courses[-1] if self.courses else None
        stays = last is not None and last.until is None and steering.profile.duration == 0.0
        if stays and last is not None and last.profile.positions[-1] == steering.profile.positions[-1]:
            return
        self.end_course()
        self.courses.append(
            Course(
                name=name,
                begun=steering.begun,
                profile=steering.profile,
                tolerance=steering.loop.tolerance,
                since=len(self.samples),
            )
        )

    def end_course(self) -> None:
        """The loop leaves off."""
        if self.courses and self.courses[-1].until is None:
            self.courses[-1].until = len(self.samples)

    def limited(self) -> None:
        """The loop at work asks for more than bridge or current limit give."""
        self.courses[-1].limited = True


def chapter(journal: Journal, final: State) -> Chapter:
    """The journal, closed at a final state."""
    journal.end_course()
    rows = journal.samples
    count = len(journal.machine.stages)
    unknown = (math.nan,) * count
    payload, stored = journal.balances(final)
    time = np.array([sample.time for sample, _ in rows])
    angle = np.array([sample.state[ANGLE] for sample, _ in rows])
    reference = np.full_like(time, np.nan)
    for course in journal.courses:
        reference[course.since : course.until] = course.angles(time[course.since : course.until])
    return Chapter(
        time=time,
        states=np.array([sample.state for sample, _ in rows]),
        supply=np.array([sample.look.supply for sample, _ in rows]),
        bus=np.array([sample.look.bus if mode.connected else math.nan for sample, mode in rows]),
        duty=np.array([sample.look.duty if mode.powered else math.nan for sample, mode in rows]),
        torque=np.array([sample.look.torque for sample, _ in rows]),
        current_slope=np.array([sample.look.current_slope for sample, _ in rows]),
        warming=warming(journal, rows),
        acceleration=np.array([sample.look.acceleration for sample, _ in rows]),
        reference=reference,
        outputs=np.array([sample.look.outputs or unknown for sample, _ in rows]).reshape(len(rows), count),
        drivers=np.array([drivers(journal.machine, sample.look) or unknown for sample, _ in rows]).reshape(
            len(rows), count
        ),
        companions=companion_entries(journal.machine),
        stop=np.array([sample.look.stop for sample, _ in rows]),
        events=tuple(journal.events),
        tracks=tuple(judge_course(course, time, angle) for course in journal.courses if course.has_samples),
        booked=dict(journal.booked),
        payload=payload,
        stored=stored,
        change=final - journal.start,
        costs=Costs(segments=len(journal.ends), steps=journal.steps, evaluations=journal.evaluations),
    )


def drivers(machine: Machine, look: Look) -> tuple[float, ...]:
    """Torque with which the driver of each stage pushes, mesh loss included; nothing at rest. [N*m]"""
    moving = zip(machine.stages, look.outputs, look.gains, strict=True) if look.outputs else ()
    return tuple(output * gain / stage.reduction for stage, output, gain in moving)


def warming(journal: Journal, rows: list[tuple[Sample, Mode]]) -> Series:
    """Rate of change of the winding temperature at each sample. [K/s]"""
    motor = journal.machine.motor
    if motor.heat is None:
        return np.zeros(len(rows))
    rates = []
    for sample, _ in rows:
        current, winding, housing = sample.state[CURRENT], sample.state[WINDING], sample.state[HOUSING]
        copper = sample.look.resistance * current**2
        rates.append(heat_flows(copper, 0.0, winding, housing, journal.machine.ambient, motor.heat)[0])
    return np.array(rates)


def close(journal: Journal, final: State) -> Run:
    """The Run of a finished journal."""
    whole = chapter(journal, final)
    energy = balance(journal.machine, whole.change, payload=whole.payload, stored=whole.stored, booked=whole.booked)
    return bind(journal.machine, [whole], peaks_of(whole), whole.change, journal.seen, energy)
