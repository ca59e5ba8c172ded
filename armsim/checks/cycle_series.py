"""The samples of one cycle, from a run or from a cycle stepped alone, with the payload that each carries."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from armsim.drivetrain.machine import Machine
from armsim.dynamics.plan import Exchange, Plan
from armsim.dynamics.run import Event, Kind, Run
from armsim.dynamics.state import ANGLE, CURRENT, HOUSING, SPEED, WINDING
from armsim.dynamics.stepped import Stepped
from armsim.parts.motor import flux_ratio

Series = NDArray[np.float64]

ROUNDING = 1e-14  #: of a time, within which two are the same


@dataclass(frozen=True, kw_only=True)
class CycleSeries:
    """One cycle's samples, time from its beginning."""

    time: Series
    angle: Series
    speed: Series
    current: Series
    duty: Series  #: NaN while the bridge is off
    reference: Series  #: NaN without a position loop
    winding: Series
    housing: Series
    payload: Series  #: carried [kg]
    edges: Series  #: instants at which something happens


def last_cycle(run: Run, plan: Plan) -> CycleSeries:
    """The samples of a run's last cycle, with the payload that each carries."""
    return cycle_at(run, plan, len(run.cycles) - 1)


def cycle_at(run: Run, plan: Plan, index: int) -> CycleSeries:
    """The samples of one of the cycles whose series are kept, from 0: the first two and the last."""
    cycle = run.cycles[index]
    begun, slack = cycle.begun, ROUNDING * (cycle.begun + cycle.duration)
    first = int(np.searchsorted(run.time, begun - slack, "left"))
    last = int(np.searchsorted(run.time, begun + cycle.duration + slack, "right"))
    events = tuple(event for event in run.events if -slack <= event.time - begun <= cycle.duration + slack)
    part = slice(first, last)
    time = run.time[part] - begun
    return CycleSeries(
        time=time,
        angle=run.angle[part],
        speed=run.speed[part],
        current=run.motor_current[part],
        duty=run.duty[part],
        reference=run.reference[part],
        winding=run.winding[part],
        housing=run.housing[part],
        payload=carried(time, begun, events, run.machine.arm.payload_mass, plan),
        edges=np.array([event.time - begun for event in events]),
    )


def cycle_of(one: Stepped, plan: Plan) -> CycleSeries:
    """The samples of a stepped cycle."""
    pages, begun = one.pages, one.before.time
    time = pages.time - begun
    return CycleSeries(
        time=time,
        angle=pages.states[:, ANGLE],
        speed=pages.states[:, SPEED],
        current=pages.states[:, CURRENT],
        duty=pages.duty,
        reference=pages.reference,
        winding=pages.states[:, WINDING],
        housing=pages.states[:, HOUSING],
        payload=carried(time, begun, pages.events, one.machine.arm.payload_mass, plan),
        edges=np.array([event.time - begun for event in pages.events]),
    )


def carried(time: Series, begun: float, events: tuple[Event, ...], first: float, plan: Plan) -> Series:
    """Payload at each time of a cycle, given what it begins with [kg] and its exchanges."""
    payload = np.full(time.size, first)
    masses = [move.payload for move in plan.moves if isinstance(move, Exchange)]
    changes = [event for event in events if event.kind is Kind.PAYLOAD]
    # an exchange that ended the cycle before stands in the same instant
    for event, mass in zip(changes[max(len(changes) - len(masses), 0) :], masses, strict=False):
        payload[time > event.time - begun] = mass
    return payload


def per_ampere(machine: Machine, housing: float) -> float:
    """Air-gap torque of all motors per ampere of each, with the magnets as warm as the housing [degC]. [N*m/A]"""
    motor = machine.motor
    flux = flux_ratio(housing, motor.magnet_coefficient, motor.reference_temperature)
    return motor.count * motor.torque_constant * float(flux)
