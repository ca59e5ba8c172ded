"""One scenario assessed: with its run, or by statics alone."""

from collections.abc import Iterable
from dataclasses import replace
from typing import TYPE_CHECKING

from armsim.checks.assessment import Assessment, Fall, Holding, Lift, Mend, Requirement
from armsim.checks.carriage_findings import other_sizes
from armsim.checks.charge import judge_battery
from armsim.checks.drive import time_to_limit
from armsim.checks.duty import duty_of
from armsim.checks.findings import find
from armsim.checks.fit import judge_fit
from armsim.checks.heat_rating import rate
from armsim.checks.holding import fall_of_run, hold_statically
from armsim.checks.lifting import (
    first_lift,
    lift_at_rest,
    lift_of_run,
    shortfall,
    torque_curves,
)
from armsim.checks.mends import find_mends, running_judge, static_judge
from armsim.checks.operating import operating_points
from armsim.checks.phrases import number, place, told_of
from armsim.checks.play import judge_play
from armsim.checks.protection import judge_protection
from armsim.checks.requirements import WishLike, judge, measured, overall
from armsim.checks.sharing import judge_motors
from armsim.checks.shocks import judge_shocks
from armsim.checks.stalls import stall_cause, travel_outcomes
from armsim.checks.stays import stays
from armsim.checks.strength import judge_strength, working_safety
from armsim.checks.transmission import judge_transmission
from armsim.checks.wire_heat import judge_wiring
from armsim.drivetrain.machine import Machine, loaded
from armsim.dynamics.plan import Plan, PowerCut, heaviest_payload
from armsim.dynamics.run import Run

if TYPE_CHECKING:
    from armsim.scenario import Scenario


JUDGED = {None: ("coasting", "shorted"), False: ("coasting",), True: ("shorted",)}


def assess(scenario: "Scenario") -> Assessment:
    """Simulate the work cycle and both power cuts, and judge everything. Raises SolverError where a run fails."""
    return assess_machine(scenario.machine, scenario.plan, scenario.requirements)


def check(scenario: "Scenario") -> Assessment:
    """Judge what can be judged without a run: torque, holding, drivetrain, protection against a stall."""
    return check_machine(scenario.machine, scenario.plan, scenario.requirements)


def assess_machine(machine: Machine, plan: Plan, wishes: Iterable[WishLike] = ()) -> Assessment:
    """The same for a machine built in code."""
    from armsim.dynamics.trajectory import simulate

    run, heaviest = simulate(machine, plan), loaded(machine, heaviest_payload(machine.arm, plan))
    lift = lift_of_run(heaviest, plan, run)
    if lift.reached is False or (lift.static_margin is not None and lift.static_margin <= 1.0):
        lift = replace(lift, mends=find_mends(heaviest, plan, running_judge(plan)))
    arrives = all(outcome.reached for outcome in travel_outcomes(run))
    headline = headline_of_run(heaviest, plan, lift, run)
    holding = _with_falls(hold_statically(heaviest, plan), machine, plan)
    return _assemble(heaviest, plan, wishes, lift, holding, run, arrives, headline)


def verdict_of(
    machine: Machine, plan: Plan, wishes: Iterable[WishLike] = ()
) -> tuple[str, tuple[Requirement, ...], Lift]:
    """The verdict of `assess_machine` alone, with its requirements and the lift: what a search asks for many times."""
    from armsim.dynamics.trajectory import simulate

    wishes = tuple(wishes)
    run, heaviest = simulate(machine, plan), loaded(machine, heaviest_payload(machine.arm, plan))
    lift = lift_of_run(heaviest, plan, run)
    arrives = all(outcome.reached for outcome in travel_outcomes(run))
    holding = hold_statically(heaviest, plan)
    if any(wish.name == "holds_unpowered" for wish in wishes):
        holding = _with_falls(holding, machine, plan)
    task = first_lift(plan)
    protection = judge_protection(heaviest, task.duty if task else 1.0, run)
    requirements = judge(wishes, measured(lift, holding, protection, run, heaviest.arm.length), lift)
    return overall(requirements, arrives), requirements, lift


def check_machine(machine: Machine, plan: Plan, wishes: Iterable[WishLike] = ()) -> Assessment:
    """The same for a machine built in code. Statics are those of the heaviest payload."""
    machine = loaded(machine, heaviest_payload(machine.arm, plan))
    lift = lift_at_rest(machine, plan)
    if lift.static_margin is not None and lift.static_margin <= 1.0:
        lift = replace(lift, mends=find_mends(machine, plan, static_judge(plan)))
    headline = headline_at_rest(machine, plan, lift)
    return _assemble(machine, plan, wishes, lift, hold_statically(machine, plan), None, lift.reached, headline)


def _assemble(
    machine: Machine,
    plan: Plan,
    wishes: Iterable[WishLike],
    lift: Lift,
    holding: Holding,
    run: Run | None,
    arrives: bool | None,
    headline: str,
) -> Assessment:
    task = first_lift(plan)
    duty = task.duty if task else 1.0
    protection = judge_protection(machine, duty, run)
    values = measured(lift, holding, protection, run, machine.arm.length)
    if lift.stall_cause is not None:
        lift = replace(lift, stall_cause=told_of(machine.arm.kind, lift.stall_cause))
    requirements = judge(wishes, values, lift)
    transmission = judge_transmission(machine, plan)
    put_to = None if run is None else duty_of(run, plan)
    cuts = [fall.run for fall in (holding.coasting, holding.shorted) if fall is not None and fall.run is not None]
    shocks = judge_shocks(machine, duty, transmission.stages, run, cuts)
    strength = judge_strength(machine, transmission.stages, shocks)
    safe = tuple(replace(row, safety_factor=working_safety(strength, row.name)) for row in transmission.stages)
    assessment = Assessment(
        verdict=overall(requirements, arrives),
        load=machine.arm.kind,
        headline=told_of(machine.arm.kind, headline),
        requirements=requirements,
        lift=lift,
        holding=holding,
        protection=protection,
        transmission=replace(transmission, stages=safe),
        shocks=shocks,
        motors=judge_motors(machine, duty, transmission.shafts[-1].speed),
        sizes=other_sizes(machine, plan),
        fit=judge_fit(machine),
        strength=strength,
        play=judge_play(machine, transmission.stages, shocks.stages),
        curves=torque_curves(machine, plan),
        findings=(),
        operating=operating_points(machine, task),
        stays=() if run is None else stays(run),
        wiring=judge_wiring(machine, run),
        battery=judge_battery(machine, run),
        run=run,
        energy=None if run is None else run.energy,
        time_to_limit=time_to_limit(machine, duty),
        time_to_limit_warm=None if run is None else time_to_limit(machine, duty, hottest(run)),
        duty=put_to,
        heat=rate(machine, plan, run, put_to),
    )
    return replace(assessment, findings=find(machine, plan, assessment))


def hottest(run: Run) -> tuple[float, float]:
    """Winding and housing where the run's winding is hottest. [degC]"""
    k = int(run.winding.argmax())
    return float(run.winding[k]), float(run.housing[k])


def _with_falls(holding: Holding, machine: Machine, plan: Plan) -> Holding:
    cut = plan.power_cut
    coasting, shorted = _falls(machine, plan)
    at_rest = cut == PowerCut(shorted=cut.shorted)

    def told(run: Run | None) -> Fall | None:
        return None if run is None else fall_of_run(run, None if at_rest else float(run.time[0]))

    return replace(
        holding,
        coasting=told(coasting),
        shorted=told(shorted),
        judged=JUDGED[cut.shorted],
        cut_asked=cut != PowerCut(),
    )


def _falls(machine: Machine, plan: Plan) -> tuple[Run | None, Run | None]:
    """The power cut asked for, motor terminals open and shorted."""
    from armsim.dynamics.trajectory import fall_from, reach
    from armsim.dynamics.worst import worst_falls

    if plan.power_cut.worst:
        return worst_falls(machine, plan)
    there = reach(machine, plan, plan.power_cut)
    return (None, None) if there is None else (fall_from(*there, shorted=False), fall_from(*there, shorted=True))


# ---------------------------------------------------------------------------------------------------- headlines


def headline_of_run(machine: Machine, plan: Plan, lift: Lift, run: Run) -> str:
    """The first line a person reads: does it lift, how far, how fast; if not, why, and what would help."""
    failed = next((outcome for outcome in travel_outcomes(run) if not outcome.reached), None)
    if failed is not None and failed.name == "lift":
        where = failed.stall.angle if failed.stall is not None else failed.during[-1].angle
        share = shortfall(machine, plan, where) if failed.stall is not None else ""
        torque = f" with {share}" if share else ""
        cause = stall_cause(machine, failed)
        ends = "stalls" if failed.stall is not None else "ends"
        return (
            f"DOES NOT LIFT: {ends} at {place(machine, where)}{torque}: {cause}{helping(lift.mends, 'would lift it')}"
        )
    begin = "NO LIFT ASKED" if failed is not None else "NO LIFT ASKED: all moves arrive"
    if lift.time is not None and lift.target is not None:
        begin = f"LIFTS: reaches {place(machine, lift.target)} in {number(lift.time)} s"
    if failed is not None:
        end = place(machine, failed.during[-1].angle)
        return f"{begin}, BUT DOES NOT LOWER: ends at {end}: {stall_cause(machine, failed)}"
    return begin


def headline_at_rest(machine: Machine, plan: Plan, lift: Lift) -> str:
    """The same from statics alone."""
    task = first_lift(plan)
    if task is None:
        return "NO LIFT ASKED (not simulated)"
    remedy = helping(lift.mends, "would do by torque")
    if lift.reached is False:
        share = shortfall(machine, plan, task.start)
        return f"DOES NOT LIFT: cannot start at {place(machine, task.start)} with {share}{remedy}"
    if lift.static_margin is None or lift.worst_angle is None:
        return "NOTHING TO LIFT: the load asks no torque on the way (not simulated)"
    if lift.static_margin <= 1.0:
        share = shortfall(machine, plan, lift.worst_angle)
        return f"SHORT OF TORQUE: at {place(machine, lift.worst_angle)} it has {share}{remedy} (not simulated)"
    times = number(lift.static_margin)
    return f"TORQUE TO LIFT: {times} times what it needs at {place(machine, lift.worst_angle)} (not simulated)"


def helping(mends: tuple[Mend, ...], claim: str) -> str:
    """Every change that helps by itself, as the end of a sentence."""
    texts = [mend.text for mend in mends if mend.needed is not None]
    return f"; {', or '.join(texts)} {claim}" if texts else ""
