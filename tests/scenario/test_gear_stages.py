"""Gears, bevel gears and planetary sets as people write them."""

import math

import pytest

from armsim.parts.gears import GearPath
from armsim.parts.motor import ROTOR_LOSS
from armsim.parts.planetary import PlanetarySet
from tests.parts.rounded import six_digits
from tests.scenario.texts import read, refused


def built(text):
    return read(transmission=f"[{text}]")


def behind_motor(scenario):
    """The stages written, without that of what the rotor loses."""
    return [stage for stage in scenario.machine.stages if stage.kind != ROTOR_LOSS]


def stages(text):
    return behind_motor(built(text))


def path(text):
    (stage,) = stages(text)
    assert isinstance(stage.hardware, GearPath)
    return stage.hardware


def notes(scenario, key):
    return [a.text for a in scenario.assumptions if a.key.endswith(key)]


def signed(found):
    return math.prod(stage.sense * stage.reduction for stage in found)


def test_teeth_alone_are_a_gear():
    alone = path("{gears: {driver: 14, driven: 56, idlers: [20], module: 1 mm}}")
    sections = path("{gears: {driver: {teeth: 14}, driven: {teeth: 56}, idlers: [{teeth: 20}], module: 1 mm}}")
    assert alone == sections
    assert [gear.teeth for gear in alone.gears] == [14, 20, 56]


def test_what_a_gear_says_stands_before_what_its_stage_says():
    made = path(
        "{gears: {driver: {teeth: 14, module: 1 mm, pressure_angle: 14.5 deg, face_width: 8 mm, profile_shift: 0.2, "
        "material: brass, bore: 5 mm}, driven: 56, diametral_pitch: 24, face_width: 12 mm}}"
    )
    driver, driven = made.gears
    assert (driver.module, driver.by_pitch, driver.face_width, driver.bore) == (1e-3, False, 8e-3, 5e-3)
    assert (driver.profile_shift, driver.material.name) == (0.2, "brass")
    assert driver.pressure_angle == pytest.approx(math.radians(14.5))
    assert driven.module == pytest.approx(25.4e-3 / 24.0)
    assert (driven.by_pitch, driven.face_width, driven.material.name, driven.profile_shift) == (
        True,
        12e-3,
        "steel",
        0.0,
    )


def test_hands_left_out_are_those_that_mesh():
    outside = path("{gears: {driver: 20, idlers: [30], driven: 60, helix_angle: 15 deg, hand: left}}")
    assert [gear.hand for gear in outside.gears] == [-1, 1, -1]
    ring = path("{gears: {driver: 20, driven: 60, helix_angle: 15 deg, internal: yes}}")
    assert [gear.hand for gear in ring.gears] == [1, 1]
    own = path("{gears: {driver: 20, driven: {teeth: 60, hand: right}, helix_angle: 15 deg}}")
    assert [gear.hand for gear in own.gears] == [1, 1]
    assert [gear.hand for gear in path("{gears: {driver: 20, driven: 60}}").gears] == [0, 0]


def test_a_compound_gear_is_two_stages_an_idler_is_none_and_a_ring_turns_along():
    found = stages("{gears: {driver: 17, idlers: [29], driven: 53}}, {gears: {driver: 19, driven: 61, internal: yes}}")
    assert [stage.sense for stage in found] == [1, 1]
    assert signed(found) == six_digits(10.0093)


def test_chains_and_belts_between_gears():
    # a chain 11 to 41, a crossed belt 23 to 67 mm (here a box that reverses), gears 15 to 49
    belt = f"{{gearbox: {{reduction: {67 / 23:.12f}, efficiency: 0.95, sense: opposite}}}}"
    found = stages(
        f'{{chain: {{number: "25", driver: 11, driven: 41}}}}, {belt}, {{gears: {{driver: 15, driven: 49}}}}'
    )
    assert signed(found) == six_digits(35.4685)


def test_friction_makes_the_efficiency_of_each_mesh():
    scenario = built("{gears: {driver: 18, driven: 47, friction: 0.07}}")
    (stage,) = behind_motor(scenario)
    assert stage.law.forward == six_digits(0.988030)
    assert stage.law.reverse == pytest.approx(2.0 - 1.0 / 0.988030, rel=1e-6)
    (text,) = notes(scenario, "gears.efficiency")
    assert text.startswith("0.988 by mesh")


def test_friction_of_idlers_and_rings_differs_by_mesh():
    (stage,) = stages("{gears: {driver: 21, idlers: [27], driven: 75, internal: yes, friction: 0.1}}")
    assert stage.law.forward == pytest.approx((1.0 - 0.0180875) * (1.0 - 0.00723247), rel=1e-6)


def test_a_given_efficiency_wins_and_the_difference_is_told():
    scenario = built("{gears: {driver: 18, driven: 47, friction: 0.15, efficiency: 0.9}}")
    assert behind_motor(scenario)[0].law.forward == 0.9
    (text,) = notes(scenario, "gears.efficiency")
    assert text == "0.9 as given; friction 0.15 alone, bearings aside, would make 0.9743"


def test_without_either_the_usual_efficiency_is_told():
    (text,) = notes(built("{gears: {driver: 18, driven: 47}}"), "gears.efficiency")
    assert text.startswith("0.97 a mesh")


def test_one_centre_distance_or_a_list():
    one = path("{gears: {driver: 18, driven: 47, module: 1 mm, centre_distance: 32.6 mm}}")
    two = path("{gears: {driver: 18, idlers: [20], driven: 47, module: 1 mm, centre_distance: [19 mm, 33.5 mm]}}")
    assert (one.centres, two.centres) == ((32.6e-3,), (19e-3, 33.5e-3))


def test_inertia_of_a_bored_gear_and_of_a_ring():
    text = "{gears: {driver: {teeth: 20, bore: 8 mm}, driven: 60, module: 1 mm, face_width: 10 mm, internal: yes}}"
    scenario = built(text)
    (stage,) = behind_motor(scenario)
    disc = math.pi / 32.0 * 7850.0 * 10e-3
    assert stage.input_inertia == pytest.approx(disc * (20e-3**4 - 8e-3**4))
    assert stage.output_inertia == pytest.approx(disc * (68e-3**4 - 60e-3**4))
    assert any("rim of 4 modules" in text for text in notes(scenario, "gears.inertia"))


def test_backlash_along_the_pitch_circle_of_helical_and_bevel_gears():
    (helical,) = stages("{gears: {driver: 20, driven: 60, module: 1 mm, helix_angle: 20 deg, backlash: 0.1 mm}}")
    assert helical.backlash == pytest.approx(0.1 / (30.0 / math.cos(math.radians(20.0))))
    (bevel,) = stages("{bevel: {driver: 20, driven: 40, module: 2 mm, backlash: 0.1 mm}}")
    assert bevel.backlash == pytest.approx(0.1 / 40.0)


def test_bevels_tell_the_sense_only_where_their_place_is_told():
    text = "{{bevel: {{driver: 18, driven: 43{}}}}}"
    senses = [
        stages(text.format(more))[0].sense for more in ("", ", placement: same-side", ", placement: opposite-side")
    ]
    assert senses == [None, 1, -1]
    assert notes(built(text.format("")), "bevel.placement") != []


def test_a_planet_that_is_not_told_fills_the_space():
    # (75 - 21)/2 = 27
    (told,), (found,) = (stages(f"{{planetary: {{sun: 21, {more}ring: 75}}}}") for more in ("planet: 27, ", ""))
    assert found == told
    assert notes(built("{planetary: {sun: 21, ring: 75}}"), "planetary.planet") == [
        "27 teeth, half of what the ring has more than the sun"
    ]
    (fault,) = refused(transmission="[{planetary: {sun: 21, ring: 74}}]")
    assert (fault.code, fault.key) == ("SCN121", "transmission[0].planetary.ring")
    (fault,) = refused(transmission="[{planetary: {sun: 75, ring: 21}}]")
    assert fault.code == "SCN121"


def test_a_planetary_set_and_what_it_takes_for_granted():
    scenario = built(
        "{planetary: {sun: 21, planet: 27, ring: 75, sun_planet_efficiency: 0.985, planet_ring_efficiency: 0.992}}"
    )
    (stage,) = behind_motor(scenario)
    assert isinstance(stage.hardware, PlanetarySet)
    assert (stage.hardware.fixed, stage.hardware.input, stage.hardware.planets) == ("ring", "sun", 3)
    assert stage.reduction == six_digits(4.57143)
    assert (stage.law.forward, stage.law.reverse) == (six_digits(0.982125), six_digits(0.981806))
    assert notes(scenario, "planetary.fixed") == ["ring; the carrier goes on to the arm"]


@pytest.mark.parametrize(
    ("more", "fixed", "driver"),
    [
        ("fixed: sun", "sun", "ring"),
        ("fixed: carrier", "carrier", "sun"),
        ("input: ring", "carrier", "ring"),
        ("input: carrier", "ring", "carrier"),
        ("fixed: sun, input: carrier", "sun", "carrier"),
    ],
)
def test_members_left_out(more, fixed, driver):
    (stage,) = stages(f"{{planetary: {{sun: 21, planet: 27, ring: 75, {more}}}}}")
    assert (stage.hardware.fixed, stage.hardware.input) == (fixed, driver)


def test_one_mesh_told_the_other_by_friction():
    (stage,) = stages("{planetary: {sun: 21, planet: 27, ring: 75, sun_planet_efficiency: 0.985, friction: 0.1}}")
    meshes = 0.985 * (1.0 - 0.00723247)
    assert stage.law.forward == pytest.approx((1.0 + 75.0 / 21.0 * meshes) / (1.0 + 75.0 / 21.0), rel=1e-7)


def test_material_angle_and_planets_taken_for_granted_are_told():
    def taken(text):
        found = built(text).assumptions
        return [a.key.rsplit(".", 1)[1] for a in found if "planetary" in a.key and a.origin == "default"]

    silent = taken("{planetary: {sun: {teeth: 21, material: brass}, planet: 27, ring: 75}}")
    assert silent == ["fixed", "input", "planets", "material", "pressure_angle", "inertia", "efficiency"]
    told = taken("{planetary: {sun: 21, planet: 27, ring: 75, planets: 4, material: brass, pressure_angle: 25 deg}}")
    assert told == ["fixed", "input", "inertia", "efficiency"]


def test_a_second_ring():
    text = "{planetary: {sun: 15, planet: 33, ring: 81, second_planet: 30, second_ring: 78, "
    (stage,) = stages(text + "sun_planet_efficiency: 0.95, planet_ring_efficiency: 0.96}}")
    assert stage.sense * stage.reduction == six_digits(114.4)
    assert stage.locks()


def test_a_size_can_be_given_once_only_for_each():
    (problem,) = refused(transmission="[{gears: {driver: 14, driven: 56, module: 1 mm, diametral_pitch: 24}}]")
    assert (problem.code, problem.key) == ("SCN122", "transmission[0].gears.diametral_pitch")


OILED = "{gears: {driver: 18, driven: 47, module: 1.5 mm, face_width: 12 mm, %s}}"


def test_a_lubricant_tells_friction_and_friction_the_efficiency():
    scenario = built(OILED % "roughness: 0.8 um, lubricant: {viscosity: 60 mPa*s, speed: 900 rpm}")
    (stage,) = behind_motor(scenario)
    assert stage.law.static()[0] == six_digits(0.986079)
    (friction,) = notes(scenario, "gears.friction")
    assert friction.startswith("0.08141 by Schlenk's fit")
    assert "150 N/mm" in friction
    assert notes(scenario, "lubricant.kind") == ["mineral"]


def test_without_a_speed_friction_is_that_at_the_motors_no_load_speed():
    scenario = built(OILED % "roughness: 0.8 um, lubricant: {viscosity: 60 cP, kind: polyglycol}")
    machine = scenario.machine
    rpm = machine.highest_voltage / machine.motor.back_emf_constant * 30.0 / math.pi
    loss = 0.75 * (1.0 - 0.986079) * (900.0 / rpm) ** 0.2
    assert 1.0 - behind_motor(scenario)[0].law.static()[0] == pytest.approx(loss, rel=1e-4)
    assert f"{rpm:.6g} rpm" in notes(scenario, "lubricant.speed")[0]


def test_roughness_not_given_is_that_of_cut_teeth_and_a_second_stage_turns_slower():
    text = "lubricant: {viscosity: 60 mPa*s}"
    scenario = built(f"{OILED % text}, {OILED % text}")
    losses = [1.0 - stage.law.static()[0] for stage in behind_motor(scenario)]
    assert losses[1] / losses[0] == pytest.approx((47 / 18) ** 0.2)
    assert notes(scenario, "roughness") == ["1.6 um Ra, usual of cut teeth"] * 2


def test_each_mesh_of_a_path_has_its_own_friction_and_a_given_efficiency_wins():
    text = "{gears: {driver: 18, idlers: [30], driven: 47, module: 1.5 mm, efficiency: 0.97, %s}}"
    scenario = built(text % "roughness: 0.8 um, lubricant: {viscosity: 60 mPa*s, speed: 900 rpm}")
    assert behind_motor(scenario)[0].law.static()[0] == pytest.approx(0.97**2)
    (friction,) = notes(scenario, "gears.friction")
    # curvatures 1/9 + 1/15 and 1/15 + 1/23.5 at one pitch-line speed, against 1/9 + 1/23.5
    first, second = (0.0814091 * (s / (1 / 9 + 1 / 23.5)) ** 0.2 for s in (1 / 9 + 1 / 15, 1 / 15 + 1 / 23.5))
    assert friction.startswith(f"{first:.4g} and {second:.4g} by")
    assert "as given; friction" in notes(scenario, "gears.efficiency")[0]


def test_lubricated_teeth_that_do_not_run_are_refused():
    text = OILED % "lubricant: {viscosity: 60 mPa*s}, centre_distance: 40 mm"
    (problem,) = refused(transmission=f"[{text}]")
    assert "do not run" in problem.text


def test_oils_are_told_by_their_dynamic_viscosity():
    text = OILED % "lubricant: {viscosity: 68 cSt}"
    (problem,) = refused(transmission=f"[{text}]")
    assert "0.87 x 68 in mPa*s" in problem.hint
