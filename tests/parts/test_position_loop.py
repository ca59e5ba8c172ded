"""The loop's law, its anti-windup, and where its poles lie."""

import numpy as np
import pytest

from armsim.parts.position_loop import PositionLoop, loop_voltage, next_integral, pole_placement

LOOP = PositionLoop(period=0.01, proportional=200.0, integral=500.0, derivative=8.0, tolerance=0.01)


def test_the_voltage_is_the_sum_of_its_terms() -> None:
    assert loop_voltage(LOOP, 0.02, -0.5, 1.5, 3.0) == pytest.approx(3.0 + 4.0 - 4.0 + 1.5)


def test_the_integral_grows_by_the_error_times_the_period() -> None:
    assert next_integral(LOOP, 0.02, 1.0, asked=4.0, limited=False, settled=False) == pytest.approx(1.0 + 500 * 0.0002)


@pytest.mark.parametrize(("error", "asked", "grows"), [(0.02, 14.0, False), (-0.02, 14.0, True), (-0.02, -14.0, False)])
def test_a_limited_output_stops_the_integral_only_where_the_error_pushes_on(error, asked, grows) -> None:
    after = next_integral(LOOP, error, 1.0, asked=asked, limited=True, settled=False)
    assert (after != 1.0) is grows


@pytest.mark.parametrize(
    ("error", "settled", "grows"), [(0.009, True, False), (0.011, True, True), (0.009, False, True)]
)
def test_in_position_the_integral_rests_once_the_reference_does(error, settled, grows) -> None:
    after = next_integral(LOOP, error, 1.0, asked=2.0, limited=False, settled=settled)
    assert (after != 1.0) is grows


def test_the_poles_lie_where_they_were_asked() -> None:
    gain, time_constant, bandwidth = 4.2, 0.12, 25.0
    proportional, integral, derivative = pole_placement(gain=gain, time_constant=time_constant, bandwidth=bandwidth)
    # gain tau s^3 + (gain + K_d) s^2 + K_p s + K_i
    roots = np.sort(np.roots([gain * time_constant, gain + derivative, proportional, integral]).real)
    assert roots == pytest.approx([-25.0, -25.0, -5.0], rel=1e-5)


def test_a_machine_with_damping_of_its_own_gets_no_negative_derivative_gain() -> None:
    assert pole_placement(gain=4.2, time_constant=0.001, bandwidth=25.0)[2] == 0.0
