"""Rest and motion, limits, breakers, stops and jams: what a run does at its edges."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from armsim.drivetrain.train import OVERHAULS, cone, speed_regimes
from armsim.dynamics.modes import Mode
from armsim.dynamics.plan import Exchange, Follow, Hold, Limits, Plan, PowerCut, Rest, Travel
from armsim.dynamics.run import Kind, Run
from armsim.dynamics.state import SPEED, initial_state
from armsim.dynamics.steering import holding_current
from armsim.dynamics.trajectory import fall, fall_from, simulate
from armsim.dynamics.voyage import Situation
from armsim.parts.arm import Arm, Friction, with_payload
from armsim.parts.battery import Battery, constant_source
from armsim.parts.bridge import Controller
from armsim.parts.counterbalance import ConstantForceSpring
from armsim.parts.motor import ROTOR_LOSS
from armsim.parts.protection import Edge, Protection
from armsim.parts.worm import worm_stage
from tests.machines import MOTOR, arm, machine, stage

LOW, HIGH = math.radians(-30.0), math.radians(70.0)
UP = Plan(start=LOW, moves=(Travel(to=HIGH),))
UP_AND_DOWN = Plan(start=LOW, moves=(Travel(to=HIGH), Travel(to=LOW, duty=-1.0)))


def kinds(run: Run) -> list[Kind]:
    return [event.kind for event in run.events]


def locking(moment: float = 6.0, inertia: float = 3.5, rotor: float = 2e-4, reverse: float = -0.6):
    """60:1 through a stage that locks, like a worm."""
    return machine(
        motor=replace(MOTOR, rotor_inertia=rotor),
        stages=(stage(60.0, 0.42, reverse),),
        arm=arm(moment, inertia, friction=Friction(coulomb=0.3, breakaway=0.4)),
    )


class TestStart:
    def test_the_arm_waits_on_its_support_until_the_motor_lifts_it(self) -> None:
        run = simulate(machine(controller=Controller(ramp=0.5)), UP)
        assert kinds(run)[:3] == [Kind.START, Kind.DRIVE_ON, Kind.BREAKAWAY]
        assert np.all(run.angle >= LOW - 1e-12)

    def test_breakaway_comes_when_the_torque_leaves_the_cone(self) -> None:
        m = machine(controller=Controller(ramp=0.5))
        breakaway = simulate(m, UP).first(Kind.BREAKAWAY)
        assert breakaway is not None
        run = simulate(m, UP)
        torque = np.interp(breakaway.time, run.time, run.motor_torque)
        assert torque == pytest.approx(cone(m, LOW).rise, rel=1e-6)

    def test_the_target_is_met_exactly(self) -> None:
        reached = simulate(machine(), UP).first(Kind.REACHED)
        assert reached is not None
        assert reached.angle == pytest.approx(HIGH, abs=1e-12)

    def test_a_target_on_the_stop_is_reached_rather_than_hit(self) -> None:
        top = math.radians(95.0)
        run = simulate(machine(), Plan(start=LOW, moves=(Travel(to=top),)))
        assert Kind.REACHED in kinds(run)
        assert Kind.STOP_HIT not in kinds(run)


class TestStall:
    def test_a_machine_that_cannot_start_stalls_at_once(self) -> None:
        run = simulate(machine(arm=arm(moment=60.0, inertia=30.0)), UP)
        stall = run.first(Kind.STALL)
        assert stall is not None
        assert stall.time == 0.0
        assert stall.angle == LOW
        assert Kind.REACHED not in kinds(run)

    def test_a_stall_waits_for_the_ramp(self) -> None:
        run = simulate(machine(arm=arm(moment=60.0, inertia=30.0), controller=Controller(ramp=0.4)), UP)
        stall = run.first(Kind.STALL)
        assert stall is not None
        assert stall.time == pytest.approx(0.4)

    def test_an_arm_that_starts_hanging_stalls_half_way(self) -> None:
        # from 80 degrees below the horizontal the load grows towards it until the motor can do no more
        m = machine(
            motor=replace(MOTOR, rotor_inertia=1e-7), arm=arm(moment=21.0, inertia=0.01, lower_stop=-math.pi / 2)
        )
        run = simulate(m, Plan(start=math.radians(-80.0), moves=(Travel(to=HIGH, patience=1.0),)))
        stall = run.first(Kind.STALL)
        assert stall is not None
        assert math.radians(-80.0) < stall.angle < 0.0
        torque = float(run.motor_torque[-1])
        edges = cone(m, stall.angle)
        assert edges.sink <= torque <= edges.rise * (1.0 + 1e-4)
        # quasi-static: it halts where stalled air-gap torque meets what raising needs
        stalled = 0.07 * (25.0 - 0.052) / (0.5 + 0.006 + 0.052)
        rises = [angle for angle in np.linspace(math.radians(-80.0), 0.0, 4001) if cone(m, angle).rise > stalled]
        assert stall.angle == pytest.approx(rises[0], abs=math.radians(0.1))

    def test_patience_decides_how_long_the_drive_stays_on(self) -> None:
        m = machine(arm=arm(moment=60.0, inertia=30.0))
        plan = Plan(start=LOW, moves=(Travel(to=HIGH, patience=3.5), Rest(duration=9.0)))
        run = simulate(m, plan)
        assert run.time[-1] == pytest.approx(3.5)
        assert kinds(run)[-2:] == [Kind.GIVEN_UP, Kind.END]

    def test_a_stuck_arm_costs_few_steps(self) -> None:
        m = machine(arm=arm(moment=60.0, inertia=30.0))
        run = simulate(m, Plan(start=LOW, moves=(Travel(to=HIGH, patience=500.0),)))
        assert run.time[-1] == pytest.approx(500.0)
        assert run.costs.steps < 400


class TestLimit:
    def test_the_current_stays_at_its_limit_and_leaves_it(self) -> None:
        run = simulate(machine(controller=Controller(current_limit=30.0)), UP)
        assert Kind.LIMIT_ENTERED in kinds(run)
        assert Kind.LIMIT_LEFT in kinds(run)
        assert run.peaks.motor_current.value == pytest.approx(30.0, rel=1e-9)

    def test_supply_current_under_a_motor_side_limit_is_duty_times_motor_current(self) -> None:
        # 40 A held at stall: the duty is R i over the bus voltage
        m = machine(
            motor=replace(MOTOR, resistance=0.104),
            battery=constant_source(11.8, 0.0),
            wiring=(),
            other_loads=0.0,
            controller=Controller(current_limit=40.0),
            arm=arm(moment=400.0, inertia=100.0),
        )
        run = simulate(m, UP)
        assert run.duty[-1] == pytest.approx(0.352542, abs=5e-7)
        assert run.supply_current[-1] == pytest.approx(14.1017, abs=5e-5)

    def test_source_resistance_reaches_the_motor_with_the_duty_squared(self) -> None:
        m = machine(
            motor=replace(MOTOR, resistance=0.104),
            battery=constant_source(12.7, 0.018),
            wiring=(),
            other_loads=2.0,
            controller=Controller(),
            arm=arm(moment=400.0, inertia=100.0),
        )
        run = simulate(m, Plan(start=LOW, moves=(Travel(to=HIGH, duty=0.5),)))
        expected = 0.5 * (12.7 - 0.018 * 2.0) / (0.104 + 0.25 * 0.018)
        assert run.motor_current[-1] == pytest.approx(expected, rel=1e-7)
        assert run.supply_current[-1] == pytest.approx(0.5 * expected + 2.0, rel=1e-7)


class TestSupply:
    def test_sag_below_undervoltage_resets_the_controller_again_and_again(self) -> None:
        m = machine(
            battery=constant_source(25.0, 0.5),
            controller=Controller(undervoltage=18.0, restart=0.2),
            arm=arm(moment=40.0, inertia=20.0),
        )
        run = simulate(m, Plan(start=LOW, moves=(Travel(to=HIGH, patience=2.0),)))
        resets = kinds(run).count(Kind.UNDERVOLTAGE)
        assert resets >= 5
        assert run.peaks.bus_voltage.value == pytest.approx(18.0, abs=1e-6)
        assert Kind.REACHED not in kinds(run)

    def test_a_breaker_that_opens_drops_the_arm(self) -> None:
        edge = Edge(weights=(1.0,), time_constants=(0.3,), ultimate_multiple=1.2)
        device = Protection(kind="quick", rating=4.0, earliest=edge, latest=edge)
        run = simulate(machine(protection=(device,)), UP)
        opened = run.first(Kind.BREAKER_OPENS)
        assert opened is not None
        after = run.time > opened.time
        assert np.all(run.supply_current[after] == 0.0)
        assert run.angle[-1] < opened.angle

    def test_charge_drawn_lowers_the_open_circuit_voltage(self) -> None:
        battery = Battery(
            charge_points=(0.0, 1.0), voltage_points=(20.0, 25.0), resistance=0.0, capacity=100.0, state_of_charge=1.0
        )
        m = machine(battery=battery, wiring=())
        run = simulate(m, Plan(start=LOW, moves=(Rest(duration=10.0),)))
        assert run.bus_voltage[-1] == pytest.approx(25.0 - 5.0 * 10.0 / 100.0, rel=1e-9)
        assert run.charge_drawn[-1] == pytest.approx(10.0, rel=1e-9)


class TestHold:
    def test_a_hold_catches_the_arm_and_keeps_it_within_the_band(self) -> None:
        m = machine()
        run = simulate(m, Plan(start=LOW, moves=(Travel(to=HIGH), Hold(duration=3.0))))
        late = run.time > run.time[-1] - 1.0
        assert np.all(run.angle[late] == run.angle[-1])
        assert abs(run.angle[-1] - HIGH) <= math.radians(0.5)
        assert cone(m, float(run.angle[-1])).holds(0.07 * run.motor_current[-1])
        assert not cone(m, HIGH).holds(0.0)

    def test_a_hold_after_a_profile_stands_at_the_mid_band_current(self) -> None:
        m = machine()
        gently = Limits(speed=1.0, acceleration=2.0, jerk=10.0)
        run = simulate(m, Plan(start=LOW, moves=(Follow(to=HIGH, limits=gently), Hold(duration=2.0))))
        edges = cone(m, HIGH)
        assert run.motor_current[-1] == pytest.approx(0.5 * (edges.sink + edges.rise) / 0.07, rel=0.03)

    def test_friction_that_holds_needs_no_current(self) -> None:
        assert holding_current(locking(), HIGH) == 0.0

    def test_a_load_beyond_the_current_limit_is_lost(self) -> None:
        light = arm(moment=1.0, friction=Friction(), payload_mass=0.0)
        m = machine(controller=Controller(current_limit=8.0), stages=(stage(30.0, 0.95),), arm=light)
        heavy = replace(m, arm=with_payload(light, 5.0))
        lift = Follow(to=0.0, limits=Limits(speed=1.0, acceleration=2.0))
        assert holding_current(heavy, 0.0) > 8.0 > holding_current(m, 0.0)
        light_run = simulate(m, Plan(start=LOW, moves=(lift, Hold(duration=1.0))))
        assert Kind.CANNOT_HOLD not in kinds(light_run)
        run = simulate(m, Plan(start=LOW, moves=(lift, Hold(duration=0.5), Exchange(payload=5.0), Hold(duration=1.0))))
        assert Kind.CANNOT_HOLD in kinds(run)
        assert run.angle[-1] == math.radians(-35.0)

    def test_unpowered_rest_lets_a_back_drivable_arm_fall_to_its_stop(self) -> None:
        run = simulate(machine(), Plan(start=LOW, moves=(Travel(to=HIGH), Hold(duration=0.1), Rest(duration=5.0))))
        assert run.angle[-1] == math.radians(-35.0)
        assert Kind.STOP_HIT in kinds(run)


class TestLocking:
    def test_the_motor_drives_a_locking_stage_down_through_the_same_formula(self) -> None:
        run = simulate(locking(), UP_AND_DOWN)
        assert kinds(run).count(Kind.REACHED) == 2
        lowering = (run.speed < -0.1) & (run.motor_current < 0.0)
        assert np.count_nonzero(lowering) > 50

    @pytest.mark.parametrize("moment", [1.0, 6.0, 60.0, 6000.0])
    def test_unpowered_it_holds_any_payload(self, moment: float) -> None:
        for shorted in (False, True):
            run = fall(locking(moment), UP, PowerCut(), shorted=shorted)
            assert run is not None
            assert run.angle[-1] == HIGH

    def test_power_cut_while_a_heavy_arm_is_driven_down_jams_it_at_once(self) -> None:
        m = locking(moment=30.0, inertia=60.0, rotor=2e-6, reverse=-1.2)
        down = Plan(start=HIGH, moves=(Travel(to=LOW, duty=-1.0),))
        run = fall(m, down, PowerCut(angle=math.radians(20.0)), shorted=False)
        assert run is not None
        assert kinds(run)[:3] == [Kind.POWER_CUT, Kind.JAM, Kind.COMES_TO_REST]
        assert run.angle[-1] == pytest.approx(math.radians(20.0), abs=1e-9)
        assert run.energy.losses["impact"] > 0.0

    def test_a_run_with_a_hundred_jams_ends(self) -> None:
        m = locking(moment=30.0, inertia=60.0, rotor=2e-6, reverse=-1.2)
        m = replace(m, stages=(stage(400.0, 0.42, -1.2),))
        run = simulate(m, Plan(start=HIGH, moves=(Travel(to=LOW, duty=-0.3),)))
        assert kinds(run).count(Kind.COMES_TO_REST) >= 100
        assert kinds(run)[-2:] == [Kind.REACHED, Kind.END]
        assert abs(run.energy.residual) < 1e-6 * run.energy.throughput

    def test_power_cut_in_motion_jams_or_stops_it(self) -> None:
        run = fall(locking(), UP_AND_DOWN, PowerCut(time=1.2), shorted=False)
        assert run is not None
        assert run.events[0].kind is Kind.POWER_CUT
        assert abs(run.speed[-1]) == 0.0


class TestCut:
    def test_a_cut_at_an_angle_starts_from_the_speed_the_lift_had_there(self) -> None:
        m = machine()
        lift = simulate(m, UP)
        run = fall(m, UP, PowerCut(angle=math.radians(20.0)), shorted=False)
        assert run is not None
        assert run.angle[0] == pytest.approx(math.radians(20.0), abs=1e-9)
        rising = np.interp(math.radians(20.0), lift.angle, lift.speed)
        assert run.speed[0] == pytest.approx(rising, rel=1e-3)  # a straight line between the lift's samples

    def test_a_cut_that_never_comes_gives_no_run(self) -> None:
        assert fall(machine(), UP, PowerCut(time=1e4), shorted=False) is None

    def test_an_arm_cut_on_its_way_up_turns_and_falls_to_its_stop(self) -> None:
        run = fall(machine(), UP, PowerCut(angle=math.radians(20.0)), shorted=False)
        assert run is not None
        assert run.angle.max() > math.radians(20.5)
        assert run.angle[-1] == math.radians(-35.0)

    def test_without_a_stop_below_it_swings_to_the_other_side(self) -> None:
        m = machine()
        free = replace(m, arm=replace(m.arm, lower_stop=-math.inf, upper_stop=math.inf))
        run = fall(free, UP, PowerCut(), shorted=False)
        assert run is not None
        assert math.radians(-250.0) < run.angle[-1] < math.radians(-90.0)

    def test_a_swing_without_friction_ends_at_its_far_side(self) -> None:
        free = machine(
            motor=replace(MOTOR, coulomb_torque=0.0, breakaway_torque=0.0, viscous_drag=0.0),
            stages=(stage(60.0, 1.0, 1.0),),
            arm=arm(lower_stop=-math.inf, upper_stop=math.inf),
        )
        run = fall(free, UP, PowerCut(), shorted=False)
        assert run is not None
        assert run.angle[-1] == pytest.approx(math.radians(-180.0) - HIGH, abs=1e-6)
        assert run.costs.steps < 1000

    def test_a_shorted_motor_slows_the_fall(self) -> None:
        m = machine()
        open_, shorted = (fall(m, UP, PowerCut(), shorted=how) for how in (False, True))
        assert open_ is not None
        assert shorted is not None
        hit_open, hit_shorted = open_.first(Kind.STOP_HIT), shorted.first(Kind.STOP_HIT)
        assert hit_open is not None
        assert hit_shorted is not None
        assert hit_shorted.time > hit_open.time
        assert abs(hit_shorted.speed) < abs(hit_open.speed)


@settings(max_examples=12, deadline=None)
@given(st.floats(0.5, 12.0), st.floats(1.02, 1.5))
def test_more_load_never_lifts_sooner(moment: float, more: float) -> None:
    def lift_time(value: float) -> float:
        reached = simulate(machine(arm=arm(value, 3.5 * value / 6.0)), UP).first(Kind.REACHED)
        return math.inf if reached is None else reached.time

    assert lift_time(moment * more) > lift_time(moment) * (1.0 - 1e-7)


@settings(max_examples=8, deadline=None)
@given(st.floats(1.0, 10.0))
def test_a_mirrored_machine_moves_in_mirror(moment: float) -> None:
    still = replace(machine(), arm=arm(moment))
    here = simulate(still, Plan(start=0.0, moves=(Hold(duration=0.1), Travel(to=HIGH))))
    flipped = replace(still, arm=replace(still.arm, first_moment=-moment, lower_stop=-still.arm.upper_stop))
    flipped = replace(flipped, arm=replace(flipped.arm, upper_stop=-still.arm.lower_stop))
    there = simulate(flipped, Plan(start=0.0, moves=(Hold(duration=0.1), Travel(to=-HIGH, duty=-1.0))))
    a, b = here.first(Kind.REACHED), there.first(Kind.REACHED)
    assert a is not None
    assert b is not None
    assert a.time == pytest.approx(b.time, rel=1e-6)


def worm_machine(lead: float, friction: float | None = 0.15, moment: float = 6.0, motor=MOTOR, wheel=40):
    """A worm of one start, 40:1, on a bare arm, motor friction left out so that the worm alone decides."""
    worm = worm_stage(
        starts=1,
        wheel=wheel,
        lead_angle=lead,
        pressure_angle=math.radians(20.0),
        friction=friction,
        static_friction=0.15,
        diameter=0.02,
        module=None,
        density=7850.0,
        wheel_density=8800.0,
        input_inertia=0.0,
        output_inertia=0.0,
        hand=1,
        name="worm",
    )
    quiet = replace(motor, coulomb_torque=0.0, breakaway_torque=0.0, viscous_drag=0.0)
    return machine(motor=quiet, stages=(worm,), arm=arm(moment, 0.5))


class TestWorm:
    """With a friction of 0.15 and a pressure angle of 20 degrees the threshold lead angle is 9.06942 degrees."""

    @pytest.mark.parametrize("moment", [0.1, 6.0, 600.0])
    def test_just_below_the_threshold_it_holds_any_load_and_just_above_it_falls(self, moment: float) -> None:
        for lead, holds in ((9.069, True), (9.0699, False)):
            run = fall(worm_machine(math.radians(lead), moment=moment), UP, PowerCut(), shorted=False)
            assert run is not None
            assert bool(run.angle[-1] == HIGH) is holds

    def test_its_motor_drives_it_down_against_its_own_friction(self) -> None:
        m = worm_machine(math.radians(4.0))
        run = simulate(m, Plan(start=HIGH, moves=(Travel(to=LOW, duty=-0.6),)))
        assert run.first(Kind.REACHED) is not None
        # steady lowering: the motor pushes down although gravity pulls that way too
        middle = (run.angle < math.radians(40.0)) & (run.angle > math.radians(-20.0))
        assert np.all(run.motor_current[middle] < 0.0)

    def test_friction_by_the_table_lets_a_fast_worm_run_away_and_catches_a_slow_one(self) -> None:
        # 3.576 degrees of lead: the worm locks at rest and below 387 rpm, and no longer above
        lead = math.atan(1.25 / 20.0)
        down = Plan(start=HIGH, moves=(Travel(to=LOW, duty=-1.0, time_limit=60.0),))
        motor = replace(MOTOR, rotor_inertia=4.2e-5)
        m = worm_machine(lead, friction=None, moment=0.3, motor=motor)
        m = replace(m, arm=replace(m.arm, inertia=0.085, lower_stop=-math.inf))
        fast = fall(m, down, PowerCut(angle=math.radians(20.0)), shorted=False)
        assert fast is not None
        threshold = 387.444 * math.pi / 30.0 / 40.0
        assert -fast.speed[0] > threshold
        assert np.min(fast.speed) < 1.2 * fast.speed[0]  # it gains speed
        assert np.min(fast.angle) < math.radians(-80.0)
        slow = Plan(start=HIGH, moves=(Travel(to=LOW, duty=-0.05, time_limit=60.0),))
        caught = fall(m, slow, PowerCut(angle=math.radians(20.0)), shorted=False)
        assert caught is not None
        assert -caught.speed[0] < threshold
        assert caught.angle[-1] > math.radians(15.0)

    @staticmethod
    def cut_while_lowering(speed: float, drag: float) -> Run:
        """43:1, 20 mm, 3.576 degrees of lead, friction by the table; 0.085 kg*m2 under 3.1 N*m, rotor 4.2e-5."""
        motor = replace(MOTOR, rotor_inertia=4.2e-5, torque_constant=1e-3, back_emf_constant=1e-3)
        m = worm_machine(math.atan(1.25 / 20.0), friction=None, motor=motor, wheel=43)
        m = replace(
            m,
            motor=replace(m.motor, coulomb_torque=drag, breakaway_torque=drag),
            arm=Arm(
                length=0.6, inertia=0.085, first_moment=0.0, lower_stop=-20.0,
                counterbalances=(ConstantForceSpring(force=-3.1, radius=1.0),),
            ),
        )  # fmt: skip
        state = initial_state(m, 0.0)
        state[SPEED] = -speed
        mode = Mode(sense=-1, branch=(OVERHAULS,), regimes=speed_regimes(m, speed))
        return fall_from(m, Situation(time=0.0, state=state, mode=mode), shorted=False)

    @pytest.mark.parametrize(("speed", "drag", "stops"), [(0.93, 0.0, 0.288), (1.2, 0.012, 0.111)])
    def test_cut_off_at_a_speed_near_that_of_locking_it_stops(self, speed: float, drag: float, stops: float) -> None:
        rest = self.cut_while_lowering(speed, drag).first(Kind.COMES_TO_REST)
        assert rest is not None
        assert rest.time == pytest.approx(stops, abs=0.0005)

    def test_cut_off_a_little_faster_it_runs_away(self) -> None:
        free, dragged = self.cut_while_lowering(0.96, 0.0), self.cut_while_lowering(2.0, 0.012)
        assert np.interp(1.0, free.time, -free.speed) == pytest.approx(8.83, abs=0.005)
        hit = dragged.first(Kind.STOP_HIT)
        assert hit is not None
        assert hit.speed < -2.0
        assert np.interp(1.0, dragged.time, -dragged.speed) > 2.0


def test_what_a_short_torque_row_loses_is_booked_in_the_motor() -> None:
    m = machine(stages=(stage(1.0, 0.9, 0.9, kind=ROTOR_LOSS), stage(60.0)))
    run = simulate(m, UP)
    assert len(run.energy.stage_losses) == 1
    assert run.energy.losses["stages"] == pytest.approx(run.energy.stage_losses[0])
    plain = simulate(machine(), UP)
    assert run.energy.losses["motor_friction"] > 3.0 * plain.energy.losses["motor_friction"]
    assert abs(run.energy.residual) < 1e-6 * run.energy.throughput
