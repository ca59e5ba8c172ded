"""Strength of teeth in stages, against stresses worked out by hand."""

import math
from dataclasses import replace

import pytest

from armsim.checks.judged_parts import Loads
from armsim.checks.strength.gears import pair_rows, path_rows, set_rows
from armsim.parts.bevel import BevelPair, bevel_stage
from armsim.parts.planetary import PlanetarySet, planetary_stage
from tests.checks.gears import SERIES, STEEL, gear, stage
from tests.parts.rounded import six_digits

STALL = Loads(case="stall", output_torque=18.0, driver_torque=6.3)
STEADY = replace(STALL, case="steady", driver_speed=240.0 * math.pi / 30.0)


def made(*gears, loads=STALL):
    one = stage(*gears)
    return {(row.part, row.check): row for row in path_rows(one, one.hardware, loads)}


def wheel(teeth, factor, **more):
    return gear(teeth, 1.5e-3, face_width=14e-3, form_factor=factor, **more)


def test_bending_of_the_worked_answer_at_stall_and_moving():
    pair = wheel(21, 0.328), wheel(60, 0.422)
    assert made(*pair)["driver", "tooth bending"].load == six_digits(58.0720e6)
    assert made(*pair, loads=STEADY)["driver", "tooth bending"].load == six_digits(61.8404e6)
    row = made(*pair)["driver", "tooth bending"]
    assert row.safety == pytest.approx(138.0 / 58.0720, rel=1e-5)
    # the same force on the wheel, whose teeth are stouter
    assert made(*pair)["driven", "tooth bending"].load == pytest.approx(58.0720e6 * 0.328 / 0.422, rel=1e-5)


def test_an_idler_is_bent_both_ways_and_bears_seven_tenths():
    rows = made(wheel(21, 0.328), wheel(30, 0.359), wheel(60, 0.422))
    assert rows["idler 1", "tooth bending"].allowable == pytest.approx(0.7 * 138e6)
    assert rows["driver", "tooth bending"].allowable == 138e6
    assert "both ways" in rows["idler 1", "tooth bending"].source


def test_the_narrower_gear_of_a_mesh_and_no_more_than_the_width_that_bears():
    narrow = replace(wheel(60, 0.422), face_width=7e-3)
    assert made(wheel(21, 0.328), narrow)["driver", "tooth bending"].load == six_digits(2.0 * 58.0720e6)
    wide = [replace(g, face_width=40e-3) for g in (wheel(21, 0.328), wheel(60, 0.422))]
    assert made(*wide)["driver", "tooth bending"].load == pytest.approx(58.0720e6 * 14.0 / (12.5 * 1.5), rel=1e-5)


def test_what_is_not_known_is_not_judged():
    assert made(wheel(21, None), wheel(60, None)) == {}
    assert made(gear(21, None), gear(60, None)) == {}
    plain = replace(STEEL, bending=None)
    assert ("driver", "tooth bending") not in made(wheel(21, 0.3, material=plain), wheel(60, 0.4))


def test_flanks_are_judged_where_loads_come_often_by_the_softer_one():
    soft = replace(STEEL, name="bronze", contact=205e6)
    pair = wheel(21, 0.328), wheel(60, 0.422, material=soft)
    assert ("driver with driven", "contact pressure") not in made(*pair)
    row = made(*pair, loads=STEADY)["driver with driven", "contact pressure"]
    assert row.allowable == 205e6
    # 400 N on 14 mm at 20 deg; flanks of 15.75 and 45 mm pitch radius, E 207 GPa, nu 0.3: 0.418 sqrt(F' E/rho)
    flanks = math.sin(math.radians(20.0)) / (1.0 / 15.75e-3 + 1.0 / 45e-3)
    line = 400.0 / math.cos(math.radians(20.0)) / 14e-3
    assert row.load == pytest.approx(0.418 * math.sqrt(line * 207e9 / flanks), rel=1e-3)


def test_planets_share_the_load_and_are_bent_both_ways():
    parts = PlanetarySet(
        sun=gear(21, form_factor=0.328),
        planet=gear(27, form_factor=0.35),
        ring=gear(75, internal=True),
        planets=3,
        fixed="ring",
        input="sun",
        series=SERIES,
    )
    one = planetary_stage(parts=parts, efficiencies=(0.98, 0.99), reverse=None, name="set")
    rows = {
        (row.part, row.check): row
        for row in set_rows(one, parts, Loads(case="stall", output_torque=1.0, driver_torque=6.3))
    }
    force = 6.3 / 10.5e-3 / 3.0
    assert rows["sun", "tooth bending"].load == pytest.approx(force / (10e-3 * 1e-3 * 0.328))
    assert rows["planet", "tooth bending"].load == pytest.approx(force / (10e-3 * 1e-3 * 0.35))
    assert rows["planet", "tooth bending"].allowable == pytest.approx(0.7 * 138e6)
    assert ("ring", "tooth bending") not in rows


def test_with_the_sun_fixed_its_reaction_loads_the_planets():
    parts = PlanetarySet(
        sun=gear(21, form_factor=0.328), planet=gear(27, form_factor=0.35), ring=gear(75, internal=True), planets=3,
        fixed="sun", input="ring", series=SERIES,
    )  # fmt: skip
    one = planetary_stage(parts=parts, efficiencies=(0.98, 0.99), reverse=None, name="set")
    rows = {row.part: row for row in set_rows(one, parts, Loads(case="stall", output_torque=0.0, driver_torque=15.0))}
    # the ring's 15 N*m at 37.5 mm push three planets with 133.3 N each; the sun answers with the same force
    assert rows["sun"].load == pytest.approx(15.0 / 37.5e-3 / 3.0 / (1e-5 * 0.328))


def test_bevels_bend_by_their_mean_module():
    gears = [gear(z, 2e-3, face_width=10e-3, form_factor=y) for z, y in ((18, 0.318), (43, 0.449))]
    pair = BevelPair(driver=gears[0], driven=gears[1], shaft_angle=math.pi / 2.0, series=SERIES)
    one = bevel_stage(pair=pair, efficiency=0.96, reverse=None, name="bevel")
    rows = {(row.part, row.check): row for row in pair_rows(one, pair, STALL)}
    share = 1.0 - 5.0 / math.hypot(18.0, 43.0)  # of the outer size, half way along the teeth
    force = 6.3 / (18e-3 * share)
    assert rows["driver", "tooth bending"].load == pytest.approx(force / (10e-3 * 2e-3 * share * 0.318))


def test_stresses_given_for_a_gear_stand_before_those_of_its_material_and_are_named():
    strong = replace(wheel(21, 0.328), allowable_bending=200e6, allowable_contact=150e6)
    rows = made(strong, wheel(60, 0.422), loads=STEADY)
    given, shipped = rows["driver", "tooth bending"], rows["driven", "tooth bending"]
    assert (given.allowable, shipped.allowable) == (200e6, 138e6)
    assert given.safety == pytest.approx(200.0 / 61.8404, rel=1e-5)
    assert "the allowable_bending given" in given.source
    assert "safe long-life stress of steel" in shipped.source
    flanks = rows["driver with driven", "contact pressure"]
    assert flanks.allowable == 150e6
    assert "the allowable_contact given" in flanks.source
    idler = replace(wheel(30, 0.359), allowable_bending=200e6)
    assert made(wheel(21, 0.328), idler, wheel(60, 0.422))["idler 1", "tooth bending"].allowable == pytest.approx(140e6)


def test_flanks_of_a_material_without_a_figure_are_judged_where_one_is_given():
    soft = replace(STEEL, name="brass", contact=None)
    pair = wheel(21, 0.328), wheel(60, 0.422, material=soft)
    assert ("driver with driven", "contact pressure") not in made(*pair, loads=STEADY)
    told = pair[0], replace(pair[1], allowable_contact=250e6)
    assert made(*told, loads=STEADY)["driver with driven", "contact pressure"].allowable == 250e6
