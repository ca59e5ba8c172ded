"""Motion profiles against worked answers, exact quadrature of the jerk, and a linear programme that knows no pieces."""

import math
from fractions import Fraction
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import linprog

from armsim.dynamics.profile import Reference, motion_profile, s_curve, trapezoid

DEG = math.pi / 180.0
INF = math.inf
TIGHT = 1e-12

#: with a = 2 and j = 4 the acceleration limit is met from 1 unit of way on, and every switch falls on quarters
BY_HAND = [
    pytest.param(6.0, {"speed": 2.0}, 4.5, 2.0, 2.0, 7, id="all seven pieces"),
    pytest.param(3.0, {"speed": 9.0}, 3.0, 2.0, 2.0, 6, id="no cruise"),
    pytest.param(1.0, {"speed": 9.0}, 2.0, 1.0, 2.0, 4, id="acceleration limit just met"),
    pytest.param(0.125, {"speed": 9.0}, 1.0, 0.25, 1.0, 4, id="neither cruise nor acceleration limit"),
    pytest.param(0.625, {"speed": 0.25}, 3.0, 0.25, 1.0, 5, id="cruise without the acceleration limit"),
]


def sizes(low, high):
    """Positive numbers spread evenly over the decades between 10^low and 10^high."""
    return st.floats(low, high).map(lambda exponent: 10.0**exponent)


def moves(low=-3.0, high=3.0):
    """Starts, signed ways and limits of S-curves."""
    limits = st.fixed_dictionaries({name: sizes(low, high) for name in ("speed", "acceleration", "jerk")})
    ways = st.builds(math.copysign, sizes(low, high), st.sampled_from((1.0, -1.0)))
    return st.tuples(st.sampled_from((0.0, -0.7, 3.0)), ways, limits)


def profiles_of(start, way, limits):
    """The same move as an S-curve, a trapezoid, and a trapezoid that brakes otherwise than it speeds up."""
    plain = {"speed": limits["speed"], "acceleration": limits["acceleration"]}
    return (
        s_curve(start, start + way, **limits),
        trapezoid(start, start + way, **plain),
        trapezoid(start, start + way, **plain, deceleration=limits["jerk"]),
    )


def farthest(duration, steps, bounds):
    """Greatest way of any motion from rest to rest in a duration whose highest derivative is a staircase.

    `bounds` holds the limits of speed, acceleration and so on, of either sign; the last are those of the staircase.
    A linear programme in the heights of the stairs: it is told the limits and nothing about pieces.
    """
    step = duration / steps
    age = np.clip(step * np.subtract.outer(np.arange(1, steps + 1), np.arange(steps)), 0.0, None)  # of each stair
    younger = np.clip(age - step, 0.0, None)
    order = len(bounds)

    def grown(times):  # a stair's effect on the derivative so many integrations down, at every step's end
        return (age**times - younger**times) / math.factorial(times)

    limited = [(grown(order - 1 - k), *bounds[k]) for k in range(order - 1)]
    found = linprog(
        -grown(order)[-1],
        A_ub=np.vstack([sign * effect for effect, _, _ in limited for sign in (1.0, -1.0)]),
        b_ub=np.repeat([value for _, lowest, highest in limited for value in (highest, -lowest)], steps),
        A_eq=np.vstack([effect[-1] for effect, _, _ in limited]),
        b_eq=np.zeros(order - 1),
        bounds=[bounds[-1]] * steps,
    )
    assert found.status == 0, found.message
    return -found.fun


def test_worked_answer_of_a_long_move():
    limits = {"speed": 1.6, "acceleration": 4.0}
    assert trapezoid(0.0, 95.0 * DEG, **limits).duration == pytest.approx(1.43629, abs=5e-6)
    assert s_curve(0.0, 95.0 * DEG, **limits, jerk=20.0).duration == pytest.approx(1.63629, abs=5e-6)


def test_worked_answer_of_a_short_move():
    short = trapezoid(0.0, 30.0 * DEG, speed=1.6, acceleration=4.0)
    assert short.duration == pytest.approx(0.723601, abs=5e-7)
    assert short.peak_speed == pytest.approx(1.4472, abs=5e-5)


@pytest.mark.parametrize(("way", "speed", "duration", "peak_speed", "peak_acceleration", "pieces"), BY_HAND)
def test_every_kind_of_s_curve_worked_by_hand(way, speed, duration, peak_speed, peak_acceleration, pieces):
    for sense in (1.0, -1.0):
        found = s_curve(0.5, 0.5 + sense * way, **speed, acceleration=2.0, jerk=4.0)
        assert found.duration == pytest.approx(duration, rel=1e-14)
        assert found.peak_speed == pytest.approx(peak_speed, rel=1e-14)
        assert found.peak_acceleration == pytest.approx(peak_acceleration, rel=1e-14)
        assert len(found.times) - 1 == pieces


def test_trapezoid_with_gentler_braking_worked_by_hand():
    # up to 2 in 1 s over 1, down from 2 in 2 s over 2, and 3 more at 2
    cruising = trapezoid(1.0, 7.0, speed=2.0, acceleration=2.0, deceleration=1.0)
    assert cruising.times == pytest.approx((0.0, 1.0, 2.5, 4.5))
    assert cruising.positions == pytest.approx((1.0, 2.0, 5.0, 7.0))
    assert cruising.accelerations == (2.0, 0.0, -1.0, 0.0)
    # a triangle: 0.75 = V^2/2 (1/2 + 1/1)
    triangle = trapezoid(0.0, -0.75, speed=2.0, acceleration=2.0, deceleration=1.0)
    assert triangle.speeds == pytest.approx((0.0, -1.0, 0.0))
    assert triangle.duration == pytest.approx(1.5)
    assert triangle.peak_acceleration == 2.0


def test_reference_within_the_pieces_worked_by_hand():
    up = s_curve(0.0, 6.0, speed=2.0, acceleration=2.0, jerk=4.0)
    assert up.at(0.25) == pytest.approx((4.0 * 0.25**3 / 6.0, 4.0 * 0.25**2 / 2.0, 1.0))
    assert up.at(0.75) == pytest.approx((1.0 / 12.0 + 0.125 + 0.0625, 1.0, 2.0))
    assert up.at(2.25) == pytest.approx((3.0, 2.0, 0.0))  # half the time, half the way
    level = trapezoid(0.0, 6.0, speed=2.0, acceleration=2.0)
    assert level.at(0.5) == pytest.approx((0.25, 1.0, 2.0))
    assert level.at(1.0) == pytest.approx((1.0, 2.0, 0.0))  # the piece that begins here


@given(moves())
def test_outside_its_time_a_motion_is_at_rest_at_its_ends(move):
    start, way, _ = move
    for found in profiles_of(*move):
        for time in (-INF, -1.0, -5e-324):
            assert found.at(time) == Reference(start, 0.0, 0.0)
        for time in (found.duration, math.nextafter(found.duration, INF), found.duration + 1.0, INF):
            assert found.at(time) == Reference(start + way, 0.0, 0.0)
        assert found.at(0.0)[:2] == (start, 0.0)


@given(moves())
def test_the_last_piece_comes_to_rest_at_the_target(move):
    start, way, limits = move
    for found in profiles_of(*move):
        just_before = math.nextafter(found.duration, 0.0)
        position, speed, _ = found.at(just_before)
        scale = abs(start) + abs(way)
        assert position == pytest.approx(start + way, abs=TIGHT * scale, rel=0.0)
        slowing = found.peak_acceleration * (found.duration - just_before)
        assert abs(speed) <= TIGHT * limits["speed"] + 2.0 * slowing


@given(moves())
def test_no_limit_is_exceeded_and_no_motion_turns_back(move):
    _, way, limits = move
    curve, level, braking = profiles_of(*move)
    for found, slowest in ((curve, limits["acceleration"]), (level, limits["acceleration"]), (braking, limits["jerk"])):
        inside = np.linspace(0.0, found.duration, 200)
        path = np.array([found.at(time) for time in (*inside, *found.times)])
        position, speed, acceleration = math.copysign(1.0, way) * path.T
        loose = 1.0 + TIGHT
        assert speed.max() <= limits["speed"] * loose
        assert speed.min() >= -TIGHT * found.peak_speed
        # a knot is rounded to the clock, and the acceleration with it
        ticks = limits["jerk"] * math.ulp(found.duration)
        assert acceleration.max() <= limits["acceleration"] * loose + ticks
        assert acceleration.min() >= -slowest * loose - ticks
        assert np.abs(speed).max() <= found.peak_speed * loose
        assert np.abs(acceleration).max() <= found.peak_acceleration * loose + ticks
        assert position[:200].min() == position[0]
        assert position[:200].max() == position[199]
    assert max(map(abs, curve.jerks)) == limits["jerk"]


@given(moves(-1.0, 1.0), st.floats(0.0, 1.0))
def test_the_motion_is_the_integral_of_its_jerk(move, share):
    """Cauchy's formula over the whole history in exact fractions, against the recursion from knot to knot."""
    start, _, _ = move
    found = profiles_of(*move)[0]
    now = Fraction(share * found.duration)
    sums = [Fraction(0)] * 3
    for (begins, ends), jerk in zip(pairwise(map(Fraction, found.times)), found.jerks[:-1], strict=True):
        old, young = max(now - begins, Fraction(0)), max(now - ends, Fraction(0))
        for power in (1, 2, 3):
            sums[power - 1] += Fraction(jerk) * (old**power - young**power) / math.factorial(power)
    acceleration, speed, way = map(float, sums)
    # each knot is a rounded time: an error of the jerk times that, carried to the end
    slip = 16.0 * math.ulp(found.duration) * max(map(abs, found.jerks))
    expected = found.at(float(now))
    assert expected.acceleration == pytest.approx(acceleration, abs=slip, rel=TIGHT)
    assert expected.speed == pytest.approx(speed, abs=slip * found.duration, rel=TIGHT)
    assert expected.position - start == pytest.approx(way, abs=slip * found.duration**2 + 1e-15, rel=TIGHT)


@given(moves())
def test_piece_by_piece_the_motion_is_the_integral_of_its_speed(move):
    """Three points of Gauss integrate a parabola exactly."""
    start, way, _ = move
    nodes, weights = np.polynomial.legendre.leggauss(3)
    for found in profiles_of(*move):
        for k, (begins, ends) in enumerate(pairwise(found.times)):
            half = (ends - begins) / 2.0
            inside = np.array([found.at(begins + half * (1.0 + node)) for node in nodes])
            moved, gained = half * (weights @ inside[:, 1]), half * (weights @ inside[:, 2])
            assert found.positions[k + 1] - found.positions[k] == pytest.approx(
                moved, abs=TIGHT * (abs(start) + abs(way)), rel=0.0
            )
            clock = 4.0 * found.peak_acceleration * math.ulp(found.duration)
            assert found.speeds[k + 1] - found.speeds[k] == pytest.approx(
                gained, abs=TIGHT * found.peak_speed + clock, rel=0.0
            )


@given(moves())
def test_acceleration_of_an_s_curve_has_no_jumps(move):
    found = profiles_of(*move)[0]
    for time in found.times:
        before, after = found.at(math.nextafter(time, -INF)), found.at(time)
        allowed = TIGHT * found.peak_acceleration + 4.0 * max(map(abs, found.jerks)) * math.ulp(found.duration)
        assert abs(after.acceleration - before.acceleration) <= allowed


def test_acceleration_of_a_trapezoid_jumps_where_the_pieces_meet():
    found = trapezoid(0.0, 6.0, speed=2.0, acceleration=2.0)
    jumps = [found.at(time).acceleration - found.at(math.nextafter(time, -INF)).acceleration for time in found.times]
    assert jumps == [2.0, -2.0, -2.0, 2.0]


@given(moves(), st.floats(0.0, 1.0))
def test_the_other_way_is_the_mirror_image(move, share):
    start, way, limits = move
    for there, mirrored in zip(profiles_of(start, way, limits), profiles_of(-start, -way, limits), strict=True):
        time = share * there.duration
        assert mirrored.times == there.times
        assert mirrored.at(time) == tuple(-value for value in there.at(time))


@given(moves(-2.0, 2.0), st.floats(0.0, 1.0))
def test_run_backwards_a_symmetric_motion_is_the_way_back(move, share):
    start, way, limits = move
    there, back = s_curve(start, start + way, **limits), s_curve(start + way, start, **limits)
    now, then = there.at(share * there.duration), back.at((1.0 - share) * there.duration)
    assert now.position == pytest.approx(then.position, abs=TIGHT * (abs(start) + abs(way)), rel=0.0)
    clock = 8.0 * math.ulp(there.duration)
    assert now.speed == pytest.approx(-then.speed, abs=TIGHT * there.peak_speed + clock * there.peak_acceleration)


@given(moves())
def test_less_freedom_never_arrives_sooner(move):
    start, way, limits = move
    curve, level, _ = profiles_of(*move)
    assert level.duration <= curve.duration * (1.0 + TIGHT)
    # a moving average over 2 a/j of the trapezoid keeps all limits: no acceleration changes by more than 2 a
    averaged = level.duration + 2.0 * limits["acceleration"] / limits["jerk"]
    assert curve.duration <= averaged * (1.0 + TIGHT)
    for name in limits:
        slower = s_curve(start, start + way, **{**limits, name: limits[name] / 1.5})
        assert slower.duration >= curve.duration * (1.0 - TIGHT)


@pytest.mark.parametrize(("way", "speed", "duration", "peak_speed", "peak_acceleration", "pieces"), BY_HAND)
def test_no_motion_goes_farther_in_the_time_of_an_s_curve(way, speed, duration, peak_speed, peak_acceleration, pieces):
    v = speed["speed"]
    bounds = ((-v, v), (-2.0, 2.0), (-4.0, 4.0))
    found = s_curve(0.0, way, **speed, acceleration=2.0, jerk=4.0)
    steps = round(8 * found.duration) * 2  # every switch falls on a step
    assert farthest(found.duration, steps, bounds) == pytest.approx(way, rel=1e-9)
    assert farthest(0.99 * found.duration, steps, bounds) < way * (1.0 - 5e-3)


@pytest.mark.parametrize(
    ("way", "v", "a", "j"),
    [(95.0 * DEG, 1.6, 4.0, 20.0), (30.0 * DEG, 1.6, 4.0, 20.0), (30.0 * DEG, 0.7, 4.0, 20.0), (0.03, 1.6, 4.0, 20.0)],
)
def test_the_least_time_lies_within_the_grid_of_the_programme(way, v, a, j):
    steps, bounds = 200, ((-v, v), (-a, a), (-j, j))
    duration = s_curve(0.0, way, speed=v, acceleration=a, jerk=j).duration
    # the programme sees speeds at the ends of steps only, and may pass the limit by j step^2/8 between them
    passed = j * (duration / steps) ** 2 / 8.0 / v
    assert farthest(duration, steps, bounds) <= way * (1.0 + passed)
    # each of seven pieces drawn out to whole steps keeps the limits and goes farther
    assert farthest(duration * (steps + 7) / steps, steps + 7, bounds) >= way
    assert farthest(duration * (steps - 7) / steps, steps - 7, bounds) < way


@pytest.mark.parametrize(("way", "duration"), [(6.0, 4.5), (0.75, 1.5)], ids=["cruising", "triangle"])
def test_no_motion_goes_farther_in_the_time_of_a_trapezoid(way, duration):
    found = trapezoid(0.0, way, speed=2.0, acceleration=2.0, deceleration=1.0)
    bounds = ((-2.0, 2.0), (-1.0, 2.0))
    assert found.duration == pytest.approx(duration)
    assert farthest(found.duration, round(8 * duration), bounds) == pytest.approx(way, rel=1e-9)
    assert farthest(0.99 * found.duration, round(8 * duration), bounds) < way * (1.0 - 5e-3)


@given(moves(-9.0, 9.0))
def test_knots_follow_one_another_in_time(move):
    for found in profiles_of(*move):
        assert all(earlier < later for earlier, later in pairwise(found.times))


def test_a_piece_shorter_than_the_tick_of_the_clock_makes_no_knot():
    crawl = s_curve(0.0, 1e9, speed=1.0, acceleration=1.0, jerk=1e9)  # 1e-9 s of jerk after 1e9 s of cruise
    assert all(earlier < later for earlier, later in pairwise(crawl.times))
    assert len(crawl.times) - 1 == 5
    assert crawl.duration == pytest.approx(1e9 + 1.0, rel=1e-15)


def test_a_move_to_where_one_is_takes_no_time():
    for found in profiles_of(0.4, 0.0, {"speed": 1.0, "acceleration": 2.0, "jerk": 3.0}):
        assert found.duration == found.peak_speed == found.peak_acceleration == 0.0
        assert [found.at(time) for time in (-1.0, 0.0, 1.0)] == [Reference(0.4, 0.0, 0.0)] * 3


def test_a_reference_is_made_of_floats_though_the_ends_are_whole_numbers():
    found = trapezoid(0, 2, speed=1, acceleration=1)
    assert {type(value) for time in (-1, 0, 1, 9) for value in found.at(time)} == {float}


def test_without_a_limit_of_jerk_a_motion_is_a_trapezoid():
    limits = {"speed": 1.6, "acceleration": 4.0}
    assert motion_profile(0.1, 1.2, **limits) == trapezoid(0.1, 1.2, **limits)
    assert motion_profile(0.1, 1.2, **limits, jerk=20.0) == s_curve(0.1, 1.2, **limits, jerk=20.0)


@pytest.mark.parametrize("value", [0.0, -1.0, INF, -INF, math.nan])
@pytest.mark.parametrize("name", ["speed", "acceleration", "jerk", "deceleration"])
def test_limits_that_make_no_sense_are_refused_by_name(name, value):
    limits = {"speed": 1.0, "acceleration": 1.0, name: value}
    law = s_curve if name == "jerk" else trapezoid
    with pytest.raises(ValueError, match=f"^{name} must be positive and finite"):
        law(0.0, 1.0, **limits)


@pytest.mark.parametrize("ends", [(math.nan, 0.0), (0.0, INF), (-INF, -INF), (-1.5e308, 1.5e308)])
def test_ends_that_are_nowhere_are_refused(ends):
    with pytest.raises(ValueError, match="start and end must be finite"):
        trapezoid(*ends, speed=1.0, acceleration=1.0)
    with pytest.raises(ValueError, match="start and end must be finite"):
        s_curve(*ends, speed=1.0, acceleration=1.0, jerk=1.0)


positive = st.floats(5e-324, 1e300)  # below the largest double by the room that sums of a few terms need


@given(positive, positive, positive, positive)
def test_limits_of_any_size_give_a_whole_motion_or_a_refusal(end, speed, acceleration, jerk):
    for law, more in ((trapezoid, {}), (s_curve, {"jerk": jerk})):
        try:
            found = law(0.0, end, speed=speed, acceleration=acceleration, **more)
        except ValueError as refusal:
            assert "out of all proportion" in str(refusal)  # noqa: PT017 - either outcome is right
        else:
            assert 0.0 < found.duration < INF
            assert found.at(math.nextafter(found.duration, 0.0)).position == pytest.approx(end, rel=1e-9)
