"""The position loop in a run: against an independent discrete simulation, and what it leaves behind."""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.linalg import expm

from armsim.drivetrain.train import cone
from armsim.dynamics.plan import Exchange, Follow, Hold, Limits, Plan, Rest, Travel
from armsim.dynamics.profile import motion_profile
from armsim.dynamics.run import Kind
from armsim.dynamics.steering import holding_current, reference_voltage, tuned
from armsim.dynamics.trajectory import simulate
from armsim.parts.arm import Friction, with_payload
from armsim.parts.battery import constant_source
from armsim.parts.bridge import Controller
from armsim.parts.counterbalance import ConstantForceSpring
from armsim.parts.position_loop import LoopSettings, PositionLoop
from tests.machines import MOTOR, arm, frictionless_motor, machine, stage

DEG = math.pi / 180.0
LOW, HIGH = -30.0 * DEG, 70.0 * DEG
PULL = ConstantForceSpring(force=-500.0, radius=0.1)  #: a weight on a cord round a drum
GENTLE = Limits(speed=60.0 * DEG, acceleration=120.0 * DEG)
SMOOTH = Limits(speed=60.0 * DEG, acceleration=120.0 * DEG, jerk=600.0 * DEG)

SLUGGISH = LoopSettings(period=0.02, proportional=90.0, integral=150.0, derivative=3.0, tolerance=0.01)
SHARP = LoopSettings(period=0.01, proportional=300.0, integral=900.0, derivative=12.0, tolerance=0.01)


def ideal(**more):
    """No friction, no gravity, a stiff source: voltage to angle is linear."""
    weightless = arm(moment=6.0, gravity=0.0, lower_stop=-math.inf, upper_stop=math.inf)
    return machine(
        **{
            "motor": frictionless_motor(),
            "battery": constant_source(24.0, 0.0),
            "wiring": (),
            "stages": (stage(60.0, 1.0, 1.0),),
            "arm": weightless,
            **more,
        }
    )


def discrete(m, loop: PositionLoop, profile, steps: int, integral_rests) -> np.ndarray:
    """Angle at every look of the loop: the plant's exact transition over a period, the law written out by hand."""
    motor, turns = m.motor, 60.0
    r, inductance, k = motor.resistance + m.controller.resistance, motor.inductance, motor.torque_constant
    inertia = m.arm.inertia + motor.rotor_inertia * turns**2
    plant = np.zeros((4, 4))
    plant[0, :] = [-r / inductance, -k * turns / inductance, 0.0, 1.0 / inductance]
    plant[1, 0] = k * turns / inertia
    plant[2, 1] = 1.0
    step = expm(plant * loop.period)
    x, held, angles = np.array([0.0, 0.0, profile.at(0.0).position, 0.0]), 0.0, []
    for j in range(steps):
        reference = profile.at(j * loop.period)
        error = reference.position - x[2]
        forward = r * inertia * reference.acceleration / (k * turns) + k * turns * reference.speed
        asked = forward + loop.proportional * error + loop.derivative * (reference.speed - x[1]) + held
        given = min(24.0, max(-24.0, asked))
        angles.append(x[2])
        x[3] = given
        if not integral_rests(asked, given, error, j * loop.period >= profile.duration):
            held += loop.integral * error * loop.period
        x = step @ x
    return np.array(angles)


@pytest.mark.parametrize(
    ("limits", "gains"),
    [
        (GENTLE, None),
        (SMOOTH, None),
        (Limits(speed=2.0, acceleration=40.0), SLUGGISH),
        (Limits(speed=9.0, acceleration=900.0), SHARP),
    ],
    ids=["trapezoid", "s-curve", "sluggish", "saturating"],
)
def test_sampled_control_is_that_of_an_independent_discrete_simulation(limits, gains) -> None:
    m = ideal()
    m = replace(m, controller=replace(m.controller, position_loop=gains or LoopSettings()))
    loop = tuned(m)
    profile = motion_profile(LOW, HIGH, speed=limits.speed, acceleration=limits.acceleration, jerk=limits.jerk)
    run = simulate(m, Plan(start=LOW, moves=(Follow(to=HIGH, limits=limits, patience=20.0), Hold(duration=1.0))))
    reached = run.first(Kind.REACHED).time
    steps = int(reached / loop.period)

    def rests(asked: float, given: float, error: float, over: bool) -> bool:
        return (asked != given and error * asked > 0.0) or (over and abs(error) <= loop.tolerance)

    expected = discrete(m, loop, profile, steps, rests)
    found = np.interp(np.arange(steps) * loop.period, run.time, run.angle)
    assert steps > 30
    assert np.max(np.abs(found - expected)) < 2e-7


def test_the_feed_forward_is_the_worked_answer() -> None:
    """0.8 rad/s up at the horizontal with 6 kg at 0.45 m through 120:1 and 0.70: 3.81145 V; 2.93495 V the other way."""
    motor = replace(
        MOTOR, resistance=0.09, torque_constant=0.02, back_emf_constant=0.02, coulomb_torque=0.02, viscous_drag=1e-5
    )
    body = arm(moment=6.0 * 0.45, friction=Friction())
    m = machine(motor=motor, controller=Controller(resistance=0.0), stages=(stage(120.0, 0.70, 0.65),), arm=body)
    from armsim.dynamics.profile import Reference

    up = reference_voltage(m, Reference(0.0, 0.8, 0.0))
    w = 0.8 * 120.0
    torque = 6.0 * 9.80665 * 0.45 / (120.0 * 0.70) + 0.02 + 1e-5 * w
    assert up == pytest.approx(0.09 * torque / 0.02 + 0.02 * w, rel=1e-12)
    down = reference_voltage(m, Reference(0.0, -0.8, 0.0))
    torque = 6.0 * 9.80665 * 0.45 * 0.65 / 120.0 - 0.02 - 1e-5 * w
    assert down == pytest.approx(0.09 * torque / 0.02 - 0.02 * w, rel=1e-12)


class TestDefaults:
    @pytest.mark.parametrize("reduction", [40.0, 60.0, 300.0])
    @pytest.mark.parametrize("forward", [0.95, 0.42])
    def test_a_person_who_gives_no_gains_gets_a_loop_that_works(self, reduction: float, forward: float) -> None:
        body = arm(moment=1.0, inertia=0.4, friction=Friction(coulomb=0.2, breakaway=0.3))
        m = machine(stages=(stage(reduction, forward),), arm=body)
        gentle = Limits(speed=25.0 * DEG, acceleration=60.0 * DEG)
        down = Follow(to=LOW, limits=gentle, name="lower")
        run = simulate(m, Plan(start=LOW, moves=(Follow(to=HIGH, limits=gentle), Hold(duration=1.0), down)))
        lift, lower = run.tracks
        for track in (lift, lower):
            assert track.tracking_error < 0.5 * DEG
            assert track.overshoot < 0.5 * DEG
            assert abs(track.steady_error) <= 0.5 * DEG
            assert track.settling_time < 0.5
            assert not track.limited

    def test_the_bandwidth_leaves_room_for_sampling_and_winding(self) -> None:
        fast, slow = (tuned(machine(), LoopSettings(period=period)) for period in (0.002, 0.02))
        assert fast.proportional > 20.0 * slow.proportional
        lazy = machine(motor=replace(MOTOR, inductance=0.1))
        assert tuned(lazy).proportional < 0.1 * tuned(machine()).proportional


class TestTracks:
    def test_a_hold_continues_the_course_of_the_profile_before_it(self) -> None:
        run = simulate(machine(), Plan(start=LOW, moves=(Follow(to=HIGH, limits=GENTLE), Hold(duration=1.0))))
        (track,) = run.tracks
        assert track.ended == pytest.approx(run.time[-1])
        assert track.reference_ends == pytest.approx(100.0 / 60.0 + 60.0 / 120.0, rel=1e-12)
        during = run.time <= track.reference_ends
        assert np.nanmax(np.abs(run.reference - run.angle)[during]) == pytest.approx(track.tracking_error)

    def test_overshoot_after_full_drive_is_how_far_the_arm_runs_past(self) -> None:
        run = simulate(machine(), Plan(start=LOW, moves=(Travel(to=HIGH), Hold(duration=2.0))))
        (track,) = run.tracks
        assert track.overshoot == pytest.approx(run.angle.max() - HIGH)
        assert track.tracking_error is None
        assert track.limited
        late = run.time > run.first(Kind.HOLD).time + track.settling_time + 1e-9
        assert np.all(np.abs(run.angle[late] - HIGH) <= 0.5 * DEG + 1e-9)

    def test_a_profile_too_fast_for_the_motor_is_late_and_says_so(self) -> None:
        rush = Limits(speed=600.0 * DEG, acceleration=6000.0 * DEG)
        run = simulate(machine(), Plan(start=LOW, moves=(Follow(to=HIGH, limits=rush),)))
        (track,) = run.tracks
        assert track.limited
        assert track.tracking_error > 10.0 * DEG

    def test_a_load_beyond_the_motor_stalls_under_the_loop(self) -> None:
        heavy = machine(arm=arm(moment=60.0))
        run = simulate(heavy, Plan(start=LOW, moves=(Follow(to=HIGH, limits=GENTLE),)))
        assert run.first(Kind.STALL) is not None
        assert run.first(Kind.REACHED) is None
        stall = run.first(Kind.STALL)
        assert cone(heavy, stall.angle).rise > 25.0 / 0.5 * 0.07


class TestSleep:
    def test_a_long_hold_costs_no_more_than_a_short_one(self) -> None:
        def cost(duration: float) -> int:
            moves = (Follow(to=HIGH, limits=GENTLE), Hold(duration=duration))
            return simulate(machine(), Plan(start=LOW, moves=moves)).costs.segments

        assert cost(600.0) == cost(2.0)

    def test_a_loop_at_rest_wakes_when_the_load_changes(self) -> None:
        light = with_payload(machine().arm, 0.0)
        m = machine(arm=light)
        moves = (Follow(to=HIGH, limits=GENTLE), Hold(duration=2.0), Exchange(payload=20.0), Hold(duration=3.0))
        run = simulate(m, Plan(start=LOW, moves=moves))
        assert abs(run.angle[-1] - HIGH) <= 0.5 * DEG
        loaded = replace(m, arm=with_payload(light, 20.0))
        assert holding_current(loaded, HIGH) > 1.2 * holding_current(m, HIGH)
        assert cone(loaded, float(run.angle[-1])).holds(0.07 * run.motor_current[-1])


class TestWithoutPower:
    def test_a_shorted_motor_brakes_and_does_not_hold(self) -> None:
        """It sinks at the speed where (k^2/R + b) w balances what a steady load brings to the motor."""
        hanging = arm(moment=0.0, friction=Friction(), lower_stop=-math.inf, counterbalances=(PULL,))
        m = machine(stages=(stage(60.0, 0.95),), arm=hanging)
        moves = (Follow(to=0.0, limits=GENTLE), Hold(duration=0.5), Rest(duration=3.0, shorted=True, name="hold"))
        run = simulate(m, Plan(start=LOW, moves=moves))
        held = [event for event in run.events if event.kind is Kind.HOLD]
        assert held[1].text == "motor shorted"
        load = 50.0 * (2.0 - 1.0 / 0.95) / 60.0 - 0.05
        assert run.speed[-1] == pytest.approx(-load / (0.07**2 / 0.506 + 7e-5) / 60.0, rel=1e-8)


def test_a_blow_against_a_stop_while_the_loop_reverses_is_no_pile_of_events() -> None:
    """The bridge is turning the current round as the arm meets its stop: it leaves it for a moment and comes back."""
    from armsim.parts.counterbalance import TorsionSpring

    strong = TorsionSpring(rate=80.0, relaxed_at=math.radians(110.0))
    body = arm(counterbalances=(strong,), upper_stop=math.radians(80.0), friction=Friction(coulomb=0.6, breakaway=0.9))
    m = machine(arm=body, controller=Controller(ramp=0.2, resistance=0.006))
    for to in np.linspace(60.0, 79.5, 12).tolist():
        run = simulate(m, Plan(start=LOW, moves=(Travel(to=math.radians(to)), Hold(duration=0.5))))
        assert abs(run.energy.residual) < 1e-6 * run.energy.throughput
