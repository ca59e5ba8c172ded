"""Roller chain against worked answers and against geometry by another way."""

import math
from dataclasses import replace

import pytest

from armsim.parts.chain import (
    ChainDrive,
    Sprocket,
    centre_distance_for,
    chain_loop,
    chain_play,
    chain_stage,
    even_pitches,
    length_in_pitches,
    mean_radius,
    pin_efficiency,
    pitch_diameter,
    polygon_ripple,
    wrap_angle,
)
from armsim.parts.chain_size import ChainSize, power_rating
from armsim.parts.stage import disc_inertia
from tests.parts.rounded import six_digits

HALF_INCH, THREE_EIGHTHS, QUARTER, FIVE_EIGHTHS = 12.7e-3, 9.525e-3, 6.35e-3, 15.875e-3
STEEL = 7850.0


NUMBER_40 = ChainSize(
    number="40", words="a chain", pitch=HALF_INCH, roller=7.92e-3, inner_width=7.2e-3, tensile_strength=13.9e3,
    mass_per_length=0.62, max_allowable=3603.0, family="40", standard="ASME B29.1",
)  # fmt: skip


def drive(driver=16, driven=45, **others):
    return ChainDrive(size=NUMBER_40, driver=Sprocket(teeth=driver), driven=Sprocket(teeth=driven), **others)


def chain(centre_distance=None, **others):
    settings = {"efficiency": 0.96, "reverse": None, "density": STEEL, "name": "chain", **others}
    return chain_stage(drive(centre_distance=centre_distance), **settings)


def test_the_reduction_is_by_teeth_not_by_pitch_diameters():
    assert chain().reduction == 2.8125
    assert pitch_diameter(HALF_INCH, 45) / pitch_diameter(HALF_INCH, 16) == six_digits(2.79673)
    assert chain().sense == 1
    # 13 teeth drive 38 inside the same loop
    thirteen = chain_stage(drive(13, 38), efficiency=0.96, reverse=None, density=STEEL, name="chain")
    assert thirteen.sense / thirteen.reduction == six_digits(0.342105)


LOOPS = [
    (HALF_INCH, 16, 45, 0.410, 95.7279, 96, 0.411746),
    (QUARTER, 14, 54, 0.155, 84.4889, 86, 0.159964),
    (THREE_EIGHTHS, 17, 51, 0.260, 89.6695, 90, 0.261606),
    (FIVE_EIGHTHS, 19, 19, 0.300, 56.7953, 58, 0.309562),
    (HALF_INCH, 11, 65, 0.230, 78.3813, 80, 0.241597),
]


@pytest.mark.parametrize(("pitch", "small", "large", "centre", "pitches", "even", "even_centre"), LOOPS)
def test_a_loop_has_its_length_and_an_even_loop_its_centre_distance(
    pitch, small, large, centre, pitches, even, even_centre
):
    assert length_in_pitches(pitch, small, large, centre) == six_digits(pitches)
    assert length_in_pitches(pitch, large, small, centre) == six_digits(pitches)
    assert centre_distance_for(pitch, small, large, even) == six_digits(even_centre)
    assert length_in_pitches(pitch, small, large, centre_distance_for(pitch, small, large, even)) == pytest.approx(even)


HANDBOOK = [
    # pitch, teeth, centre distance, links: length and centre distance by the short formulas of handbooks
    (HALF_INCH, 16, 45, 0.410, 96, 95.7268, 0.411753),
    (QUARTER, 14, 54, 0.155, 86, 84.4793, 0.159993),
    (THREE_EIGHTHS, 17, 51, 0.260, 90, 89.6659, 0.261623),
    (HALF_INCH, 11, 65, 0.230, 80, 78.2990, 0.242095),
]


@pytest.mark.parametrize(("pitch", "small", "large", "centre", "links", "length", "for_links"), HANDBOOK)
def test_the_short_formulas_of_handbooks_make_the_loop_short_by_the_next_term_of_their_series(
    pitch, small, large, centre, links, length, for_links
):
    step, c = (large - small) / math.tau, centre / pitch
    # 2 C cos(b) + 2 s b with sin(b) = s/C: 2 C + s^2/C + s^4/(12 C^3) + s^6/(40 C^5) + ...
    rest = step**4 / (12 * c**3) + step**6 / (40 * c**5)
    exact = length_in_pitches(pitch, small, large, centre)
    assert exact - length == pytest.approx(rest, rel=0.06, abs=1e-4)
    assert for_links > centre_distance_for(pitch, small, large, links)
    assert for_links == pytest.approx(centre_distance_for(pitch, small, large, links), abs=0.5e-3)


def test_the_chain_lies_on_less_than_half_of_the_small_sprocket():
    assert math.degrees(wrap_angle(HALF_INCH, 16, 45, 0.410)) == six_digits(163.599)
    assert math.degrees(wrap_angle(HALF_INCH, 11, 65, 0.230)) == six_digits(123.482)
    assert pitch_diameter(HALF_INCH, 16) * 1e3 == six_digits(65.0981)
    assert pitch_diameter(HALF_INCH, 45) * 1e3 == six_digits(182.062)


def test_length_agrees_with_belts_round_the_mean_circles():
    # straight runs and arcs of two circles whose circumferences are z pitches: the same loop drawn with a compass
    small, large, centre = mean_radius(HALF_INCH, 16), mean_radius(HALF_INCH, 45), 0.410
    slant = math.asin((large - small) / centre)
    drawn = 2 * centre * math.cos(slant) + small * (math.pi - 2 * slant) + large * (math.pi + 2 * slant)
    assert length_in_pitches(HALF_INCH, 16, 45, centre) * HALF_INCH == pytest.approx(drawn, rel=1e-12)


def test_pull_acts_at_the_mean_radius():
    assert 9.0 / chain().driver_radius == six_digits(278.291)
    assert 9.0 / (pitch_diameter(HALF_INCH, 16) / 2.0) == six_digits(276.506)  # the pitch radius would say less
    assert 62.0 / mean_radius(HALF_INCH, 45) == pytest.approx(681.6, abs=0.6)


@pytest.mark.parametrize(("teeth", "ripple"), [(9, 0.0615497), (11, 0.0410630), (17, 0.0171242), (25, 0.00790609)])
def test_few_teeth_make_the_chain_speed_uneven(teeth, ripple):
    assert polygon_ripple(teeth) == six_digits(ripple)


@pytest.mark.parametrize(("teeth", "drop"), [(9, 0.0603074), (11, 0.0405070), (17, 0.0170269), (25, 0.00788530)])
def test_the_same_ripple_over_the_fastest_instead_of_the_mean_speed(teeth, drop):
    # the chain is fastest where a pin passes at the pitch radius, and slower by 1 - cos(pi/z) half a tooth on
    fastest = pitch_diameter(HALF_INCH, teeth) / 2.0
    assert polygon_ripple(teeth) * mean_radius(HALF_INCH, teeth) / fastest == six_digits(drop)


def test_a_steady_torque_pulls_hardest_where_the_polygon_is_flat():
    flat = pitch_diameter(HALF_INCH, 16) / 2.0 - polygon_ripple(16) * mean_radius(HALF_INCH, 16)
    assert 9.0 / flat == six_digits(281.923)


def test_the_loop_moves_with_the_driver():
    without, with_loop = chain(), chain(0.410)
    loop = 0.62 * 95.7279 * HALF_INCH * mean_radius(HALF_INCH, 16) ** 2
    assert with_loop.input_inertia - without.input_inertia == pytest.approx(loop, rel=1e-6)
    assert with_loop.output_inertia == pytest.approx(disc_inertia(STEEL, 7.2e-3, 0.182062), rel=1e-4)
    assert with_loop.details["even_pitches"] == 96
    assert chain(0.410, input_inertia=1e-5).input_inertia == 1e-5


def test_efficiency_back_follows_from_efficiency_forward():
    assert chain().law.reverse == pytest.approx(2.0 - 1.0 / 0.96)
    assert chain(reverse=0.9).law.reverse == 0.9


def test_shafts_too_close_for_their_sprockets_are_refused():
    with pytest.raises(ValueError, match="overlap"):
        chain(0.120)
    with pytest.raises(ValueError, match="do not go round"):
        centre_distance_for(HALF_INCH, 11, 65, 60)


@pytest.mark.parametrize(
    ("pitch", "teeth", "centre", "links", "above_or_below"),
    [(HALF_INCH, (16, 45), 0.410, (94, 96), 0.411746), (FIVE_EIGHTHS, (19, 19), 0.300, (56, 58), 0.309562)],
)
def test_even_loops_lie_on_either_side_of_a_taut_length(pitch, teeth, centre, links, above_or_below):
    below, above = even_pitches(length_in_pitches(pitch, *teeth, centre))
    assert (below, above) == links
    assert centre_distance_for(pitch, *teeth, below) < centre < centre_distance_for(pitch, *teeth, above)
    assert centre_distance_for(pitch, *teeth, above) == six_digits(above_or_below)
    assert centre_distance_for(FIVE_EIGHTHS, 19, 19, 56) == six_digits(0.293688)
    assert even_pitches(96.0) == (96, 96)


def test_a_wheel_on_the_back_of_the_chain_turns_against():
    back = ChainDrive(size=NUMBER_40, driver=Sprocket(teeth=13), driven=Sprocket(teeth=21, outside=True), links=120)
    stage = chain_stage(back, efficiency=0.96, reverse=None, density=STEEL, name="chain")
    assert stage.sense / stage.reduction == six_digits(-0.619048)
    assert chain_loop(back) is None


def test_a_loop_may_be_told_by_its_links():
    loop = chain_loop(drive(links=96))
    assert loop.centre_distance == six_digits(0.411746)
    assert loop.slack == pytest.approx(0.0, abs=1e-9)
    slack = chain_loop(drive(links=96, centre_distance=0.410))
    assert slack.slack == pytest.approx((96 - 95.7279) * HALF_INCH, rel=1e-3)
    assert chain_loop(drive(links=96, centre_distance=0.413)).slack < 0.0
    assert chain_loop(drive(links=96, centre_distance=0.413)).sag is None


def test_slack_is_play_at_the_driven_sprocket():
    # equal sprockets: the straight run is the centre distance
    equal = ChainDrive(
        size=NUMBER_40, driver=Sprocket(teeth=45), driven=Sprocket(teeth=45), centre_distance=0.3, sag=6e-3
    )
    assert chain_play(equal) == six_digits(0.00351529)
    assert math.degrees(chain_play(equal)) == six_digits(0.201411)
    assert chain_play(equal) * 620.0 == six_digits(2.17948)
    loose = drive(links=96, centre_distance=0.410)
    assert chain_play(loose) == pytest.approx(chain_loop(loose).slack / 0.091031, rel=1e-4)
    assert chain_play(drive(links=96)) is None
    assert chain_play(drive(centre_distance=0.410)) is None


PINS = [((16, 45), 0.11, 0.00914934), ((16, 45), 0.2, 0.0166352), ((11, 65), 0.15, 0.0156530)]


@pytest.mark.parametrize(("teeth", "friction", "loss"), PINS)
def test_pins_that_bend_lose_more_on_small_sprockets(teeth, friction, loss):
    assert 1.0 - pin_efficiency(friction, *teeth) == six_digits(loss)


def test_strands_share_the_breaking_load_and_not_quite_the_fatigue():
    two = replace(NUMBER_40, strands=2)
    assert two.breaking_load == 2 * 13.9e3
    # catalogue: 810 lbf single, 1370 double
    assert two.fatigue_limit / NUMBER_40.fatigue_limit == pytest.approx(1370 / 810, rel=0.01)
    single, double = (
        chain(0.410),
        chain_stage(
            replace(drive(centre_distance=0.410), size=two), efficiency=0.96, reverse=None, density=STEEL, name="chain"
        ),
    )
    assert double.input_inertia == pytest.approx(2 * single.input_inertia)


def test_the_power_rating_at_slow_speed_is_that_of_the_plates():
    assert power_rating(NUMBER_40, 16, 95 * math.tau / 60) / 745.69987 == six_digits(0.616463)
    assert power_rating(NUMBER_40, 16, 95 * math.tau / 60) / (95 * math.tau / 60) == pytest.approx(46.2, abs=0.05)
    fast = 5000 * math.tau / 60
    assert power_rating(NUMBER_40, 16, fast) == pytest.approx(
        17000 * 16**1.5 * 0.5**0.8 / 5000**1.5 * 745.69987, rel=1e-9
    )
    assert power_rating(NUMBER_40, 16, 0.0) is None
    assert power_rating(replace(NUMBER_40, standard="ISO 606"), 16, 10.0) is None
