"""Random machines and plans over the whole range people build, from a seed."""

import math

import numpy as np

from armsim.drivetrain.machine import Machine
from armsim.dynamics.plan import Hold, Move, Plan, Rest, Travel
from armsim.parts.arm import Arm, Friction
from armsim.parts.battery import Battery
from armsim.parts.bridge import Controller
from armsim.parts.motor import Heat, Motor
from armsim.parts.protection import Edge, Protection
from armsim.parts.stage import Stage, reverse_of
from armsim.parts.wiring import Run
from tests.machines import stage


def between(rng: np.random.Generator, low: float, high: float) -> float:
    """Log-uniform between two positive bounds."""
    return float(math.exp(rng.uniform(math.log(low), math.log(high))))


def random_motor(rng: np.random.Generator) -> Motor:
    resistance, constant = between(rng, 0.05, 2.0), between(rng, 0.01, 0.15)
    drag = constant * between(rng, 0.2, 3.0)
    return Motor(
        count=int(rng.integers(1, 4)),
        resistance=resistance,
        inductance=resistance * between(rng, 1e-4, 2e-3),
        torque_constant=constant,
        back_emf_constant=constant,
        coulomb_torque=0.7 * drag,
        breakaway_torque=drag * between(rng, 0.7, 1.3),
        viscous_drag=between(rng, 1e-6, 3e-4),
        rotor_inertia=between(rng, 3e-6, 4e-4),
        heat=Heat(
            winding_to_housing=between(rng, 0.8, 4.0),
            housing_to_air=between(rng, 1.5, 10.0),
            winding_capacity=between(rng, 5.0, 100.0),
            housing_capacity=between(rng, 50.0, 800.0),
        ),
    )


def random_stage(rng: np.random.Generator) -> Stage:
    forward = float(rng.uniform(0.3, 0.98))
    reverse = reverse_of(forward) if rng.random() < 0.6 else float(rng.uniform(-0.8, forward))
    return stage(
        between(rng, 1.0, 8.0),
        forward,
        reverse,
        drag=between(rng, 1e-5, 5e-3),
        viscous_drag=between(rng, 1e-8, 1e-5),
        input_inertia=between(rng, 1e-8, 1e-5),
        output_inertia=between(rng, 1e-7, 1e-3),
    )


def random_machine(rng: np.random.Generator) -> Machine:
    """Anything from a hopeless machine to one that throws its arm."""
    motor = random_motor(rng)
    stages = tuple(random_stage(rng) for _ in range(rng.integers(1, 5)))
    volts = between(rng, 6.0, 48.0)
    stall = motor.count * motor.torque_constant * volts / motor.resistance
    reach = stall * math.prod(s.reduction * s.law.static()[0] for s in stages)
    torque = reach * between(rng, 0.02, 1.5)
    length = between(rng, 0.2, 3.0)
    moment = torque / 9.80665
    friction = reach * float(rng.uniform(0.0, 0.05))
    limit = volts / motor.resistance * float(rng.uniform(0.3, 1.2)) if rng.random() < 0.5 else None
    rating = volts / motor.resistance * motor.count * float(rng.uniform(0.1, 0.8))
    return Machine(
        motor=motor,
        battery=Battery(
            charge_points=(0.0, 0.5, 1.0),
            voltage_points=(0.9 * volts, 0.97 * volts, volts),
            resistance=motor.resistance / motor.count * float(rng.uniform(0.02, 0.6)),
            capacity=between(rng, 3600.0, 100 * 3600.0),
            state_of_charge=float(rng.uniform(0.3, 1.0)),
        ),
        wiring=(Run(resistance=motor.resistance / motor.count * float(rng.uniform(0.0, 0.2))),),
        leads=Run(resistance=motor.resistance * float(rng.uniform(0.0, 0.1))) if rng.random() < 0.5 else None,
        other_loads=float(rng.uniform(0.0, 0.05)) * volts / motor.resistance,
        protection=(
            Protection(
                kind="random",
                rating=rating,
                earliest=Edge(weights=(1.0,), time_constants=(between(rng, 0.5, 10.0),), ultimate_multiple=1.2),
                latest=Edge(weights=(0.6, 0.4), time_constants=(between(rng, 5.0, 40.0), 500.0), ultimate_multiple=1.3),
                resets_itself=bool(rng.random() < 0.7),
                opens_at_earliest=bool(rng.random() < 0.5),
            ),
        ),
        controller=Controller(
            current_limit=limit,
            ramp=float(rng.choice([0.0, 0.05, 0.5])),
            shorted_when_off=bool(rng.random() < 0.5),
            resistance=motor.resistance * float(rng.uniform(0.0, 0.1)),
            undervoltage=volts * float(rng.uniform(0.4, 0.75)) if rng.random() < 0.5 else None,
            restart=0.3,
        ),
        stages=stages,
        arm=Arm(
            length=length,
            inertia=moment * length * float(rng.uniform(0.3, 1.0)),
            first_moment=moment,
            payload_mass=0.5 * moment / length,
            payload_at=length,
            friction=Friction(coulomb=friction, viscous=0.01 * friction, breakaway=friction * float(rng.uniform(1, 2))),
            lower_stop=math.radians(-60.0),
            upper_stop=math.radians(110.0),
        ),
    )


def random_plan(rng: np.random.Generator) -> Plan:
    start, top = math.radians(rng.uniform(-60.0, 0.0)), math.radians(rng.uniform(20.0, 105.0))
    moves: list[Move] = [Travel(to=top, duty=float(rng.uniform(0.6, 1.0)), patience=1.0, time_limit=30.0)]
    if rng.random() < 0.7:
        moves.append(Hold(duration=1.0))
    if rng.random() < 0.7:
        moves.append(Travel(to=start, duty=-float(rng.uniform(0.3, 1.0)), patience=1.0, time_limit=30.0))
    if rng.random() < 0.5:
        moves.append(Rest(duration=2.0))
    return Plan(start=start, moves=tuple(moves))
