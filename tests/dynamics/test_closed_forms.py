"""The exact run against closed forms and answers worked out elsewhere."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad, solve_ivp
from scipy.interpolate import CubicSpline
from scipy.linalg import expm
from scipy.special import ellipk, ellipkinc

from armsim.dynamics.plan import Plan, PowerCut, Travel
from armsim.dynamics.run import Kind, Run
from armsim.dynamics.trajectory import fall, simulate
from armsim.parts import wiring
from armsim.parts.arm import Arm, Friction
from armsim.parts.battery import constant_source
from armsim.parts.bridge import Controller
from armsim.parts.motor import Heat
from armsim.parts.protection import Edge, Protection, trip_time
from tests.machines import MOTOR, arm, frictionless_motor, machine, stage

# motor A of the worked answers: 12 V, 5000 rpm, 2.5 A no-load, 120 A stall, 70 % of the drag Coulomb
K_A = (12.0 - 0.1 * 2.5) / (5000.0 * math.pi / 30.0)
MOTOR_A = replace(
    MOTOR,
    resistance=0.1,
    inductance=1e-9,  # the answers neglect it
    torque_constant=K_A,
    back_emf_constant=K_A,
    coulomb_torque=0.7 * K_A * 2.5,
    breakaway_torque=0.7 * K_A * 2.5,
    viscous_drag=0.3 * K_A * 2.5 / (5000.0 * math.pi / 30.0),
    rotor_inertia=8.0e-5,
)
LEVEL = {"first_moment": 0.0, "gravity": 0.0, "length": 0.45}


def lift(to: float, start: float = 0.0, **more) -> Plan:
    return Plan(start=start, moves=(Travel(to=to, **more),))


def lifter(inertia: float = 2.4, load: float = 0.0, **more):
    """Motor A behind 120:1 at 70 %, on an arm with a payload of `load` kg at 0.45 m."""
    arm_ = Arm(length=0.45, inertia=inertia, first_moment=load * 0.45)
    return machine(
        **{
            "motor": MOTOR_A,
            "battery": constant_source(12.0, 0.0),
            "wiring": (),
            "other_loads": 0.0,
            "controller": Controller(current_limit=40.0),
            "stages": (stage(120.0, 0.70),),
            "arm": arm_,
            **more,
        }
    )


def test_constant_torque_lift_without_gravity() -> None:
    m = lifter(motor=replace(MOTOR_A, viscous_drag=0.0), battery=constant_source(200.0, 0.0))
    reached = simulate(m, lift(math.pi / 2)).first(Kind.REACHED)
    assert reached is not None
    assert reached.time == pytest.approx(0.373774, abs=5e-7)
    assert reached.speed == pytest.approx(8.40506, abs=5e-6)


def test_constant_torque_lift_against_gravity() -> None:
    m = lifter(motor=replace(MOTOR_A, viscous_drag=0.0), battery=constant_source(200.0, 0.0), load=6.0)
    reached = simulate(m, lift(math.pi / 4, start=-math.pi / 4)).first(Kind.REACHED)
    assert reached is not None
    assert reached.speed == pytest.approx(6.87666, abs=5e-6)
    assert reached.time == pytest.approx(0.447686, abs=5e-7)


def test_constant_voltage_lift_without_gravity() -> None:
    # 11.8 V across 0.104 ohm
    m = lifter(battery=constant_source(11.8, 0.0), controller=Controller(resistance=0.004))
    reached = simulate(m, lift(math.pi / 2)).first(Kind.REACHED)
    assert reached is not None
    assert reached.time == pytest.approx(0.431678, abs=5e-7)
    assert reached.speed == pytest.approx(4.28011, abs=5e-6)


def test_locked_rotor_current_rises_as_resistance_and_inductance_say() -> None:
    m = machine(
        motor=replace(MOTOR, resistance=0.1, inductance=90e-6),
        battery=constant_source(12.0, 0.0),
        wiring=(),
        other_loads=0.0,
        controller=Controller(),
        arm=arm(moment=500.0, inertia=300.0),
    )
    run = simulate(m, lift(1.0, start=0.0, patience=0.01))
    exact = 120.0 * (1.0 - np.exp(-run.time / 0.9e-3))
    assert np.max(np.abs(run.motor_current - exact)) < 120.0 * 1e-6


def test_a_motor_spins_up_by_itself_as_one_exponential() -> None:
    alone = replace(MOTOR_A, rotor_inertia=7.9e-5)
    bare = Arm(length=0.45, inertia=1e-6, first_moment=0.0)  # the rest of 8e-5 kg*m2
    run = simulate(lifter(motor=alone, stages=(), controller=Controller(), arm=bare), lift(40.0))
    time, first = np.unique(run.time, return_index=True)
    speed = CubicSpline(time, run.speed[first])
    assert speed(0.05) == pytest.approx(501.552, rel=1e-5)
    assert (12.0 - K_A * float(speed(0.05))) / 0.1 == pytest.approx(7.44759, rel=1e-3)
    left = 1.0 - speed([0.02, 0.03]) / 523.599  # what is missing of the no-load speed decays in 15.7851 ms
    assert 0.01 / math.log(left[0] / left[1]) == pytest.approx(15.7851e-3, rel=1e-4)


def test_spin_up_follows_the_matrix_exponential() -> None:
    motor = frictionless_motor(viscous_drag=7e-5)
    m = machine(
        motor=motor,
        battery=constant_source(25.0, 0.04),
        other_loads=0.0,
        stages=(),
        arm=Arm(inertia=2e-3, **LEVEL),
    )
    run = simulate(m, lift(200.0))
    loop, inductance, k = 0.5 + 0.006 + 0.052, motor.inductance, 0.07
    inertia = 2e-3 + motor.rotor_inertia
    matrix = np.array(
        [
            [-loop / inductance, -k / inductance, 0.0],
            [k / inertia, -motor.viscous_drag / inertia, 0.0],
            [0.0, 1.0, 0.0],
        ]
    )
    forcing = np.array([25.0 / inductance, 0.0, 0.0])
    wide = np.block([[matrix, forcing[:, None]], [np.zeros((1, 4))]])
    for k_ in range(5, len(run.time), 37):
        state = expm(wide * run.time[k_]) @ np.array([0.0, 0.0, 0.0, 1.0])
        assert run.motor_current[k_] == pytest.approx(state[0], rel=1e-6, abs=1e-5)
        assert run.speed[k_] == pytest.approx(state[1], rel=1e-6, abs=1e-6)
        assert run.angle[k_] == pytest.approx(state[2], rel=1e-6, abs=1e-7)


def test_an_open_arm_falls_as_the_elliptic_integral_says() -> None:
    start, end, moment, inertia = math.radians(70.0), math.radians(-35.0), 6.0, 3.5
    m = machine(motor=frictionless_motor(), stages=(stage(60.0, 1.0, 1.0),), arm=arm(moment, inertia))
    run = fall(m, lift(start), PowerCut(), shorted=False)
    assert run is not None
    hit = run.first(Kind.STOP_HIT)
    assert hit is not None
    total = inertia + 60.0**2 * 2e-4
    modulus = math.sin((start + math.pi / 2) / 2)
    amplitude = math.asin(math.sin((end + math.pi / 2) / 2) / modulus)
    natural = math.sqrt(moment * 9.80665 / total)
    exact = (ellipk(modulus**2) - ellipkinc(amplitude, modulus**2)) / natural
    assert hit.time == pytest.approx(exact, rel=1e-8)
    energy_speed = math.sqrt(2.0 * moment * 9.80665 * (math.sin(start) - math.sin(end)) / total)
    assert -hit.speed == pytest.approx(energy_speed, rel=1e-8)


def test_a_lossy_fall_agrees_with_the_work_integral() -> None:
    start, end, moment, inertia, reverse = math.radians(70.0), math.radians(-35.0), 6.0, 3.5, 0.8
    motor = replace(frictionless_motor(), coulomb_torque=0.05, breakaway_torque=0.05)
    m = machine(motor=motor, stages=(stage(60.0, 0.9, reverse),), arm=arm(moment, inertia))
    run = fall(m, lift(start), PowerCut(), shorted=False)
    assert run is not None
    hit = run.first(Kind.STOP_HIT)
    assert hit is not None
    # load-driven: (N^2 Jm + eta_b Ja) a = eta_b Tg - N tc
    effective = 60.0**2 * 2e-4 + reverse * inertia
    work = reverse * moment * 9.80665 * (math.sin(start) - math.sin(end)) - 60.0 * 0.05 * (start - end)
    assert -hit.speed == pytest.approx(math.sqrt(2.0 * work / effective), rel=1e-7)

    def pace(angle: float) -> float:
        done = reverse * moment * 9.80665 * (math.sin(start) - math.sin(angle)) - 60.0 * 0.05 * (start - angle)
        return 1.0 / math.sqrt(2.0 * done / effective)

    # the start is an integrable singularity: substitute angle = start - x^2
    exact, _ = quad(lambda x: 2.0 * x * pace(start - x * x), 0.0, math.sqrt(start - end), epsabs=1e-12)
    assert hit.time == pytest.approx(exact, rel=1e-7)


def test_a_shorted_motor_lets_the_arm_creep_at_the_analytic_speed() -> None:
    # reverse efficiency 0.65, loop 0.104 ohm: 10.202 deg/s at the horizontal
    m = lifter(load=6.0, inertia=0.01, stages=(stage(120.0, 0.70, 0.65),), controller=Controller(resistance=0.004))
    run = fall(m, lift(0.2), PowerCut(), shorted=True)
    assert run is not None
    order = np.argsort(run.angle)
    speed = np.interp(0.0, run.angle[order], run.speed[order])
    current = np.interp(0.0, run.angle[order], run.motor_current[order])
    assert math.degrees(-speed) == pytest.approx(10.202, rel=2e-5)
    assert abs(current) == pytest.approx(4.61052, rel=2e-5)


def test_steady_full_duty_lift_at_the_horizontal_balances_like_the_worked_audit() -> None:
    # 12.56 V battery of 14 mohm, 10 mohm of wire, 4 mohm of bridge, 2 A of other loads
    m = lifter(
        load=6.0,
        inertia=0.001,
        battery=constant_source(12.56, 0.014),
        wiring=(wiring.Run(resistance=0.010),),
        other_loads=2.0,
        controller=Controller(resistance=0.004),
        motor=replace(MOTOR_A, rotor_inertia=1e-9),
    )
    run = simulate(m, lift(0.5, start=-0.5))
    angle, first = np.unique(run.angle, return_index=True)

    def at_level(series: np.ndarray) -> float:
        return float(CubicSpline(angle, series[first])(0.0))

    assert at_level(run.motor_current) == pytest.approx(16.4606, rel=1e-5)
    assert math.degrees(at_level(run.speed)) == pytest.approx(221.384, rel=1e-5)
    assert at_level(run.bus_voltage) == pytest.approx(12.1169, rel=1e-5)


def stalled_behind(rating: float, edge: Edge, patience: float):
    """A machine that cannot start, drawing a steady current through an automatic device."""
    device = Protection(kind="test", rating=rating, earliest=edge, latest=edge, resets_itself=True)
    m = machine(
        motor=replace(MOTOR, inductance=1e-7),
        battery=constant_source(25.0, 0.0),
        wiring=(),
        other_loads=0.0,
        controller=Controller(restart=0.0),
        arm=arm(moment=500.0, inertia=300.0),
        protection=(device,),
    )
    return simulate(m, lift(1.0, start=0.0, patience=patience))


def test_an_automatic_breaker_cycles_into_a_stall_as_worked_out() -> None:
    edge = Edge(weights=(1.0,), time_constants=(40.0,), ultimate_multiple=1.25)
    run = stalled_behind(50.0 / 2.2, edge, 100.0)
    opens = [event.time for event in run.events if event.kind is Kind.BREAKER_OPENS]
    closes = [event.time for event in run.events if event.kind is Kind.BREAKER_RECLOSES]
    assert opens[0] == pytest.approx(15.5934, abs=5e-5)
    assert closes[0] - opens[0] == pytest.approx(20.433, abs=5e-4)
    assert opens[1] - closes[0] == pytest.approx(6.98146, abs=5e-5)


def test_two_pole_trip_time_agrees_with_its_inverse() -> None:
    edge = Edge(weights=(0.7, 0.3), time_constants=(5.0, 60.0), ultimate_multiple=1.2)
    run = stalled_behind(25.0, edge, 60.0)
    tripped = run.first(Kind.TRIP_CERTAIN)
    assert tripped is not None
    assert tripped.time == pytest.approx(trip_time(edge, 2.0), rel=1e-6)
    after = 1.0 - (0.7 * math.exp(-tripped.time / 5.0) + 0.3 * math.exp(-tripped.time / 60.0))
    assert 4.0 * after == pytest.approx(1.44, rel=1e-6)


def test_a_stalled_winding_heats_as_an_independent_integration_says() -> None:
    heat = Heat(winding_to_housing=1.5, housing_to_air=3.5, winding_capacity=62.0, housing_capacity=420.0)
    m = machine(
        motor=replace(MOTOR, resistance=0.1, inductance=1e-7, heat=heat),
        battery=constant_source(25.0, 0.0),
        wiring=(),
        controller=Controller(current_limit=50.0),
        arm=arm(moment=900.0, inertia=500.0),
    )
    run = simulate(m, lift(1.0, start=0.0, patience=30.0))
    end = run.time[-1]
    # 50 A held for 30 s into this network from 25 degC
    assert np.interp(30.0, run.time, run.winding) == pytest.approx(155.41, abs=0.01)
    assert np.interp(30.0, run.time, run.housing) == pytest.approx(27.9603, abs=0.001)
    solution = solve_ivp(
        lambda _, y: [
            (2500.0 * 0.1 * (234.5 + y[0]) / 259.5 - (y[0] - y[1]) / 1.5) / 62.0,
            ((y[0] - y[1]) / 1.5 - (y[1] - 25.0) / 3.5) / 420.0,
        ],
        (0.0, end),
        [25.0, 25.0],
        method="DOP853",
        rtol=1e-11,
        atol=1e-9,
    )
    assert run.winding[-1] == pytest.approx(solution.y[0][-1], rel=1e-6)


@pytest.mark.parametrize(("breakaway_torque", "fades"), [(0.6, None), (1.8, 0.05), (2.4, 0.4)])
def test_an_independent_solver_gives_the_same_lift(breakaway_torque: float, fades: float | None) -> None:
    friction = Friction(coulomb=0.6, viscous=0.05, breakaway=breakaway_torque, stribeck_speed=fades)
    m = machine(controller=Controller(resistance=0.006), arm=arm(friction=friction))
    reached = simulate(m, lift(math.radians(70.0), start=math.radians(-30.0))).first(Kind.REACHED)
    assert reached is not None
    k, n, eta = 0.07, 60.0, 0.9
    ja, jm, tc, b = 3.5, 2e-4, 0.05, 7e-5

    def needed(angle: float, speed: float) -> float:
        rubbing = 0.6 + 0.05 * speed
        if fades is not None:
            rubbing += (breakaway_torque - 0.6) * math.exp(-((speed / fades) ** 2))
        return (6.0 * 9.80665 * math.cos(angle) + rubbing) / (n * eta) + tc + b * n * speed

    def field(_: float, y: np.ndarray) -> list[float]:
        current, speed, angle = y
        bus = 25.0 - 0.052 * (current + 1.0)
        slope = (bus - 0.506 * current - k * n * speed) / 3e-4
        surplus = k * current - needed(angle, 0.0)
        if speed <= 0.0 and surplus <= 0.0:
            return [slope, 0.0, 0.0]
        return [slope, (k * current - needed(angle, speed)) / (ja / (n * eta) + jm * n), speed]

    def arrival(_: float, y: np.ndarray) -> float:
        return y[2] - math.radians(70.0)

    arrival.terminal = True  # type: ignore[attr-defined]
    breakaway = -math.log(1.0 - needed(math.radians(-30.0), 0.0) / k * 0.558 / (25.0 - 0.052)) * 3e-4 / 0.558
    current = needed(math.radians(-30.0), 0.0) / k
    solution = solve_ivp(
        field,
        (breakaway, 5.0),
        [current, 0.0, math.radians(-30.0)],
        method="Radau",
        rtol=1e-11,
        atol=1e-12,
        events=arrival,
    )
    assert reached.time == pytest.approx(solution.t_events[0][0], rel=1e-6)


@settings(max_examples=12, deadline=None)
@given(st.floats(0.0, 3.0), st.floats(1.05, 3.0), st.sampled_from(["pivot", "stage", "motor", "viscous"]))
def test_more_friction_never_falls_faster(base: float, times: float, where: str) -> None:
    def fallen(level: float) -> Run | None:
        friction = Friction(coulomb=level, breakaway=level, viscous=level if where == "viscous" else 0.0)
        forward = 1.0 / (1.0 + 0.05 * level) if where == "stage" else 0.95
        torque = 0.01 * level if where == "motor" else 0.01
        motor = frictionless_motor(coulomb_torque=torque, breakaway_torque=torque)
        body = arm(moment=6.0, friction=friction if where in ("pivot", "viscous") else Friction())
        m = machine(motor=motor, stages=(stage(40.0, forward),), arm=body)
        return fall(m, Plan(start=-0.5, moves=(Travel(to=1.0),)), PowerCut(), shorted=False)

    less, more = fallen(base), fallen(base * times)
    assert less is not None
    assert more is not None
    hits = [run.first(Kind.STOP_HIT) for run in (less, more)]
    if hits[1] is not None:
        assert hits[0] is not None
        assert hits[1].time >= hits[0].time * (1.0 - 1e-9)
        assert abs(hits[1].speed) <= abs(hits[0].speed) * (1.0 + 1e-9)


def test_lines_through_the_samples_of_a_fall_are_true() -> None:
    """Long steps are sampled within: no chord leaves the fall's own path by more than shows."""
    m = machine(motor=frictionless_motor(), stages=(stage(60.0, 1.0, 1.0),), arm=arm(6.0, 3.5))
    run = fall(m, lift(math.radians(70.0)), PowerCut(), shorted=False)
    assert run is not None
    moving = run.time < run.first(Kind.STOP_HIT).time  # type: ignore[union-attr]
    time, angle = run.time[moving], run.angle[moving]
    total = 3.5 + 60.0**2 * 2e-4
    exact = solve_ivp(
        lambda _t, y: [y[1], -6.0 * 9.80665 * math.cos(y[0]) / total],
        (0.0, float(time[-1])),
        [math.radians(70.0), 0.0],
        rtol=1e-10,
        atol=1e-12,
        dense_output=True,
    )
    fine = np.linspace(0.0, float(time[-1]), 2000)
    assert np.max(np.abs(np.interp(fine, time, angle) - exact.sol(fine)[0])) < 2e-3
