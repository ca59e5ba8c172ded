"""Fits of bench points against a worked answer, and against points computed from known constants."""

import numpy as np
import pytest

from armsim.parts.motor_fit import _condition, _equations, fit_current_line, fit_points
from tests.parts.rounded import six_digits

POINTS = np.array(  # V, N*m, rad/s, A
    [
        (12, 0.05, 515.8, 4.8),
        (12, 0.2482, 473.8, 13.65),
        (12, 0.5001, 422.8, 24.83),
        (12, 0.8988, 339.2, 42.73),
        (8, 0.0502, 336.9, 4.58),
        (8, 0.3014, 284.8, 15.68),
        (8, 0.5962, 222.4, 28.94),
    ]
)


def fitted(points, **deviations):
    return fit_points(*np.asarray(points, dtype=float).T, **deviations)


def test_points_at_two_voltages_give_back_the_worked_constants():
    fit = fitted(POINTS, voltage_deviation=0.05, torque_deviation=0.005)
    assert fit.resistance == six_digits(0.104241)
    assert fit.constant == six_digits(0.0222979)
    assert fit.coulomb_torque == six_digits(0.0419774)
    assert fit.viscous_drag == six_digits(2.93378e-05)
    assert fit.reduced_residual == six_digits(0.323729)
    assert fit.condition == six_digits(8.78616)


def test_points_at_one_voltage_are_told_apart_by_the_shared_constant():
    fit = fitted(POINTS[:4], voltage_deviation=0.05, torque_deviation=0.005)
    assert fit.resistance == six_digits(0.103687)
    assert fit.constant == six_digits(0.0223121)
    assert fit.coulomb_torque == six_digits(0.0487056)
    assert fit.viscous_drag == six_digits(1.54965e-05)
    assert fit.condition < 20.0


def line(currents, resistance=0.5, constant=0.05, coulomb=0.03, viscous=2e-5, voltage=24.0):
    """Points of a motor that obeys its two equations exactly."""
    currents = np.asarray(currents)
    speeds = (voltage - resistance * currents) / constant
    return np.stack([0 * currents + voltage, constant * currents - coulomb - viscous * speeds, speeds, currents], 1)


def test_exact_points_come_back_exactly_whatever_the_weights_and_tell_no_scatter():
    for deviations in ({}, {"voltage_deviation": 0.3, "torque_deviation": 0.01}):
        fit = fitted(line([2.0, 10.0, 30.0, 48.0]), **deviations)
        assert fit.resistance == pytest.approx(0.5, rel=1e-9)
        assert fit.constant == pytest.approx(0.05, rel=1e-9)
        assert fit.coulomb_torque == pytest.approx(0.03, rel=1e-7)
        assert fit.viscous_drag == pytest.approx(2e-5, rel=1e-7)
        assert fit.torque_scatter < 1e-10
        assert fit.voltage_scatter < 1e-10
        assert not fit.drag_held_at_zero


def test_torques_alone_at_one_voltage_do_not_tell_the_constants_apart():
    def condition(points):
        voltage, torque, speed, current = np.asarray(points, dtype=float).T
        return _condition(_equations(voltage, torque, speed, current, 0.05, 0.005)[0][len(points) :, 1:])

    assert condition(POINTS[:4]) == six_digits(3102.64)
    assert condition(POINTS) == six_digits(11.2901)


def test_scatter_is_the_misfit():
    points = line(np.linspace(2.0, 46.0, 400))
    ripple = 0.04 * points[:, 1].max() * np.where(np.arange(400) % 2, 1.0, -1.0)
    points[:, 1] += ripple
    fit = fitted(points)
    assert fit.torque_scatter == pytest.approx(0.04 * 2.27, rel=0.05)  # of k 46 A less the drag
    assert fit.constant == pytest.approx(0.05, rel=0.01)


def test_the_standard_error_is_that_of_repeated_draws():
    rng = np.random.default_rng(3)
    clean = line(np.linspace(2.0, 46.0, 12))
    fits = []
    for _ in range(300):
        noisy = clean.copy()
        noisy[:, 0] += rng.normal(0.0, 0.12, 12)
        noisy[:, 1] += rng.normal(0.0, 0.02, 12)
        fits.append(fitted(noisy, voltage_deviation=0.12, torque_deviation=0.02))
    assert np.std([f.resistance for f in fits]) == pytest.approx(np.mean([f.resistance_error for f in fits]), rel=0.15)
    assert np.std([f.constant for f in fits]) == pytest.approx(np.mean([f.constant_error for f in fits]), rel=0.15)


def test_a_drag_that_comes_out_negative_is_held_at_none_and_told():
    fit = fitted(line([2.0, 10.0, 30.0, 48.0], coulomb=-0.02))
    assert fit.coulomb_torque == 0.0
    assert fit.viscous_drag >= 0.0
    assert fit.drag_held_at_zero


@pytest.mark.parametrize(
    ("points", "words"),
    [
        (line([2.0, 10.0]), "2 points"),
        ([(12, 0.1, 400, 5), (10, 0.2, 400, 9), (11, 0.3, 400, 13)], "all at one speed"),
        (line([10.0, 10.001, 10.002]), "too close together"),
        ([(12, 0, 500, 1), (12, 0, 400, 5), (12, 0, 100, 9)], "no point carries a torque"),
        ([(12, 0.22, 300, 5), (12, 0.44, 330, 10), (12, 0.67, 360, 15)], "no motor has these points"),
    ],
)
def test_points_that_tell_no_motor_are_refused(points, words):
    with pytest.raises(ValueError, match=words):
        fitted(points)


def test_a_line_of_current_over_torque_gives_the_constant_and_the_current_at_no_load():
    torque = np.array([0.1, 0.2, 0.3, 0.5])
    fit = fit_current_line(torque, 0.4 + torque / 0.05)
    assert fit.constant == pytest.approx(0.05)
    assert fit.no_load_current == pytest.approx(0.4)
    assert fit.scatter == pytest.approx(0.0, abs=1e-12)
    assert not fit.held_at_zero


def test_the_error_of_the_line_is_the_textbook_one():
    from scipy.stats import linregress

    torque, current = [0.07, 0.09, 0.12, 0.148], [0.256, 0.324, 0.388, 0.448]
    fit, known = fit_current_line(torque, current), linregress(torque, current)
    assert fit.constant == pytest.approx(1.0 / known.slope)
    assert fit.no_load_current == pytest.approx(known.intercept)
    assert fit.constant_error / fit.constant == pytest.approx(known.stderr / known.slope)


def test_a_line_that_would_start_below_no_current_is_led_through_none():
    fit = fit_current_line([0.1, 0.2, 0.3], [0.9, 2.0, 3.1])
    assert fit.held_at_zero
    assert fit.no_load_current == 0.0
    assert 1.0 / fit.constant == pytest.approx((0.09 + 0.4 + 0.93) / 0.14)


@pytest.mark.parametrize(
    ("torque", "current", "words"),
    [
        ([0.1, 0.2], [1, 2], "2 readings"),
        ([0.1, 0.1, 0.1], [1, 2, 3], "too close together"),
        ([0.1, 0.2, 0.3], [3, 2, 1], "does not rise"),
    ],
)
def test_readings_that_tell_no_line_are_refused(torque, current, words):
    with pytest.raises(ValueError, match=words):
        fit_current_line(torque, current)
