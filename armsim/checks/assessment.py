"""The answer, as one record: every verdict, number and finding, in SI, for any writer to dress.

None means not known or not applicable, never zero.
"""

from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from armsim.checks.duty import Duty, HeatRating
from armsim.checks.judged_parts import FitRow, PlayResult, StrengthRow
from armsim.checks.wire_heat import WireResult
from armsim.drivetrain.senses import MotorTurning, Turning
from armsim.dynamics.run import Energy, Run


class Level(StrEnum):
    """How much a finding matters."""

    ERROR = "error"
    WARNING = "warning"
    NOTE = "note"


class StallKind(StrEnum):
    """What keeps a travel from arriving."""

    CANNOT_START = "cannot-start"
    ON_THE_WAY = "halts-on-the-way"
    AT_STOP = "at-a-stop"
    CURRENT_LIMIT = "at-the-current-limit"
    BREAKER_OPEN = "breaker-open"
    RESETS = "resets-on-undervoltage"
    OUT_OF_TIME = "out-of-time"


class Trips(StrEnum):
    """Whether a protective device opens, given its band."""

    NO = "no"
    POSSIBLE = "possible"
    CERTAIN = "certain"


@dataclass(frozen=True, kw_only=True)
class Finding:
    """One judgement: where, what, and what would mend it, in words a person can act on."""

    level: Level
    code: str  #: short stable word, e.g. trips-within-band
    where: str  #: dotted key or part name
    text: str  #: one or two sentences, units included
    mend: str = ""  #: what would help, computed where it can be


@dataclass(frozen=True, kw_only=True)
class Requirement:
    """A wish of the scenario, judged. value and limit in SI, or booleans and words."""

    name: str  #: key of the scenario
    dimension: str  #: time, current, temperature, angle, voltage, speed, ratio, flag
    sense: str  #: max, min, is
    limit: float | bool
    value: float | bool | str | None
    margin: float | None  #: room left in the limit's dimension, negative when missed
    met: bool | None  #: None: cannot be judged


@dataclass(frozen=True, kw_only=True)
class Mend:
    """A change that would let the machine lift, found by asking the machine again."""

    what: str  #: reduction, payload, voltage
    now: float
    needed: float | None  #: None: this alone does not help within reason
    dimension: str  #: ratio, mass, voltage
    text: str


@dataclass(frozen=True, kw_only=True)
class Lift:
    """Whether and how the lift went; static figures at the worst angle of the asked range."""

    reached: bool | None = None
    time: float | None = None
    target: float | None = None  #: of the lift told of: one that failed, else the slowest [rad]
    final_angle: float | None = None
    stalled: bool | None = None
    stall_time: float | None = None
    stall_angle: float | None = None
    stall_kind: StallKind | None = None
    stall_cause: str | None = None
    static_margin: float | None = None  #: torque available at stall over torque needed, at the arm
    worst_angle: float | None = None
    mends: tuple[Mend, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Fall:
    """What the arm does when power goes, for one way the motor's terminals are left."""

    at: float  #: angle of the cut [rad]
    holds: bool
    falls: bool  #: leaves its angle and ends no higher
    rises: bool  #: leaves its angle and ends higher, by its springs or its own swing
    fall_time: float | None = None  #: from the cut to the stop that it ends on [s]
    impact_speed: float | None = None  #: at that stop [rad/s]
    impact_energy: float | None = None  #: of everything that moves, at the hardest meeting with a stop [J]
    payload_energy: float | None = None  #: of the payload alone, then [J]
    cut_time: float | None = None  #: when in the cycle; None: at rest at the highest target [s]
    final_angle: float | None = None
    peak_speed: float | None = None
    run: Run | None = None

    @property
    def way(self) -> str:
        """The word for it where the arm does not stay; without gravity there is neither up nor down."""
        return "falls" if self.falls else "rises" if self.rises else "moves"


@dataclass(frozen=True, kw_only=True)
class WormHold:
    """How far a worm is from being turned by its load: friction over what locking needs; below one it does not lock."""

    stage: str
    threshold: float  #: friction from which on the wheel cannot turn the worm [-]
    friction: float  #: at rest [-]
    margin: float  #: at rest [-]
    angle_in_hand: float  #: friction angle less lead angle, negative where it does not lock [rad]
    band: tuple[float, float]  #: angle in hand with friction as low and as high as it may be off [rad]
    vibration_friction: float  #: at rest under vibration: given, or assumed [-]
    vibration_margin: float
    vibration_angle_in_hand: float  #: [rad]
    lock_loss_sliding_speed: float | None  #: faster it no longer locks; 0: at rest only; None: any or never [m/s]
    lock_loss_motor_speed: float | None  #: the same at the motor [rad/s]


@dataclass(frozen=True, kw_only=True)
class Holding:
    """Static holding without power at the hold angle and over the travel, and the two falls."""

    unpowered_holds: bool
    hold_margin: float | None  #: arm torque that friction holds over the load; None: no load, or it locks
    hold_angle: float | None  #: where the margin is smallest
    hold_margin_torque: float | None  #: the same as a difference, negative where it does not hold; None: locks [N*m]
    payload_to_sink: float | None  #: with it the arm just starts to sink; 0: does with none; None: with no payload [kg]
    reverse_torque: float | None  #: torque at the arm that just turns the unpowered motor; None: nothing does
    holding_current: float | None  #: of each motor while held by the drive [A]
    holding_band: tuple[float, float] | None  #: motor current between sinking and rising [A]
    worms: tuple[WormHold, ...] = ()
    locks_shaken: bool | None = None  #: under vibration too; None: no worm locks at rest, or what locks is no worm
    shaken_margin: float | None = None  #: hold margin then, other friction as at rest; None: no worm, or still locked
    locked_by: str | None = None  #: the stage nearest to the arm that locks at rest; None: none does
    free_play: float | None = None  #: arm angle that backlash leaves free between it and the arm; None: not known [rad]
    free_travel: float | None = None  #: the same at the tip [m]
    missing_backlash: tuple[
        str, ...
    ] = ()  #: stages from it to the arm, or of all the train, whose backlash is not given
    holding_at: float | None = None  #: where the holding current applies: the asked hold, else the hold angle [rad]
    coasting: Fall | None = None
    shorted: Fall | None = None
    judged: tuple[str, ...] = ("coasting", "shorted")  #: the falls that count
    cut_asked: bool = False  #: a cut was asked for, so that falls decide and not only rest

    @property
    def judged_falls(self) -> tuple[Fall, ...]:
        """The falls that count, those that were simulated."""
        falls = (getattr(self, name) for name in self.judged)
        return tuple(fall for fall in falls if fall is not None)

    @property
    def stays_up(self) -> bool:
        """Held at rest without power and, where a cut was asked for, after it too."""
        return self.unpowered_holds and not (self.cut_asked and any(not fall.holds for fall in self.judged_falls))


@dataclass(frozen=True, kw_only=True)
class OperatingPoint:
    """One motor turning steadily, at full duty unless its name says otherwise."""

    name: str
    speed: float  #: of its shaft [rad/s]
    torque: float  #: at its shaft, own drag taken off [N*m]
    current: float  #: [A]
    power: float  #: at its shaft [W]
    efficiency: float  #: shaft power over what the source gives for it [-]


@dataclass(frozen=True, kw_only=True)
class Stay:
    """A hold or rest of the run, and how things stand at its end."""

    name: str  #: hold or rest
    how: str  #: position loop, motor shorted or motor open
    begun: float  #: [s]
    duration: float  #: [s]
    angle: float  #: where it begins [rad]
    drift: float  #: angle gone through by its end [rad]
    voltage: float  #: over each motor's terminals and bridge [V]
    current: float  #: of each motor [A]
    heat: float  #: in all windings [W]
    supplied: float  #: taken at the controller, other loads included [W]
    speed: float  #: at which the arm then moves [rad/s]


@dataclass(frozen=True, kw_only=True)
class TripRow:
    """How long a device takes at one steady current; None: it never opens."""

    case: str
    current: float  #: [A]
    cold_earliest: float | None  #: [s]
    cold_latest: float | None
    warm_earliest: float | None  #: after long running at `ProtectionResult.warm_current` [s]
    warm_latest: float | None


@dataclass(frozen=True, kw_only=True)
class ProtectionResult:
    """What one protective device does in the run, and how long it would take with the motor stalled."""

    kind: str
    rating: float
    trips: Trips | None  #: None: not simulated
    earliest: float | None
    latest: float | None
    heat_peak: float | None  #: of the earliest edge, over its trip level [-]
    in_force: float | None = None  #: rating in the warmth around it; None: as printed [A]
    stall_current: float | None = None  #: through it with the motor stalled at full duty [A]
    stall_earliest: float | None = None  #: to trip at that current from cold [s]
    stall_latest: float | None = None
    warm_current: float | None = None  #: rms of the run, else the rating in force: what a warm device has carried [A]
    trip_rows: tuple[TripRow, ...] = ()


@dataclass(frozen=True, kw_only=True)
class BatteryResult:
    """What the battery gives at the charge of the start, and how far one charge goes in the work cycle."""

    open_circuit: float  #: [V]
    resistance: float  #: without wires, at once [ohm]
    settled_resistance: float  #: the same after the slow part of the sag [ohm]
    greatest_power: float | None  #: at half its voltage, None: no resistance known [W]
    fault_current: float | None  #: into a short circuit at the controller, likewise [A]
    capacity: float | None  #: [A*s]
    lowest_charge: float  #: state of charge down to which it is used [-]
    charge_per_cycle: float | None  #: None: no run, or one that does not go through [A*s]
    mean_current: float | None  #: over the cycle, likewise [A]
    usable_charge: float | None  #: from the start's charge down to the lowest, at that current [A*s]
    cycles: int | None  #: whole cycles on that; None: not known, or the cycle draws nothing
    hardest_power: float | None  #: most that is taken at the controller in the run [W]
    lowest_bus_voltage: float | None  #: that power leaves at the lowest charge; None: not known, or it collapses [V]


@dataclass(frozen=True, kw_only=True)
class ShaftRow:
    """A shaft at the reference point: lifting steadily at the worst angle."""

    name: str
    turns_per_arm_turn: float
    turning: Turning  #: which way, lifting
    speed: float | None
    torque: float
    power: float | None
    reflected_inertia: float  #: inertia on this shaft, seen at the arm [kg*m2]


@dataclass(frozen=True, kw_only=True)
class SideLoadRow:
    """What a shaft drives beside the arm, at the same point."""

    name: str
    shaft: str  #: as in the row of its shaft
    torque: float  #: [N*m]
    power: float | None  #: [W]


@dataclass(frozen=True, kw_only=True)
class StageRow:
    """One stage at the same point; the reverse efficiency is the one at rest, where holding is decided."""

    kind: str
    name: str
    reduction: float
    efficiency_forward: float
    efficiency_reverse: float
    locks: bool
    output_torque: float  #: while lifting steadily at the worst angle [N*m]
    contact_force: float | None
    backlash: float | None = None  #: at its output shaft, None: not given [rad]
    driver_speed: float | None = None  #: of its input shaft there; None: no steady lift exists [rad/s]
    safety_factor: float | None = None
    details: dict[str, float | str] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class SizeRow:
    """What a carriage's pinion or drum of another size would make of speed and force."""

    name: str  #: of the size
    own: bool  #: the one it has
    travel: float  #: per motor turn [m]
    speed: float | None  #: of a steady lift; None where none exists [m/s]
    force: float  #: on the carriage from the stalled motor, before what the guide takes [N]
    margin: float | None  #: of that over what is needed; None where nothing needs lifting [-]


@dataclass(frozen=True, kw_only=True)
class TransmissionResult:
    """The whole train, shaft by shaft and stage by stage. Drag torques are left out of the efficiencies."""

    reduction: float
    efficiency_forward: float  #: lifting at the reference point [-]
    efficiency_reverse: float  #: at rest, motor-side torque per arm torque times reduction; <= 0 locks [-]
    torque_ratio: float  #: arm torque per motor torque while lifting, drag aside [-]
    self_locking: bool
    motor: MotorTurning  #: which way it has to turn to lift
    play: float | None  #: from the motor to the arm, seen there; None: a stage's backlash is not given [rad]
    tip_play: float | None  #: the same at the tip [m]
    reflected_inertia: float  #: everything, seen at the arm [kg*m2]
    rotor_share: float  #: of it
    shafts: tuple[ShaftRow, ...]
    stages: tuple[StageRow, ...]
    side_loads: tuple[SideLoadRow, ...] = ()


class Role(StrEnum):
    """What a motor does in the train."""

    DRIVES = "drives"
    DRAGGED = "is dragged"  #: it takes current and does not make up for its own friction
    BRAKES = "brakes"  #: its current comes back


@dataclass(frozen=True, kw_only=True)
class MotorShare:
    """One motor, or equal motors on a shaft, at a speed of the train."""

    name: str
    count: int
    shaft: int  #: counted from the first motor's, 0
    speed: float  #: of its rotor [rad/s]
    current: float  #: of each [A]
    torque: float  #: that all of them give the shaft they turn, their own friction taken off [N*m]
    power: float  #: [W]
    copper: float  #: heat in all their windings [W]
    no_load_speed: float  #: of the arm, were this motor alone on a train without loss or load [rad/s]
    role: Role


@dataclass(frozen=True, kw_only=True)
class Sharing:
    """The motors of a train at one speed of the arm."""

    speed: float  #: of the arm [rad/s]
    volts: float  #: at the terminals [V]
    shares: tuple[MotorShare, ...]  #: the first motor's first

    @property
    def braking(self) -> tuple[MotorShare, ...]:
        """Those whose current comes back."""
        return tuple(share for share in self.shares if share.role is Role.BRAKES)


@dataclass(frozen=True, kw_only=True)
class Motors:
    """Several motors on one train."""

    lifting: Sharing  #: in a steady lift where it asks most; stalled where there is none
    idle: Sharing | None  #: without load; None: they cannot overcome their own friction


@dataclass(frozen=True, kw_only=True)
class Blow:
    """A load of one stage."""

    torque: float  #: at its output shaft [N*m]
    force: float | None  #: with which its driver pushes; None: radius not known [N]


@dataclass(frozen=True, kw_only=True)
class StageShocks:
    """The hardest loads of one stage."""

    stage: str
    steady: float  #: torque of a steady lift at the worst angle [N*m]
    run: Blow | None  #: while the arm moves; None: no run, or it never moves
    cut: Blow | None  #: the same when power goes
    stall: Blow | None  #: motor stalled, arm blocked
    motor_stop: Blow | None  #: motor locked at the fastest moment; None: no stiffness known
    impact: Blow | None  #: hardest meeting with a rigid stop or jam; None: there is none, or no stiffness known

    @property
    def case(self) -> str | None:
        """Which of them is the hardest."""
        known = {name: getattr(self, name) for name in ("run", "cut", "stall", "motor_stop", "impact")}
        found = {name: blow.torque for name, blow in known.items() if blow is not None}
        return max(found, key=lambda name: found[name]) if found else None

    @property
    def ratio(self) -> float | None:
        """The hardest over the steady one; None where there is nothing to compare. [-]"""
        return None if self.case is None or self.steady == 0.0 else getattr(self, self.case).torque / self.steady


@dataclass(frozen=True, kw_only=True)
class Shocks:
    """Hard loads of the train and of the stops."""

    stages: tuple[StageShocks, ...]
    most_loaded: str | None  #: the stage whose hardest load is the greatest multiple of its steady one
    train_stiffness: float | None  #: between motor and arm, seen there; None: no stage gives one [N*m/rad]
    motor_stop_torque: float | None  #: at the arm, motor locked at the fastest moment [N*m]
    impact_torque: float | None  #: at the arm, hardest meeting with a rigid stop or jam of known stiffness [N*m]
    unbounded: tuple[str, ...]  #: blows whose force nothing known bounds: rigid stop, jam
    stop_torque: float | None  #: largest of a buffer in run and power cuts; None: rigid, or no run [N*m]
    stop_force: float | None  #: the same where the arm meets it; None: place not known [N]
    stop_travel: float | None  #: furthest beyond a stop [rad]


@dataclass(frozen=True, kw_only=True)
class TorqueCurves:
    """Arm torque over angle: needed to hold, to raise; available at stall and what friction holds unpowered."""

    angle: NDArray[np.float64]
    gravity: NDArray[np.float64]  #: alone, as if there were no springs
    load: NDArray[np.float64]  #: gravity less what the springs carry
    needed: NDArray[np.float64]  #: at the arm to just raise it, pivot friction included
    available: NDArray[np.float64]  #: at the arm, motor stalled at full drive
    holdable: NDArray[np.float64]  #: largest gravity torque that stays up unpowered, capped for plotting


@dataclass(frozen=True, kw_only=True)
class Assessment:
    """Everything the tool has to say about one scenario; `run` is None after a check without simulation."""

    verdict: str  #: pass, fail, none
    load: str = "arm"  #: what is moved: arm, with angles and torques, or carriage, with lengths and forces
    headline: str  #: the first line a person reads
    requirements: tuple[Requirement, ...]
    lift: Lift
    holding: Holding
    protection: tuple[ProtectionResult, ...]
    transmission: TransmissionResult
    shocks: Shocks
    curves: TorqueCurves
    findings: tuple[Finding, ...]
    motors: Motors | None = None  #: how several share the load; None: there is one, or equal ones on its shaft
    sizes: tuple[SizeRow, ...] = ()  #: of a carriage's pinion or drum
    fit: tuple[FitRow, ...] = ()
    strength: tuple[StrengthRow, ...] = ()
    play: PlayResult | None = None  #: None: the motor turns the arm itself
    operating: tuple[OperatingPoint, ...] = ()
    stays: tuple[Stay, ...] = ()
    wiring: tuple[WireResult, ...] = ()
    battery: BatteryResult | None = None  #: None: a bench supply
    run: Run | None = None
    energy: Energy | None = None
    time_to_limit: float | None = None  #: winding, stalled at full drive from ambient [s]
    time_to_limit_warm: float | None = None  #: the same from the hottest winding of the run [s]
    duty: Duty | None = None  #: None: not simulated
    heat: HeatRating | None = None  #: None: no thermal data, or no limit
