"""Parts of the transmission, judged: one rule of fit, one load, one check of strength."""

from dataclasses import dataclass
from enum import StrEnum


class Fit(StrEnum):
    """Whether parts go together by one rule."""

    FITS = "fits"
    NEAR_MISS = "near miss"  #: looks alike and is not: wrong, and easily bought
    WRONG = "does not fit"
    DOUBTFUL = "doubtful"  #: works in some makes, or works badly
    UNKNOWN = "not known"  #: something was not given


@dataclass(frozen=True, kw_only=True)
class FitRow:
    """One rule for one stage, or for two that share a shaft."""

    stage: str  #: name of the stage
    rule: str  #: short: module, centre distance, chain length, ...
    given: str  #: what was given, units included
    wanted: str  #: what it should be, units included
    fit: Fit
    text: str = ""  #: why it matters, and how far off, where it does not simply fit
    mend: str = ""


@dataclass(frozen=True, kw_only=True)
class Loads:
    """What a stage carries in one case: torque at its output shaft and at its driver, and the driver's speed."""

    case: str  #: steady, run, cut, stall, motor_stop, impact
    output_torque: float  #: [N*m]
    driver_torque: float  #: mesh loss included [N*m]
    driver_speed: float = 0.0  #: 0 where it stands or the blow is sudden [rad/s]


@dataclass(frozen=True, kw_only=True)
class StrengthRow:
    """A first-pass check; safety is allowable over load."""

    stage: str
    part: str  #: driver, driven, chain, key of the driven, ...
    check: str  #: tooth bending, contact pressure, chain tension, torsion, ...
    case: str
    load: float
    allowable: float
    dimension: str  #: of both: stress, force, torque
    source: str  #: of the rule and the allowable, and where it stops to hold
    mend: str = ""
    lasting: bool = False  #: a limit of wear or fatigue: beyond it the part does not last, within it does not break

    @property
    def safety(self) -> float:
        """Allowable over load. [-]"""
        return self.allowable / self.load if self.load > 0.0 else float("inf")


@dataclass(frozen=True, kw_only=True)
class PlayRow:
    """What one stage leaves free and how far it winds up, seen at the arm. None: not known."""

    stage: str
    backlash: float | None  #: at its own output shaft [rad]
    backlash_at_arm: float | None  #: [rad]
    stiffness: float | None  #: at its own output shaft; None: taken as rigid [N*m/rad]
    twist_per_length: float | None  #: of its output shaft under the steady load; None: not told of [rad/m]
    wind_up: float | None  #: under the steady load of the lift at its worst angle [rad]
    wind_up_stalled: float | None  #: with the motor stalled and the arm blocked [rad]


@dataclass(frozen=True, kw_only=True)
class PlayResult:
    """Backlash and wind-up of the whole train, at the arm; the `tip` figures are arcs at its tip."""

    stages: tuple[PlayRow, ...]
    arm_length: float  #: [m]
    backlash: float | None  #: added up, the worst case; None: of a stage it is not known [rad]
    likely_backlash: float | None  #: root of the sum of squares, likewise [rad]
    missing: tuple[str, ...]  #: stages whose backlash is not given
    wind_up: float | None  #: of the stages whose stiffness is known; None: of none is it [rad]
    wind_up_stalled: float | None  #: the same, stalled; None: that load is not known either [rad]
    rigid: tuple[str, ...]  #: stages taken as rigid

    def tip(self, angle: float | None) -> float | None:
        """An angle of this record as an arc at the tip. [m]"""
        return None if angle is None else angle * self.arm_length
