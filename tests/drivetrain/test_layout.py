"""The train in the plane: wheels where they touch, senses and ratios by turning one shaft after the other."""

import math

import numpy as np
import pytest

from armsim.drivetrain.layout import laid_out, tangents
from armsim.drivetrain.shafts import shaft_senses
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
    assert found.senses == shaft_senses(machine)[own:]
    assert len(found.shafts) == len(found.senses)


# ------------------------------------------------------------------------------------- turned one after the other


def turned(omega, first, second, contact, second_contact=None):
    """Speed of a second wheel whose rim keeps up with the first's, by the velocities where they touch."""
    arm, other = np.subtract(contact, first), np.subtract(contact if second_contact is None else second_contact, second)
    velocity = omega * np.array([-arm[1], arm[0]])
    # the second's rim at its own contact moves along this line with the same speed along it
    along = np.array([-other[1], other[0]]) / math.hypot(*other)
    return float(np.dot(velocity, along)) / math.hypot(*other)


def gears_out(omega, teeth, internal):
    at = np.zeros(2)
    for k in range(len(teeth) - 1):
        a, b = teeth[k] / 2.0, teeth[k + 1] / 2.0
        ring = internal and k == len(teeth) - 2
        there = at + np.array([-(b - a) if ring else a + b, 0.0])
        omega, at = turned(omega, at, there, at + np.array([a, 0.0])), there
    return omega


def belt_out(omega, a, b, crossed, outside=False):
    """Along the tangent of the loop: the belt's speed where it leaves one wheel is that where it meets the other."""
    away = 3.0 * (a + b)
    inner = crossed or outside
    normal = math.acos((a + b if inner else a - b) / away)
    n = np.array([math.cos(normal), math.sin(normal)])
    run = np.array([-n[1], n[0]])  # along the straight run
    velocity = omega * a * float(np.dot(np.array([-n[1], n[0]]), run))
    m = -n if inner else n
    return velocity / (b * float(np.dot(np.array([-m[1], m[0]]), run)))


def random_stage(rng):
    """A stage's text and what turns out of it per turn in."""
    kind = rng.choice(["gears", "idlers", "ring", "chain", "back", "belt", "crossed"])
    a = int(rng.integers(12, 25))
    b = int(rng.integers(a + 14, 80))
    if kind == "gears":
        return f"{{gears: {{driver: {a}, driven: {b}}}}}", gears_out(1.0, [a, b], False)
    if kind == "idlers":
        between = [int(rng.integers(15, 40)) for _ in range(int(rng.integers(1, 4)))]
        return f"{{gears: {{driver: {a}, idlers: {between}, driven: {b}}}}}", gears_out(1.0, [a, *between, b], False)
    if kind == "ring":
        return f"{{gears: {{driver: {a}, driven: {b}, internal: yes}}}}", gears_out(1.0, [a, b], True)
    if kind == "chain":
        return f"{{chain: {{number: '40', driver: {a}, driven: {b}}}}}", belt_out(1.0, a, b, False)
    if kind == "back":
        text = f"{{chain: {{number: '40', driver: {a}, driven: {{teeth: {b}, outside: yes}}}}}}"
        return text, belt_out(1.0, a, b, False, outside=True)
    crossed = kind == "crossed"
    word = "yes" if crossed else "no"
    return f"{{flat_belt: {{driver: {a} mm, driven: {b} mm, crossed: {word}}}}}", belt_out(1.0, a, b, crossed)


def test_three_hundred_random_trains_turn_as_their_contacts_do():
    rng = np.random.default_rng(7)
    for _ in range(300):
        stages = [random_stage(rng) for _ in range(int(rng.integers(1, 5)))]
        machine = read(transmission=f"[{', '.join(text for text, _ in stages)}]").machine
        out = math.prod(turn for _, turn in stages)
        sense = shaft_senses(machine)[0]
        assert sense is not None
        assert sense * machine.reduction == pytest.approx(1.0 / out, rel=1e-9)
