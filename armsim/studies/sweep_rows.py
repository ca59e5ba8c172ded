"""One row of a sweep: the first lift of a scenario followed by the exact run, and held against what was asked."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from armsim.checks.assessment import Requirement
from armsim.checks.holding import hold_statically
from armsim.checks.lifting import lift_of_run
from armsim.checks.protection import judge_protection
from armsim.checks.requirements import judge, measured, overall, worst_trip
from armsim.drivetrain.machine import Machine
from armsim.dynamics.plan import Plan, lifts
from armsim.studies.processes import Missing, Told, each

if TYPE_CHECKING:
    from armsim.scenario import Scenario
    from armsim.scenario.records import Wish
    from armsim.scenario.varied import Template

#: conditions beside the requirements, worst first; a row that misses one is told of at its edge
STALL, CERTAIN, POSSIBLE, RESET, HEAT = "stall", "trip_certain", "trip_possible", "reset", "heat"
DUST = 1e-12  #: a speed of rounding [rad/s]
CHUNK = 64  #: rows handed out at a time


@dataclass(frozen=True, kw_only=True)
class Row:
    """What came of one choice of values. None: not known; SI."""

    texts: tuple[str, ...]  #: of the keys, in their order, as they would stand in the file
    numbers: tuple[float | None, ...]  #: the same in the unit of each key; None for words
    reached: bool | None = None
    lift_time: float | None = None
    final_angle: float | None = None
    motor_current: float | None = None
    supply_current: float | None = None
    supply_rms: float | None = None
    energy: float | None = None  #: from the source during the lift
    bus_voltage: float | None = None
    speed: float | None = None
    winding: float | None = None
    trips: str | None = None  #: no, possible or certain
    heat_peak: float | None = None  #: of the device nearest to its trip level, over that level
    static_margin: float | None = None
    verdict: str | None = None
    margins: Mapping[str, float] = field(default_factory=dict)  #: of conditions with a measure; below 0 missed
    missed: frozenset[str] = frozenset()  #: conditions and requirements that it misses
    exact: bool = True  #: by the exact run
    failed: str = ""  #: why it could not be run

    @property
    def feasible(self) -> bool:
        """Meets everything asked; where nothing is asked, lifts without reset, overheating or even a possible trip."""
        return not self.failed and self.verdict == "pass"


def first_lift_of(plan: Plan) -> Plan | None:
    """The plan as far as its first lift, once; None where nothing is lifted."""
    last = next((k for k, move in enumerate(plan.moves) if lifts(move)), None)
    return None if last is None else replace(plan, moves=plan.moves[: last + 1], repeat=1)


def exact_row(template: "Template", keys: Sequence[str], texts: Sequence[str], numbers: Sequence[float | None]) -> Row:
    """Build the scenario with these values and run its lift. What cannot be built or run is told in the row."""
    from armsim.dynamics.segment import SolverError
    from armsim.scenario import ScenarioError

    blank = Row(texts=tuple(texts), numbers=tuple(numbers))
    try:
        scenario = template.scenario(dict(zip(keys, texts, strict=True)))
        return lifted(scenario, blank)
    except ScenarioError as error:
        return replace(blank, failed=error.problems[0].text)
    except SolverError as error:
        return replace(blank, failed=str(error))


def lifted(scenario: "Scenario", blank: Row) -> Row:
    """A row with what the first lift of a scenario does. Raises SolverError."""
    from armsim.dynamics.run import Kind
    from armsim.dynamics.trajectory import simulate

    plan = first_lift_of(scenario.plan)
    if plan is None:
        raise ValueError("a plan without a lift has no row")
    machine = scenario.machine
    run = simulate(machine, plan)
    lift, duty = lift_of_run(machine, plan, run), getattr(plan.moves[-1], "duty", 1.0)
    devices = judge_protection(machine, duty, run)
    values = measured(lift, hold_statically(machine, plan), devices, run, machine.arm.length)
    requirements = judge(scenario.requirements, values, lift)
    trips = worst_trip(devices)
    resets = any(run.first(kind) is not None for kind in (Kind.UNDERVOLTAGE, Kind.OVERVOLTAGE))
    missed = {wish.name for wish in requirements if wish.met is False}
    missed |= {STALL} if not lift.reached else set()
    missed |= {POSSIBLE} if trips != "no" else set()
    missed |= {CERTAIN} if trips == "certain" else set()
    missed |= {RESET} if resets else set()
    heat = machine.motor.heat
    limit = None if heat is None else heat.winding_limit
    missed |= {HEAT} if limit is not None and run.peaks.winding.value > limit else set()
    verdict = overall(requirements, lift.reached)
    if not requirements:
        verdict = "fail" if missed else "pass"
    heat_peak = max((times.heat_peak for times in run.trips), default=None)
    return replace(
        blank,
        reached=lift.reached,
        lift_time=lift.time,
        final_angle=lift.final_angle,
        motor_current=run.peaks.motor_current.value,
        supply_current=run.peaks.supply_current.value,
        supply_rms=run.supply_current_rms,
        energy=run.energy.supplied,
        bus_voltage=run.peaks.bus_voltage.value,
        speed=run.peaks.speed.value if run.peaks.speed.value > DUST else 0.0,
        winding=None if heat is None else run.peaks.winding.value,
        trips=trips,
        heat_peak=heat_peak,
        static_margin=lift.static_margin,
        verdict=verdict,
        margins=_margins(machine, scenario.requirements, requirements, heat_peak, run.peaks.bus_voltage.value),
        missed=frozenset(missed),
    )


def _margins(
    machine: Machine,
    wishes: "Sequence[Wish]",
    requirements: Sequence[Requirement],
    heat_peak: float | None,
    bus: float,
) -> dict[str, float]:
    """Room left to each condition that has a measure, over its limit. [-]"""
    found = {
        wish.name: judged.margin / max(abs(float(wish.limit)), 1e-9)
        for wish, judged in zip(wishes, requirements, strict=True)
        if judged.margin is not None
    }
    if heat_peak is not None:
        found[POSSIBLE] = 1.0 - heat_peak
        if any(wish.name == "breaker_trips" and not wish.limit for wish in wishes):
            found["breaker_trips"] = 1.0 - heat_peak
    if machine.controller.undervoltage is not None:
        found[RESET] = bus / machine.controller.undervoltage - 1.0
    return found


# ------------------------------------------------------------------------------------------------------ many of them

Point = tuple[tuple[str, ...], tuple[float | None, ...]]  #: texts and numbers of a row's values


@dataclass(frozen=True, kw_only=True)
class Job:
    """What a worker needs to run rows of one sweep."""

    template: "Template"
    keys: tuple[str, ...]

    def rows(self, points: Sequence[Point]) -> list[Row]:
        """Each point's row, in order."""
        return [exact_row(self.template, self.keys, texts, numbers) for texts, numbers in points]


def run_rows(job: Job, points: Sequence[Point], workers: int = 1, told: Told | None = None) -> list[Row]:
    """Every row in order, whatever the number of worker processes; `told` hears how many are done.

    Rows of a chunk whose process was killed say so. An interruption ends all.
    """
    size = max(1, min(CHUNK, -(-len(points) // (4 * workers))))
    chunks = [points[k : k + size] for k in range(0, len(points), size)]
    if workers <= 1 or len(chunks) < 2:
        return job.rows(points)
    found = each(job.rows, chunks, workers, None if told is None else lambda done: told(min(done * size, len(points))))
    if Missing.LEFT in found:
        raise KeyboardInterrupt
    rows: list[Row] = []
    for chunk, result in zip(chunks, found, strict=True):
        if isinstance(result, Missing):
            rows += [Row(texts=texts, numbers=numbers, failed=result.value) for texts, numbers in chunk]
        else:
            rows += result
    return rows
