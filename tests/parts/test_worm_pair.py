"""Size of a worm pair, the way its wheel turns, and what the wheel bears, against worked answers and vector algebra."""

import math

import pytest

from armsim.parts.worm_pair import (
    ABOVE,
    BELOW,
    bending_force,
    form_factor,
    rated_force,
    wear_force,
    wheel_way,
    worm_size,
)
from tests.parts.rounded import six_digits

DEG = math.pi / 180.0


@pytest.mark.parametrize(
    "known",
    [
        {"module": 1.25e-3, "diameter": 20e-3},
        {"lead_angle": math.atan(0.0625), "diameter": 20e-3},
        {"lead_angle": math.atan(0.0625), "module": 1.25e-3},
        {"centre_distance": 36.875e-3, "diameter": 20e-3},
        {"centre_distance": 36.875e-3, "module": 1.25e-3},
        {"centre_distance": 36.875e-3, "lead_angle": math.atan(0.0625)},
    ],
    ids="-".join,
)
def test_any_two_make_the_whole_size(known):
    size = worm_size(1, 43, **known)
    assert size.lead_angle / DEG == pytest.approx(3.57633, rel=2e-6)
    assert size.module == pytest.approx(1.25e-3, rel=1e-12)
    assert size.diameter == pytest.approx(20e-3, rel=1e-12)


def test_one_alone_makes_none_and_three_stay_as_they_are():
    assert worm_size(1, 43, module=1e-3) == (None, 1e-3, None)
    assert worm_size(1, 43, centre_distance=0.04) == (None, None, None)
    assert worm_size(1, 43, lead_angle=0.1, module=1e-3, diameter=0.02, centre_distance=0.5) == (0.1, 1e-3, 0.02)


def test_centres_too_close_are_told_by_the_part_that_has_no_room():
    with pytest.raises(ValueError, match="no room for the wheel"):
        worm_size(1, 30, diameter=20e-3, centre_distance=10e-3)
    with pytest.raises(ValueError, match="no room for the worm"):
        worm_size(1, 30, module=2e-3, centre_distance=30e-3)


@pytest.mark.parametrize("hand", [1, -1])
@pytest.mark.parametrize(("placement", "up"), [(ABOVE, 1.0), (BELOW, -1.0)])
def test_the_wheel_turns_the_way_its_teeth_are_pushed(hand, placement, up):
    # worm along +x, above (+y) or below the wheel, turning + about x: a right-hand bolt draws its nut towards its head
    push = -hand  # sign of the teeth's motion along x, at height `up` over the wheel's axis z
    # v = w e_z x r, at r = up e_y: v_x = -w up
    assert wheel_way(hand, placement) == -push * up


def test_a_wheel_of_43_teeth_bears_what_was_worked_out():
    used, lower = rated_force(53.75e-3, 12e-3, 43.0, 36.875e-3, 0.5)
    assert used == pytest.approx(1375.25, rel=1e-4)
    assert lower == pytest.approx(551.992, rel=1e-4)
    assert wear_force(53.75e-3, 12e-3, 0.552e6) == six_digits(356.040)


def test_pieces_of_the_rating_meet_as_closely_as_printed_and_end_below_a_reduction_of_three():
    # by hand: C_m 0.8200 and 0.8194 at 20, 0.6442 and 0.6482 at 76; C_v 0.3052 and 0.3159 at 3.556 m/s
    at = {"wheel_diameter": 60e-3, "face": 12e-3, "centre_distance": 0.05}
    for edge in (20.0, 76.0):
        below, above = (rated_force(reduction=edge * f, sliding_speed=0.5, **at)[0] for f in (1 - 1e-6, 1 + 1e-6))
        assert below == pytest.approx(above, rel=7e-3)
    for edge in (3.556, 15.24):
        below, above = (rated_force(reduction=30.0, sliding_speed=edge * f, **at)[0] for f in (1 - 1e-6, 1 + 1e-6))
        assert below == pytest.approx(above, rel=3.6e-2)
    assert rated_force(reduction=2.9, sliding_speed=0.5, **at) is None
    small, large = (rated_force(60e-3, 12e-3, 30.0, 0.0762 * f, 0.5) for f in (1 - 1e-9, 1 + 1e-9))
    assert small[0] == pytest.approx(large[0], rel=1e-3)
    assert large[0] == large[1]


def test_teeth_bend_as_a_lewis_beam():
    # S b pi m cos(l) y with Buckingham's y 0.125 at 20 deg: 55 x 12 x pi x 1.25 cos(3.57633 deg) x 0.125
    force = bending_force(55e6, 12e-3, 1.25e-3, 3.57633 * DEG, 20.0 * DEG)
    assert force == pytest.approx(55 * 12 * math.pi * 1.25 * math.cos(3.57633 * DEG) * 0.125, rel=1e-3)
    assert form_factor(14.5 * DEG) == pytest.approx(math.pi * 0.1, rel=1e-3)
    assert form_factor(22.5 * DEG) == pytest.approx((0.393 + 0.470) / 2.0)
    assert form_factor(10.0 * DEG) == form_factor(14.5 * DEG)
    assert form_factor(35.0 * DEG) == form_factor(30.0 * DEG)
