"""What a motor bears for good and for a while, against worked answers and an eighth-order integration."""

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from armsim.parts.duty import (
    adiabatic_time,
    continuous_current,
    mean_square,
    overload_factor,
    overload_factor_rms,
    runaway_current,
    slow_time_constant,
    steady_winding,
    thermal_class,
)
from armsim.parts.motor import Heat, heat_flows, resistance_ratio

from .rounded import six_digits

NODES = Heat(winding_to_housing=1.5, housing_to_air=3.5, winding_capacity=62.0, housing_capacity=420.0)
STALL = {"heat": NODES, "resistance": 0.1, "start": 25.0, "limit": 155.0, "reference": 25.0}


def test_resistance_grows_from_the_reference_temperature_and_not_from_twenty_degrees():
    wrong, right = 1.0 + 0.00393 * 130.0, resistance_ratio(155.0)
    assert right == six_digits(1.50096)
    assert 100.0 * (wrong / right - 1.0) == six_digits(0.662015)


def test_currents_that_the_winding_bears_for_good_and_never():
    assert continuous_current(NODES, 0.1, 40.0, 25.0, 155.0) == six_digits(12.3788)
    assert runaway_current(NODES, 0.1, 25.0) == six_digits(22.7816)
    assert steady_winding(12.0, NODES, 0.1, 40.0, 25.0) == six_digits(145.408)
    assert steady_winding(12.3788, NODES, 0.1, 40.0, 25.0) == pytest.approx(155.0, abs=1e-3)
    assert steady_winding(22.79, NODES, 0.1, 40.0, 25.0) is None
    assert continuous_current(NODES, 0.1, 160.0, 25.0, 155.0) == 0.0


def test_time_constants_of_two_nodes():
    assert slow_time_constant(NODES) == six_digits(1699.56)


def test_a_stall_without_heat_given_off():
    assert adiabatic_time(**STALL, voltage=1e9, series=0.0, most_current=80.0) == six_digits(10.2092)
    assert adiabatic_time(**STALL, voltage=12.0, series=0.0) == six_digits(6.99922)
    assert adiabatic_time(**STALL, voltage=12.0, series=0.03) == six_digits(10.7659)
    assert adiabatic_time(**{**STALL, "start": 156.0}, voltage=12.0, series=0.03) == 0.0


def test_a_limited_stall_heats_at_constant_current_until_the_voltage_no_longer_drives_it():
    def warming(_, t):
        resistance = 0.1 * resistance_ratio(t[0])
        return [min(80.0, 12.0 / (resistance + 0.03)) ** 2 * resistance / 62.0]

    def reaches(_, t):
        return t[0] - 155.0

    run = solve_ivp(warming, (0.0, 30.0), [25.0], rtol=1e-10, atol=1e-10, max_step=0.02, events=reaches)
    found = adiabatic_time(**STALL, voltage=12.0, series=0.03, most_current=80.0)
    assert found == pytest.approx(run.t_events[0][0], rel=1e-6)
    assert found > 10.7659


def test_rms_of_a_cycle_of_an_arm():
    times = [0.0, 1.2, 1.2, 3.2, 3.2, 4.2, 4.2, 10.0]
    currents = [60.0, 60.0, 25.0, 25.0, -15.0, -15.0, 0.0, 0.0]
    assert math.sqrt(mean_square(times, currents)) == six_digits(24.0728)
    assert mean_square([0.0, 2.0], [0.0, 3.0]) == pytest.approx(3.0)  # a straight rise: a third of the top's square
    assert mean_square([1.0], [5.0]) == 0.0


def test_overload_of_an_intermittent_duty_exactly_and_by_the_rms_rule():
    exact, rule = overload_factor(15.0, 0.25, 30.0), overload_factor_rms(0.25)
    assert exact == six_digits(1.48241)
    assert rule == 2.0
    assert (rule / exact) ** 2 == six_digits(1.82022)
    assert overload_factor(1e-4, 0.25, 30.0) == pytest.approx(
        2.0, rel=1e-4
    )  # short against the winding: the rule holds


@pytest.mark.parametrize(("on_time", "duty"), [(15.0, 0.25), (40.0, 0.4), (5.0, 0.15)])
def test_overload_of_two_nodes_is_that_of_their_settled_cycle(on_time, duty):
    """Constant resistance; the linear map of a cycle is integrated, and its fixed point's peak compared."""
    heat = Heat(winding_to_housing=1.5, housing_to_air=3.5, winding_capacity=30.0, housing_capacity=900.0)

    def after(loss, span, start):
        def slopes(_, s):
            return heat_flows(loss, 0.0, s[0], s[1], 0.0, heat)

        return solve_ivp(slopes, (0.0, span), start, method="DOP853", rtol=1e-10, atol=1e-12).y[:, -1]

    def cycle(start, loss=1.0):
        return after(0.0, on_time / duty - on_time, after(loss, on_time, start))

    added = cycle([0.0, 0.0])
    kept = np.array([cycle([1.0, 0.0], 0.0), cycle([0.0, 1.0], 0.0)]).T
    start = np.linalg.solve(np.eye(2) - kept, added)
    peak = after(1.0, on_time, start)[0]
    exact = math.sqrt(5.0 / peak)  # a continuous loss of one watt ends at R_wh + R_ha
    assert overload_factor(on_time, duty, 1.5 * 30.0, 0.3) == pytest.approx(exact, rel=0.01)


def test_a_limit_that_is_a_class_figure_is_known_as_one():
    assert thermal_class(155.0) == "F"
    assert thermal_class(130.0) == "B"
    assert thermal_class(125.0) is None
