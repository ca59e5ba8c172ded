"""Sizing a drive: what the lift asks, and for each motor the reductions with which it makes it in time.

A reduction is tried in exact runs at full drive from rest: the arm must be able to start anywhere on its way, by the
static margin asked for, and arrive in time. The least reduction of the window is set by torque, the largest by speed;
in between the lift is quickest somewhere, which is a single place.
"""

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING

from armsim.checks.heat_rating import bearable_current
from armsim.checks.lifting import LiftTask, first_lift
from armsim.checks.operating import operating_points
from armsim.drivetrain.machine import Load, Machine, loaded
from armsim.dynamics.plan import Plan, heaviest_payload
from armsim.parts.arm import with_payload
from armsim.studies.demand import Demand, demand_of
from armsim.studies.trial import SLOWEST, Trial, geared, lift_run

if TYPE_CHECKING:
    from armsim.scenario.stock import Stock
    from armsim.scenario.tasks import Task

USUAL_EFFICIENCY = 0.75  #: of two or three stages, where nothing is known of them


class SizeError(Exception):
    """Nothing that could be sized for."""

    exit_status = 2


@dataclass(frozen=True, kw_only=True)
class Working:
    """A motor at one reduction, in exact runs."""

    reduction: float  #: motor-side turns per turn of the arm's shaft, beside what the motor has inside [-]
    time: float  #: of the lift [s]
    static_margin: float | None  #: None where nothing needs lifting [-]
    motor_current: float  #: largest in the lift, of each motor [A]
    supply_current: float  #: largest in the lift [A]
    bus_voltage: float  #: lowest in the lift [V]
    cycle_current: float  #: rms over the whole cycle, of each motor [A]


@dataclass(frozen=True, kw_only=True)
class Fit:
    """What a motor can make of the lift."""

    name: str
    price: float | None
    mass: float | None  #: [kg]
    voltage: float  #: of the source, fresh [V]
    nominal_voltage: float | None  #: at which its figures hold [V]
    machine: Machine  #: without the reduction that is sought
    greatest_power: float | None  #: of all motors at their shaft, steadily; None where one cannot turn itself [W]
    bearable_current: float | None  #: of each motor for good, at standstill; None: heat unknown [A]
    window: tuple[float, float] | None  #: of reductions; None: none does [-]
    quickest: Working | None  #: None where it does not lift with any reduction tried
    coolest: Working | None  #: at the window's far end, with the least current; None without a window
    lacking: str  #: what it lacks and how much; empty with a window


@dataclass(frozen=True, kw_only=True)
class Sizing:
    """What is asked, and what each motor can do about it."""

    load: Load  #: with its heaviest payload
    demand: Demand
    efficiency: float  #: of the reduction that is sought [-]
    efficiency_from: str
    margin: float  #: static margin asked for [-]
    has_supply: bool  #: in the file; else each motor has its nominal voltage
    fits: tuple[Fit, ...]
    refused: tuple[tuple[str, str], ...]  #: motors that could not be looked at, and why


def size(
    task: "Task", stock: "Stock | None" = None, *, time: float | None = None, efficiency: float | None = None
) -> Sizing:
    """Size a drive for a task from a stock's motors and the file's own. Raises SizeError where no lift is asked for."""
    lift, asked = lift_of(task), time_of(task, time)
    load = with_payload(task.load, heaviest_payload(task.load, task.plan))
    share, origin = efficiency_for(task, efficiency)
    margin = _asked(task, "static_margin")
    demand = demand_of(load, lift, asked)
    fits, refused = [], []
    for name, price, mass, build in _motors(task, stock):
        try:
            machine = build()
        except ValueError as fault:
            refused.append((name, str(fault)))
            continue
        found = fit(name, machine, task.plan, demand, share, 1.0 if margin is None else margin)
        fits.append(replace(found, price=price, mass=mass))
    return Sizing(
        load=load,
        demand=demand,
        efficiency=share,
        efficiency_from=origin,
        margin=1.0 if margin is None else margin,
        has_supply=task.has_supply,
        fits=tuple(fits),
        refused=tuple(refused),
    )


def lift_of(task: "Task") -> LiftTask:
    """The first lift asked for."""
    found = first_lift(task.plan)
    if found is None:
        raise SizeError("no lift is asked for: add one to the moves, such as - lift: {to: 70 deg}")
    return found


def time_of(task: "Task", given: float | None) -> float:
    """In which to lift: as given, else as required. [s]"""
    asked = _asked(task, "lift_time") if given is None else given
    if asked is None:
        raise SizeError("how long may the lift take? Give --time, or the file requirements: {lift_time: {max: 2.5 s}}")
    return asked


def _asked(task: "Task", name: str) -> float | None:
    return next((float(wish.limit) for wish in task.requirements if wish.name == name), None)


def efficiency_for(task: "Task", given: float | None) -> tuple[float, str]:
    """Of the reduction that is sought, and where it comes from."""
    if given is not None:
        return given, "given"
    if task.scenario is not None and task.file.transmission:
        machine = task.scenario.machine
        own = machine.stages[len(machine.stages) - len(task.file.transmission) :]
        own = own[:-1] if machine.arm.kind == "carriage" else own
        if own:
            return math.prod(stage.law.static()[0] for stage in own), "that of the file's transmission from rest"
    return USUAL_EFFICIENCY, "assumed"


def _motors(
    task: "Task", stock: "Stock | None"
) -> Iterator[tuple[str, float | None, float | None, Callable[[], Machine]]]:
    """Name, price, mass [kg] and how to build it: the file's own first."""
    from armsim.scenario.tasks import has_motor, with_motor

    if has_motor(task):
        yield "the file's motor", None, None, partial(with_motor, task, task.file.motor)
    for motor in stock.motors if stock else ():
        yield motor.name, motor.price, motor.mass, partial(with_motor, task, motor.given)


# ---------------------------------------------------------------------------------------------------- one motor


def fit(name: str, machine: Machine, plan: Plan, demand: Demand, efficiency: float, margin: float) -> Fit:
    """The window of reductions of one motor, and how it works at the quickest and at the far end."""
    heavy = loaded(machine, heaviest_payload(machine.arm, plan))
    trial = Trial(heavy, demand, efficiency, margin)
    window, quickest = trial.window()
    lacking = ""
    if window is None:
        lacking = trial.lacking(quickest)
    points = operating_points(heavy, None)
    powers = [one.power for one in points if one.name == "most power"]

    def working(reduction: float | None) -> Working | None:
        return None if reduction is None else work(geared(machine, reduction, efficiency), plan, trial, reduction)

    return Fit(
        name=name,
        price=None,
        mass=None,
        voltage=machine.highest_voltage,
        nominal_voltage=machine.motor.nominal_voltage,
        machine=machine,
        greatest_power=powers[0] * machine.motor.count if powers else None,
        bearable_current=bearable_current(machine),
        window=window,
        quickest=working(quickest),
        coolest=None if window is None else working(window[1]),
        lacking=lacking,
    )


def work(machine: Machine, plan: Plan, trial: Trial, reduction: float) -> Working:
    """How a machine with its reduction works: its lift alone, and one whole cycle."""
    from armsim.dynamics.trajectory import simulate

    run = lift_run(trial.at(reduction), trial.demand.task, SLOWEST * trial.demand.time)
    cycle = simulate(machine, replace(plan, repeat=1))
    return Working(
        reduction=reduction,
        time=trial.time(reduction),
        static_margin=trial.static(reduction),
        motor_current=run.peaks.motor_current.value,
        supply_current=run.peaks.supply_current.value,
        bus_voltage=run.peaks.bus_voltage.value,
        cycle_current=cycle.motor_current_rms,
    )
