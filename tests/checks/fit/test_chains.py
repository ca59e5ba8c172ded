"""Rules of chain drives, on either side of each edge."""

import math

import pytest

from armsim.checks.fit.chains import chain_fit, matched
from armsim.checks.judged_parts import Fit
from armsim.parts.chain import ChainDrive, Sprocket, centre_distance_for, chain_stage, pitch_diameter
from armsim.scenario.chain_numbers import find_chain

P = 12.7e-3


def rows(driver=16, driven=45, number="40", **others):
    wheels = [wheel if isinstance(wheel, Sprocket) else Sprocket(teeth=wheel) for wheel in (driver, driven)]
    drive = ChainDrive(size=find_chain(number), driver=wheels[0], driven=wheels[1], **others)
    stage = chain_stage(drive, efficiency=0.96, reverse=None, density=7850.0, name="chain")
    return {row.rule: row for row in chain_fit(stage, drive)}


def fit(rule, *args, **others):
    return rows(*args, **others)[rule].fit


MIXED = [
    ("40", "40", Fit.FITS), ("40H", "40", Fit.FITS), ("08A", "40", Fit.FITS),
    ("41", "40", Fit.NEAR_MISS), ("40", "41", Fit.NEAR_MISS),
    ("40", "08B", Fit.NEAR_MISS), ("08B", "40", Fit.NEAR_MISS),
    ("35", "06B", Fit.NEAR_MISS), ("06B", "35", Fit.NEAR_MISS),
    ("25", "04B", Fit.NEAR_MISS), ("04B", "25", Fit.NEAR_MISS),
    ("50", "10B", Fit.DOUBTFUL), ("10B", "50", Fit.DOUBTFUL),
    ("12B", "60", Fit.NEAR_MISS), ("60", "12B", Fit.NEAR_MISS), ("80", "16B", Fit.NEAR_MISS),
    ("40", "35", Fit.WRONG), ("40-2", "40", Fit.WRONG), ("40-2", "40-2", Fit.FITS),
]  # fmt: skip


@pytest.mark.parametrize(("chain", "sprocket", "expected"), MIXED)
def test_chains_on_sprockets_of_other_numbers(chain, sprocket, expected):
    assert matched(find_chain(chain), find_chain(sprocket), 20)[0] is expected


def test_the_row_says_why_a_number_does_not_match():
    row = rows(Sprocket(teeth=13, size=find_chain("40")), number="41")["number of the driver"]
    assert row.fit is Fit.NEAR_MISS
    assert "7.366 mm wide, do not enter between plates 6.35 mm apart" in row.text
    assert row.mend == "take a sprocket for number 41"
    high = rows(Sprocket(teeth=13, size=find_chain("40")), number="08B")["number of the driver"]
    assert "a roller of 8.51 mm seats high on a seat for 7.92 mm" in high.text
    assert "5.8 %" in matched(find_chain("25"), find_chain("04B"), 20)[1]


def test_double_pitch_chain_wants_many_teeth_of_a_plain_sprocket():
    assert matched(find_chain("2040"), find_chain("40"), 30)[0] is Fit.DOUBTFUL
    assert matched(find_chain("2040"), find_chain("40"), 29)[0] is Fit.WRONG
    assert matched(find_chain("2040"), find_chain("2040"), 12)[0] is Fit.FITS
    assert matched(find_chain("40"), find_chain("2040"), 40)[0] is Fit.WRONG


def test_sprockets_of_no_number_are_not_known():
    row = rows()["sprockets"]
    assert (row.fit, row.mend) == (Fit.UNKNOWN, "give the number each is sold for: driver: {teeth, number}")
    assert "sprockets" not in rows(Sprocket(teeth=16, size=find_chain("40")))


@pytest.mark.parametrize(
    ("driver", "driven", "rule", "expected"),
    [
        (9, 40, "teeth of the smaller sprocket", Fit.FITS),
        (8, 40, "teeth of the smaller sprocket", Fit.DOUBTFUL),
        (40, 120, "teeth of the larger sprocket", Fit.FITS),
        (40, 121, "teeth of the larger sprocket", Fit.DOUBTFUL),
        (10, 70, "ratio", Fit.FITS),
        (10, 71, "ratio", Fit.DOUBTFUL),
        (71, 10, "ratio", Fit.DOUBTFUL),
        (10, 100, "ratio", Fit.DOUBTFUL),
        (10, 101, "ratio", Fit.WRONG),
    ],
)
def test_teeth_and_ratio_have_their_limits(driver, driven, rule, expected):
    assert fit(rule, driver, driven) is expected


def test_few_teeth_tell_their_ripple():
    assert "4.1 %" in rows(11, 40)["teeth of the smaller sprocket"].text


def test_a_bore_stays_inside_the_root():
    root = P / math.sin(math.pi / 16) - 7.92e-3
    assert fit("bore of the driver", Sprocket(teeth=16, bore=root - 1e-5)) is Fit.FITS
    assert fit("bore of the driver", Sprocket(teeth=16, bore=root + 1e-5)) is Fit.WRONG


def test_the_chain_wants_a_third_of_a_turn_on_the_small_sprocket():
    edge = pitch_diameter(P, 65) - pitch_diameter(P, 11)
    assert fit("wrap on the smaller sprocket", 11, 65, centre_distance=edge + 1e-6) is Fit.FITS
    assert fit("wrap on the smaller sprocket", 11, 65, centre_distance=edge - 1e-4) is Fit.DOUBTFUL


def test_shafts_keep_their_distance():
    touching = P * (0.6 + 0.5 / math.tan(math.pi / 16) + 0.5 / math.tan(math.pi / 45))
    assert fit("centre distance", centre_distance=touching - 1e-5) is Fit.WRONG
    assert fit("centre distance", centre_distance=touching + 1e-5) is Fit.FITS
    assert fit("centre distance", centre_distance=80.0 * P) is Fit.FITS
    assert fit("centre distance", centre_distance=80.1 * P) is Fit.DOUBTFUL


@pytest.mark.parametrize(("pitches", "preferred"), [(29.9, False), (30.1, True), (49.9, True), (50.1, False)])
def test_the_preferred_range_is_named_not_demanded(pitches, preferred):
    row = rows(centre_distance=pitches * P)["centre distance"]
    assert row.fit is Fit.FITS
    assert ("Outside the preferred range" in row.text) is not preferred


def test_an_odd_number_of_links_wants_an_offset_link():
    even, odd = rows(links=96)["even links"], rows(links=97)["even links"]
    assert (even.fit, odd.fit) == (Fit.FITS, Fit.DOUBTFUL)
    assert odd.mend == f"98 links at {1e3 * centre_distance_for(P, 16, 45, 98):.2f} mm"


def test_a_loop_is_neither_too_short_nor_too_slack():
    exact = centre_distance_for(P, 16, 45, 96)
    run = math.sqrt(exact**2 - ((45 - 16) * P / math.tau) ** 2)
    # sag of 4 % of the run takes 8/3 0.04^2 of it; shafts nearer by d give 2 d cos(lean) of slack
    edge = 8.0 / 3.0 * 0.04**2 * run / (2.0 * run / exact)
    assert fit("chain length", links=96, centre_distance=exact) is Fit.FITS
    assert fit("chain length", links=96, centre_distance=exact - 0.99 * edge) is Fit.FITS
    slack = rows(links=96, centre_distance=exact - 1.02 * edge)["chain length"]
    assert slack.fit is Fit.DOUBTFUL
    assert "96 links at 411.75 mm" in slack.mend
    short = rows(links=96, centre_distance=exact + 1e-4)["chain length"]
    assert short.fit is Fit.WRONG
    assert "too short" in short.text


def test_without_links_both_even_loops_are_named():
    row = rows(centre_distance=0.410)["chain length"]
    assert row.fit is Fit.UNKNOWN
    assert row.wanted == "94 links at 398.91 mm or 96 links at 411.75 mm"
    assert "95.7279 pitches" in row.text
    assert fit("chain length", centre_distance=0.4117) is Fit.FITS


def test_a_length_that_nothing_tells_is_not_known():
    assert rows()["chain length"].mend == "give centre_distance or links"
    back = rows(driven=Sprocket(teeth=21, outside=True))["chain length"]
    assert (back.fit, back.mend) == (Fit.UNKNOWN, "")
    odd = rows(driven=Sprocket(teeth=21, outside=True), links=91)
    assert (odd["even links"].fit, odd["even links"].mend) == (Fit.DOUBTFUL, "92 links")
    assert (odd["chain length"].fit, odd["chain length"].given) == (Fit.UNKNOWN, "91 links")


@pytest.mark.parametrize(("share", "expected"), [(0.0399, Fit.FITS), (0.0401, Fit.DOUBTFUL)])
def test_a_strand_sags_by_no_more_than_its_share(share, expected):
    assert fit("sag", 45, 45, centre_distance=0.3, sag=share * 0.3) is expected
