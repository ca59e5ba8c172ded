"""What a run leaves behind: time series, events, extremes, and the energy account."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from armsim.drivetrain.machine import Machine

Series = NDArray[np.float64]


class Kind(StrEnum):
    """Everything that can happen in a run; the value is the word in results and files."""

    START = "start"
    DRIVE_ON = "drive_on"
    DRIVE_OFF = "drive_off"
    BREAKAWAY = "breakaway"
    REVERSES = "reverses"
    COMES_TO_REST = "comes_to_rest"
    LIMIT_ENTERED = "current_limit_entered"
    LIMIT_LEFT = "current_limit_left"
    TRIP_POSSIBLE = "trip_possible"
    TRIP_CERTAIN = "trip_certain"
    BREAKER_OPENS = "breaker_opens"
    BREAKER_RECLOSES = "breaker_recloses"
    SUPPLY_LIMITS = "supply_limits"
    SUPPLY_RECOVERS = "supply_recovers"
    BUS_RISES = "bus_rises"
    UNDERVOLTAGE = "undervoltage"
    OVERVOLTAGE = "overvoltage"
    RESTARTS = "controller_restarts"
    STALL = "stall"
    REACHED = "reached"
    STOP_HIT = "stop_hit"
    HOLD = "hold_begins"
    CANNOT_HOLD = "cannot_hold"
    REST = "rest_begins"
    PAYLOAD = "payload_changes"
    POWER_CUT = "power_cut"
    JAM = "jam"
    GIVEN_UP = "given_up"
    END = "end"


@dataclass(frozen=True, kw_only=True)
class Event:
    """Something that happened, where the arm was, and how fast it moved just before."""

    time: float  #: [s]
    angle: float  #: [rad]
    speed: float  #: just before [rad/s]
    kind: Kind
    text: str


@dataclass(frozen=True, kw_only=True)
class Extreme:
    """The largest or smallest value of a signal, and when."""

    value: float
    time: float


@dataclass(frozen=True, kw_only=True)
class Peaks:
    """Extremes located inside steps, not just at them."""

    motor_current: Extreme  #: largest magnitude, per motor [A]
    supply_current: Extreme  #: largest drawn from the source, other loads included [A]
    supply_current_back: Extreme  #: most negative (returned to the source) [A]
    bus_voltage: Extreme  #: smallest while the supply is connected [V]
    bus_highest: Extreme  #: largest, likewise [V]
    speed: Extreme  #: largest magnitude of the arm's [rad/s]
    winding: Extreme  #: [degC]
    housing: Extreme  #: [degC]
    stage_torques: tuple[Extreme, ...] = ()  #: largest magnitude delivered by each stage while the arm moves [N*m]
    driver_torques: tuple[Extreme, ...] = ()  #: with which each stage's driver pushes, likewise [N*m]
    stop_torque: Extreme = Extreme(value=0.0, time=0.0)  #: largest of a buffer on the arm [N*m]
    companion_currents: tuple[Extreme, ...] = ()  #: of one motor of each companion [A]


@dataclass(frozen=True, kw_only=True)
class Energy:
    """Where the energy went. Losses are positive; supplied = payload + stored + losses + residual. [J]"""

    supplied: float  #: by the source's electromotive force, negative when it took back more
    payload_lifted: float
    stored: float  #: kinetic, magnetic, in counterbalances and the arm's own potential, end minus start
    losses: dict[
        str, float
    ]  #: battery, wiring, other_loads, bridge, copper, motor_friction, stages, pivot, side_loads, impact, switching
    stage_losses: tuple[float, ...]  #: of the mesh and drag of each stage behind the motor
    side_losses: tuple[float, ...] = ()  #: what each side load took
    throughput: float  #: the size the residual is measured against
    residual: float


@dataclass(frozen=True, kw_only=True)
class TripTimes:
    """When each edge of a device's band would first trip, None if it does not, and its highest thermal state."""

    earliest: float | None  #: [s]
    latest: float | None  #: [s]
    heat_peak: float  #: of the earliest edge, over its trip level [-]


@dataclass(frozen=True, kw_only=True)
class Track:
    """How the position loop kept to one reference. Angles in rad."""

    name: str  #: lift, lower or hold
    begun: float  #: [s]
    ended: float  #: [s]
    target: float
    reference_ends: float  #: when the reference comes to rest at the target [s]
    tracking_error: float | None  #: largest distance from a moving reference; None where it does not move
    overshoot: float  #: past the target in the sense of the way to it
    settling_time: float | None  #: from the reference's end until within tolerance for good; None: not by the end [s]
    steady_error: float  #: target less angle at the end
    limited: bool  #: bridge or current limit gave less than the loop asked for, at some time


@dataclass(frozen=True, kw_only=True)
class Cycle:
    """One of many work cycles. Interpolated where it was not stepped."""

    number: int  #: from 1
    begun: float  #: [s]
    duration: float  #: [s]
    stepped: bool
    lift_time: float | None  #: of its slowest lift [s]
    motor_current: float  #: largest, per motor [A]
    supply_current: float  #: largest [A]
    bus_voltage: float  #: smallest while connected [V]
    winding: float  #: highest [degC]
    housing: float  #: highest [degC]
    heat: tuple[float, ...]  #: highest thermal state of each device's earliest edge, over its trip level [-]
    supplied: float  #: by the source [J]


@dataclass(frozen=True, kw_only=True)
class Settling:
    """Where the temperatures of a repeated cycle go."""

    winding: float | None  #: highest in a cycle once settled; None: it does not settle [degC]
    housing: float | None  #: [degC]
    settled: bool  #: the last cycle is within a kelvin of that


@dataclass(frozen=True, kw_only=True)
class Costs:
    """What the run cost to compute."""

    segments: int
    steps: int
    evaluations: int


@dataclass(frozen=True, kw_only=True)
class Run:
    """One machine's run. Series share `time`; currents of the motor are per motor; angles in rad, temperatures degC.

    Series repeat a time where a quantity jumps (a cut, an impact), so that lines drawn through them are true.
    """

    machine: Machine
    time: Series
    angle: Series
    speed: Series
    motor_current: Series
    supply_current: Series
    bus_voltage: Series  #: NaN while a breaker is open
    duty: Series  #: NaN while the bridge is off
    motor_torque: Series  #: air-gap torque of all motors, companions aside [N*m]
    companion_currents: tuple[Series, ...] = ()  #: of one motor of each companion [A]
    companion_currents_rms: tuple[float, ...] = ()  #: over the whole run [A]
    reference: Series  #: angle asked for by a position loop at work, else NaN [rad]
    winding: Series
    housing: Series
    charge_drawn: Series  #: [A*s]
    heat_earliest: tuple[Series, ...]  #: of each device, over its trip level [-]
    heat_latest: tuple[Series, ...]
    events: tuple[Event, ...]
    tracks: tuple[Track, ...]
    peaks: Peaks
    motor_current_rms: float
    supply_current_rms: float
    trips: tuple[TripTimes, ...]
    energy: Energy
    costs: Costs
    cycles: tuple[Cycle, ...] = ()  #: of a repeated plan
    settling: Settling | None = None  #: of a repeated plan with known heat data

    def first(self, kind: Kind) -> Event | None:
        """The first event of a kind, or None."""
        return next((event for event in self.events if event.kind is kind), None)
