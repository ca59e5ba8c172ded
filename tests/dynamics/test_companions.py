"""More motors on shafts of the train: sums by hand, closed forms, an integration written apart, and every joule."""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from armsim.drivetrain.circuit import drive_point
from armsim.drivetrain.train import arm_torque_raised, cone, motion_torque, respond
from armsim.dynamics.plan import Follow, Hold, Limits, Plan, PowerCut, Rest, Travel
from armsim.dynamics.run import Kind
from armsim.dynamics.trajectory import fall_from, reach, simulate
from armsim.parts.arm import Friction
from armsim.parts.battery import constant_source
from armsim.parts.bridge import Controller
from armsim.parts.companion import Companion
from armsim.parts.outlet import Outlet
from tests.dynamics.randoms import between, random_machine, random_plan
from tests.machines import MOTOR, arm, frictionless_motor, machine, stage

UP = Plan(start=-0.4, moves=(Travel(to=1.0),))


def companion(shaft: int = 1, **more) -> Companion:
    """A frictionless motor of 0.4 ohm and 0.3 N*m/A at its shaft."""
    return Companion(
        **{"name": "second motor", "shaft": shaft, "resistance": 0.4, "inductance": 2e-4, "constant": 0.3, **more}
    )


def plain(*others: Companion, **more):
    """Two stages, 10:1 at 0.9 and 4:1 at 0.8, no friction but theirs, and a source without resistance."""
    return machine(
        **{
            "motor": frictionless_motor(),
            "stages": (stage(10.0, 0.9), stage(4.0, 0.8)),
            "battery": constant_source(24.0, 0.0),
            "wiring": (),
            "other_loads": 0.0,
            "controller": Controller(resistance=0.0),
            "arm": arm(moment=6.0, gravity=10.0),
            "companions": others,
            **more,
        }
    )


def test_a_push_in_the_middle_of_the_train_takes_its_share_of_the_cone() -> None:
    # 60 N*m at the arm are 60/4/0.8 = 18.75 N*m behind the first stage; 12.5 A push there with 3.75 N*m
    edges = cone(plain(companion()), 0.0, (12.5,))
    assert edges.rise == pytest.approx((18.75 - 3.75) / 10.0 / 0.9, rel=1e-12)
    # sinking, 60/4 (2 - 1/0.8) = 11.25, less 3.75, then (2 - 1/0.9)/10
    assert edges.sink == pytest.approx((11.25 - 3.75) * (2.0 - 1.0 / 0.9) / 10.0, rel=1e-12)
    # with more than the load asks there, the first motor must hold the rest back
    edges = cone(plain(companion()), 0.0, (70.0,))
    assert edges.rise == pytest.approx((18.75 - 21.0) * (2.0 - 1.0 / 0.9) / 10.0, rel=1e-12)


def test_its_own_friction_holds_as_it_does_on_any_shaft() -> None:
    held = plain(companion(coulomb_torque=0.2, breakaway_torque=0.5, viscous_drag=0.01))
    assert cone(held, 0.0).rise == pytest.approx((18.75 + 0.5) / 9.0, rel=1e-12)
    # shorted, at 2 rad/s of the arm, 8 of the shaft: 0.2 + 0.08 and the back-EMF's 0.3 0.3/0.4 8
    needed = motion_torque(held, 0.0, 2.0, 0.0, +1, held.companion_currents(0.0, 2.0))
    assert needed == pytest.approx((18.75 + 0.28 + 1.8) / 9.0, rel=1e-12)


@pytest.mark.parametrize("shaft", [0, 1, 2])
def test_the_inverted_walk_agrees_with_the_cone(shaft: int) -> None:
    m = plain(companion(shaft, breakaway_torque=0.1, coulomb_torque=0.1))
    for current in (0.0, 7.0, 30.0):
        assert arm_torque_raised(m, cone(m, 0.4, (current,)).rise, (current,)) == pytest.approx(
            60.0 * math.cos(0.4), rel=1e-12
        )


def test_the_answer_of_motion_gives_back_its_torque() -> None:
    m = plain(companion(1, inertia=2e-3, coulomb_torque=0.3, breakaway_torque=0.3), companion(2, constant=2.0))
    for torque in (-3.0, 0.5, 4.0):
        for sense, speed in ((1, 0.7), (-1, -0.4)):
            found = respond(m, 0.3, speed, sense, torque, (0, 0), currents=(20.0, 3.0))
            assert found is not None
            assert motion_torque(m, 0.3, speed, found.acceleration, sense, (20.0, 3.0)) == pytest.approx(
                torque, rel=1e-9
            )


def test_spin_up_without_load_is_one_exponential() -> None:
    # lossless and level: J w' = sum of n K (v - n K w)/R, both motors on a source without resistance, and
    # windings so quick that currents settle at once
    first = frictionless_motor(inductance=1e-8)
    m = plain(
        companion(1, inertia=4e-4, inductance=1e-8),
        motor=first,
        stages=(stage(10.0, 1.0, 1.0), stage(4.0, 1.0, 1.0)),
        arm=arm(moment=0.0, inertia=3.5, gravity=0.0, upper_stop=math.inf, lower_stop=-math.inf, friction=Friction()),
    )
    run = simulate(m, Plan(start=0.0, moves=(Travel(to=3.0),)))
    inertia = 3.5 + first.rotor_inertia * 40.0**2 + 4e-4 * 4.0**2
    push = 24.0 * (40.0 * 0.07 / 0.5 + 4.0 * 0.3 / 0.4)
    brake = (40.0 * 0.07) ** 2 / 0.5 + (4.0 * 0.3) ** 2 / 0.4
    top, tau = push / brake, inertia / brake
    expected = top * (1.0 - np.exp(-run.time / tau))
    assert run.speed == pytest.approx(expected, rel=2e-6, abs=2e-6 * top)
    settled = run.time > 1e-6
    assert run.companion_currents[0][settled] == pytest.approx((24.0 - 0.3 * 4.0 * run.speed[settled]) / 0.4, rel=1e-4)


def test_an_equal_one_on_the_motors_shaft_is_one_more_of_the_first() -> None:
    twin = companion(
        0,
        resistance=MOTOR.resistance,
        bridge_resistance=0.006,
        inductance=MOTOR.inductance,
        constant=MOTOR.back_emf_constant,
        coulomb_torque=MOTOR.coulomb_torque,
        viscous_drag=MOTOR.viscous_drag,
        breakaway_torque=MOTOR.breakaway_torque,
        inertia=MOTOR.rotor_inertia,
    )
    plan = Plan(start=-0.4, moves=(Travel(to=1.0), Hold(duration=0.3), Travel(to=-0.2, duty=-0.6), Rest(duration=0.2)))
    limited = Controller(resistance=0.006, current_limit=25.0)
    for controller in (Controller(resistance=0.006), limited):
        pair = simulate(machine(motor=replace(MOTOR, count=2), controller=controller), plan)
        two = simulate(machine(motor=MOTOR, companions=(twin,), controller=controller), plan)
        arrivals = [[e.time for e in run.events if e.kind is Kind.REACHED] for run in (pair, two)]
        assert len(arrivals[0]) == 2
        assert arrivals[1] == pytest.approx(arrivals[0], rel=1e-7)
        assert two.energy.supplied == pytest.approx(pair.energy.supplied, rel=1e-6)
        assert two.energy.losses["copper"] == pytest.approx(pair.energy.losses["copper"], rel=1e-6)
        assert two.companion_currents_rms[0] == pytest.approx(pair.motor_current_rms, rel=1e-6)


def test_a_lift_as_another_solver_integrates_it() -> None:
    other = companion(1, constant=0.5, inertia=3e-4, coulomb_torque=0.05, breakaway_torque=0.05, bridge_resistance=0.02)
    m = machine(stages=(stage(10.0, 0.9), stage(6.0, 0.85)), companions=(other,))
    run = simulate(m, UP)
    n0, n1, r, rs = 60.0, 6.0, m.motor.resistance + 0.006, 0.04 + 0.012

    def field(_: float, y: np.ndarray) -> list[float]:
        i, j, w, theta = y
        volts = 25.0 - rs * (i + j + 1.0)
        aside = 0.5 * j - 0.05
        pull = 6.0 * 9.80665 * math.cos(theta) + 0.6 + 0.05 * w
        # driving all the way: at the arm T = J a + pull; T/(6 0.85) less what comes in aside; over 10 0.9; rotor
        rotor = 0.07 * i - 0.05 - 7e-5 * n0 * w
        g1, g0 = 1.0 / (6.0 * 0.85), 1.0 / (10.0 * 0.9)
        mass = (3.5 * g1 + 3e-4 * n1) * g0 + 2e-4 * n0
        a = (rotor - (pull * g1 - aside) * g0) / mass
        return [(volts - r * i - 0.07 * n0 * w) / 3e-4, (volts - 0.42 * j - 0.5 * n1 * w) / 2e-4, a, w]

    # from where the arm has broken away: the run's own instant of that, with its state
    moving = next(e.time for e in run.events if e.kind is Kind.BREAKAWAY)
    k = int(np.searchsorted(run.time, moving, side="right"))
    start = [run.motor_current[k], run.companion_currents[0][k], run.speed[k], run.angle[k]]
    arrives = next(e for e in run.events if e.kind is Kind.REACHED)
    assert np.nanmin(run.motor_torque[k:]) > 0.0

    def target(_: float, y: np.ndarray) -> float:
        return y[3] - 1.0

    target.terminal = True  # type: ignore[attr-defined]
    found = solve_ivp(field, (run.time[k], 5.0), start, method="Radau", rtol=1e-9, atol=1e-10, events=target)
    assert found.t_events[0][0] == pytest.approx(arrives.time, rel=2e-6)


def test_stalled_the_source_gives_both() -> None:
    m = machine(stages=(stage(10.0), stage(6.0)), companions=(companion(1, bridge_resistance=0.1),))
    point = drive_point(m, 0.8)
    # V = 25 - 0.052 (0.8 i + 0.8 V 0.8/0.5 + 1), i = 0.8 V/0.506
    volts = (25.0 - 0.052) / (1.0 + 0.052 * (0.64 / 0.506 + 0.64 / 0.5))
    assert point.bus == pytest.approx(volts, rel=1e-12)
    assert point.current == pytest.approx(0.8 * volts / 0.506, rel=1e-12)
    assert point.supply_current == pytest.approx(0.8 * (0.8 * volts / 0.506 + 0.8 * volts / 0.5) + 1.0, rel=1e-12)


def with_others(rng: np.random.Generator):
    m = random_machine(rng)
    others = []
    for k in range(int(rng.integers(1, 3))):
        shaft = int(rng.integers(0, len(m.stages) + 1))
        constant = m.motor.back_emf_constant * m.reduction / m.shaft_turns[shaft] * between(rng, 0.4, 2.5)
        drag = constant * m.highest_voltage / m.motor.resistance * between(rng, 0.002, 0.05)
        others.append(
            companion(
                shaft,
                name=f"motor {k + 2}",
                count=int(rng.integers(1, 3)),
                resistance=m.motor.resistance * between(rng, 0.5, 3.0),
                bridge_resistance=0.01,
                inductance=m.motor.inductance * between(rng, 0.3, 3.0),
                constant=constant,
                coulomb_torque=drag,
                breakaway_torque=1.2 * drag,
                viscous_drag=1e-6 * constant,
                inertia=m.motor.rotor_inertia * (m.reduction / m.shaft_turns[shaft]) ** 2,
            )
        )
    return replace(m, companions=tuple(others))


def test_every_joule_is_found_with_motors_anywhere() -> None:
    for seed in range(2, 25):  # 1 jams and breaks away 856 times, which takes long
        rng = np.random.default_rng(seed)
        m, plan = with_others(rng), random_plan(rng)
        run = simulate(m, plan)
        assert abs(run.energy.residual) <= 1e-6 * run.energy.throughput, seed
        there = reach(m, plan, PowerCut())
        if there is not None:
            for shorted in (False, True):
                fall = fall_from(*there, shorted=shorted)
                assert abs(fall.energy.residual) <= 1e-6 * fall.energy.throughput, (seed, shorted)


def test_every_joule_is_found_on_a_supply_that_limits_and_cannot_sink() -> None:
    outlet = Outlet(current_limit=30.0, can_sink=False, capacitance=2e-3)
    m = machine(
        stages=(stage(10.0), stage(6.0)),
        companions=(companion(1, inertia=1e-4),),
        battery=constant_source(24.0, 0.02),
        outlet=outlet,
        controller=Controller(resistance=0.006, current_limit=40.0),
    )
    plan = Plan(
        start=-0.4,
        moves=(
            Follow(to=0.8, limits=Limits(speed=1.0, acceleration=4.0)),
            Hold(duration=0.5),
            Travel(to=0.0, duty=-0.3),
        ),
    )
    run = simulate(m, plan)
    assert {e.kind for e in run.events} >= {Kind.REACHED}
    assert abs(run.energy.residual) <= 1e-6 * run.energy.throughput
    assert run.peaks.supply_current.value <= 30.0 * (1.0 + 1e-9)


def test_shorted_they_brake_and_open_they_do_not() -> None:
    m = machine(stages=(stage(10.0), stage(6.0)), companions=(companion(1),))
    there = reach(m, Plan(start=-0.4, moves=(Travel(to=1.0),)), PowerCut())
    assert there is not None
    slow, fast = (fall_from(*there, shorted=shorted) for shorted in (True, False))
    assert np.all(fast.companion_currents[0] == 0.0)
    top = float(np.max(np.abs(slow.speed)))
    # steady creep: the load behind the last stage against both motors' back-EMF
    alone = fall_from(
        *(reach(replace(m, companions=()), Plan(start=-0.4, moves=(Travel(to=1.0),)), PowerCut()) or ()), shorted=True
    )
    # near that speed the brakes are (60 0.07)^2/0.506 and 0.889 of the second's (6 0.3)^2/0.4, 2 - 1/0.9 of it arriving
    assert top / float(np.max(np.abs(alone.speed))) == pytest.approx(34.9 / (34.9 + 0.889 * 8.1), rel=0.02)
    assert np.min(slow.companion_currents[0] * np.sign(-slow.speed)) >= 0.0


def test_a_hold_is_fed_forward_what_the_first_motor_has_left_to_give() -> None:
    m = machine(stages=(stage(10.0), stage(6.0)), companions=(companion(1),))
    plan = Plan(start=-0.4, moves=(Follow(to=0.5, limits=Limits(speed=0.6, acceleration=2.0)), Hold(duration=1.5)))
    run = simulate(m, plan)
    angle = float(run.angle[-1])
    assert angle == pytest.approx(0.5, abs=math.radians(0.5))
    i, j = float(run.motor_current[-1]), float(run.companion_currents[0][-1])
    edges = cone(m, angle, (j,))
    assert edges.sink <= 0.07 * i <= edges.rise
    assert not cone(m, angle).holds(0.07 * i)
