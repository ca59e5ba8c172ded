"""What a motor bears for good and for a while, against worked answers and an eighth-order integration."""

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from armsim.parts.duty import (
    continuous_current,
    mean_squares,
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


def test_brushes_take_their_part_of_the_rise_through_the_housing():
    current = continuous_current(NODES, 0.1, 40.0, 25.0, 155.0, brush_drop=1.0)
    copper = current**2 * 0.1 * 389.5 / 259.5
    assert copper * 5.0 + current * 1.0 * 3.5 == pytest.approx(115.0)


def test_rms_of_a_cycle_of_an_arm():
    times = np.array([0.0, 1.2, 1.2, 3.2, 3.2, 4.2, 4.2, 10.0])
    currents = np.array([60.0, 60.0, 25.0, 25.0, -15.0, -15.0, 0.0, 0.0])
    assert math.sqrt(mean_squares(currents) @ np.diff(times) / 10.0) == six_digits(24.0728)
    assert mean_squares(np.array([0.0, 3.0])) == pytest.approx([3.0])  # a straight rise: a third of the top's square


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
