"""What the motor bears for good, and where its own cycle leads when it goes on.

Payloads that are borne for ever follow from the machine's own statics at the continuous current, winding at its limit;
those of the cycle from its own heat (`cycle_heat`), and both end where the drive's torque does.
"""

import math
from collections.abc import Callable
from dataclasses import replace

from armsim.checks.cycle_heat import CycleHeat, at_rises, cycle_heat, loss_growth
from armsim.checks.cycle_series import CycleSeries, cycle_at, cycle_of, last_cycle, per_ampere
from armsim.checks.drive import time_to_limit
from armsim.checks.duty import Duty, HeatRating
from armsim.checks.lifting import first_lift, static_margin, travel_range, turning_points
from armsim.checks.search import narrowed
from armsim.drivetrain.circuit import Warmth, drive_point
from armsim.drivetrain.machine import Machine, loaded
from armsim.drivetrain.train import cone
from armsim.dynamics.plan import Exchange, Plan, Travel, heaviest_payload
from armsim.dynamics.run import Run
from armsim.dynamics.segment import SolverError
from armsim.parts.duty import continuous_current, overload_factor, overload_factor_rms, runaway_current
from armsim.parts.motor import resistance_ratio

NEAR = 1e-4  #: share within which a payload is sought
CLOSE = 2e-3  #: the same for one whose whole cycle must be judged
AGAIN = 2  #: cycles run with another payload, beside the one that brings the arm to where they begin
MOST_DOUBLINGS = 24  #: of a payload, after which none is too heavy
TRUSTED = 1.05  #: loss that the rms rule may allow, over what is borne


def bearable_current(machine: Machine) -> float | None:
    """Current of each motor that brings its winding just to its limit in the end; None where heat is unknown. [A]"""
    motor = machine.motor
    heat = motor.heat
    if heat is None or heat.winding_limit is None:
        return None
    drop, reference = motor.brush_drop, motor.reference_temperature
    return float(continuous_current(heat, motor.resistance, machine.ambient, reference, heat.winding_limit, drop))


def rate(machine: Machine, plan: Plan, run: Run | None, duty: Duty | None) -> HeatRating | None:
    """All ratings of a machine with its heaviest payload, with its run where there is one; None without a limit."""
    motor, current = machine.motor, bearable_current(machine)
    heat = motor.heat
    if heat is None or heat.winding_limit is None or current is None or machine.companions:
        return None  # how companions share a heavier load changes with it
    limit = heat.winding_limit
    housing = settled_housing(machine, current, limit)
    given = min(current, drive_point(machine, 1.0, 0.0, Warmth(limit, housing)).current)
    torque = given * per_ampere(machine, housing)
    rating = HeatRating(
        continuous_current=current,
        runaway_current=float(runaway_current(heat, motor.resistance, motor.reference_temperature)),
        limit=limit,
        winding_time_constant=heat.winding_to_housing * heat.winding_capacity,
        lift_payload=heaviest(machine, plan, torque, raising_torque),
        hold_payload=heaviest(machine, plan, torque, holding_torque),
    )
    if run is None or duty is None or not duty.pattern.repeats or duty.pattern.broken:
        return rating
    return with_cycle(with_overload(rating, duty, machine), machine, plan, run)


def settled_housing(machine: Machine, current: float, winding: float) -> float:
    """Housing temperature at a steady standstill on a current [A] that leads the winding to its own [degC]. [degC]"""
    motor = machine.motor
    if motor.heat is None:
        return machine.ambient
    copper = current**2 * motor.resistance * float(resistance_ratio(winding, motor.reference_temperature))
    return winding - copper * motor.heat.winding_to_housing


def raising_torque(machine: Machine, angle: float) -> float:
    """Air-gap torque of all motors that just raises the arm from rest. [N*m]"""
    return cone(machine, angle).rise


def holding_torque(machine: Machine, angle: float) -> float:
    """The least air-gap torque of all motors, by magnitude, with which the arm stays. [N*m]"""
    edges = cone(machine, angle)
    return max(edges.sink, -edges.rise, 0.0)


def heaviest(machine: Machine, plan: Plan, most: float, torque: Callable[[Machine, float], float]) -> float | None:
    """The heaviest payload for which an air-gap torque [N*m] suffices all the way; 0: none; None: any. [kg]"""
    task, arm = first_lift(plan), machine.arm
    low, high = travel_range(plan) if task is None else (task.start, task.to)

    def borne(payload: float) -> bool:
        now = loaded(machine, payload)
        return all(torque(now, angle) <= most for angle in turning_points(now, low, high))

    unit = max(arm.payload_mass, 1.0)
    tried = [0.0, *(unit * 2.0**k for k in range(-8, MOST_DOUBLINGS))]
    good = max((payload for payload in tried if borne(payload)), default=None)
    if good is None:
        return 0.0
    return None if good == tried[-1] else narrowed(borne, good, tried[tried.index(good) + 1], NEAR)[0]


def with_overload(rating: HeatRating, duty: Duty, machine: Machine) -> HeatRating:
    """With what the duty's pattern of on and off allows, exactly and by the rms rule."""
    heat, pattern = machine.motor.heat, duty.pattern
    if heat is None or pattern.on_time == 0.0:
        return rating
    share = heat.winding_to_housing / (heat.winding_to_housing + heat.housing_to_air)
    exact = overload_factor(pattern.on_time, duty.factor, rating.winding_time_constant, share)
    rule = overload_factor_rms(duty.factor)
    return replace(
        rating,
        overload=exact,
        overload_one_node=overload_factor(pattern.on_time, duty.factor, rating.winding_time_constant),
        overload_rms=rule,
        rms_trusted=(rule / exact) ** 2 <= TRUSTED,
    )


def with_cycle(rating: HeatRating, machine: Machine, plan: Plan, run: Run) -> HeatRating:
    """With where the run's cycle leads, and the payload with which it would lead just to the limit."""
    cycle, growth = last_cycle(run, plan), growth_of(run, plan)
    map_of_cycle = cycle_heat(machine, cycle, growth=growth)
    if map_of_cycle is None:
        return rating
    payload, ends = cycle_payload(machine, plan, cycle, rating.limit, growth)
    return replace(
        rating,
        settles_at=map_of_cycle.settles_at(),
        passes_in=crossing(run, map_of_cycle, cycle, rating.limit),
        rest_needed=map_of_cycle.rest_needed(rating.limit),
        cycle_payload=payload,
        cycle_payload_by=ends,
        time_to_limit_settled=settled_stall(machine, plan, map_of_cycle),
    )


def growth_of(run: Run, plan: Plan) -> float | None:
    """How the copper loss of a run's cycle grows with warmth, from its second and last; None: not told. [-]"""
    if len(run.cycles) < 3:
        return None
    return loss_growth(run.machine, cycle_at(run, plan, 1), last_cycle(run, plan))


def settled_stall(machine: Machine, plan: Plan, heat: CycleHeat) -> float | None:
    """Time to the limit of a motor stalled at the hottest instant of the settled cycle; 0 past it, None: never. [s]"""
    start, task = heat.settled(), first_lift(plan)
    if start is None:
        return 0.0
    winding, housing = heat.hottest(start)
    return time_to_limit(machine, task.duty if task else 1.0, (winding, housing))


def crossing(run: Run, heat: CycleHeat, cycle: CycleSeries, limit: float) -> int | None:
    """The cycle in which the winding first passes a limit [degC], in the run or after it; None: never."""
    seen = next((each.number for each in run.cycles if each.winding > limit), None)
    if seen is not None:
        return seen
    start = at_rises(run.machine, float(cycle.winding[0]), float(cycle.housing[0]))
    more = heat.passes_in(limit, start)
    return None if more is None else run.cycles[-1].number - 1 + more


def cycle_payload(
    machine: Machine, plan: Plan, cycle: CycleSeries, limit: float, growth: float | None = None
) -> tuple[float | None, str | None]:
    """The heaviest payload [kg] of the cycle, all its payloads scaled alike, and whether heat or torque ends it.

    Where the position loop makes every move, the currents of the cycle are scaled on the same motion; else the cycle
    is run again with each payload tried, from as warm as the cycle given begins.
    """
    mass, task = heaviest_payload(machine.arm, plan), first_lift(plan)
    if mass == 0.0 or task is None:
        return None, None

    def lifts(factor: float) -> bool:
        margin = static_margin(loaded(machine, factor * mass), task)
        return margin is None or margin.value > 1.0

    def settles(factor: float) -> float | None:
        heat = (
            rerun_heat(machine, plan, factor, cycle, growth) if driven else cycle_heat(machine, cycle, factor, growth)
        )
        top = None if heat is None else heat.settles_at()
        return None if heat is None else math.inf if top is None else top

    def within(factor: float) -> bool:
        found[factor] = settles(factor)
        top = found[factor]
        return top is not None and top <= limit

    driven, found = any(isinstance(move, Travel) for move in plan.moves), dict[float, float | None]()
    beyond = next((2.0**k for k in range(MOST_DOUBLINGS) if not lifts(2.0**k)), None)
    if beyond is None or not lifts(0.0):
        return None, None
    most = narrowed(lifts, 0.0, beyond, CLOSE)[0]
    try:
        if within(most):
            return most * mass, "torque"
        if not within(0.0):
            return 0.0, "heat"
        good, bad = narrowed(within, 0.0, most, CLOSE)
    except SolverError:
        return None, None  # a cycle that cannot be computed says nothing of the machine
    return good * mass, "torque" if found[bad] is None else "heat"


def rerun_heat(
    machine: Machine, plan: Plan, factor: float, cycle: CycleSeries, growth: float | None
) -> CycleHeat | None:
    """The heat of cycles run with payloads times a factor; None: not completed.

    The second is begun as warm as another cycle began, the third as warm as the second settles.
    """
    from armsim.dynamics.cycles import roughly, step, target_of
    from armsim.dynamics.journal import Journal
    from armsim.dynamics.state import HOUSING, WINDING
    from armsim.dynamics.trajectory import at_start
    from armsim.dynamics.voyage import Voyage, set_entry

    heavier = loaded(machine, factor * machine.arm.payload_mass)
    moves = (replace(m, payload=factor * m.payload) if isinstance(m, Exchange) else m for m in plan.moves)
    scaled = replace(plan, moves=tuple(moves), repeat=AGAIN + 1)
    start = at_start(heavier, scaled)
    voyage = roughly(Voyage(machine=heavier, journal=Journal(heavier, start.state)))
    one = step(voyage, start, scaled, 0, None, {})
    warmth, heat = (float(cycle.winding[0]), float(cycle.housing[0])), None
    for number in range(1, AGAIN + 1):
        if not one.done:
            return None
        warm = set_entry(set_entry(one.after, WINDING, warmth[0]), HOUSING, warmth[1])
        one = step(voyage, warm, scaled, number, target_of(scaled), one.seen)
        heat = cycle_heat(heavier, cycle_of(one, scaled), growth=growth)
        settled = None if heat is None else heat.settled()
        if settled is None:
            break
        warmth = (float(settled[0]) + machine.ambient, float(settled[1]) + machine.ambient)
    return heat if one.done else None
