"""Which way everything turns: worked trains, and random ones in space, turned by the velocities where parts touch."""

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from armsim.drivetrain.senses import idler_senses, motor_turning, turnings
from armsim.parts.motor import ROTOR_LOSS
from tests.scenario.texts import read

SIX = {"rel": 2e-6}
WORM = "{{worm: {{starts: 2, wheel: 31, module: 2 mm, diameter: 24 mm{}}}}}"
PAIR = "{gears: {driver: 16, driven: 55}}"


def machine_of(*stages, **sections):
    """A machine of these stages alone, without what its motor's rows leave to the rotor."""
    machine = read(transmission=f"[{', '.join(stages)}]", **sections).machine
    return replace(machine, stages=tuple(stage for stage in machine.stages if stage.kind != ROTOR_LOSS))


def signed_reduction(*stages):
    machine = machine_of(*stages)
    return turnings(machine)[0].sense * machine.reduction


# ------------------------------------------------------------------------------------------------- worked trains


def test_compound_gears_with_an_idler_and_a_ring():
    first, ring = "{gears: {driver: 17, idlers: [29], driven: 53}}", "{gears: {driver: 19, driven: 61, internal: yes}}"
    assert signed_reduction(first, ring) == pytest.approx(10.0093, rel=5e-6)
    assert idler_senses(machine_of(first, ring).stages[0], 1) == (-1,)


def test_chain_crossed_belt_and_gears():
    chain, belt = "{chain: {number: '40', driver: 11, driven: 41}}", "{flat_belt: {driver: 23 mm, driven: 67 mm, %s}}"
    gears = "{gears: {driver: 15, driven: 49}}"
    assert signed_reduction(chain, belt % "crossed: yes", gears) == pytest.approx(35.4685, **SIX)
    assert signed_reduction(chain, belt % "crossed: no", gears) == pytest.approx(-35.4685, **SIX)


def test_a_wheel_on_the_back_of_a_chain_turns_against_the_one_inside():
    chain = "{{chain: {{number: '40', driver: 13, driven: {}}}}}"
    assert 1.0 / signed_reduction(chain.format("38")) == pytest.approx(0.342105, **SIX)
    assert 1.0 / signed_reduction(chain.format("{teeth: 21, outside: yes}")) == pytest.approx(-0.619048, **SIX)


@pytest.mark.parametrize(
    ("keys", "ratio"),
    [("hand: right, placement: above", 15.5), ("hand: left, placement: above", -15.5),
     ("hand: right, placement: below", -15.5), ("hand: left, placement: below", 15.5)],
)  # fmt: skip
def test_hand_and_side_of_a_worm(keys, ratio):
    machine = machine_of(WORM.format(f", {keys}"))
    worm, wheel = turnings(machine)
    assert worm.sense * machine.reduction == pytest.approx(ratio)
    assert worm.axis == pytest.approx((1.0, 0.0, 0.0))  # from the left, the wheel's at the viewer
    assert wheel.axis == (0.0, 0.0, 1.0)


# ------------------------------------------------------------------------------------------- what is not told


@pytest.mark.parametrize("corner", [WORM.format(", name: first"), "{bevel: {driver: 18, driven: 43, name: first}}"])
def test_a_corner_without_a_place_hides_all_before_it(corner):
    machine = machine_of(PAIR, corner, PAIR)
    motor, driver, between, arm = turnings(machine)
    assert (arm.sense, between.sense) == (1, -1)
    for hidden in (motor, driver):
        assert (hidden.sense, hidden.axis, hidden.word, hidden.hidden_by) == (None, None, None, "first")
    assert motor_turning(machine).end_sense is None


def test_the_shaft_end_is_known_only_where_the_motor_points_at_the_corner():
    placed, set_ = WORM.format(", placement: above"), "{planetary: {sun: 21, planet: 27, ring: 75}}"
    assert motor_turning(machine_of(placed, PAIR)).end_sense == -1
    assert motor_turning(machine_of(set_, placed, PAIR)).end_sense == -1
    for before in (PAIR, "{gearbox: {reduction: 5, efficiency: 0.9}}"):  # it may point back, beside the train
        motor = motor_turning(machine_of(before, placed))
        assert motor.shaft.sense is not None
        assert motor.end_sense is None
    assert motor_turning(machine_of(set_, PAIR)).end_sense is None  # no corner


def test_a_pinion_with_the_rising_rack_to_its_right_turns_counter_clockwise():
    carriage = {"arm": "", "carriage": "{mass: 6 kg}", "start": "0 mm", "moves": "[{lift: {to: 600 mm}}]"}
    for last, seen in (("{rack: {pinion: 19, module: 1.5 mm}}", "rack"),
                       ("{drum: {diameter: 60 mm, rope_diameter: 4 mm}}", "drum")):  # fmt: skip
        machine = machine_of(PAIR, last, **carriage)
        motor, pinion, travel = turnings(machine)
        up = np.cross(pinion.sense * np.array(pinion.axis), [1.0, 0.0, 0.0])[1]  # v = w x r at the right
        assert up == 1.0
        assert (motor.sense, travel.axis, motor_turning(machine).seen) == (-1, None, seen)


# ------------------------------------------------------------------ in space, one part turned by the other's touch


def carried(omega, at, contact, axis, there, along, other_contact=None):
    """Turning about an axis that gives the second body the first's velocity along a line where they touch."""
    speed = np.dot(np.cross(omega, contact - at), along)
    other = contact if other_contact is None else other_contact
    return axis * speed / np.dot(np.cross(axis, other - there), along)


def across(rng, axis):
    """Any unit vector square to an axis."""
    found = np.cross(axis, rng.normal(size=3))
    return found / np.linalg.norm(found)


def meshing(rng, omega, axis, teeth, internal):
    at = np.zeros(3)
    for k, (a, b) in enumerate(pairwise(teeth)):
        side = across(rng, axis)
        ring = internal and k == len(teeth) - 2
        contact, there = at + a * side, at + ((a - b) if ring else (a + b)) * side
        omega, at = carried(omega, at, contact, axis, there, np.cross(axis, side)), there
    return omega


def looped(rng, omega, axis, a, b, inner):
    """Along a straight run, which touches both wheels square to their radii."""
    towards = across(rng, axis)
    up, away = np.cross(axis, towards), 3.0 * (a + b)
    share = (a + b if inner else a - b) / away
    normal = share * towards + math.sqrt(1.0 - share * share) * up
    start, end = a * normal, away * towards + (-b if inner else b) * normal
    assert np.dot(end - start, normal) == pytest.approx(0.0, abs=1e-9)
    return carried(omega, np.zeros(3), start, axis, away * towards, end - start, end)


def rolled(rng, omega, axis, sizes, fixed, driver, output):
    """Sun, ring, carrier and planet from what touches: no slip at either mesh, the planet's middle on the carrier."""
    sun, planet, ring = sizes
    side = across(rng, axis)
    along, middle = np.cross(axis, side), (sun + planet) * side

    def speed(contact, centre):
        return np.dot(np.cross(axis, contact - centre), along)

    zero = np.zeros(3)
    names = ["sun", "ring", "carrier", "planet"]
    carrier = speed(middle, zero)
    rows = [
        [speed(sun * side, zero), 0.0, -carrier, -speed(sun * side, middle)],
        [0.0, speed(ring * side, zero), -carrier, -speed(ring * side, middle)],
        [float(name == fixed) for name in names],
        [float(name == driver) for name in names],
    ]
    found = np.linalg.solve(rows, [0.0, 0.0, 0.0, np.dot(omega, axis)])
    return axis * found[names.index(output)]


def bevelled(rng, omega, axis, teeth, angle, same_side):
    """Pitch cones with a common apex, the driver's shaft coming to it along its axis."""
    aside, back = across(rng, axis), -axis
    away = math.cos(angle) * back + math.sin(angle) * aside  # the driven gear's axis, from the apex outwards
    cone = math.atan2(math.sin(angle), teeth[1] / teeth[0] + math.cos(angle))
    contact = math.cos(cone) * back + math.sin(cone) * aside
    at_viewer = away if same_side else -away
    apex = np.zeros(3)
    return at_viewer, carried(omega, apex, contact, at_viewer, apex, np.cross(axis, aside))


def threaded(rng, omega, axis, worm, right, above):
    """A thread pushes along its own normal: helix of the worm's hand, wheel beside it."""
    starts, wheel, module, diameter = worm
    at_viewer = across(rng, axis)
    up = np.cross(at_viewer, axis)  # the viewer sees the worm's axis run from left to right
    centre = up * (1.0 if above else -1.0) * (diameter + module * wheel) / 2.0
    radial = -centre / np.linalg.norm(centre)
    contact = centre + diameter / 2.0 * radial
    lead = starts * module / 2.0  # per radian
    tangent = diameter / 2.0 * np.cross(axis, radial) + (lead if right else -lead) * axis
    return at_viewer, carried(omega, centre, contact, at_viewer, np.zeros(3), np.cross(tangent, radial))


KINDS = ("gears", "idlers", "ring", "chain", "back", "belt", "crossed", "planetary", "worm", "bevel")


def random_stage(rng, omega, axis):
    """A stage's text, and the axis and turning that come out of it."""
    kind = rng.choice(KINDS)
    a, b = (int(n) for n in np.cumsum([rng.integers(13, 25), rng.integers(14, 50)]))
    if kind in ("gears", "idlers", "ring"):
        idlers = [int(n) for n in rng.integers(15, 40, size=rng.integers(1, 4))] if kind == "idlers" else []
        more = ", internal: yes" if kind == "ring" else f", idlers: {idlers}"
        return f"{{gears: {{driver: {a}, driven: {b}{more}}}}}", axis, meshing(
            rng, omega, axis, [a, *idlers, b], kind == "ring"
        )  # fmt: skip
    if kind in ("chain", "back"):
        driven = f"{{teeth: {b}, outside: yes}}" if kind == "back" else b
        text = f"{{chain: {{number: '40', driver: {a}, driven: {driven}}}}}"
        return text, axis, looped(rng, omega, axis, a, b, kind == "back")
    if kind in ("belt", "crossed"):
        word = "yes" if kind == "crossed" else "no"
        text = f"{{flat_belt: {{driver: {a} mm, driven: {b} mm, crossed: {word}}}}}"
        return text, axis, looped(rng, omega, axis, a, b, kind == "crossed")
    if kind == "planetary":
        fixed, driver, output = rng.permutation(["sun", "ring", "carrier"])
        sun, planet = 3 * int(rng.integers(6, 12)), 3 * int(rng.integers(6, 12))
        sizes = sun, planet, sun + 2 * planet
        keys = f"sun: {sun}, planet: {planet}, ring: {sizes[2]}, fixed: {fixed}, input: {driver}"
        return f"{{planetary: {{{keys}}}}}", axis, rolled(rng, omega, axis, sizes, fixed, driver, output)
    flag, other = (bool(n) for n in rng.integers(0, 2, size=2))
    if kind == "worm":
        starts = int(rng.integers(1, 5))
        keys = f"hand: {'right' if flag else 'left'}, placement: {'above' if other else 'below'}"
        text = f"{{worm: {{starts: {starts}, wheel: {b}, module: 2 mm, diameter: 25 mm, {keys}}}}}"
        return text, *threaded(rng, omega, axis, (starts, b, 2.0, 25.0), flag, other)
    degrees = int(rng.integers(50, 95))
    keys = f"shaft_angle: {degrees} deg, placement: {'same-side' if flag else 'opposite-side'}"
    text = f"{{bevel: {{driver: {a}, driven: {b + 20}, {keys}}}}}"
    return text, *bevelled(rng, omega, axis, (a, b + 20), math.radians(degrees), flag)


def test_three_hundred_random_trains_turn_as_their_contacts_do():
    rng, seen, corners = np.random.default_rng(11), set(), 0
    for _ in range(300):
        axis = rng.normal(size=3)
        axis /= np.linalg.norm(axis)
        texts, axes, turns = [], [axis], [axis]
        for _ in range(int(rng.integers(1, 5))):
            text, axis, omega = random_stage(rng, turns[-1], axes[-1])
            texts.append(text)
            axes.append(axis)
            turns.append(omega)
        machine = machine_of(*texts)
        about = [np.dot(omega, axis) for omega, axis in zip(turns, axes, strict=True)]
        lifting = np.sign(about[-1])  # the viewer sees the arm rise counter-clockwise
        found = turnings(machine)
        assert [turning.sense for turning in found] == [np.sign(w) * lifting for w in about], texts
        assert machine.reduction * abs(about[-1]) == pytest.approx(1.0, rel=1e-9)
        told = [np.dot(a.axis, b.axis) for a, b in pairwise(found)]
        assert told == pytest.approx([np.dot(a, b) for a, b in pairwise(axes)], abs=1e-9)
        seen |= {text.split(":")[0] for text in texts}
        corners += sum("worm" in text or "bevel" in text for text in texts)
    assert seen == {"{" + kind for kind in ("gears", "chain", "flat_belt", "planetary", "worm", "bevel")}
    assert corners > 100
