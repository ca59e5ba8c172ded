"""Many designs of one scenario, judged by their lift: together where that can be done, and exactly where it has to be.

`evaluate` is a pure function of things that can be pickled: an engine may call it for one chunk after another, in as
many processes as it likes. Memory is bounded by the chunk.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from armsim.checks.holding import hold_statically
from armsim.checks.lifting import first_lift, lift_of_run, static_margin
from armsim.checks.protection import judge_protection
from armsim.checks.requirements import RESETS, WishLike, worst_trip
from armsim.drivetrain.circuit import stalled_torque
from armsim.drivetrain.machine import Machine
from armsim.drivetrain.train import arm_torque_raised
from armsim.dynamics.ensemble import Lifts, lift_many, pick, stacked, unsupported
from armsim.dynamics.plan import Plan, lifts
from armsim.studies.settings import setting_for

if TYPE_CHECKING:
    from armsim.scenario import Scenario

Array = NDArray[Any]
NEAR = 1e-3  #: share of a limit within which the exact run decides
CHUNK = 16384  #: designs a chunk, unless asked otherwise
TRIPS = {"no": 0.0, "possible": 1.0, "certain": 2.0}
NUMBERS = (
    "lift_time", "duration", "final_angle", "motor_current", "supply_current", "motor_rms", "supply_rms", "energy",
    "bus_voltage", "speed", "winding", "housing", "trips", "heat_peak", "earliest_trip", "latest_trip",
    "static_margin", "holds", "resets", "verdict",
)  # fmt: skip
FLAGS = ("reached", "stalled", "exact", "failed")
COLUMNS = (*FLAGS[:2], *NUMBERS, *FLAGS[2:])
#: requirement -> the column it is measured by; the tip's speed is the arm's times its length
MEASURED = {
    "lift_time": "lift_time",
    "supply_current": "supply_current",
    "motor_current": "motor_current",
    "bus_voltage": "bus_voltage",
    "winding_temperature": "winding",
    "static_margin": "static_margin",
    "tip_speed": "speed",
    "holds_unpowered": "holds",
    "breaker_trips": "trips",
    "controller_resets": "resets",
}


@dataclass(frozen=True, kw_only=True)
class Question:
    """What is asked of every design: the machine that is varied, the lift, and the requirements."""

    machine: Machine
    plan: Plan
    wishes: tuple[WishLike, ...] = ()

    @classmethod
    def of(cls, scenario: "Scenario") -> "Question":
        """The question a scenario asks, as far as its first lift."""
        return cls(machine=scenario.machine, plan=up_to_lift(scenario.plan), wishes=scenario.requirements)

    @property
    def unsupported(self) -> str | None:
        """Why every design has to be run exactly; None where they can be followed together."""
        return unsupported(self.machine, self.plan)


def up_to_lift(plan: Plan) -> Plan:
    """A plan's moves as far as its first lift, once."""
    last = next((k for k, move in enumerate(plan.moves) if lifts(move)), len(plan.moves) - 1)
    return replace(plan, moves=plan.moves[: last + 1], repeat=1)


def chunks(varied: Mapping[str, Array], size: int = CHUNK) -> Iterator[dict[str, Array]]:
    """The same rows in portions."""
    count = len(next(iter(varied.values())))
    for begin in range(0, count, size):
        yield {key: values[begin : begin + size] for key, values in varied.items()}


def evaluate(
    question: Question, varied: Mapping[str, Array] | None = None, machines: Sequence[Machine] | None = None
) -> dict[str, Array]:
    """The columns of a chunk of designs: the question's machine varied by settings, or machines of equal structure.

    Values are in SI. Raises KeyError for a key without a setting.
    """
    if machines is not None:
        try:
            return evaluate_designs(question, stacked(machines), len(machines))
        except ValueError:
            return run_each(question, machines)
    assert varied is not None
    machine, count = question.machine, len(next(iter(varied.values())))
    for key, values in varied.items():
        setting = setting_for(machine, key)
        if setting is None:
            raise KeyError(f"{key} cannot be varied in a built machine")
        machine = setting.apply(machine, np.asarray(values, dtype=float))
    return evaluate_designs(question, machine, count)


def evaluate_designs(question: Question, machine: Machine, count: int) -> dict[str, Array]:
    """The same for a machine of arrays, made in whatever way."""
    if unsupported(machine, question.plan) is not None:
        return run_each(question, [pick(machine, k) for k in range(count)])
    found = lift_many(machine, question.plan, count)
    columns = told(question, machine, found, count)
    again = ~found.sure | near_limits(question, machine, columns)
    judge_into(question, machine, columns)
    for k in np.flatnonzero(again).tolist():
        for name, value in run_one(question, pick(machine, k)).items():
            columns[name][k] = value
    return columns


def run_each(question: Question, machines: Sequence[Machine]) -> dict[str, Array]:
    """Every design by the exact run."""
    columns = empty(len(machines))
    for k, machine in enumerate(machines):
        for name, value in run_one(question, machine).items():
            columns[name][k] = value
    return columns


def empty(count: int) -> dict[str, Array]:
    """Columns in which nothing is known."""
    columns: dict[str, Array] = {}
    for name in COLUMNS:
        columns[name] = np.zeros(count, dtype=bool) if name in FLAGS else np.full(count, np.nan)
    return columns


def told(question: Question, machine: Machine, found: Lifts, count: int) -> dict[str, Array]:
    """The columns that the lifts of many designs give."""
    columns = empty(count)
    columns |= {
        "reached": found.reached,
        "stalled": found.stalled,
        "lift_time": found.lift_time,
        "duration": found.duration,
        "final_angle": found.final_angle,
        "motor_current": found.motor_peak,
        "supply_current": found.supply_peak,
        "motor_rms": found.motor_rms,
        "supply_rms": found.supply_rms,
        "energy": found.energy,
        "bus_voltage": found.bus_least,
        "speed": found.speed_peak,
        "trips": np.zeros(count),
        "resets": np.zeros(count),  # a design that resets is not sure, and run exactly
    }
    if machine.motor.heat is not None:
        columns |= {"winding": found.winding_peak, "housing": found.housing_peak}
    for heat in found.heat_peak:
        columns["heat_peak"] = np.fmax(columns["heat_peak"], heat)
    for times, name, grade in ((found.earliest, "earliest_trip", 1.0), (found.latest, "latest_trip", 2.0)):
        for row in times:
            columns[name] = np.fmin(columns[name], row)
            columns["trips"] = np.where(np.isnan(row), columns["trips"], np.maximum(columns["trips"], grade))
    columns["static_margin"] = margins_at_rest(question, machine, count)
    if any(wish.name == "holds_unpowered" for wish in question.wishes):
        held = [hold_statically(pick(machine, k), question.plan).stays_up for k in range(count)]
        columns["holds"] = np.array(held, dtype=float)
    return columns


def margins_at_rest(question: Question, machine: Machine, count: int) -> Array:
    """Static margin of the lift of each design; NaN where nothing needs lifting."""
    task, arm = first_lift(question.plan), machine.arm
    if task is None:
        return np.full(count, np.nan)
    if arm.counterbalances:
        one = [static_margin(pick(machine, k), task) for k in range(count)]
        return np.array([np.nan if margin is None else margin.value for margin in one])
    angles = (task.start, task.to, *arm.load_peaks(task.start, task.to))
    needed = np.max([needed_of_many(machine, angle) + np.zeros(count) for angle in angles], axis=0)
    available = arm_torque_raised(machine, stalled_torque(machine, task.duty)) + machine.arm_breakaway
    with np.errstate(all="ignore"):
        return np.where(needed > 0.0, np.maximum(available, 0.0) / needed, np.nan)


def near_limits(question: Question, machine: Machine, columns: Mapping[str, Array]) -> Array:
    """Designs that lie within a thousandth of a requirement's limit."""
    near = np.zeros(len(columns["reached"]), dtype=bool)
    for wish in question.wishes:
        if wish.sense != "is":
            values = measure(machine, wish.name, columns)
            near |= np.abs(values - float(wish.limit)) <= NEAR * np.abs(float(wish.limit))
    return near


def measure(machine: Machine, name: str, columns: Mapping[str, Array]) -> Array:
    """What a requirement is measured by."""
    values = columns[MEASURED[name]]
    return values * machine.arm.length if name == "tip_speed" else values


def judge(question: Question, machine: Machine, columns: Mapping[str, Array]) -> dict[str, Array]:
    """Margin of every requirement, at least zero where it is met, NaN where that is not known."""
    margins = {}
    for wish in question.wishes:
        values = measure(machine, wish.name, columns)
        if wish.name == "breaker_trips":
            margins[wish.name] = np.where(values == (2.0 if wish.limit else 0.0), 1.0, -1.0)
        elif wish.sense == "is":
            margins[wish.name] = np.where(np.isnan(values), np.nan, np.where(values == float(wish.limit), 1.0, -1.0))
        else:
            margins[wish.name] = (float(wish.limit) - values) * (1.0 if wish.sense == "max" else -1.0)
        if wish.name == "lift_time":
            margins[wish.name] = np.where(columns["reached"], margins[wish.name], -np.inf)
    return margins


def judge_into(question: Question, machine: Machine, columns: dict[str, Array]) -> None:
    """Verdict of every design into its column: 1 pass, 0 fail, NaN where nothing sure can be said."""
    margins = list(judge(question, machine, columns).values())
    verdict = np.where(columns["reached"], 1.0 if margins else np.nan, 0.0)
    for margin in margins:
        verdict = np.where(np.isnan(margin) & (verdict == 1.0), np.nan, verdict)
    for margin in margins:
        verdict = np.where(margin < 0.0, 0.0, verdict)
    columns["verdict"] = verdict


def run_one(question: Question, machine: Machine) -> dict[str, float | bool]:
    """The same columns by the exact run; NaN throughout where it fails."""
    from armsim.dynamics.segment import SolverError
    from armsim.dynamics.trajectory import simulate

    plan = question.plan
    try:
        run = simulate(machine, plan)
    except SolverError:
        return {**dict.fromkeys(NUMBERS, np.nan), **dict.fromkeys(FLAGS, False), "exact": True, "failed": True}
    lift, task = lift_of_run(machine, plan, run), first_lift(plan)
    protection = judge_protection(machine, task.duty if task else 1.0, run)
    trips = worst_trip(protection)
    earliest = [time for row in protection if (time := row.earliest) is not None]
    latest = [time for row in protection if (time := row.latest) is not None]
    heated = machine.motor.heat is not None
    wanted = any(wish.name == "holds_unpowered" for wish in question.wishes)
    found: dict[str, Any] = {
        "reached": bool(lift.reached),
        "stalled": lift.stalled,
        "lift_time": lift.time,
        "duration": float(run.time[-1] - run.time[0]),
        "final_angle": lift.final_angle,
        "motor_current": run.peaks.motor_current.value,
        "supply_current": run.peaks.supply_current.value,
        "motor_rms": run.motor_current_rms,
        "supply_rms": run.supply_current_rms,
        "energy": run.energy.supplied,
        "bus_voltage": run.peaks.bus_voltage.value,
        "speed": run.peaks.speed.value,
        "winding": run.peaks.winding.value if heated else None,
        "housing": run.peaks.housing.value if heated else None,
        "trips": None if trips is None else TRIPS[trips],
        "heat_peak": max((times.heat_peak for times in run.trips), default=None),
        "earliest_trip": min(earliest, default=None),
        "latest_trip": min(latest, default=None),
        "static_margin": lift.static_margin,
        "holds": hold_statically(machine, plan).stays_up if wanted else None,
        "resets": any(run.first(kind) is not None for kind in RESETS),
        "exact": True,
        "failed": False,
    }
    row = {name: np.array([np.nan if value is None else value]) for name, value in found.items()}
    judge_into(question, machine, row)
    return {name: values[0] for name, values in row.items()}


def needed_of_many(machine: Machine, angle: float) -> Any:
    """Torque on the arm that just raises it from rest at an angle [rad]. [N*m]"""
    from armsim.parts.arm import load_torque

    return load_torque(machine.arm, angle) + machine.arm_breakaway
