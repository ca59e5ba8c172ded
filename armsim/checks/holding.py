"""Does it stay up and by how much: friction alone at rest, the holding current, what follows a power failure."""

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from armsim.checks.assessment import Fall, Holding
from armsim.checks.lifting import hold_angles, travel_range, turning_points
from armsim.checks.locking import locking_stage, locks_shaken, shaken, worm_holds
from armsim.drivetrain.machine import Machine, loaded
from armsim.drivetrain.shafts import free_play
from armsim.drivetrain.train import arm_torque_overhauling, cone
from armsim.dynamics.plan import Plan
from armsim.dynamics.run import Event, Kind, Run
from armsim.dynamics.steering import balanced_current, holding_current
from armsim.parts.arm import Arm, load_torque

SETTLING = math.radians(5.0)  #: an arm caught by friction within this drop counts as held
LEVEL = 1e-6  #: change of sin(angle) that is neither up nor down: a swing without friction ends as high as it began
ON_STOP = 1e-9  #: nearer to where a stop was hit it is on that stop [rad]
NOTHING = 1e-12  #: load torque that counts as none [N*m]
LEAST_PAYLOAD = 1e-9  #: less counts as none [kg]
MOST_PAYLOAD = 1e6  #: an arm that stays up with this would with any [kg]


def hold_statically(machine: Machine, plan: Plan) -> Holding:
    """Holding without power over all angles that the moves ask for, and the current at the asked hold."""
    low, high = travel_range(plan)
    corners = turning_points(machine, low, high)
    worst = max(corners, key=lambda angle: _pull(machine, angle))
    reverse, pull, worms = arm_torque_overhauling(machine), _pull(machine, worst), worm_holds(machine)
    held_at = max(hold_angles(plan) or (worst,), key=lambda angle: _pull(machine, angle))
    locked = locking_stage(machine)
    play = free_play(machine, locked or 0)
    free = None if locked is None else play.angle
    return Holding(
        unpowered_holds=all(cone(machine, angle).holds(0.0) for angle in corners),
        hold_margin=_over(reverse, pull),
        hold_angle=worst if pull > NOTHING else None,
        hold_margin_torque=None if reverse is None else reverse - pull,
        payload_to_sink=payload_to_sink(machine, low, high),
        reverse_torque=reverse,
        holding_current=holding_current(machine, held_at),
        holding_band=(
            balanced_current(machine, lambda volts: cone(machine, held_at, machine.companion_currents(volts)).sink),
            balanced_current(machine, lambda volts: cone(machine, held_at, machine.companion_currents(volts)).rise),
        ),
        holding_at=held_at,
        worms=worms,
        locked_by=None if locked is None else machine.stages[locked].name,
        free_play=free,
        free_travel=None if free is None else free * machine.arm.length,
        missing_backlash=play.missing,
        locks_shaken=locks_shaken(machine),
        shaken_margin=_over(arm_torque_overhauling(shaken(machine)), pull) if worms else None,
    )


def _over(held: float | None, pull: float) -> float | None:
    return held / pull if held is not None and pull > NOTHING else None


def _pull(machine: Machine, angle: float) -> float:
    return abs(float(load_torque(machine.arm, angle)))


def payload_to_sink(machine: Machine, low: float, high: float) -> float | None:
    """Payload with which the unpowered arm just starts to sink somewhere in a range of angles [rad]. [kg]

    0 where it sinks with none; None where no payload makes it: a stage locks, or gravity does not pull. It sits where
    the payload is, else at the tip. Springs carry another share at every angle, so the angle that gives way first
    depends on the payload; both are settled in turn, coming down from a payload that nothing but a lock bears.
    """

    def gives_way(mass: float) -> float:
        loaded = _loaded(machine, mass)
        return max(turning_points(loaded, low, high), key=lambda angle: _sinking(loaded, angle))

    if _sinking(_loaded(machine, 0.0), gives_way(0.0)) > 0.0:
        return 0.0
    mass = MOST_PAYLOAD
    if _sinking(_loaded(machine, mass), gives_way(mass)) <= 0.0:
        return None
    while True:
        before, mass = mass, _sinking_payload(machine, gives_way(mass), mass)
        if mass <= LEAST_PAYLOAD:
            return 0.0
        if mass >= before * (1.0 - 1e-9):
            return mass


def _sinking_payload(machine: Machine, angle: float, most: float) -> float:
    """Payload with which the arm just starts to sink at one angle, at most one with which it does; by bisection."""
    light, heavy = 0.0, most
    while heavy - light > 1e-12 * heavy and heavy > LEAST_PAYLOAD:
        middle = 0.5 * (light + heavy)
        light, heavy = (light, middle) if _sinking(_loaded(machine, middle), angle) > 0.0 else (middle, heavy)
    return heavy


def _sinking(machine: Machine, angle: float) -> float:
    """Torque of the motor that it takes to keep the arm from sinking, negative where friction does it. [N*m]"""
    edges = cone(machine, angle)
    return (
        edges.sink if machine.arm.rises_upward(angle) else -edges.rise
    )  # beyond the vertical it sinks to the other side


def _loaded(machine: Machine, mass: float) -> Machine:
    arm = machine.arm
    if isinstance(arm, Arm) and arm.payload_mass == 0.0 and arm.payload_at == 0.0:
        machine = replace(machine, arm=replace(arm, payload_at=arm.length))
    return loaded(machine, mass)


def met_stop(hits: Sequence[Event], end: float, dead: bool) -> Event | None:
    """The meeting with the stop that a fall ends on; of one that throws the arm back the first of that stop."""
    if dead:
        return next((event for event in reversed(hits) if abs(event.angle - end) < ON_STOP), None)
    return next((event for event in hits if abs(event.angle - hits[-1].angle) < ON_STOP), None)


def fall_of_run(run: Run, cut_time: float | None = None) -> Fall:
    """What a power-cut run shows: caught by friction near where it was, or fallen or risen to a stop or to rest."""
    start, end = float(run.angle[0]), float(run.angle[-1])
    arm, hits = run.machine.arm, [event for event in run.events if event.kind is Kind.STOP_HIT]
    hit = met_stop(hits, end, arm.stop.rigid and arm.stop.restitution == 0.0)
    hardest = max((abs(event.speed) for event in hits), default=None)
    pull = math.copysign(1.0, float(load_torque(arm, start)))
    drop = pull * (start - end)
    caught = float(run.speed[-1]) == 0.0 and cone(run.machine, end).holds(0.0)
    holds = not hits and caught and drop < SETTLING * arm.small
    higher = arm.height(end) - arm.height(start) > LEVEL
    return Fall(
        at=start,
        holds=holds,
        falls=not holds and arm.gravity > 0.0 and not higher,
        rises=not holds and arm.gravity > 0.0 and higher,
        fall_time=None if hit is None else hit.time - float(run.time[0]),
        impact_speed=None if hit is None else abs(hit.speed),
        impact_energy=None if hardest is None else 0.5 * run.machine.inertia * hardest**2,
        payload_energy=None if hardest is None else 0.5 * arm.payload_mass * (arm.payload_at * hardest) ** 2,
        cut_time=cut_time,
        final_angle=end,
        peak_speed=float(np.max(np.abs(run.speed))),
        run=run,
    )
