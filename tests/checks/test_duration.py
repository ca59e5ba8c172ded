"""The current-duration curve against closed forms and a brute-force search."""

import numpy as np
import pytest

from armsim.checks.duration import duration_curve, largest_rms


def test_a_steady_current_is_the_same_over_any_duration() -> None:
    time = np.linspace(0.0, 5.0, 40)
    durations, rms = duration_curve(time, np.full_like(time, 7.0))
    assert durations[0] == pytest.approx(0.01)
    assert durations[-1] == pytest.approx(5.0)
    assert rms == pytest.approx(7.0)


def test_a_pulse_fades_with_the_root_of_the_duration() -> None:
    time = np.array([0.0, 3.0, 3.0, 4.0, 4.0, 20.0])
    current = np.array([0.0, 0.0, 10.0, 10.0, 0.0, 0.0])
    durations, rms = duration_curve(time, current, points=40)
    assert rms == pytest.approx(10.0 * np.minimum(1.0, np.sqrt(1.0 / durations)), rel=1e-12)


def test_no_stretch_found_by_brute_force_has_more() -> None:
    rng = np.random.default_rng(4)
    time = np.cumsum(rng.uniform(0.01, 0.2, 60))
    current = np.repeat(rng.uniform(-20.0, 20.0, 30), 2)
    charge = np.concatenate([[0.0], np.cumsum(0.5 * (current[1:] ** 2 + current[:-1] ** 2) * np.diff(time))])
    for duration in (0.05, 0.5, 2.0):
        begins = np.linspace(time[0], time[-1] - duration, 20_001)
        held = np.interp(begins + duration, time, charge) - np.interp(begins, time, charge)
        brute = float(np.sqrt(held.max() / duration))
        assert largest_rms(time, charge, duration) == pytest.approx(brute, rel=1e-3)
        assert largest_rms(time, charge, duration) >= brute * (1.0 - 1e-12)


def test_too_short_a_run_has_no_curve() -> None:
    durations, rms = duration_curve(np.array([0.0, 0.005]), np.array([1.0, 1.0]))
    assert not durations.size
    assert not rms.size
