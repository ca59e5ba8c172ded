"""How far one thing may go before a requirement no longer holds: largest payload, longest arm, lowest charge, worst
efficiency, and the smallest motor of a stock.

Every value is judged by an exact run of the whole cycle, in as many processes as there are; `limit_search` chooses the
values. What they come to does not hang on how many processes there are.
"""

import difflib
import time
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import FIRST_COMPLETED, Executor, Future, wait
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Any

from armsim.checks.holding import hold_statically
from armsim.checks.lifting import first_lift, static_margin
from armsim.checks.phrases import told_of
from armsim.drivetrain.machine import Machine, loaded
from armsim.dynamics.plan import Plan, heaviest_payload
from armsim.studies.levers import Lever, levers_of
from armsim.studies.limit_search import Found, Search, Verdict
from armsim.studies.processes import LostProcess, Processes, usual_workers
from armsim.studies.single import verdict_of

if TYPE_CHECKING:
    from armsim.checks.requirements import WishLike
    from armsim.scenario.stock import Stock
    from armsim.scenario.stock_items import StockMotor
    from armsim.scenario.tasks import Task

USUAL_RUNS = 10  #: that a limit takes
SHORT = 3.0  #: limits that take less are sought without other processes, if nothing else is said [s]
NOT_WHOLE = "limits are those of a whole scenario: the file lacks its motor or supply"
NOT_COMPUTED = Verdict(binding=("the run cannot be computed",), margins={})

Told = Callable[[str], object]  #: hears how far it is


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


def strength_of(machine: Machine, plan: Plan) -> float:
    """Static margin of the first lift with the heaviest payload; infinite where nothing needs lifting."""
    task = first_lift(plan)
    found = None if task is None else static_margin(loaded(machine, heaviest_payload(machine.arm, plan)), task)
    return float("inf") if found is None else found.value


def verdict_at(machine: Machine, plan: Plan, wishes: "tuple[WishLike, ...]") -> Verdict:
    """What is asked for and does not hold, by name, and a move that does not arrive with its cause; by a run."""
    from armsim.dynamics.segment import SolverError

    try:
        verdict, requirements, lift = verdict_of(machine, plan, wishes)
    except SolverError:
        return NOT_COMPUTED
    found = [one.name for one in requirements if one.met is False]
    if lift.reached is False:
        cause = f": {told_of(machine.arm.kind, lift.stall_cause)}" if lift.stall_cause else ""
        found = [f"the lift does not arrive{cause}", *(name for name in found if name != "lift_time")]
    if verdict == "fail" and not found:
        found = ["a move does not arrive"]
    margins = {one.name: one.margin / (abs(float(one.limit)) or 1.0) for one in requirements if one.margin is not None}
    return Verdict(binding=tuple(found), margins=margins)


def limit_of(lever: Lever, wishes: "tuple[WishLike, ...]" = ()) -> Limit:
    """Where the lever stops to do, both sides run, to a thousandth."""
    search = _search(lever, wishes, {})
    return _sought((search,), lambda search, value: _Here().submit(_tried, search.lever, value, wishes))[0]


def _search(lever: Lever, wishes: "tuple[WishLike, ...]", seen: dict[float, Verdict]) -> Search:
    asked = {wish.name: wish.limit for wish in wishes}
    margin = float(asked["static_margin"]) if "static_margin" in asked else None

    def strength(value: float) -> float:
        return strength_of(*lever.changed(value))

    def strong(value: float) -> bool:
        return strength(value) >= (1.0 if margin is None else margin)

    def holds(value: float) -> bool:
        machine, plan = lever.changed(value)
        return hold_statically(loaded(machine, heaviest_payload(machine.arm, plan)), plan).unpowered_holds

    at_rest = (strong, holds) if "holds_unpowered" in asked else (strong,)
    return Search(lever=lever, strength=strength, asked=margin, at_rest=at_rest, seen=seen)


def _tried(lever: Lever, value: float, wishes: "tuple[WishLike, ...]") -> Verdict:
    return verdict_at(*lever.changed(value), wishes)


def _tried_by_key(task: "Task", key: str, value: float) -> Verdict:
    """The same of a lever that is made where it is tried: levers cannot be sent to another process."""
    return _tried(next(lever for lever in levers_of(task) if lever.key == key), value, task.requirements)


class _Here(Executor):
    """Does at once what it is given."""

    def submit(self, fn: Callable[..., Any], /, *args: Any, **kwargs: Any) -> Future[Any]:
        future: Future[Any] = Future()
        future.set_result(fn(*args, **kwargs))
        return future


def _sought(
    searches: Sequence[Search], judged: Callable[[Search, float], Future[Verdict]], told: Told = str
) -> tuple[Limit, ...]:
    """The limit of every search, each going on as soon as its own verdicts are there."""
    asking = [search.found() for search in searches]
    found: dict[int, Limit] = {}
    waiting: dict[int, dict[float, Future[Verdict]]] = {}
    answers: dict[int, dict[float, Verdict] | None] = dict.fromkeys(range(len(searches)))
    while answers or waiting:
        for k, answer in answers.items():
            try:
                wanted = asking[k].send(answer) if answer is not None else next(asking[k])
            except StopIteration as ended:
                found[k] = _limit(searches[k], ended.value)
            else:
                waiting[k] = {value: judged(searches[k], value) for value in wanted}
        told(_so_far(searches, found))
        wait([one for batch in waiting.values() for one in batch.values() if not one.done()], None, FIRST_COMPLETED)
        ready = [k for k, batch in waiting.items() if all(one.done() for one in batch.values())]
        answers = {k: {value: _answer(one) for value, one in waiting.pop(k).items()} for k in ready}
    return tuple(found[k] for k in range(len(searches)))


def _answer(future: Future[Verdict]) -> Verdict:
    try:
        return future.result()
    except LostProcess:
        return NOT_COMPUTED


def _so_far(searches: Sequence[Search], found: Mapping[int, Limit]) -> str:
    runs = sum(search.runs for search in searches)
    sought = ", ".join(search.lever.what for k, search in enumerate(searches) if k not in found)
    return f"{runs} runs; sought: {sought or 'nothing more'} ..."


def _limit(search: Search, found: Found) -> Limit:
    lever, fails = search.lever, found.fails
    return Limit(
        key=lever.key,
        what=lever.what,
        dimension=lever.dimension,
        now=lever.now,
        passes=found.passes,
        fails=fails,
        binding=() if fails is None else search.seen[fails].binding,
        exceptions=found.exceptions,
        runs=search.runs,
    )


def known_limits(task: "Task", keys: tuple[str, ...] = ()) -> tuple[str, ...]:
    """These keys, or all that have a limit where none are told. Raises LimitError."""
    if task.scenario is None:
        raise LimitError(NOT_WHOLE)
    known = [lever.key for lever in levers_of(task)]
    faults = [f"{key}: {_nearest(key, known, None)}" for key in keys if key not in known]
    if faults:
        raise LimitError("\n".join(faults))
    return keys or tuple(known)


def limits_asked_for(
    task: "Task", stock: "Stock | None", largest: tuple[str, ...], least: tuple[str, ...], *, every: bool
) -> tuple[str, ...]:
    """The keys to look into, all of them checked; none where none are asked for. Raises LimitError."""
    if not (largest or least or every):
        return ()
    if task.scenario is None:
        raise LimitError(NOT_WHOLE)
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
    task: "Task", stock: "Stock | None", keys: tuple[str, ...], workers: int | None = None, told: Told = str
) -> tuple[tuple[Limit, ...], tuple[MotorTried, ...] | None]:
    """Limits by these keys, and what each motor of the stock makes of the machine where `motor` is among them.

    Runs are made in that many processes, as many as cores if not told; in this one where that is soon done.
    """
    assert task.scenario is not None  # keys were found in it
    levers = [lever for lever in levers_of(task) if lever.key in keys]
    motors = () if stock is None or "motor" not in keys else stock.motors
    begun = time.perf_counter()
    as_it_is = verdict_at(task.scenario.machine, task.plan, task.requirements)
    takes = (time.perf_counter() - begun) * (USUAL_RUNS * len(levers) + len(motors))
    if workers is None:
        workers = 1 if takes < SHORT else usual_workers()
    searches = [_search(lever, task.requirements, {lever.now: as_it_is}) for lever in levers]
    with _Here() if workers == 1 else Processes(workers) as executor:
        judged = partial(executor.submit, _tried_by_key, task)
        found = _sought(searches, lambda search, value: judged(search.lever.key, value), told)
        tried = [executor.submit(_motor_tried, task, motor) for motor in motors]
        return found, None if "motor" not in keys else _smallest_first(tried, motors)


def motors_tried(task: "Task", stock: "Stock") -> tuple[MotorTried, ...]:
    """Every motor of a stock in the file's own machine, the smallest by power first."""
    return _smallest_first([_Here().submit(_motor_tried, task, motor) for motor in stock.motors], stock.motors)


def _smallest_first(tried: "Sequence[Future[MotorTried]]", motors: "Sequence[StockMotor]") -> tuple[MotorTried, ...]:
    return tuple(sorted((_motor(*pair) for pair in zip(tried, motors, strict=True)), key=lambda one: one.power))


def _motor(future: "Future[MotorTried]", motor: "StockMotor") -> MotorTried:
    try:
        return future.result()
    except LostProcess as fault:
        return _unknown(motor, str(fault))


def _unknown(motor: "StockMotor", why: str) -> MotorTried:
    return MotorTried(name=motor.name, power=0.0, price=motor.price, verdict="none", binding=(why,))


def _motor_tried(task: "Task", motor: "StockMotor") -> MotorTried:
    from armsim.checks.operating import operating_points
    from armsim.scenario.tasks import whole_with_motor

    try:
        machine = whole_with_motor(task, motor.given)
    except ValueError as fault:
        return _unknown(motor, str(fault))
    binding = verdict_at(machine, task.plan, task.requirements).binding
    power = max((one.power for one in operating_points(machine, None)), default=0.0)
    return MotorTried(
        name=motor.name,
        power=power * machine.motor.count,
        price=motor.price,
        verdict="fail" if binding else "pass",
        binding=binding,
    )
