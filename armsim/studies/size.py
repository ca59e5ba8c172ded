"""Sizing a drive: what the lift asks, and for each motor the reductions with which it makes it in time.

A reduction is tried in exact runs at full drive from rest: the arm must be able to start anywhere on its way, by the
static margin asked for, and arrive in time. The least reduction of the window is set by torque, the largest by speed;
in between the lift is quickest somewhere, which is a single place.
"""

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from functools import partial
from typing import TYPE_CHECKING

from armsim.checks.heat_rating import bearable_current
from armsim.checks.lifting import LiftTask, first_lift, static_margin
from armsim.checks.operating import no_load_speed, operating_points
from armsim.checks.search import narrowed
from armsim.drivetrain.circuit import drive_point
from armsim.drivetrain.machine import Load, Machine, loaded
from armsim.drivetrain.train import all_driving, forms, speed_regimes
from armsim.dynamics.plan import Plan, PowerCut, Travel, heaviest_payload
from armsim.parts.arm import with_payload
from armsim.parts.stage import ConstantEfficiency, Stage, reverse_of
from armsim.studies.demand import Demand, demand_of

if TYPE_CHECKING:
    from armsim.dynamics.run import Run
    from armsim.scenario.stock import Stock
    from armsim.scenario.tasks import Task

USUAL_EFFICIENCY = 0.75  #: of two or three stages, where nothing is known of them
EDGE = 5e-4  #: share to which the ends of a window are found
PLACE = 0.01  #: the same of the quickest, about which the time hardly changes
BEYOND = 4.0  #: times the least reduction by torque, to which a motor that is too slow is tried
SLOWEST = 20.0  #: times the time asked for, at which a lift is given up
LEAST_REDUCTION, MOST_REDUCTION = 1e-2, 1e6


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
    share, origin = _efficiency(task, efficiency)
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


def _efficiency(task: "Task", given: float | None) -> tuple[float, str]:
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


def arm_line(machine: Machine, points: int = 60) -> tuple[list[float], list[float]]:
    """Torques at the arm [N*m] against its speeds [rad/s] that a machine with its reduction can keep at full drive.

    Of the drive with all that turns with the motor, before pivot friction.
    """
    regimes = speed_regimes(machine, 0.0)
    fastest = no_load_speed(machine) / machine.reduction
    speeds, torques = [fastest * k / points for k in range(points + 1)], []
    for speed in speeds:
        form = forms(machine, speed, +1, all_driving(machine), regimes).motor
        friction = machine.arm.friction.coulomb + machine.arm.friction.viscous * speed
        drive = drive_point(machine, 1.0, speed * machine.reduction)
        torques.append((drive.torque - form.constant - form.speed * speed) / form.load + friction)
    return torques, speeds


def geared(machine: Machine, reduction: float, efficiency: float) -> Machine:
    """A machine with a reduction between what is inside the motor and a carriage's rack or drum."""
    law = ConstantEfficiency(forward=efficiency, reverse=reverse_of(efficiency))
    added = Stage(kind="gears", name="reduction sought", reduction=reduction, law=law)
    ends = len(machine.stages) - (machine.arm.kind == "carriage")
    return replace(machine, stages=(*machine.stages[:ends], added, *machine.stages[ends:]))


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


@dataclass
class Trial:
    """Reductions tried with one motor; the runs are kept."""

    machine: Machine  #: with the heaviest payload, without the reduction
    demand: Demand
    efficiency: float
    margin: float
    times: dict[float, float] = field(default_factory=dict)

    def at(self, reduction: float) -> Machine:
        """With that reduction."""
        return geared(self.machine, reduction, self.efficiency)

    def static(self, reduction: float) -> float | None:
        """Static margin; None where nothing needs lifting."""
        found = static_margin(self.at(reduction), self.demand.task)
        return None if found is None else found.value

    def strong(self, reduction: float) -> bool:
        """Torque enough at the worst angle."""
        found = self.static(reduction)
        return found is None or found >= self.margin

    def time(self, reduction: float) -> float:
        """Of the lift at full drive; infinite where it does not arrive. [s]"""
        if reduction not in self.times:
            self.times[reduction] = lift_time(self.at(reduction), self.demand.task, SLOWEST * self.demand.time)
        return self.times[reduction]

    def lateness(self, log: float) -> float:
        """Logarithm of the time over what is asked for, bounded where it does not arrive."""
        return math.log(min(self.time(math.exp(log)) / self.demand.time, 2.0 * SLOWEST))

    def edge(self, inside: float, outside: float) -> float:
        """The last reduction in time on the way from one that is to one that is not."""
        from scipy.optimize import brentq

        log = float(brentq(self.lateness, math.log(inside), math.log(outside), xtol=0.2 * EDGE))
        while not self.holds(math.exp(log)):
            log += math.copysign(EDGE, math.log(inside) - log)
        return math.exp(log)

    def holds(self, reduction: float) -> bool:
        """Torque enough and in time."""
        return self.strong(reduction) and self.time(reduction) <= self.demand.time

    def limits(self) -> tuple[float | None, float]:
        """Least reduction by torque (None: none up to far beyond the other), and where even no load is too slow."""
        idle, base = no_load_speed(self.machine), self.machine.reduction
        fastest = max(idle, 0.0) * self.demand.time / self.demand.distance / base
        if self.strong(LEAST_REDUCTION):
            return LEAST_REDUCTION, max(fastest, LEAST_REDUCTION)
        if not self.strong(MOST_REDUCTION):
            return None, fastest
        return narrowed(self.strong, MOST_REDUCTION, LEAST_REDUCTION, EDGE)[0], fastest

    def window(self) -> tuple[tuple[float, float] | None, float | None]:
        """The reductions that do, and the one with the quickest lift."""
        least, idle = self.limits()
        if least is None or idle <= 0.0:
            return None, None
        if least >= idle:
            idle = BEYOND * least  # too slow even without load where torque is enough: how slow is told
        place = self.quickest(least, idle)
        if not math.isfinite(self.time(place)):
            return None, None
        if not self.holds(place):
            return None, place
        low = least if self.holds(least) else self.edge(place, least)
        beyond = idle
        while self.holds(beyond) and beyond < MOST_REDUCTION:
            beyond *= 2.0
        return (low, self.edge(place, beyond)), place

    def quickest(self, least: float, most: float) -> float:
        """The reduction between two with the shortest lift."""
        from scipy.optimize import minimize_scalar

        found = minimize_scalar(
            self.lateness, bounds=(math.log(least), math.log(most)), method="bounded", options={"xatol": PLACE}
        )
        return min((least, math.exp(float(found.x))), key=self.time)

    def lacking(self, quickest: float | None) -> str:
        """What keeps the motor from making it, in its own measure."""
        least, idle = self.limits()
        if idle <= 0.0:
            return "cannot turn itself"
        if least is None:
            return "no torque at any reduction"
        if quickest is None:
            return f"torque is enough from {least:.3g}:1 on, and yet it does not arrive: a limit or a device stops it"
        slower = self.time(quickest) / self.demand.time
        if least >= idle:
            strength = self.static(idle)
            share = 0.0 if strength is None else strength / self.margin
            return (
                f"geared to be quick enough without load ({idle:.3g}:1) it has {100.0 * share:.3g} % of the torque; "
                f"geared to lift it takes {slower:.3g} times as long"
            )
        return f"at its quickest it takes {slower:.3g} times as long"


def lift_time(machine: Machine, task: LiftTask, most: float) -> float:
    """Of an exact run of the lift alone at full drive; infinite where it stalls, trips or takes too long. [s]"""
    from armsim.dynamics.run import Kind
    from armsim.dynamics.segment import SolverError

    try:
        reached = lift_run(machine, task, most).first(Kind.REACHED)
    except SolverError:
        return math.inf  # a run that cannot be computed says nothing in favour of a machine
    return math.inf if reached is None else reached.time


def lift_run(machine: Machine, task: LiftTask, most: float) -> "Run":
    """The run behind it."""
    from armsim.dynamics.trajectory import simulate

    move = Travel(to=task.to, duty=1.0, patience=0.0, time_limit=most)
    return simulate(machine, Plan(start=task.start, moves=(move,), power_cut=PowerCut()))


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
