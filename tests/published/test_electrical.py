"""Worked answers on the electrical side that belong to several parts at once."""

import math
from dataclasses import replace

import numpy as np
import pytest

from armsim.drivetrain.circuit import drive_point
from armsim.dynamics.field import physics, vector_field
from armsim.dynamics.modes import Drive, Duty, Mode
from armsim.dynamics.profile import Reference
from armsim.dynamics.segment import Tolerances, run_segment
from armsim.dynamics.state import (
    ANGLE,
    CHARGE,
    COPPER,
    CURRENT,
    CURRENT_SQUARED,
    LOADS,
    ROTOR,
    SPEED,
    STAGES,
    SUPPLIED,
    SUPPLY_SQUARED,
    initial_state,
)
from armsim.dynamics.steering import reference_current, reference_voltage
from armsim.parts.arm import Arm
from armsim.parts.battery import constant_source
from armsim.parts.bridge import (
    Controller,
    capacitor_current,
    line_current_without_capacitor,
    ripple,
    ripple_rms,
)
from armsim.parts.wiring import HEAT_PER_VOLUME, RESISTIVITY_20, Run
from tests.checks.machines import MOTOR, machine, stage

ARM = Arm(length=0.5, inertia=6.0 * 0.45**2, first_moment=2.7, payload_mass=6.0, payload_at=0.45)
LIFTER = machine(
    battery=constant_source(12.56, 0.014),
    wiring=(Run(resistance=0.010),),
    other_loads=2.0,
    controller=Controller(resistance=0.004),
    stages=(stage(120.0, 0.70),),
    arm=ARM,
)


def test_ripple_of_a_switched_bridge():
    # 12 V, duty 0.30, 15 kHz, 90 uH, 30 A
    swing = ripple(12.0, 0.30, 15e3, 90e-6)
    assert swing == pytest.approx(1.86667, rel=1e-5)
    rms = ripple_rms(30.0, swing)
    assert rms == pytest.approx(30.0048, abs=5e-5)
    assert 100.0 * ((rms / 30.0) ** 2 - 1.0) == pytest.approx(0.0322634, rel=1e-5)
    assert capacitor_current(30.0, 0.30) == pytest.approx(13.7477, rel=1e-5)
    assert line_current_without_capacitor(30.0, 0.30) == pytest.approx(16.4317, rel=1e-5)


def test_a_steady_lift_and_where_its_power_goes():
    """Eight sinks make up what the battery gives."""
    current, speed = 16.4606, 463.665 / 120.0
    mode = Mode(sense=1, branch=(1,), regimes=(0,), drive=Drive.DRIVING, duty=Duty(start=1.0))
    state = initial_state(LIFTER, 0.0)
    state[CURRENT], state[SPEED], state[ANGLE] = current, speed, 0.0
    rates = np.array(vector_field(LIFTER, mode, physics(LIFTER, mode), 0.0)(0.0, state))
    assert abs(rates[CURRENT]) < 0.01 * current / 1e-3
    assert rates[SUPPLIED] == pytest.approx(231.865, rel=1e-4)
    assert 0.014 * rates[SUPPLY_SQUARED] == pytest.approx(4.7711, rel=1e-4)
    assert 0.010 * rates[SUPPLY_SQUARED] == pytest.approx(3.40793, rel=1e-4)
    assert rates[LOADS] == pytest.approx(24.2339, rel=1e-4)
    assert 0.004 * rates[CURRENT_SQUARED] == pytest.approx(1.0838, rel=1e-4)
    assert rates[COPPER] == pytest.approx(27.0951, rel=1e-4)
    assert rates[ROTOR] == pytest.approx(25.1194, rel=1e-4)
    assert rates[STAGES] == pytest.approx(43.8461, rel=1e-3)
    assert rates[CHARGE] == pytest.approx(current + 2.0)
    lifted = 6.0 * 9.80665 * 0.45 * speed
    assert lifted == pytest.approx(102.308, rel=1e-5)
    assert lifted / rates[SUPPLIED] == pytest.approx(0.441238, rel=1e-4)


def test_lowering_at_a_steady_speed_gives_some_of_it_back():
    m = replace(LIFTER, battery=constant_source(12.3, 0.0), wiring=(), other_loads=0.0)
    down = Reference(position=0.0, speed=-0.5, acceleration=0.0)
    current, volts = reference_current(m, down), reference_voltage(m, down)
    assert current == pytest.approx(3.78263, rel=1e-5)
    assert volts == pytest.approx(-0.953058, rel=1e-5)
    duty = volts / 12.3
    assert duty == pytest.approx(-0.0774844, rel=1e-5)
    assert duty * current == pytest.approx(-0.293094, rel=1e-5)
    assert -duty * current * 12.3 == pytest.approx(3.60506, rel=1e-5)
    assert pytest.approx(13.239, rel=1e-5) == 6.0 * 9.80665 * 0.45 * 0.5
    point = drive_point(m, duty, -0.5 * 120.0)
    assert point.current == pytest.approx(3.78263, rel=1e-5)
    assert point.supply_current == pytest.approx(-0.293094, rel=1e-5)


def test_lift_and_lower_currents_tell_efficiency_and_drag():
    """Gravity torques of 18 and 30 N*m; made with 0.70 forward, 0.55 in reverse and 0.0441 N*m of drag."""
    motor = replace(MOTOR, coulomb_torque=0.0441, breakaway_torque=0.0441, viscous_drag=0.0)
    currents = {}
    for torque in (18.0, 30.0):
        arm = replace(ARM, first_moment=torque / 9.80665)
        m = replace(LIFTER, motor=motor, stages=(stage(120.0, 0.70, 0.55),), arm=arm)
        for sense in (1.0, -1.0):
            currents[torque, sense] = reference_current(m, Reference(position=0.0, speed=0.1 * sense, acceleration=0.0))
    assert currents[18.0, 1.0] == pytest.approx(11.514, rel=1e-4)
    assert currents[30.0, 1.0] == pytest.approx(17.88, rel=1e-4)
    assert currents[18.0, -1.0] == pytest.approx(1.711, rel=1e-3)
    assert currents[30.0, -1.0] == pytest.approx(4.162, rel=1e-3)


def test_a_rotor_coasts_down():
    """8e-5 kg*m2 from 400 rad/s by Coulomb and viscous drag: 274.776 rad/s after 0.2 s, at rest after 0.704889 s."""
    bare = Arm(length=0.5, inertia=1e-15, first_moment=0.0)
    m = machine(stages=(), arm=bare, motor=replace(MOTOR, rotor_inertia=8e-5), battery=constant_source(24.0, 0.02))
    state = initial_state(m, 0.0)
    state[SPEED] = 400.0
    mode = Mode(sense=1, branch=(), regimes=(), drive=Drive.OPEN)
    at_once = vector_field(m, mode, physics(m, mode), 0.0)(0.0, state)[SPEED]
    assert at_once == pytest.approx(-651.614, rel=1e-5)
    later = run_segment(m, mode, 0.0, state, 0.2, [], Tolerances()).samples[-1].state
    assert later[SPEED] == pytest.approx(274.776, rel=1e-5)
    end = run_segment(m, mode, 0.0, state, 0.704889, [], Tolerances()).samples[-1].state
    assert end[SPEED] == pytest.approx(0.0, abs=4e-3)


def test_copper_heats_by_the_square_of_its_current_density():
    for density, rate in ((10.0, 0.499739), (50.0, 12.4935), (100.0, 49.9739)):
        assert RESISTIVITY_20 * (density * 1e6) ** 2 / HEAT_PER_VOLUME == pytest.approx(rate, rel=1e-5)


def test_a_shorted_motor_lets_the_arm_creep():
    """0.65 backwards, 0.104 ohm: 21.367 rad/s of the motor."""
    m = replace(LIFTER, stages=(stage(120.0, 0.75, 0.65),))
    torque = 6.0 * 9.80665 * 0.45 * 0.65 / 120.0
    assert torque == pytest.approx(0.143422, rel=1e-5)
    motor = m.motor
    braking = motor.torque_constant**2 / m.loop_resistance + motor.viscous_drag
    assert (torque - motor.coulomb_torque) / braking == pytest.approx(21.367, rel=1e-4)
    mode = Mode(sense=-1, branch=(-1,), regimes=(0,), drive=Drive.SHORTED)
    state = initial_state(m, 0.0)
    state[SPEED] = -21.367 / 120.0
    state[CURRENT] = 4.61052
    rates = vector_field(m, mode, physics(m, mode), 0.0)(0.0, state)
    assert rates[SPEED] == pytest.approx(0.0, abs=1e-4)
    assert math.degrees(-state[SPEED]) == pytest.approx(10.202, rel=1e-4)
