"""Flat and round belts: sense, and slip against friction added up along the arc."""

import math

import pytest

from armsim.parts.flat_belt import FlatBeltDrive, flat_belt_stage


def stage(**others):
    drive = FlatBeltDrive(driver=23e-3, driven=67e-3, **others)
    return flat_belt_stage(drive, efficiency=0.95, reverse=None, name="belt")


def test_the_reduction_is_by_diameters_and_a_crossed_belt_turns_the_sense_round():
    assert stage().reduction == pytest.approx(67 / 23)
    assert (stage().sense, stage(crossed=True).sense) == (1, -1)
    assert stage().driver_radius == pytest.approx(11.5e-3)


def test_a_belt_slips_where_friction_along_its_arc_is_used_up():
    belt = FlatBeltDrive(driver=23e-3, driven=67e-3, centre_distance=0.15, friction=0.3, tension=100.0)
    steps, loose = 200_000, 1.0
    tight = loose
    for _ in range(steps):  # each bit of arc holds mu N, N = T d(angle)
        tight += 0.3 * tight * belt.wrap / steps
    ratio = tight / loose
    assert belt.slip_tension == pytest.approx(200.0 * (ratio - 1.0) / (ratio + 1.0), rel=1e-5)


@pytest.mark.parametrize("given", ["centre_distance", "friction", "tension"])
def test_without_one_of_three_figures_slip_is_not_known(given):
    figures = {"centre_distance": 0.15, "friction": 0.3, "tension": 100.0}
    del figures[given]
    assert FlatBeltDrive(driver=23e-3, driven=67e-3, **figures).slip_tension is None


def test_crossing_wraps_both_pulleys_further():
    open_belt = FlatBeltDrive(driver=23e-3, driven=67e-3, centre_distance=0.15)
    crossed = FlatBeltDrive(driver=23e-3, driven=67e-3, centre_distance=0.15, crossed=True)
    assert open_belt.wrap == pytest.approx(math.pi - 2 * math.asin(22 / 150))
    assert crossed.wrap == pytest.approx(math.pi + 2 * math.asin(45 / 150))
    assert crossed.length > open_belt.length


def test_pulleys_that_overlap_are_refused():
    with pytest.raises(ValueError, match="overlap"):
        stage(centre_distance=0.045)
    assert stage(centre_distance=0.0451).details["belt_length"] > 0.0
