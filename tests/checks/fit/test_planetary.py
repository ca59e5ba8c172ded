"""Each rule of planetary sets and bevel gears on either side of its edge."""

from dataclasses import replace

import pytest

from armsim.checks.fit.bevel import pair_rows
from armsim.checks.fit.planetary import set_rows
from armsim.checks.judged_parts import Fit
from armsim.parts.bevel import BevelPair, bevel_stage
from armsim.parts.planetary import PlanetarySet, planetary_stage
from tests.checks.gears import SERIES, by_rule, gear

RIGHT = 1.5707963267948966


def rows(sun, planet, ring, planets=3, second=None, shift=0.0):
    parts = PlanetarySet(
        sun=gear(sun),
        planet=gear(planet, profile_shift=shift),
        ring=gear(ring, internal=True),
        planets=planets,
        fixed="ring",
        input="sun",
        series=SERIES,
        second=None if second is None else (gear(second[0]), gear(second[1], internal=True)),
    )
    losses = (0.98,) * (2 if second is None else 3)
    made = planetary_stage(parts=parts, efficiencies=losses, reverse=None, name="set")
    return by_rule(set_rows(made, parts))


def test_a_good_set_fits_throughout():
    assert {row.fit for row in rows(21, 27, 75).values()} == {Fit.FITS}


def test_planets_reach_sun_and_ring_from_one_distance():
    assert rows(21, 27, 74)["one axis"].fit is Fit.WRONG
    assert rows(21, 27, 75)["one axis"].fit is Fit.FITS
    assert rows(21, 27, 75, shift=0.1)["one axis"].fit is Fit.WRONG
    assert "75 teeth" in rows(21, 27, 74)["one axis"].mend


@pytest.mark.parametrize(("planets", "fit"), [(2, Fit.FITS), (3, Fit.FITS), (4, Fit.FITS), (5, Fit.WRONG)])
def test_planets_at_even_steps(planets, fit):
    assert rows(21, 27, 75, planets)["assembly"].fit is fit


def test_the_last_planet_that_does_not_go_in_is_told():
    row = rows(21, 27, 75, 5)["assembly"]
    assert "19.2" in row.text
    assert row.mend.startswith("2 or 3 or 4 or 6 or 8 planets")


def test_neighbours():
    # 48 sin(pi/5) = 28.2137 < 29; 48 sin(pi/4) = 33.9
    five, four = rows(21, 27, 75, 5)["room between planets"], rows(21, 27, 75, 4)["room between planets"]
    assert (five.fit, five.given, five.wanted) == (Fit.WRONG, "28.2 modules apart", "more than 29.0")
    assert five.mend == "4 planets at most"
    assert four.fit is Fit.FITS
    assert rows(21, 27, 75, 1)["room between planets"].fit is Fit.FITS


def test_two_rings():
    good = rows(15, 33, 81, second=(30, 78))
    assert good["one axis"].fit is Fit.FITS
    assert good["assembly, both rings"].fit is Fit.FITS
    assert rows(15, 33, 81, second=(30, 77))["one axis"].fit is Fit.WRONG
    assert rows(15, 33, 81, second=(29, 77))["assembly, both rings"].fit is Fit.DOUBTFUL


def bevels(first=18, second=43, width=10e-3, matched=None, **more):
    pair = BevelPair(
        driver=gear(first, 2e-3, face_width=width, **more),
        driven=gear(second, 2e-3, face_width=width),
        shaft_angle=RIGHT,
        matched_set=matched,
        series=replace(SERIES, modules=(2e-3,)),
    )
    made = bevel_stage(pair=pair, efficiency=0.96, reverse=None, name="bevel")
    return by_rule(pair_rows(made, pair))


def test_bevels_come_in_sets():
    fits = [bevels(matched=given)["matched set"].fit for given in (True, None, False)]
    assert fits == [Fit.FITS, Fit.UNKNOWN, Fit.WRONG]
    assert bevels(20, 20, matched=False)["matched set"].fit is Fit.DOUBTFUL


def test_teeth_of_bevels_reach_a_third_of_the_way_to_the_apex():
    third = (18.0**2 + 43.0**2) ** 0.5 / 3.0 * 1e-3
    assert bevels(width=third * 0.999)["face width"].fit is Fit.FITS
    assert bevels(width=third * 1.001)["face width"].fit is Fit.DOUBTFUL
    assert bevels(width=None)["face width"].fit is Fit.UNKNOWN


def test_bevels_of_other_sizes_or_angles_do_not_mesh():
    assert bevels()["size of teeth"].fit is Fit.FITS
    assert bevels(angle=14.5)["pressure angle"].fit is Fit.NEAR_MISS
