"""Hard loads of stages and stops, against sums by hand and against masses on springs integrated elsewhere."""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.interpolate import CubicSpline
from scipy.optimize import brentq

from armsim.checks.assessment import Level
from armsim.checks.lifting import first_lift
from armsim.checks.shocks import HARD, impacts, judge_shocks, stall_loads, stall_mend, sudden
from armsim.checks.transmission import judge_transmission
from armsim.drivetrain.shafts import train_stiffness
from armsim.dynamics.plan import Plan, Travel
from armsim.dynamics.run import Kind
from armsim.dynamics.trajectory import simulate
from armsim.parts.bridge import Controller
from armsim.parts.stop import Stop
from armsim.studies.single import assess_machine, check_machine

from .machines import ARM, GRAVITY, LIFT, MOTOR, TC, K, machine, stage

DEG = math.pi / 180.0
FREE = replace(MOTOR, coulomb_torque=0.0, breakaway_torque=0.0, viscous_drag=0.0)


def shocks(m, plan=LIFT):
    return assess_machine(m, plan).shocks


def test_a_stall_against_a_block_counts_friction_whichever_way_loads_more() -> None:
    pair = stage(4.0, 0.9, 0.8, drag=0.05, driver_radius=0.02)
    chain = stage(30.0, 0.7, 0.5, drag=0.1, driver_radius=0.03)
    current = (12.56 - 0.024 * 2.0) / (0.104 + 0.024)
    torque = K * current
    first, last = stall_loads(machine(stages=(pair, chain)), 1.0)
    # the arm presses back: the motor's friction and drag hold with it, and each mesh holds the more
    between = (torque + TC + 0.05) * 4.0 / 0.8
    assert first.torque == pytest.approx(between, rel=1e-5)
    assert first.force == pytest.approx((torque + TC + 0.05) / 0.02, rel=1e-5)
    assert last.torque == pytest.approx((between + 0.1) * 30.0 / 0.5, rel=1e-5)
    assert last.force == pytest.approx((between + 0.1) / 0.03, rel=1e-5)


def test_a_stage_that_locks_gives_no_more_than_the_motor_puts_in() -> None:
    (worm,) = stall_loads(machine(motor=FREE, stages=(stage(50.0, 0.35, -0.4),)), 1.0)
    assert worm.torque == pytest.approx(50.0 * K * (12.56 - 0.048) / 0.128, rel=1e-5)
    assert worm.force is None


def test_loads_of_the_run_are_those_of_its_hardest_moment() -> None:
    m = machine(stages=(stage(120.0, 0.7, driver_radius=0.02),))
    run = simulate(m, LIFT)
    (found,) = judge_shocks(m, 1.0, judge_transmission(m, LIFT).stages, run).stages
    # the stage lifts all the way: arm torque from the series, J a + m g r cos
    moving = run.time > run.first(Kind.BREAKAWAY).time
    time, first = np.unique(run.time[moving], return_index=True)
    first += np.flatnonzero(moving)[0]
    spline = CubicSpline(time, run.speed[first])
    moments = np.linspace(time[0], time[-1], 50_000)
    angle = np.interp(moments, time, run.angle[first])
    torque = ARM.inertia * spline(moments, 1) + ARM.first_moment * GRAVITY * np.cos(angle)
    assert found.run.torque == pytest.approx(torque.max(), rel=2e-3)
    assert found.run.force == pytest.approx(found.run.torque / (120.0 * 0.7) / 0.02, rel=1e-9)
    assert found.steady == pytest.approx(ARM.first_moment * GRAVITY)


def test_stiffness_of_stages_adds_up_as_that_of_springs_in_series() -> None:
    train = (stage(3.0, 0.9, stiffness=100.0), stage(5.0, 0.9), stage(4.0, 0.9, stiffness=2000.0))
    # at the arm: 100 behind 5 x 4 turns, 2000 on the arm's own shaft
    assert train_stiffness(machine(stages=train)) == pytest.approx(1.0 / (1.0 / (100.0 * 400.0) + 1.0 / 2000.0))
    assert train_stiffness(machine()) is None


@pytest.mark.parametrize("way", [1.0, -1.0])
def test_the_peak_of_a_sudden_stop_bounds_a_mass_on_a_spring(way) -> None:
    load, stiffness, inertia, speed = 26.0, 4000.0, 1.3, 3.0
    solution = solve_ivp(
        lambda _, y: [y[1], (-stiffness * y[0] - load) / inertia],
        (0.0, 0.3),
        [0.0, way * speed],
        rtol=1e-11,
        atol=1e-13,
        max_step=1e-4,
    )
    assert sudden(load, stiffness, inertia, speed) == pytest.approx(stiffness * np.abs(solution.y[0]).max(), rel=1e-6)


def test_a_motor_that_locks_at_its_fastest_is_told_where_a_stage_has_a_stiffness() -> None:
    m = machine(stages=(stage(10.0, 0.8), stage(12.0, 0.9, stiffness=3000.0, output_inertia=0.1, driver_radius=0.02)))
    found, run = shocks(m), simulate(m, LIFT)
    k = int(np.argmax(np.abs(run.speed)))
    load = ARM.first_moment * GRAVITY * math.cos(run.angle[k])
    inertia = ARM.inertia + 0.1
    peak = load + math.sqrt(load**2 + 3000.0 * inertia * run.speed[k] ** 2)
    assert found.motor_stop_torque == pytest.approx(peak, rel=1e-4)
    near, far = found.stages[1].motor_stop, found.stages[0].motor_stop
    assert near.torque == pytest.approx(peak, rel=1e-4)
    assert near.force == pytest.approx(peak / 12.0 / 0.02, rel=1e-4)
    assert far.torque == pytest.approx(peak / 12.0, rel=1e-4)
    assert shocks(machine()).motor_stop_torque is None


def test_a_rigid_stop_has_no_bound_until_something_is_known_to_give_way() -> None:
    low = replace(ARM, upper_stop=50.0 * DEG)
    into = Plan(start=-30.0 * DEG, moves=(Travel(to=60.0 * DEG, patience=0.2),))
    whole = assess_machine(machine(arm=low), into)
    rigid = whole.shocks
    assert [f.where for f in whole.findings if f.code == "shock-unbounded"] == ["arm.stops"]
    falling = assess_machine(machine(), LIFT)  # strikes its stop only when power goes, and that is told there
    assert falling.shocks.unbounded == ("rigid stop",)
    assert [f for f in falling.findings if f.code == "shock-unbounded"] == []
    assert rigid.unbounded == ("rigid stop",)
    assert rigid.stages[0].impact is None
    assert rigid.stop_torque is None
    m = machine(arm=low, stages=(stage(120.0, 0.7, stiffness=5000.0),))
    soft, run = shocks(m, into), simulate(m, into)
    hit = run.first(Kind.STOP_HIT)
    current = np.interp(hit.time, run.time, run.motor_current)
    rotor, push = 120.0**2 * 8e-5, 120.0 * K * current
    # the rotor runs on against the stage, driven
    solution = solve_ivp(
        lambda _, y: [y[1], (push - 5000.0 * y[0]) / rotor],
        (0.0, 0.2),
        [0.0, hit.speed],
        rtol=1e-11,
        atol=1e-13,
        max_step=1e-4,
    )
    assert soft.unbounded == ()
    ((name, torque),) = impacts([run])
    assert name == "rigid stop"
    assert torque == pytest.approx(5000.0 * solution.y[0].max(), rel=1e-5)
    assert soft.impact_torque >= torque


def test_a_buffer_is_told_by_travel_torque_and_force() -> None:
    soft = replace(ARM, stop=Stop(restitution=1.0, stiffness=900.0, at=0.3))
    m = machine(motor=FREE, stages=(stage(120.0, 1.0, 1.0),), arm=soft)
    found = shocks(m, Plan(start=0.0, moves=(Travel(to=60.0 * DEG),)))
    # cut at rest at the top: it falls to its lower buffer; the run itself meets none
    weight, low = ARM.first_moment * GRAVITY, -60.0 * DEG
    drop = math.sin(60.0 * DEG)
    deepest = brentq(lambda x: weight * (drop - math.sin(low - x)) - 450.0 * x * x, 1e-3, 2.0)
    assert found.stop_travel == pytest.approx(deepest, rel=1e-6)
    assert found.stop_torque == pytest.approx(900.0 * deepest, rel=1e-6)
    assert found.stop_force == pytest.approx(3000.0 * deepest, rel=1e-6)
    assert found.unbounded == ()


def test_an_arm_thrown_back_has_fallen_when_it_first_meets_its_stop() -> None:
    def fall(stop):
        m = machine(motor=FREE, stages=(stage(120.0, 1.0, 1.0),), arm=replace(ARM, stop=stop))
        return assess_machine(m, Plan(start=0.0, moves=(Travel(to=60.0 * DEG),))).holding.coasting

    dead = fall(Stop())
    for stop in (Stop(restitution=0.5), Stop(restitution=0.5, stiffness=900.0)):
        thrown = fall(stop)
        assert thrown.falls
        assert thrown.fall_time == pytest.approx(dead.fall_time, rel=1e-6)
        assert thrown.impact_speed == pytest.approx(dead.impact_speed, rel=1e-6)


def test_the_limit_that_is_offered_against_a_stall_keeps_it_and_lifts() -> None:
    m = machine(stages=(stage(200.0, 0.95),))
    found = check_machine(m, LIFT)
    assert found.shocks.stages[0].ratio > HARD
    (told,) = [f for f in found.findings if f.code == "shock-load"]
    assert told.level is Level.NOTE
    words = stall_mend(m, first_lift(LIFT), found.shocks).split()
    assert told.mend.split() == words
    limit = float(words[words.index("A") - 1])
    limited = machine(stages=m.stages, controller=Controller(resistance=0.004, current_limit=limit))
    after = check_machine(limited, LIFT)
    assert after.shocks.stages[0].ratio == pytest.approx(HARD, rel=1e-2)
    assert after.shocks.stages[0].ratio <= HARD
    assert after.lift.static_margin > 1.0


def test_a_check_without_a_run_leaves_open_what_only_a_run_shows() -> None:
    found = check_machine(machine(), LIFT).shocks
    assert found.stages[0].run is None
    assert found.stages[0].cut is None
    assert found.stages[0].stall is not None
    assert found.stop_torque is None
    assert found.most_loaded == "gears"
