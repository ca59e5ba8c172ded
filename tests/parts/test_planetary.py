"""Planetary sets against worked answers, a power-flow solution written here, and virtual work."""

import math
from itertools import permutations

import pytest

from armsim.parts.gear_mesh import Gear, Material
from armsim.parts.gears import ToothSeries
from armsim.parts.planetary import PlanetarySet, SetMesh, planetary_stage, set_efficiency, speeds, torques
from tests.parts.rounded import six_digits

STEEL = Material(name="steel", density=7850.0)
SERIES = ToothSeries(modules=(), second=(), pitches=(), title="none")
R = 75.0 / 21.0
MESHES = (0.985, 0.992)


def gear(teeth, **more):
    return Gear(teeth=teeth, material=STEEL, **more)


def parts(teeth=(21, 27, 75), fixed="ring", driver="sun", second=None, planets=3, **more):
    sun, planet, ring = teeth
    pair = None if second is None else (gear(second[0], **more), gear(second[1], internal=True, **more))
    return PlanetarySet(
        sun=gear(sun, **more),
        planet=gear(planet, **more),
        ring=gear(ring, internal=True, **more),
        planets=planets,
        fixed=fixed,
        input=driver,
        series=SERIES,
        second=pair,
    )


def stage(fixed="ring", driver="sun", efficiencies=MESHES, **more):
    made = parts(fixed=fixed, driver=driver, **more)
    return planetary_stage(parts=made, efficiencies=efficiencies, reverse=None, name="set")


ARRANGEMENTS = [
    ("ring", "sun", "carrier", 4.57143),
    ("ring", "carrier", "sun", 0.218750),
    ("sun", "ring", "carrier", 1.28000),
    ("sun", "carrier", "ring", 0.781250),
    ("carrier", "sun", "ring", -3.57143),
    ("carrier", "ring", "sun", -0.280000),
]


@pytest.mark.parametrize(("fixed", "driver", "driven", "ratio"), ARRANGEMENTS)
def test_six_arrangements(fixed, driver, driven, ratio):
    made = stage(fixed, driver)
    assert made.hardware.output == driven
    assert made.sense * made.reduction == six_digits(ratio)


@pytest.mark.parametrize(("fixed", "driver", "driven", "ratio"), ARRANGEMENTS)
def test_speeds_keep_the_differential_equation(fixed, driver, driven, ratio):
    """w_c = (w_s + R w_r)/(1 + R), solved for the member that is left."""
    known = {fixed: 0.0, driver: 1.0}
    if driven == "carrier":
        other = (known["sun"] + R * known["ring"]) / (1.0 + R)
    elif driven == "sun":
        other = (1.0 + R) * known["carrier"] - R * known["ring"]
    else:
        other = ((1.0 + R) * known["carrier"] - known["sun"]) / R
    made = speeds(parts(fixed=fixed, driver=driver).meshes(), fixed, driver)
    assert made[driven] == pytest.approx(other, rel=1e-12)
    # the planet rolls on the sun: pitch-line speeds agree
    carrier = made["carrier"]
    assert 27.0 * (made["planet"] - carrier) == pytest.approx(-21.0 * (made["sun"] - carrier), rel=1e-12, abs=1e-12)


@pytest.mark.parametrize(
    ("fixed", "driver", "forward", "reverse"),
    [("ring", "sun", 0.982125, 0.981806), ("sun", "ring", 0.994995, 0.994838), ("carrier", "sun", 0.977120, 0.976830)],
)
def test_worked_efficiencies(fixed, driver, forward, reverse):
    law = stage(fixed, driver).law
    assert (law.forward, law.reverse) == (six_digits(forward), six_digits(reverse))


def written_out(fixed, driver, eta):
    """Efficiency by closed forms of torque balance: T_r = R eta^(+-1) T_s, T_c = -(T_s + T_r)."""
    speed = {fixed: 0.0, driver: 1.0}
    (driven,) = {"sun", "ring", "carrier"} - {fixed, driver}
    if driven == "carrier":
        speed[driven] = (speed["sun"] + R * speed["ring"]) / (1.0 + R)
    elif driven == "sun":
        speed[driven] = (1.0 + R) * speed["carrier"] - R * speed["ring"]
    else:
        speed[driven] = ((1.0 + R) * speed["carrier"] - speed["sun"]) / R
    answers = []
    for way in (1, -1):
        torque = {"sun": 1.0, "ring": R * eta**way}
        torque["carrier"] = -torque["sun"] - torque["ring"]
        torque = {member: t / torque[driver] for member, t in torque.items()}
        rolling = torque["sun"] * (speed["sun"] - speed["carrier"])
        if rolling * way > 0.0:
            answers.append(-torque[driven] * speed[driven])
    (answer,) = answers
    return answer


@pytest.mark.parametrize("efficiencies", [MESHES, (0.9, 0.95), (0.8, 0.7)])
def test_efficiencies_of_all_arrangements_by_a_solution_written_apart(efficiencies):
    forward = math.prod(efficiencies)
    backward = math.prod(2.0 - 1.0 / e for e in efficiencies)
    for fixed, driver in permutations(("sun", "ring", "carrier"), 2):
        made = stage(fixed, driver, efficiencies)
        assert made.law.forward == pytest.approx(written_out(fixed, driver, forward), rel=1e-12)
        assert made.law.reverse == pytest.approx(written_out(fixed, made.hardware.output, backward), rel=1e-12)


def test_two_sets_in_a_row():
    first, last = stage(), stage(teeth=(19, 26, 71))
    assert first.reduction * last.reduction == six_digits(21.6541)
    assert first.law.forward * last.law.forward == six_digits(0.964398)
    assert first.law.reverse * last.law.reverse == six_digits(0.963772)


def test_sun_and_ring_both_driven():
    meshes = parts().meshes()
    by_sun, by_ring = speeds(meshes, "ring", "sun"), speeds(meshes, "sun", "ring")
    both = {body: 1500.0 * by_sun[body] - 120.0 * by_ring[body] for body in by_sun}
    assert (both["carrier"], both["planet"]) == (six_digits(234.375), six_digits(-750.0))


def test_a_set_with_ring_fixed_loses_less_than_its_meshes():
    assert stage().law.forward > math.prod(MESHES)


TWO_RINGS = {"teeth": (15, 33, 81), "second": (30, 78)}


@pytest.mark.parametrize(
    ("efficiencies", "forward", "reverse"),
    [
        ((0.985, 0.992, 0.992), 0.772858, 0.710279),
        ((0.95, 0.96, 0.96), 0.398515, -0.504158),
        ((0.93, 0.95, 0.95), 0.340868, -0.946159),
    ],
)
def test_two_rings_reduce_far_and_lock_with_ordinary_meshes(efficiencies, forward, reverse):
    made = stage(efficiencies=efficiencies, **TWO_RINGS)
    assert made.sense * made.reduction == six_digits(114.400)
    assert (made.law.forward, made.law.reverse) == (six_digits(forward), six_digits(reverse))
    assert made.locks() == (reverse < 0.0)


def test_torques_balance_and_without_loss_no_power_is_lost():
    for fixed, driver in permutations(("sun", "ring", "carrier"), 2):
        made = parts(fixed=fixed, driver=driver)
        outer, _ = torques(made.meshes(), (1.0, 1.0), (1, 1), (driver, made.output, fixed))
        turning = speeds(made.meshes(), fixed, driver)
        assert sum(outer.values()) == pytest.approx(0.0, abs=1e-12)
        assert sum(outer[m] * turning[m] for m in outer) == pytest.approx(0.0, abs=1e-12)


def test_reaction_of_the_fixed_ring():
    outer, _ = torques(parts().meshes(), MESHES, (1, 1), ("sun", "carrier", "ring"))
    assert outer["ring"] == pytest.approx(R * math.prod(MESHES))


def test_a_mesh_that_locks_and_rings_that_turn_alike_are_refused():
    with pytest.raises(ValueError, match=r"above 0\.5"):
        stage(efficiencies=(0.5, 0.9))
    with pytest.raises(ValueError, match="turn alike"):
        stage(efficiencies=(0.9, 0.9, 0.9), teeth=(15, 33, 81), second=(33, 81))


def test_planets_count_at_the_input_by_their_own_turns_and_by_going_round():
    made = stage(module=1e-3, face_width=10e-3)
    mass = 7850.0 * 10e-3 * math.pi * 13.5e-3**2
    disc = 0.5 * mass * 13.5e-3**2
    carrier = 21.0 / 96.0
    planet = -(21.0 / 27.0) * (1.0 - carrier) + carrier
    sun = 0.5 * 7850.0 * 10e-3 * math.pi * 10.5e-3**4
    expected = sun + 3.0 * (disc * planet**2 + mass * (24e-3 * carrier) ** 2)
    assert made.input_inertia == pytest.approx(expected, rel=1e-9)
    assert made.details["planet_turns_per_input_turn"] == pytest.approx(planet)


def test_a_plain_pair_is_a_set_whose_carrier_stands():
    mesh = SetMesh(first="sun", second="planet", first_teeth=20, second_teeth=60)
    for efficiency in (0.9, 1.0):
        assert set_efficiency([mesh], [efficiency], "sun", "planet", "carrier") == pytest.approx(efficiency)
