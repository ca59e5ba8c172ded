"""The train in the plane: wheels where they touch, senses and ratios by turning one shaft after the other."""

import math

import numpy as np
import pytest

from armsim.drivetrain.layout import laid_out
from armsim.drivetrain.layout_parts import BEND, bend, loose_ends, strands
from armsim.drivetrain.senses import turnings
from tests.scenario.texts import read

PLAIN = (
    "[{gears: {driver: 16, idlers: [25], driven: 55, module: 1.5 mm}}, {gears: {driver: 15, driven: 60, module: 2 mm}}]"
)
RING = "[{gears: {driver: 19, driven: 61, internal: yes, module: 1.5 mm}}]"
SUN = "[{planetary: {sun: 21, planet: 27, ring: 75, planets: 4, fixed: ring, input: sun, module: 1 mm}}]"
WORM = "[{worm: {starts: 1, wheel: 40, module: 2 mm, diameter: 24 mm}}]"
CROSSED = "[{flat_belt: {driver: 23 mm, driven: 67 mm, crossed: yes, centre_distance: 120 mm}}]"
BEVEL = "[{bevel: {driver: 18, driven: 43, module: 2 mm}}]"
RINGS = (
    "[{planetary: {sun: 21, planet: 27, ring: 75, planets: 3, fixed: ring, input: sun, second_planet: 24, "
    "second_ring: 72, module: 1 mm}}]"
)
LINKS = "[{chain: {number: '40', driver: 13, driven: 44, links: 80}}]"
BACK = (
    "[{chain: {number: '40', driver: 13, driven: {teeth: 24, outside: yes}}}, "
    "{gears: {driver: 15, driven: 60, module: 2 mm}}]"
)
BARE = "[{gearbox: {reduction: 71, efficiency: 0.73}}]"
BOX = (
    "[{gearbox: {reduction: 71, efficiency: 0.73}}, "
    "{chain: {number: '40', driver: 13, driven: 44, centre_distance: 300 mm}}]"
)


def plan(text):
    return laid_out(read(transmission=text).machine)


def test_gears_stand_where_their_pitch_circles_touch():
    wheels = plan(PLAIN).wheels
    for a, b in ((0, 1), (1, 2), (3, 4)):
        first, second = wheels[a], wheels[b]
        assert math.dist(first.centre, second.centre) == pytest.approx(first.radius + second.radius)
    assert wheels[2].centre == wheels[3].centre  # on one shaft
    assert [wheel.radius for wheel in wheels[:3]] == pytest.approx([0.012, 0.01875, 0.04125])


def test_a_pinion_stands_inside_its_ring():
    pinion, ring = plan(RING).wheels
    assert math.dist(pinion.centre, ring.centre) == pytest.approx(ring.radius - pinion.radius)


def test_gears_stand_at_the_centre_distance_that_is_given():
    given = plan("[{gears: {driver: 16, driven: 55, module: 1.5 mm, centre_distance: [54.1 mm]}}]").wheels
    assert math.dist(given[0].centre, given[1].centre) == pytest.approx(0.0541)


def test_a_chain_stands_at_the_distance_that_its_links_leave():
    (loop,) = plan(LINKS).loops
    away = math.dist(loop.first.centre, loop.second.centre)
    # handbook: C = p/8 (2 L - z2 - z1 + sqrt((2 L - z2 - z1)^2 - 8/pi^2 (z2 - z1)^2)), good to a few parts in 10^4
    rest = 2 * 80 - 44 - 13
    assert away == pytest.approx(0.0127 / 8 * (rest + math.sqrt(rest**2 - 8 / math.pi**2 * 31**2)), rel=2e-3)
    assert loop.placed
    assert loop.first.sized
    assert loop.second.sized


def test_only_the_distance_is_a_guess_where_a_loop_does_not_tell_it():
    drawing = plan(LINKS.replace(", links: 80", ""))
    (loop,) = drawing.loops
    assert not loop.placed
    assert all(wheel.sized for wheel in drawing.wheels)
    assert loop.second.radius == pytest.approx(0.5 * 0.0127 / math.sin(math.pi / 44))


def test_a_belt_stands_at_the_distance_that_its_teeth_leave():
    (loop,) = plan("[{belt: {profile: 5M, driver: 30, driven: 30, belt_teeth: 100}}]").loops
    assert math.dist(loop.first.centre, loop.second.centre) == pytest.approx(0.5 * (100 - 30) * 5e-3)


def test_a_chain_bends_round_the_wheel_on_its_back_and_goes_on():
    (loop,) = plan(BACK).loops
    first, wheel = loop.first, loop.second
    ((a, b),) = strands(loop)
    (leaves, end), (arrives, far) = loose_ends(loop)
    start, last = bend(loop)
    assert last - start == pytest.approx(BEND)
    assert math.dist(b, wheel.centre.towards(wheel.radius, start)) == pytest.approx(0.0, abs=1e-12)
    assert math.dist(leaves, wheel.centre) == pytest.approx(wheel.radius)
    for centre, touch, other in ((wheel.centre, leaves, end), (first.centre, arrives, far), (wheel.centre, b, a)):
        assert np.dot(np.subtract(touch, centre), np.subtract(other, touch)) == pytest.approx(0.0, abs=1e-12)
    # the run has the two wheels on different sides, as each turns against the other
    run = np.subtract(b, a)
    sides = [np.sign(np.linalg.det([run, np.subtract(w.centre, a)])) for w in (first, wheel)]
    assert sides[0] == -sides[1]
    assert np.dot(run, np.subtract(end, leaves)) > 0.0


def test_a_second_ring_stands_round_the_second_planets():
    wheels = plan(RINGS).wheels
    ring, second = (next(w for w in wheels if w.kind == kind) for kind in ("ring", "second ring"))
    small = [w for w in wheels if w.kind == "second planet"]
    assert (ring.label, second.label) == ("75 fixed", "72 out")
    assert ring.sense == 0
    assert second.radius == pytest.approx(0.036)
    assert len(small) == 3
    for planet in small:
        assert planet.radius == pytest.approx(0.012)
        assert math.dist(planet.centre, second.centre) == pytest.approx(second.radius - planet.radius)


@pytest.mark.parametrize("angle", [60, 90, 105])
def test_bevel_gears_are_cones_with_one_apex_that_touch_along_their_sides(angle):
    drawing = plan(f"[{{bevel: {{driver: 18, driven: 30, module: 2 mm, shaft_angle: {angle} deg}}}}]")
    first, second = drawing.cones
    assert not drawing.wheels
    assert first.apex == second.apex
    assert (first.radius, second.radius) == pytest.approx((0.018, 0.030))
    axes = [np.subtract(cone.back, cone.apex) / math.dist(cone.back, cone.apex) for cone in (first, second)]
    assert math.degrees(math.acos(np.dot(*axes))) == pytest.approx(angle)
    gaps = [math.dist(p, q) for p in first.outline for q in second.outline]
    assert sum(gap < 1e-9 for gap in gaps) == 2  # both ends of the line along which they roll
    assert math.dist(drawing.axes[-1][0], second.back) < 1e-9
    assert drawing.axes[-1][1] == drawing.shafts[-1]


@pytest.mark.parametrize("text", [SUN, WORM, BEVEL, BOX, BARE, RINGS])
def test_what_follows_along_an_axis_stands_clear_of_what_is_there(text):
    drawing = plan(text)
    shown = [w for w in drawing.wheels if w.centre in drawing.shafts[:1]]
    for later in drawing.shafts[1:]:
        for wheel in shown:
            assert later == wheel.centre or math.dist(later, wheel.centre) > wheel.radius
    for block in (b for b in drawing.blocks if b.kind == "gearbox"):
        assert all(abs(shaft.x - block.centre.x) > block.width / 2.0 for shaft in drawing.shafts)


def test_more_motors_and_side_loads_stand_at_their_shafts():
    row = (
        "nominal_voltage: 24 V, no_load_speed: 1500 rpm, stall_torque: 2 N*m, stall_current: 15 A, no_load_current: 1 A"
    )
    machine = read(
        transmission=PLAIN,
        side_loads="[{shaft: 1, torque: 0.4 N*m, name: rake}]",
        more_motors=f"[{{shaft: 2, name: helper, motor: {{{row}}}}}, {{shaft: motor, name: twin, motor: {{{row}}}}}]",
    ).machine
    found = {(mark.shaft, mark.text, mark.drives) for mark in laid_out(machine).marks}
    assert found == {(1, "rake", False), (2, "helper", True), (0, "twin", True)}


def test_planets_touch_sun_and_ring():
    ring, *planets, sun = plan(SUN).wheels
    assert len(planets) == 4
    for planet in planets:
        away = math.dist(planet.centre, sun.centre)
        assert away == pytest.approx(sun.radius + planet.radius)
        assert away == pytest.approx(ring.radius - planet.radius)


def test_runs_of_a_belt_touch_both_wheels_square():
    for text in (CROSSED, CROSSED.replace("crossed: yes, ", "")):
        (loop,) = plan(text).loops
        for a, b in strands(loop):
            run = np.subtract(b, a)
            for wheel, end in ((loop.first, a), (loop.second, b)):
                radius = np.subtract(end, wheel.centre)
                assert math.hypot(*radius) == pytest.approx(wheel.radius)
                assert np.dot(radius, run) == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize("text", [PLAIN, RING, SUN, WORM, CROSSED, BEVEL, BOX, RINGS, LINKS, BACK, BARE])
def test_every_kind_of_train_is_laid_out_with_its_senses(text):
    machine = read(transmission=text).machine
    found = laid_out(machine)
    own = len(machine.stages) - len(found.shafts) + 1
    assert found.senses == tuple(turning.sense for turning in turnings(machine))[own:]
    assert len(found.shafts) == len(found.senses)


@pytest.mark.parametrize("hand", ["right", "left"])
@pytest.mark.parametrize(("placement", "over"), [("above", 1), ("below", -1)])
def test_a_worm_is_drawn_so_that_its_threads_go_the_way_the_wheels_rim_does(hand, placement, over):
    drawing = plan(WORM.replace("starts: 1", f"starts: 1, hand: {hand}, placement: {placement}"))
    (worm,), (wheel,) = drawing.blocks, drawing.wheels
    assert over * (worm.centre.y - wheel.centre.y) > 0.0
    down = worm.sense  # of its front: v = w e_x x e_z
    threads = math.copysign(1.0, worm.lean) * down  # a slanted line that sinks goes the way its top leans
    rim = -wheel.sense * over  # v = w e_z x r where they touch
    assert threads == rim
