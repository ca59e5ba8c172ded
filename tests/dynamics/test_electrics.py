"""Source, bus, bridge and brushes in time, against closed forms and energy."""

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from armsim.checks.protection import rms_through, through
from armsim.drivetrain.circuit import Warmth, drive_point
from armsim.drivetrain.machine import Machine
from armsim.dynamics.modes import Drive, Duty, Flow, Mode
from armsim.dynamics.plan import Hold, Plan, PowerCut, Rest, Travel
from armsim.dynamics.run import Kind
from armsim.dynamics.segment import Tolerances, run_segment
from armsim.dynamics.state import BUS, CURRENT, RELAXATION, initial_state
from armsim.dynamics.trajectory import simulate
from armsim.parts.battery import Battery, constant_source
from armsim.parts.bridge import Controller
from armsim.parts.motor import Heat
from armsim.parts.outlet import Outlet, capacitance_to_stay_below, stored_rise
from armsim.parts.protection import Edge, Protection
from tests.machines import MOTOR, machine

HEAT = Heat(
    winding_to_housing=1.2, housing_to_air=3.5, winding_capacity=40.0, housing_capacity=600.0, winding_limit=130.0
)
CELL = Battery(
    charge_points=(0.0, 1.0),
    voltage_points=(23.0, 26.0),
    resistance=0.02,
    capacity=3600.0 * 2.0,
    state_of_charge=0.9,
    relaxation_resistance=0.015,
    relaxation_time=0.7,
)
HEAVY = 40.0  #: first moment that no motor here lifts [kg*m]


def cycle(**more: Any) -> Plan:
    """Up, a hold, down and a rest."""
    moves = (Travel(to=1.0), Hold(duration=0.3), Travel(to=-0.5, duty=-0.4), Rest(duration=0.2))
    return Plan(start=-0.5, moves=moves, power_cut=PowerCut(), **more)


def stuck(m: Machine, mode: Mode, duration: float) -> tuple[np.ndarray[Any, Any], np.ndarray[Any, Any]]:
    """Times and states of a machine at rest in a mode, whatever its torque."""
    outcome = run_segment(m, mode, 0.0, initial_state(m, 0.0), duration, [], Tolerances())
    return np.array([s.time for s in outcome.samples]), np.array([s.state for s in outcome.samples])


def test_the_relaxation_pair_follows_its_exponential() -> None:
    # V28: 85 A out of 12.564 V behind 11 mohm, 6 mohm and 120 F
    battery = replace(constant_source(12.564, 0.011), relaxation_resistance=0.006, relaxation_time=0.006 * 120.0)
    m = machine(battery=battery, wiring=(), other_loads=85.0)
    time, states = stuck(m, Mode(drive=Drive.OPEN), 8.0)
    expected = 85.0 * 0.006 * (1.0 - np.exp(-time / 0.72))
    assert states[:, RELAXATION] == pytest.approx(expected, rel=1e-6, abs=1e-9)
    at_two = float(np.interp(2.0, time, states[:, RELAXATION]))
    assert pytest.approx(11.629, abs=1e-9) == 12.564 - 85.0 * 0.011
    assert 11.629 - 85.0 * 0.006 * (1.0 - math.exp(-2.0 / 0.72)) == pytest.approx(11.1507, abs=5e-5)
    assert 11.629 - at_two == pytest.approx(11.1507, abs=2e-3)
    assert 11.629 - states[-1, RELAXATION] == pytest.approx(11.119, abs=1e-4)


@pytest.mark.parametrize(
    ("more", "happens"),
    [
        ({"battery": CELL}, Kind.REACHED),
        ({"motor": replace(MOTOR, brush_drop=1.2, brush_knee=0.3)}, Kind.REACHED),
        ({"motor": replace(MOTOR, heat=HEAT, magnet_coefficient=-0.002)}, Kind.REACHED),
        ({"outlet": Outlet(current_limit=20.0, capacitance=2e-3)}, Kind.SUPPLY_RECOVERS),
        ({"outlet": Outlet(current_limit=45.0, short_circuit_current=25.0, capacitance=1e-3)}, Kind.BUS_RISES),
        ({"controller": Controller(supply_current_limit=6.0, resistance=0.006)}, Kind.LIMIT_ENTERED),
        ({"controller": Controller(supply_current_limit=8.0, current_limit=25.0)}, Kind.LIMIT_LEFT),
        ({"battery": CELL, "controller": Controller(undervoltage=24.4, restart=0.05)}, Kind.RESTARTS),
        (
            {
                "battery": CELL,
                "motor": replace(MOTOR, heat=HEAT, magnet_coefficient=-0.002, brush_drop=0.8, brush_knee=0.2),
                "controller": Controller(supply_current_limit=9.0, current_limit=30.0, undervoltage=15.0),
            },
            Kind.LIMIT_LEFT,
        ),
    ],
    ids=["relaxation", "brushes", "magnets", "bench", "foldback", "ration", "both limits", "brown-out", "all"],
)
def test_no_joule_is_lost(more: dict[str, Any], happens: Kind) -> None:
    run = simulate(machine(**more), cycle())
    assert run.first(happens) is not None
    assert abs(run.energy.residual) < 1e-6 * run.energy.throughput
    finer = simulate(machine(**more), cycle(), Tolerances(relative=1e-9, absolute=1e-11))
    assert [event.kind for event in finer.events] == [event.kind for event in run.events]
    for event, again in zip(run.events, finer.events, strict=True):
        assert again.time == pytest.approx(event.time, rel=2e-6, abs=2e-6)


def test_a_supply_limit_lets_more_through_a_stalled_winding() -> None:
    # V24 ii: 15 A from 11.8 V into 0.104 ohm make 41.2544 A at a duty of 0.363598
    motor = replace(MOTOR, resistance=0.1)
    controller = Controller(resistance=0.004, supply_current_limit=15.0)
    m = machine(motor=motor, controller=controller, battery=constant_source(11.8, 0.0), wiring=(), other_loads=0.0)
    point = drive_point(m, 1.0)
    assert point.current == pytest.approx(41.2544, rel=1e-6)
    assert point.duty == pytest.approx(0.363598, rel=1e-5)
    assert point.supply_current == pytest.approx(15.0, rel=1e-12)
    assert point.limited
    blocked = machine(**{**vars_of(m), "arm": replace(m.arm, first_moment=HEAVY)})
    run = simulate(blocked, Plan(start=0.0, moves=(Travel(to=1.0, patience=0.5),), power_cut=PowerCut()))
    assert run.motor_current[-2] == pytest.approx(41.2544, rel=1e-5)
    assert run.peaks.supply_current.value == pytest.approx(15.0, rel=1e-6)


def vars_of(m: Machine) -> dict[str, Any]:
    """The fields of a machine."""
    return {name: getattr(m, name) for name in m.__dataclass_fields__}


@pytest.mark.parametrize(("short", "expected"), [(3.0, 4.61538), (None, 10.0)])
def test_a_stalled_motor_on_a_supply_that_limits(short: float | None, expected: float) -> None:
    # V52: 24 V, 10 A falling to 3 A at 0 V, a stalled loop of 1.2 ohm
    m = machine(
        motor=replace(MOTOR, resistance=1.2),
        controller=Controller(),
        battery=constant_source(24.0, 0.01),
        outlet=Outlet(current_limit=10.0, short_circuit_current=short, capacitance=1e-3),
        wiring=(),
        other_loads=0.0,
    )
    point = drive_point(m, 1.0)
    assert point.current == pytest.approx(expected, rel=1e-5)
    assert point.starved
    blocked = machine(**{**vars_of(m), "arm": replace(m.arm, first_moment=HEAVY)})
    run = simulate(blocked, Plan(start=0.0, moves=(Travel(to=1.0, patience=1.0),), power_cut=PowerCut()))
    assert run.motor_current[-2] == pytest.approx(expected, rel=1e-5)
    assert run.bus_voltage[-2] == pytest.approx(1.2 * expected, rel=1e-5)
    assert run.supply_current[-2] == pytest.approx(expected, rel=1e-5)


def test_current_that_cannot_go_back_raises_the_bus() -> None:
    # shorted out of motion by duty zero, the motor's field and the rotor's motion flow into the capacitor
    m = machine(outlet=Outlet(capacitance=4.7e-3), other_loads=0.0, controller=Controller())
    run = simulate(m, Plan(start=0.9, moves=(Travel(to=-0.5, duty=-0.05, time_limit=20.0),), power_cut=PowerCut()))
    risen = run.first(Kind.BUS_RISES)
    assert risen is not None
    assert run.peaks.supply_current_back.value >= -1e-9
    assert float(np.nanmax(run.bus_voltage)) > 25.5
    assert abs(run.energy.residual) < 1e-6 * run.energy.throughput


def test_what_a_capacitor_takes_up() -> None:
    # V31
    assert stored_rise(24.0, 4.7e-3, 9.0) == pytest.approx(66.3761, rel=1e-6)
    assert capacitance_to_stay_below(24.0, 30.0, 9.0) == pytest.approx(0.0555556, rel=1e-6)


def test_an_isolated_capacitor_takes_what_the_motor_sends() -> None:
    # a motor carrying current, reversed against it: its field's energy, less what the copper burns, goes to the bus
    m = machine(outlet=Outlet(capacitance=1e-3), other_loads=0.0)
    state = initial_state(m, 0.0)
    state[CURRENT] = 20.0
    mode = Mode(drive=Drive.DRIVING, duty=Duty(start=-1.0), flow=Flow.BLOCKED)
    outcome = run_segment(m, mode, 0.0, state, 1e-4, [], Tolerances(relative=1e-10, absolute=1e-12))
    end = outcome.samples[-1].state
    resistance, inductance, capacitance = m.loop_resistance, m.motor.inductance, 1e-3
    # series R-L-C from v0, i0, solved by its roots
    a, w2 = resistance / (2.0 * inductance), 1.0 / (inductance * capacitance)
    w = math.sqrt(w2 - a * a)
    t, v0, i0 = 1e-4, float(state[BUS]), 20.0
    slope = (-v0 - resistance * i0) / inductance
    current = math.exp(-a * t) * (i0 * math.cos(w * t) + (slope + a * i0) / w * math.sin(w * t))
    assert end[CURRENT] == pytest.approx(current, rel=1e-8)
    assert end[BUS] > v0


def test_a_hot_ferrite_motor_is_weaker_and_runs_faster() -> None:
    # V13: winding 125 C, magnets 85 C: R x1.38536, k x0.88, stall torque x0.635216, current for a torque x1.13636
    motor = replace(MOTOR, heat=HEAT, magnet_coefficient=-0.002)
    m = machine(motor=motor, controller=Controller(), battery=constant_source(24.0, 0.0), wiring=(), other_loads=0.0)
    cold, hot = drive_point(m, 1.0), drive_point(m, 1.0, 0.0, Warmth(125.0, 85.0))
    assert hot.torque / cold.torque == pytest.approx(0.635216, rel=1e-5)
    assert cold.current / hot.current == pytest.approx(1.38536, rel=1e-5)
    idle, idle_hot = 24.0 / MOTOR.back_emf_constant, 24.0 / MOTOR.back_emf_constant / 0.88
    assert drive_point(m, 1.0, idle).current == pytest.approx(0.0, abs=1e-9)
    assert drive_point(m, 1.0, idle_hot, Warmth(125.0, 85.0)).current == pytest.approx(0.0, abs=1e-9)
    assert idle_hot / idle == pytest.approx(1.13636, rel=1e-5)


def test_brushes_take_their_voltage() -> None:
    motor = replace(MOTOR, brush_drop=1.0, brush_knee=0.4)
    m = machine(motor=motor, controller=Controller(), battery=constant_source(24.0, 0.0), wiring=(), other_loads=0.0)
    assert drive_point(m, 1.0).current == pytest.approx(23.0 / 0.5)
    assert drive_point(m, 1.0, 24.0 / 0.07).current == pytest.approx(0.0, abs=1e-12)
    assert drive_point(m, -1.0).current == pytest.approx(-23.0 / 0.5)
    # below the knee the brushes are a resistance of 2.5 ohm
    assert drive_point(m, 0.02).current == pytest.approx(0.48 / 3.0)
    run = simulate(m, cycle())
    assert run.energy.losses["brushes"] > 0.0


def test_a_bus_above_the_controllers_range_switches_it_off() -> None:
    controller = Controller(overvoltage=26.0, restart=0.3)
    m = machine(outlet=Outlet(capacitance=4.7e-3), other_loads=0.0, controller=controller)
    run = simulate(m, Plan(start=0.9, moves=(Travel(to=-0.5, duty=-0.05, time_limit=20.0),), power_cut=PowerCut()))
    over = run.first(Kind.OVERVOLTAGE)
    assert over is not None
    at = int(np.searchsorted(run.time, over.time))
    assert run.bus_voltage[at] == pytest.approx(26.0, rel=1e-6)


def test_cycles_passed_over_keep_the_books_of_source_and_brown_outs() -> None:
    battery = replace(CELL, capacity=36000.0, relaxation_time=30.0, relaxation_resistance=0.04)
    controller = Controller(undervoltage=24.0, restart=0.05)
    m = machine(battery=battery, motor=replace(MOTOR, heat=HEAT), controller=controller)
    plan = replace(cycle(), repeat=14)
    summed, stepped = simulate(m, plan), simulate(m, plan, Tolerances(cycles=0.0))
    assert sum(one.stepped for one in summed.cycles) < 14
    assert stepped.first(Kind.UNDERVOLTAGE) is not None
    for run in (summed, stepped):
        assert abs(run.energy.residual) < 1e-6 * run.energy.throughput
    assert [a.winding for a in summed.cycles] == pytest.approx([b.winding for b in stepped.cycles], abs=0.2)
    assert summed.energy.supplied == pytest.approx(stepped.energy.supplied, rel=1e-3)
    assert summed.bus_voltage[-1] == pytest.approx(stepped.bus_voltage[-1], abs=1e-4)


def branched(**more: Any) -> Machine:
    """Two motors, each controller behind a small fuse of its own, all behind a large one."""
    single = Edge(weights=(1.0,), time_constants=(1.0,), ultimate_multiple=1.0)
    branch = Protection(kind="own-curve", rating=30.0, earliest=single, latest=single, branch=True)
    main = Protection(kind="own-curve", rating=400.0, earliest=single, latest=single)
    return machine(**{"motor": replace(MOTOR, count=2), "protection": (main, branch), "other_loads": 3.0, **more})


def test_a_branch_carries_its_own_controllers_current_and_opens_alone() -> None:
    m = branched(arm=replace(machine().arm, first_moment=HEAVY))
    run = simulate(m, Plan(start=0.0, moves=(Travel(to=1.0, patience=3.0),), power_cut=PowerCut()))
    opened = run.first(Kind.BREAKER_OPENS)
    assert opened is not None
    # stalled, each branch carries i of one motor: 1 - exp(-t) of (i/30)^2 comes to 1
    stalled = drive_point(m, 1.0)
    assert opened.time == pytest.approx(-math.log1p(-((30.0 / stalled.current) ** 2)), rel=1e-2)
    after = run.time > opened.time + 0.1
    assert run.supply_current[after] == pytest.approx(3.0)  # the other loads go on
    assert run.motor_current[after] == pytest.approx(0.0, abs=1e-9)
    assert abs(run.energy.residual) < 1e-6 * run.energy.throughput
    seen = through(m.protection[1], run)
    assert seen[after] == pytest.approx(0.0, abs=1e-9)
    assert float(np.max(seen)) == pytest.approx(stalled.current, rel=1e-3)
    # the same from the series, by trapezes
    expected = math.sqrt(float(np.trapezoid(seen**2, run.time)) / float(run.time[-1]))
    assert rms_through(m.protection[1], run) == pytest.approx(expected, rel=1e-2)
