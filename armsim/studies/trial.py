"""One motor with reductions tried behind it: torque at rest, exact runs of the lift, the window of those that do."""

import math
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from armsim.checks.lifting import LiftTask, static_margin
from armsim.checks.operating import no_load_speed
from armsim.checks.search import narrowed
from armsim.drivetrain.circuit import drive_point
from armsim.drivetrain.machine import Machine
from armsim.drivetrain.train import all_driving, forms, speed_regimes
from armsim.dynamics.plan import Plan, PowerCut, Travel
from armsim.parts.stage import ConstantEfficiency, Stage, reverse_of
from armsim.studies.demand import Demand

if TYPE_CHECKING:
    from armsim.dynamics.run import Run

EDGE = 5e-4  #: share to which the ends of a window are found
PLACE = 0.01  #: the same of the quickest, about which the time hardly changes
BEYOND = 4.0  #: times the least reduction by torque, to which a motor that is too slow is tried
SLOWEST = 20.0  #: times the time asked for, at which a lift is given up
LEAST_REDUCTION, MOST_REDUCTION = 1e-2, 1e6


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
