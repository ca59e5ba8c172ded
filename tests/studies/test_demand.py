"""What a lift asks, against closed forms of levers, of pure friction and of pure inertia."""

import math

import pytest

from armsim.checks.lifting import LiftTask
from armsim.parts.arm import STANDARD_GRAVITY, Arm, Friction
from armsim.parts.carriage import Carriage
from armsim.studies.demand import demand_of, driven_level

LIFT = LiftTask(start=0.0, to=1.2, duty=1.0)
TIME = 2.0


def lever(inertia=0.5, moment=3.0, **more):
    return Arm(length=0.7, inertia=inertia, first_moment=moment, **more)


def test_a_level_lever_asks_its_weight_times_its_arm_and_work_for_its_rise():
    demand = demand_of(lever(), LIFT, TIME)
    assert float(demand.steady.max()) == pytest.approx(3.0 * STANDARD_GRAVITY)
    assert demand.worst_angle == 0.0
    assert demand.work == pytest.approx(3.0 * STANDARD_GRAVITY * math.sin(1.2), rel=1e-5)


def test_thirds_take_one_and_a_half_times_the_mean_speed():
    course = demand_of(lever(), LIFT, TIME).trapezoid
    assert course.peak_speed == pytest.approx(1.5 * 1.2 / TIME)
    assert course.time[-1] == pytest.approx(TIME)
    assert course.angle[-1] == pytest.approx(1.2)


def test_pure_inertia_in_thirds():
    course = demand_of(lever(inertia=2.0, moment=0.0), LIFT, TIME).trapezoid
    torque = 2.0 * 4.5 * 1.2 / TIME**2
    assert course.peak_torque == pytest.approx(torque)
    assert course.rms_torque == pytest.approx(torque * math.sqrt(2.0 / 3.0))
    assert course.peak_power == pytest.approx(torque * 1.5 * 1.2 / TIME)
    assert course.mean_power == pytest.approx(0.0, abs=1e-12)


def test_pure_friction_needs_its_work_over_the_time_at_the_least_level_of_power():
    load = lever(inertia=1e-4, moment=0.0, friction=Friction(coulomb=5.0, breakaway=5.0))
    demand = demand_of(load, LIFT, TIME)
    assert demand.level.peak_power == pytest.approx(5.0 * 1.2 / TIME, rel=2e-3)
    assert demand.trapezoid.peak_power == pytest.approx(1.5 * 5.0 * 1.2 / TIME, rel=2e-3)


@pytest.mark.parametrize(("power", "most"), [(2.0, 4.0), (6.0, 20.0)])
def test_pure_inertia_arrives_as_torque_and_power_say(power, most):
    inertia, half = 2.0, 0.6
    top, begun = power / most, inertia * power / most**2  # speed and time at which the torque's limit ends
    virtual = inertia * power / (2.0 * most**2)  # time in which power alone would have come to that speed
    rate = 2.0 / 3.0 * math.sqrt(2.0 * power / inertia)
    way = half - 0.5 * top * begun
    rest = (way / rate + virtual**1.5) ** (2.0 / 3.0) - virtual
    course = driven_level(lever(inertia=inertia, moment=0.0), LIFT, power, most)
    assert course.time[-1] == pytest.approx(2.0 * (begun + rest), rel=1e-3)


def test_the_least_level_arrives_in_time_with_less_power_than_thirds_and_half_as_much_torque_again():
    demand = demand_of(lever(inertia=2.0), LIFT, TIME)
    assert demand.level.time[-1] == pytest.approx(TIME, rel=1e-4)
    assert demand.work / TIME < demand.level.peak_power < demand.trapezoid.peak_power
    assert demand.level.peak_torque <= 1.5 * demand.trapezoid.peak_torque * (1.0 + 1e-9)


def test_less_power_than_the_load_takes_never_arrives():
    load = lever(friction=Friction(coulomb=5.0, breakaway=5.0))
    assert driven_level(load, LIFT, 10.0, 3.0 * STANDARD_GRAVITY) is None  # no torque to spare at the level


def test_a_carriage_asks_a_force():
    demand = demand_of(Carriage(mass=10.0), LiftTask(start=0.0, to=0.5, duty=1.0), 1.0)
    weight = 10.0 * STANDARD_GRAVITY
    assert demand.trapezoid.peak_torque == pytest.approx(weight + 10.0 * 4.5 * 0.5)
    assert demand.work == pytest.approx(weight * 0.5, rel=1e-6)
