"""The motor against answers worked by hand from its equations, and against integration by a general solver."""

import math

import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from armsim.parts.motor import (
    Heat,
    Motor,
    best_efficiency_current,
    current_slope,
    from_catalogue_row,
    heat_flows,
    resistance_ratio,
    row_mismatch,
    speed_row_constant,
    split_drag,
    steady_point,
)
from tests.parts.rounded import six_digits

RPM = math.tau / 60.0
ROW = {
    "voltage": 12.0,
    "no_load_speed": 5000.0 * RPM,
    "no_load_current": 2.5,
    "stall_torque": 2.30,
    "stall_current": 120.0,
}
CONSTANT = 0.0224408476  # V*s/rad, (12 - 0.1*2.5)/523.598776


def motor_with(coulomb_share: float = 0.7) -> Motor:
    """The row's motor by its speed row: 0.1 ohm, 22.44 mV*s/rad, 56.1 mN*m of drag at no load."""
    coulomb, viscous = split_drag(CONSTANT * 2.5, ROW["no_load_speed"], coulomb_share)
    return Motor(
        resistance=0.1,
        inductance=90e-6,
        torque_constant=CONSTANT,
        back_emf_constant=CONSTANT,
        coulomb_torque=coulomb,
        viscous_drag=viscous,
        breakaway_torque=coulomb,
        rotor_inertia=8.0e-5,
    )


def test_a_catalogue_row_gives_resistance_constant_and_drag():
    fit = from_catalogue_row(**ROW)
    assert fit.resistance == pytest.approx(0.1, rel=1e-12)
    assert fit.constant == six_digits(0.0224408)
    assert fit.coulomb_torque == six_digits(0.0392715)
    assert fit.viscous_drag == six_digits(3.21441e-05)


def test_the_rows_one_redundancy_is_its_torque_against_its_speed():
    assert row_mismatch(**ROW) == six_digits(-0.12773)
    torque_constant = (1.0 + row_mismatch(**ROW)) * speed_row_constant(12.0, 5000.0 * RPM, 2.5, 120.0)
    assert torque_constant == six_digits(0.0195745)  # 2.30/(120 - 2.5)
    assert 2.30 / (1.0 + row_mismatch(**ROW)) == six_digits(2.6368)  # stall torque that the speed row promises


def test_slope_of_the_row_tells_nothing_that_its_torque_does_not():
    sheet_slope = ROW["no_load_speed"] / ROW["stall_torque"]
    model_slope = 0.1 / CONSTANT**2
    assert sheet_slope == six_digits(227.652)
    assert model_slope == six_digits(198.574)
    assert sheet_slope / model_slope == pytest.approx(1.0 / (1.0 + row_mismatch(**ROW)), rel=1e-7)


def test_what_the_stall_row_lacks_is_a_share_lost_and_an_excess_is_not_believed():
    lacking = from_catalogue_row(**ROW)
    assert lacking.torque_share * (lacking.constant * 120.0 - lacking.coulomb_torque) == pytest.approx(2.30, rel=1e-12)
    excessive = from_catalogue_row(**{**ROW, "stall_torque": 3.0})
    assert excessive.torque_share == 1.0
    assert row_mismatch(**{**ROW, "stall_torque": 3.0}) > 0.0


def test_rows_of_a_geared_motor_give_themselves_away():
    row = {
        "voltage": 12.0,
        "no_load_speed": 100.0 * RPM,
        "no_load_current": 1.2,
        "stall_torque": 14.5,
        "stall_current": 22.0,
    }
    assert from_catalogue_row(**row).resistance == six_digits(0.545455)
    at_output = speed_row_constant(12.0, 100.0 * RPM, 1.2, 22.0)
    assert at_output == six_digits(1.08341)
    assert at_output / 50.0 == six_digits(0.0216682)
    assert 1.0 + row_mismatch(**row) == six_digits(0.643445)
    assert (1.0 + row_mismatch(**row)) * at_output == six_digits(0.697115)


def test_best_efficiency_lies_at_the_geometric_mean_current_with_viscous_drag_or_without():
    assert best_efficiency_current(2.5, 120.0) == six_digits(17.3205)
    for share, best in ((1.0, 0.732158), (0.7, 0.736832)):
        motor = motor_with(share)
        load = CONSTANT * 17.320508 - motor.coulomb_torque - motor.viscous_drag * (12.0 - 1.7320508) / CONSTANT
        speed, current = steady_point(motor, 12.0, load)
        assert current == pytest.approx(17.320508, rel=1e-6)
        assert load * speed / (12.0 * current) == six_digits(best)
        assert speed == six_digits(457.556)
        for nearby in (0.95 * load, 1.05 * load):
            other_speed, other_current = steady_point(motor, 12.0, nearby)
            assert nearby * other_speed / (12.0 * other_current) < best
    assert load == six_digits(0.334708)
    assert load * speed == six_digits(153.148)


def test_most_power_comes_at_half_the_stall_torque():
    motor = motor_with()
    stall = CONSTANT * 120.0 - motor.coulomb_torque
    assert stall == six_digits(2.65363)
    speed, current = steady_point(motor, 12.0, stall / 2.0)
    assert speed == six_digits(261.799)
    assert current == six_digits(61.25)
    assert stall / 2.0 * speed == six_digits(347.359)


def test_a_loaded_motor_settles_where_torque_and_voltage_agree():
    speed, current = steady_point(motor_with(), 12.0, 0.50)
    assert current == six_digits(24.6395)
    assert speed == six_digits(424.942)
    assert speed / RPM == six_digits(4057.89)
    assert 0.5 * speed == six_digits(212.471)
    assert 0.5 * speed / (12.0 * current) == six_digits(0.718599)


def test_resistance_of_the_source_slows_a_loaded_motor_like_its_own():
    motor = motor_with()
    speed, current = steady_point(motor, 12.0, 0.5, source_resistance=0.03)
    assert 0.13 * current + CONSTANT * speed == pytest.approx(12.0, rel=1e-12)
    drag = motor.coulomb_torque + motor.viscous_drag * speed
    assert CONSTANT * current == pytest.approx(0.5 + drag, rel=1e-12)


def test_the_current_of_a_locked_rotor_rises_as_one_exponential():
    def slope(_, current):
        return [current_slope(12.0, current[0], 0.0, resistance=0.1, inductance=90e-6, back_emf_constant=CONSTANT)]

    def reaches_60(_, current):
        return current[0] - 60.0

    run = solve_ivp(slope, (0.0, 1e-3), [0.0], rtol=1e-10, atol=1e-10, events=reaches_60)
    assert run.y[0, -1] == six_digits(80.4968)
    assert run.t_events[0][0] == six_digits(0.623832e-3)


def test_spin_up_with_inductance_has_the_poles_of_the_coupled_equations():
    def slopes(_, state):
        current, speed = state
        rise = current_slope(12.0, current, speed, resistance=0.1, inductance=90e-6, back_emf_constant=CONSTANT)
        return [rise, (CONSTANT * current - 3.21441e-5 * speed) / 8e-5]

    # after the fast pole (-1044.1 1/s) has gone, what is left decays by the slow one
    run = solve_ivp(slopes, (0.0, 0.05), [0.0, 0.0], rtol=1e-11, atol=1e-11, t_eval=[0.02, 0.03, 0.04])
    rate = math.log((run.y[1, 1] - run.y[1, 0]) / (run.y[1, 2] - run.y[1, 1])) / 0.01
    assert rate == pytest.approx(67.4169, rel=1e-5)


def test_copper_grows_with_heat_from_its_zero_at_minus_234_5_degrees():
    assert resistance_ratio(125.0) == six_digits(1.38536)
    assert resistance_ratio(155.0) == six_digits(1.50096)
    assert resistance_ratio(26.0) - 1.0 == six_digits(0.00385356)
    assert resistance_ratio(70.0, reference=20.0) == pytest.approx(304.5 / 254.5, rel=1e-12)


LONE = Heat(winding_to_housing=1e15, housing_to_air=1.0, winding_capacity=62.0, housing_capacity=1.0)
NODES = Heat(winding_to_housing=1.5, housing_to_air=3.5, winding_capacity=62.0, housing_capacity=420.0)


def heated(loss, until, heat, start=(25.0, 25.0), ambient=25.0, events=None):
    """Temperatures under a copper loss that may depend on the winding's, by an eighth-order method."""

    def slopes(_, state):
        return heat_flows(loss(state[0]), 0.0, state[0], state[1], ambient, heat)

    return solve_ivp(slopes, (0.0, until), start, method="DOP853", rtol=1e-11, atol=1e-11, events=events)


def reaches_155(_, state):
    return state[0] - 155.0


def test_a_locked_rotor_at_constant_current_heats_exponentially():
    run = heated(lambda t: 80.0**2 * 0.1 * resistance_ratio(t), 11.0, LONE, events=reaches_155)
    assert run.t_events[0][0] == six_digits(10.2092)
    run = heated(lambda t: 80.0**2 * 0.1 * resistance_ratio(t), 5.0, LONE)
    assert run.y[0, -1] == six_digits(82.1035)


@pytest.mark.parametrize(("series", "limit_time"), [(0.0, 6.99922), (0.03, 10.7659)])
def test_a_locked_rotor_at_constant_voltage_heats_ever_more_slowly(series, limit_time):
    def loss(temperature):
        resistance = 0.1 * resistance_ratio(temperature)
        return (12.0 / (resistance + series)) ** 2 * resistance

    run = heated(loss, 12.0, LONE, events=reaches_155)
    assert run.t_events[0][0] == six_digits(limit_time)


def test_two_nodes_share_a_pulse_of_heat():
    run = heated(lambda _: 250.0, 10.0, NODES)
    assert run.y[0, -1] == six_digits(63.2412)
    assert run.y[1, -1] == six_digits(25.3066)


def test_two_nodes_warm_under_current_and_cool_without():
    run = heated(lambda t: 50.0**2 * 0.1 * resistance_ratio(t), 30.0, NODES)
    assert list(run.y[:, -1]) == [six_digits(155.41), six_digits(27.9603)]
    after = heated(lambda _: 0.0, 60.0, NODES, start=run.y[:, -1])
    assert list(after.y[:, -1]) == [six_digits(97.2522), six_digits(36.2335)]


def settled_gain(current, winding, ambient=40.0):
    """Heat left over at a winding temperature when the housing is settled; zero at the steady state."""
    housing = ambient + (winding - ambient) * 3.5 / 5.0
    return heat_flows(current**2 * 0.1 * resistance_ratio(winding), 0.0, winding, housing, ambient, NODES)[0]


def test_the_current_that_holds_the_limit_for_ever_and_the_one_that_runs_away():
    assert brentq(lambda i: settled_gain(i, 155.0), 1.0, 20.0, xtol=1e-12) == six_digits(12.3788)
    assert brentq(lambda t: settled_gain(12.0, t), 40.0, 400.0, xtol=1e-10) == six_digits(145.408)
    assert settled_gain(22.7815, 1e8) < 0.0  # just below runaway a steady temperature exists, however high
    assert settled_gain(22.7817, 1e8) > 0.0


def test_friction_heats_the_housing_not_the_winding():
    winding, housing = heat_flows(0.0, 42.0, 25.0, 25.0, 25.0, NODES)
    assert winding == 0.0
    assert housing == pytest.approx(0.1)  # 42 W into 420 J/K
