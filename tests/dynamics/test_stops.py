"""Arms that meet their stops: rebounds and buffers against closed forms and against another integration."""

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from armsim.dynamics.plan import Plan, PowerCut, Rest, Travel
from armsim.dynamics.run import Kind
from armsim.dynamics.segment import Tolerances
from armsim.dynamics.trajectory import fall, simulate
from armsim.parts.arm import Friction
from armsim.parts.bridge import Controller
from armsim.parts.stop import Stop, loss_number
from tests.dynamics.randoms import random_machine, random_plan
from tests.machines import arm, frictionless_motor, machine, stage

START, LOW, WEIGHT = math.radians(20.0), math.radians(-35.0), 6.0 * 9.80665
HELD = Plan(start=START - 0.1, moves=(Travel(to=START),))
K = 60.0 / math.radians(1.0)  # [N*m/rad]


def lossless(**of_arm):
    return machine(motor=frictionless_motor(), stages=(stage(60.0, 1.0, 1.0),), arm=arm(**of_arm))


def dropped(m, shorted=False):
    run = fall(m, HELD, PowerCut(), shorted=shorted, tolerances=Tolerances(relative=1e-10, absolute=1e-12))
    assert run is not None
    return run


def kinds(run, kind):
    return [event for event in run.events if event.kind is kind]


def closes(run):
    return abs(run.energy.residual) < 1e-6 * run.energy.throughput


@pytest.mark.parametrize("e", [0.3, 0.6, 0.9])
def test_each_bounce_of_a_rigid_stop_rises_to_the_square_of_its_restitution(e) -> None:
    run = dropped(lossless(stop=Stop(restitution=e)))
    heights = [math.sin(START) - math.sin(LOW)]
    heights += [math.sin(event.angle) - math.sin(LOW) for event in kinds(run, Kind.REVERSES)]
    assert len(heights) > 4
    for before, after in pairwise(heights[:7]):
        assert after == pytest.approx(e * e * before, rel=1e-6, abs=1e-9)  # a step has an error whatever the height
    hits = [event.speed for event in kinds(run, Kind.STOP_HIT)]
    assert hits[1] / hits[0] == pytest.approx(e, rel=1e-7)
    assert closes(run)
    if e < 0.9:  # to rest: all that gravity gave has gone into the stop
        assert run.events[-2].kind is Kind.COMES_TO_REST
        assert run.angle[-1] == LOW
        assert run.energy.losses["impact"] == pytest.approx(WEIGHT * heights[0], rel=1e-7)


def test_a_rigid_stop_without_restitution_ends_the_motion_at_once() -> None:
    run = dropped(lossless())
    assert len(kinds(run, Kind.STOP_HIT)) == 1
    assert run.events[-2].kind is Kind.COMES_TO_REST


def test_a_train_that_locks_is_not_thrown_back() -> None:
    m = machine(stages=(stage(60.0, 0.4, -0.5),), arm=arm(stop=Stop(restitution=0.8)))
    plan = Plan(start=math.radians(60.0), moves=(Travel(to=math.radians(94.9)), Rest(duration=1.0)))
    into = replace(m, arm=replace(m.arm, upper_stop=math.radians(90.0)))
    run = simulate(into, plan)
    assert len(kinds(run, Kind.STOP_HIT)) == 1
    assert run.angle.max() == math.radians(90.0)
    assert np.all(run.speed > -1e-12)
    free = simulate(replace(into, stages=(stage(60.0, 0.9, 0.85),)), plan)
    assert len(kinds(free, Kind.STOP_HIT)) > 3
    assert closes(run)
    assert closes(free)


def test_a_lossless_buffer_takes_up_the_energy_of_the_fall() -> None:
    m = lossless(stop=Stop(restitution=1.0, stiffness=K))
    run = dropped(m)

    def left(x: float) -> float:  # energy at a travel x beyond the stop: that of gravity less that of the spring
        return WEIGHT * (math.sin(START) - math.sin(LOW - x)) - 0.5 * K * x * x

    deepest = brentq(left, 1e-3, 1.0, xtol=1e-14)
    assert run.peaks.stop_torque.value == pytest.approx(K * deepest, rel=1e-7)
    assert kinds(run, Kind.REVERSES)[0].angle == pytest.approx(LOW - deepest, rel=1e-8)
    # thrown back to where it fell from, again and again
    tops = [event.angle for event in kinds(run, Kind.REVERSES) if event.angle > 0.0]
    assert tops == pytest.approx([START] * len(tops), rel=1e-6)
    assert len(tops) >= 10
    hit = run.first(Kind.STOP_HIT)
    assert hit is not None
    speed = math.sqrt(2.0 * WEIGHT * (math.sin(START) - math.sin(LOW)) / m.inertia)
    assert hit.speed == pytest.approx(-speed, rel=1e-7)
    # it ends where it began: measured against what went back and forth
    assert abs(run.energy.residual) < 1e-6 * 0.5 * K * deepest**2
    assert run.energy.losses["impact"] == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize("e", [0.1, 0.3, 0.6, 0.95])
def test_a_buffer_gives_back_its_share_of_the_speed(e) -> None:
    # no gravity: a swing that nothing else pushes
    m = lossless(moment=0.0, payload_mass=0.0, stop=Stop(restitution=e, stiffness=K))
    thrown = Plan(start=0.0, moves=(Travel(to=0.3), Rest(duration=1.5, shorted=False)))
    m = replace(m, battery=replace(m.battery, voltage_points=(24.0,)), other_loads=0.0)
    run = simulate(m, thrown)
    met = kinds(run, Kind.STOP_HIT)
    assert len(met) >= 1
    k = int(np.searchsorted(run.time, met[0].time, side="right"))
    after = run.speed[k:]
    settled = after[np.argmax(after < 0.0) :]
    back = float(settled.min())
    assert -back / met[0].speed == pytest.approx(e, rel=1e-5)
    assert closes(run)


@pytest.mark.parametrize("e", [0.9, 0.98, 0.998])
def test_for_small_losses_the_law_is_that_of_hunt_and_crossley(e) -> None:
    assert loss_number(e) == pytest.approx(1.5 * (1.0 - e), rel=1.5 * (1.0 - e))


def test_a_buffered_fall_agrees_with_an_independent_integration() -> None:
    # shorted motor, friction in the pivot and in the train, loss in the buffer
    e, n, ja, jm, eta_f, eta_b = 0.5, 60.0, 3.5, 2e-4, 0.9, 0.8
    m = machine(
        motor=frictionless_motor(coulomb_torque=0.02, breakaway_torque=0.02),
        stages=(stage(n, eta_f, eta_b),),
        arm=arm(friction=Friction(coulomb=1.0, breakaway=1.0), stop=Stop(restitution=e, stiffness=K)),
        controller=Controller(resistance=0.006),
    )
    run = dropped(m, shorted=True)
    hit = run.first(Kind.STOP_HIT)
    assert hit is not None
    c = brentq(lambda a: math.log((1 + a) / (1 - e * a)) - (1 + e) * a, 0.8, 1.9999, xtol=1e-14)
    c /= max(-hit.speed, 0.1 * 25.0 / 0.07 / n)

    def field(_: float, y: np.ndarray) -> list[float]:
        current, speed, angle = y
        x = max(LOW - angle, 0.0)
        load = WEIGHT * math.cos(angle) - K * x * max(0.0, 1.0 - c * speed)
        # moving down: which way power flows decides the efficiency, tried both ways
        for gain, sign in ((1.0 / eta_f, -1), (eta_b, 1)):
            rest = gain * (load - 1.0) / n - 0.02
            a = (0.07 * current - rest) / (gain * ja / n + jm * n)
            if sign * (ja * a + load - 1.0) >= 0.0:
                break
        return [(-0.506 * current - 0.07 * n * speed) / 3e-4, a, speed]

    def turns(_: float, y: np.ndarray) -> float:
        return y[1]

    turns.terminal, turns.direction = True, 1.0  # type: ignore[attr-defined]
    solution = solve_ivp(
        field, (0.0, 5.0), [0.0, -1e-12, START], method="Radau", rtol=1e-9, atol=1e-11, events=turns, max_step=2e-3
    )
    deepest = float(solution.y_events[0][0][2])
    first_turn = next(event for event in run.events if event.kind in (Kind.REVERSES, Kind.COMES_TO_REST))
    assert first_turn.angle == pytest.approx(deepest, rel=1e-6)
    assert first_turn.time == pytest.approx(float(solution.t_events[0][0]), rel=1e-5)
    x = np.maximum(LOW - solution.y[2], 0.0)
    assert run.peaks.stop_torque.value == pytest.approx(float((K * x * (1.0 - c * solution.y[1])).max()), rel=1e-3)
    assert closes(run)


def test_an_arm_comes_to_rest_leaning_on_its_buffer() -> None:
    m = lossless(stop=Stop(restitution=0.4, stiffness=K))
    run = dropped(m)
    assert run.speed[-1] == 0.0
    # without friction the spring alone carries it, once a swing is slower than 1e-5 of the no-load speed
    speed, pace = 1e-5 * m.no_load_speed, math.sqrt(K / m.inertia)
    balance = brentq(lambda x: K * x - WEIGHT * math.cos(LOW - x), 0.0, 0.1, xtol=1e-15)
    assert run.angle[-1] == pytest.approx(LOW - balance, abs=speed / pace * 10.0)
    assert closes(run)


def test_a_motor_drives_into_its_buffer_until_the_buffer_stalls_it() -> None:
    m = machine(arm=arm(upper_stop=math.radians(60.0), stop=Stop(restitution=0.5, stiffness=2000.0)))
    run = simulate(m, Plan(start=math.radians(-30.0), moves=(Travel(to=math.radians(80.0), patience=1.0),)))
    stalled = run.first(Kind.STALL)
    assert stalled is not None
    assert stalled.angle > math.radians(60.0)
    torque = 0.07 * run.motor_current[-1]
    travel = run.angle[-1] - math.radians(60.0)
    load = WEIGHT * math.cos(run.angle[-1]) + 2000.0 * travel
    # between what it could just raise and what would just push it back
    raised, pushed_back = 60.0 * 0.9 * (torque - 0.05) - 0.9, 60.0 / (2.0 - 1.0 / 0.9) * (torque + 0.05) + 0.9
    assert raised * (1.0 - 1e-9) <= load <= pushed_back
    assert closes(run)


def test_random_machines_with_elastic_stops_lose_no_joule() -> None:
    for seed in range(6):
        rng = np.random.default_rng(seed)
        m, plan = random_machine(rng), random_plan(rng)
        scale = m.arm.first_moment * 9.80665
        stops = [Stop(restitution=float(rng.uniform(0.0, 0.9)))]
        stops.append(Stop(restitution=float(rng.uniform(0.1, 1.0)), stiffness=scale * float(rng.uniform(2.0, 200.0))))
        for stop in stops:
            elastic = replace(m, arm=replace(m.arm, stop=stop))
            runs = [simulate(elastic, plan), *(fall(elastic, plan, PowerCut(), shorted=s) for s in (False, True))]
            for run in runs:
                assert run is not None
                assert abs(run.energy.residual) <= 1e-6 * run.energy.throughput, (seed, stop)
                assert all(loss >= -1e-9 * run.energy.throughput for loss in run.energy.losses.values()), (seed, stop)
                assert run.events[-1].kind is Kind.END
