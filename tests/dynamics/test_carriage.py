"""A carriage in time against closed forms: constant force, free fall, the angle at which friction lets go."""

import math
from dataclasses import replace

import pytest

from armsim.drivetrain.machine import Machine
from armsim.drivetrain.train import cone
from armsim.dynamics.plan import Plan, PowerCut, Travel
from armsim.dynamics.run import Kind, Run
from armsim.dynamics.trajectory import fall, simulate
from armsim.parts.arm import STANDARD_GRAVITY, Friction
from armsim.parts.battery import constant_source
from armsim.parts.bridge import Controller
from armsim.parts.carriage import Carriage
from tests.machines import MOTOR, arm, frictionless_motor, machine, stage

RADIUS = 0.03
RACK = stage(1.0 / RADIUS, 1.0, 1.0)


def carriage(**more) -> Carriage:
    return Carriage(**{"mass": 6.0, "payload_mass": 4.0, "lower_stop": 0.0, "upper_stop": 2.0, **more})


def free(load: Carriage) -> Machine:
    """Frictionless, its rotor without weight to speak of, with a rack alone."""
    return machine(motor=frictionless_motor(rotor_inertia=1e-12), stages=(RACK,), arm=load)


def lift(to: float, start: float = 0.0) -> Plan:
    return Plan(start=start, moves=(Travel(to=to),))


def dropped(load: Carriage, height: float) -> Run:
    """Let go from rest, the motor open."""
    run = fall(free(load), Plan(start=height, moves=()), PowerCut(), shorted=False)
    assert run is not None
    return run


@pytest.mark.parametrize("incline", [90.0, 30.0, 0.0])
def test_a_constant_force_drives_up_an_incline(incline: float) -> None:
    """40 A at the current limit make 2.8 N*m, 93.333 N on a pinion of 30 mm: s = a t^2/2, v = a t."""
    load = carriage(mass=3.0, incline=math.radians(incline))
    motor = frictionless_motor(inductance=1e-9, rotor_inertia=9e-4)
    one = machine(
        motor=motor,
        stages=(RACK,),
        arm=load,
        battery=constant_source(200.0, 0.0),
        wiring=(),
        controller=Controller(current_limit=40.0),
    )
    force = 40.0 * 0.07 / 0.03 - 7.0 * 9.80665 * math.sin(math.radians(incline))
    acceleration = force / (7.0 + 9e-4 / 0.03**2)
    reached = simulate(one, lift(0.6)).first(Kind.REACHED)
    assert reached is not None
    assert reached.time == pytest.approx(math.sqrt(2.0 * 0.6 / acceleration), rel=1e-6)
    assert reached.speed == pytest.approx(math.sqrt(2.0 * 0.6 * acceleration), rel=1e-6)


@pytest.mark.parametrize(("incline", "mu"), [(90.0, 0.4), (50.0, 0.0), (30.0, 0.25)])
def test_a_free_carriage_falls_as_a_stone_on_a_slope(incline: float, mu: float) -> None:
    """a = g (sin - mu cos), from 1.5 m to the stop at 0."""
    angle = math.radians(incline)
    run = dropped(carriage(incline=angle, friction_coefficient=mu), 1.5)
    hit = run.first(Kind.STOP_HIT)
    assert hit is not None
    acceleration = 9.80665 * (math.sin(angle) - mu * math.cos(angle))
    assert hit.time == pytest.approx(math.sqrt(2.0 * 1.5 / acceleration), rel=1e-6)
    assert hit.speed == pytest.approx(-math.sqrt(2.0 * 1.5 * acceleration), rel=1e-6)
    assert abs(run.energy.residual) < 1e-6 * run.energy.throughput


def test_a_counterweight_makes_it_a_fall_on_two_strings() -> None:
    """a = g (M - m)/(M + m), with 10 kg against 7 kg."""
    run = dropped(carriage(counterweight=7.0), 1.0)
    hit = run.first(Kind.STOP_HIT)
    assert hit is not None
    assert hit.time == pytest.approx(math.sqrt(2.0 * 17.0 / (3.0 * 9.80665)), rel=1e-6)


@pytest.mark.parametrize("mu", [0.1, 0.36])
def test_friction_holds_up_to_the_incline_whose_tangent_it_is(mu: float) -> None:
    for angle, holds in ((math.atan(mu) - 1e-6, True), (math.atan(mu) + 1e-6, False)):
        edges = cone(free(carriage(incline=angle, friction_coefficient=mu)), 0.5)
        assert edges.holds(0.0) is holds


def test_a_carriage_moves_as_the_same_load_on_an_arm_of_one_metre_would() -> None:
    """Level, a lever of 1 m turns by as many rad as the carriage goes metres."""
    guide = Friction(coulomb=4.0, viscous=3.0, breakaway=6.0)
    stages = (stage(5.0, 0.9), stage(1.0 / RADIUS, 0.95))
    on_rail = machine(stages=stages, arm=carriage(incline=0.0, guide=guide))
    lever = arm(moment=0.0, inertia=10.0, friction=guide, lower_stop=0.0, upper_stop=2.0)
    times = [simulate(replace(on_rail, arm=load), lift(0.8)).first(Kind.REACHED) for load in (on_rail.arm, lever)]
    assert times[0] is not None
    assert times[1] is not None
    assert times[0].time == pytest.approx(times[1].time, rel=1e-9)


def test_every_joule_of_a_lift_is_found_again() -> None:
    guide = Friction(coulomb=8.0, viscous=20.0, breakaway=12.0)
    load = carriage(incline=math.radians(40.0), guide=guide, friction_coefficient=0.1, counterweight=3.0)
    run = simulate(machine(motor=MOTOR, stages=(stage(6.0, 0.9), stage(1.0 / RADIUS, 0.95)), arm=load), lift(0.9))
    assert run.first(Kind.REACHED) is not None
    assert abs(run.energy.residual) < 1e-6 * run.energy.throughput
    raised = 4.0 * STANDARD_GRAVITY * math.sin(math.radians(40.0)) * float(run.angle[-1])
    assert run.energy.payload_lifted == pytest.approx(raised, rel=1e-9)
