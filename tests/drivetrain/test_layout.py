"""The train in the plane: wheels where they touch, senses and ratios by turning one shaft after the other."""

import math

import numpy as np
import pytest

from armsim.drivetrain.layout import laid_out, tangents
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


def test_planets_touch_sun_and_ring():
    *rest, sun = plan(SUN).wheels
    ring, *planets = rest
    assert len(planets) == 4
    for planet in planets:
        away = math.dist(planet.centre, sun.centre)
        assert away == pytest.approx(sun.radius + planet.radius)
        assert away == pytest.approx(ring.radius - planet.radius)


def test_runs_of_a_belt_touch_both_wheels_square():
    for text in (CROSSED, CROSSED.replace("crossed: yes, ", "")):
        (loop,) = plan(text).loops
        for a, b in tangents(loop):
            run = np.subtract(b, a)
            for wheel, end in ((loop.first, a), (loop.second, b)):
                radius = np.subtract(end, wheel.centre)
                assert math.hypot(*radius) == pytest.approx(wheel.radius)
                assert np.dot(radius, run) == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize("text", [PLAIN, RING, SUN, WORM, CROSSED, BEVEL, BOX])
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
