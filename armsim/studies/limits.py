"""How far one thing may go before a requirement no longer holds: largest payload, longest arm, lowest charge, worst
efficiency, and the smallest motor of a stock.

Every value is judged by an exact run of the whole cycle. From the machine as it is the search goes outward in growing
steps, or back if that one fails already, until the verdict changes, and closes in between. What lies beyond is sampled:
where the verdict changes back the limit is said to be the first of several. Both sides of a limit have been run.
"""

import difflib
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from armsim.checks.lifting import first_lift, static_margin
from armsim.checks.phrases import told_of
from armsim.checks.search import narrowed
from armsim.drivetrain.machine import Machine, loaded
from armsim.dynamics.plan import Plan, heaviest_payload
from armsim.studies.levers import Lever, levers_of
from armsim.studies.single import verdict_of

if TYPE_CHECKING:
    from armsim.checks.requirements import WishLike
    from armsim.scenario.stock import Stock
    from armsim.scenario.tasks import Task

CLOSE = 1e-3  #: share of the limit within which both sides of it lie
SAMPLES = 2  #: on either side of a limit, to see whether the verdict changes once only


@dataclass(frozen=True, kw_only=True)
class Limit:
    """Where one thing stops to do. Values in SI; of `passes` and `fails` each is None where there is none."""

    key: str
    what: str
    dimension: str
    now: float
    passes: float | None  #: the last value with which everything holds
    fails: float | None  #: the first found with which something does not
    binding: tuple[str, ...]  #: what does not hold there
    exceptions: tuple[tuple[float, tuple[str, ...]], ...]  #: values on either side with the verdict of the other
    runs: int  #: exact ones


@dataclass(frozen=True, kw_only=True)
class MotorTried:
    """A motor of a stock in the machine as it is otherwise."""

    name: str
    power: float  #: greatest, of its figures at its voltage [W]
    price: float | None
    verdict: str  #: pass, fail, or none where something is not known
    binding: tuple[str, ...]


class Judge:
    """Verdicts by exact runs, counted. Where statics alone miss the margin asked for, no run is needed to fail."""

    def __init__(self, lever: Lever, wishes: "tuple[WishLike, ...]") -> None:
        self.lever, self.wishes, self.runs = lever, wishes, 0
        self.seen: dict[float, tuple[str, ...]] = {}

    def binding(self, value: float) -> tuple[str, ...]:
        """What does not hold at a value; empty where everything does."""
        if value not in self.seen:
            short = short_of_margin(*self.lever.changed(value), self.wishes)
            self.seen[value] = ("static_margin",) if short else self.verified(value)
        return self.seen[value]

    def verified(self, value: float) -> tuple[str, ...]:
        """The same by a run in any case."""
        self.runs += 1
        return unmet(*self.lever.changed(value), self.wishes)

    def passes(self, value: float) -> bool:
        """Everything holds."""
        return not self.binding(value)


def short_of_margin(machine: Machine, plan: Plan, wishes: "tuple[WishLike, ...]") -> bool:
    """Whether the static margin asked for is missed, as far as torque at rest tells."""
    asked, task = [float(wish.limit) for wish in wishes if wish.name == "static_margin"], first_lift(plan)
    if not asked or task is None:
        return False
    found = static_margin(loaded(machine, heaviest_payload(machine.arm, plan)), task)
    return found is not None and found.value < asked[0]


def unmet(machine: Machine, plan: Plan, wishes: "tuple[WishLike, ...]") -> tuple[str, ...]:
    """What is asked for and does not hold, by name, and a move that does not arrive with its cause."""
    from armsim.dynamics.segment import SolverError

    try:
        verdict, requirements, lift = verdict_of(machine, plan, wishes)
    except SolverError:
        return ("the run cannot be computed",)
    found = [one.name for one in requirements if one.met is False]
    if lift.reached is False:
        cause = f": {told_of(machine.arm.kind, lift.stall_cause)}" if lift.stall_cause else ""
        found = [f"the lift does not arrive{cause}", *(name for name in found if name != "lift_time")]
    if verdict == "fail" and not found:
        found = ["a move does not arrive"]
    return tuple(found)


def limit_of(lever: Lever, wishes: "tuple[WishLike, ...]" = ()) -> Limit:
    """Where the lever stops to do, both sides run, to a thousandth."""
    judge = Judge(lever, wishes)
    good, bad = _bracket(judge)
    if good is not None and bad is not None:
        good, bad = narrowed(judge.passes, good, bad, CLOSE)
    exceptions = _exceptions(judge, good, bad)
    return Limit(
        key=lever.key,
        what=lever.what,
        dimension=lever.dimension,
        now=lever.now,
        passes=good,
        fails=bad,
        binding=() if bad is None else judge.verified(bad),
        exceptions=exceptions,
        runs=judge.runs,
    )


def _bracket(judge: Judge) -> tuple[float | None, float | None]:
    """A value that passes and one that fails, next to each other on the way tried; None where there is none."""
    lever = judge.lever
    outward = judge.passes(lever.now)
    end, last = (lever.hardest, lever.now) if outward else (lever.easiest, lever.now)
    for value in steps(lever.now, end):
        if judge.passes(value) is not outward:
            return (last, value) if outward else (value, last)
        last = value
    return (last, None) if outward else (None, last)


def steps(now: float, end: float) -> Iterator[float]:
    """From a value to an end: to double or half at most in the first step, each step twice as far, the end last."""
    way, part = end - now, min(1.0, 0.25 * abs(now) / max(abs(end - now), 1e-300))
    while part < 1.0:
        yield now + part * way
        part *= 2.0
    if way != 0.0:
        yield end


def _exceptions(judge: Judge, good: float | None, bad: float | None) -> tuple[tuple[float, tuple[str, ...]], ...]:
    """Values tried, samples on either side of a limit among them, whose verdict is that of its other side."""
    lever = judge.lever
    upward = lever.hardest > lever.easiest
    if good is None or bad is None:
        return ()
    spread = [lever.easiest + (good - lever.easiest) * k / (SAMPLES + 1.0) for k in range(SAMPLES + 1)]
    beyond = min(2.0 * bad, lever.hardest) if upward else lever.hardest
    spread += [bad + (beyond - bad) * k / SAMPLES for k in range(1, SAMPLES + 1)]
    for value in spread:
        judge.binding(value)
    return tuple(
        (value, binding)
        for value, binding in sorted(judge.seen.items())
        if bool(binding) is ((value <= good) if upward else (value >= good))
    )


def limits_asked_for(
    task: "Task", stock: "Stock | None", largest: tuple[str, ...], least: tuple[str, ...], *, every: bool
) -> tuple[str, ...]:
    """The keys to look into, all of them checked; none where none are asked for. Raises LimitError."""
    if not (largest or least or every):
        return ()
    if task.scenario is None:
        raise LimitError("limits are those of a whole scenario: the file lacks its motor or supply")
    known = {lever.key: lever.hardest > lever.easiest for lever in levers_of(task)}
    known |= {} if stock is None else {"motor": False}
    faults = []
    for option, keys, upward in (("--largest", largest, True), ("--least", least, False)):
        for key in keys:
            if key not in known:
                faults.append(f"{option} {key}: {_nearest(key, list(known), stock)}")
            elif known[key] is not upward:
                faults.append(f"{option} {key}: ask for it by {'--least' if upward else '--largest'}")
    if faults:
        raise LimitError("\n".join(faults))
    return tuple(known) if every else (*largest, *least)


def _nearest(key: str, known: list[str], stock: "Stock | None") -> str:
    near = difflib.get_close_matches(key, known, 1, 0.5) or [name for name in known if key in name.split(".")]
    if key == "motor" and stock is None:
        return "the smallest motor is one of a stock list: add --stock"
    meant = f"did you mean {near[0]}? " if near else ""
    return f"no such limit here; {meant}known: {', '.join(known)}"


class LimitError(Exception):
    """Limits that cannot be asked for."""

    exit_status = 2


def asked_limits(
    task: "Task", stock: "Stock | None", keys: tuple[str, ...]
) -> tuple[tuple[Limit, ...], tuple[MotorTried, ...] | None]:
    """Limits by these keys, and what each motor of the stock makes of the machine where `motor` is among them."""
    found = tuple(limit_of(lever, task.requirements) for lever in levers_of(task) if lever.key in keys)
    return found, motors_tried(task, stock) if stock is not None and "motor" in keys else None


def motors_tried(task: "Task", stock: "Stock") -> tuple[MotorTried, ...]:
    """Every motor of a stock in the file's own machine, the smallest by power first."""
    from armsim.checks.operating import operating_points
    from armsim.scenario.tasks import whole_with_motor

    tried = []
    for motor in stock.motors:
        try:
            machine = whole_with_motor(task, motor.given)
        except ValueError as fault:
            tried.append(
                MotorTried(name=motor.name, power=0.0, price=motor.price, verdict="none", binding=(str(fault),))
            )
            continue
        binding = unmet(machine, task.plan, task.requirements)
        power = max((one.power for one in operating_points(machine, None)), default=0.0)
        tried.append(
            MotorTried(
                name=motor.name,
                power=power * machine.motor.count,
                price=motor.price,
                verdict="fail" if binding else "pass",
                binding=binding,
            )
        )
    return tuple(sorted(tried, key=lambda one: one.power))
