"""Shafts and worms as a person writes them: what they become, and what was filled in."""

import math

import pytest

from armsim.parts.motor import ROTOR_LOSS
from armsim.studies.single import check

from .texts import read, refused


def stages(text):
    return [stage for stage in read(transmission=text).machine.stages if stage.kind != ROTOR_LOSS]


def notes(text):
    return {note.key: note.text for note in read(transmission=text).assumptions}


GEARS = "[{gears: {driver: 14, driven: 56, module: 1 mm, %s}}]"


def test_a_shaft_of_known_length_gives_its_stage_a_stiffness_and_says_so():
    text = GEARS % "output_shaft: {diameter: 10 mm, length: 300 mm}"
    (stage,) = stages(text)
    assert stage.stiffness == pytest.approx(259.509, rel=1e-5)
    assert "its shaft alone" in notes(text)["transmission[0].gears.stiffness"]
    assert "low-carbon" in notes(text)["transmission[0].gears.output_shaft.material"]


def test_the_motors_shaft_counts_by_the_square_of_the_reduction():
    (stage,) = stages(
        GEARS % "input_shaft: {diameter: 10 mm, length: 300 mm}, output_shaft: {hex: 0.5 in, length: 0.1 m}"
    )
    assert stage.stiffness == pytest.approx(1.0 / (1.0 / (259.509 * 16.0) + 0.1 / 237.344), rel=1e-5)


def test_a_stiffness_that_is_given_stays():
    text = GEARS % "stiffness: 100 N*m/rad, output_shaft: {diameter: 10 mm, length: 300 mm}"
    assert stages(text)[0].stiffness == pytest.approx(100.0)
    assert "transmission[0].gears.stiffness" not in notes(text)


@pytest.mark.parametrize(
    ("diameter", "width", "height"), [(8, 2, 2), (8.1, 3, 3), (12, 4, 4), (14, 5, 5), (25, 8, 7), (38, 10, 8)]
)
def test_a_key_is_the_standard_one_for_its_shaft(diameter, width, height):
    (stage,) = stages(GEARS % f"output_shaft: {{diameter: {diameter} mm, key: {{length: 18 mm}}}}")
    key = stage.output_shaft.key
    assert (key.width, key.height) == (pytest.approx(width * 1e-3), pytest.approx(height * 1e-3))
    assert (key.shear_stress, key.bearing_stress) == (60e6, 100e6)


@pytest.mark.parametrize("size", ["1/4", '"1/4"', "1/4 in", '1/4\\"'])
def test_a_set_screw_goes_by_any_of_its_names(size):
    size = '"1/4\\""' if size.endswith('\\"') else size
    (stage,) = stages(GEARS % f"output_shaft: {{diameter: 14 mm, set_screw: {{size: {size}}}}}")
    assert stage.output_shaft.set_screw.holding == pytest.approx(400 * 4.4482216152605)
    assert stage.output_shaft.set_screw.other_holding == pytest.approx(1000 * 4.4482216152605)


def test_small_screws_have_one_chart_only():
    (stage,) = stages(GEARS % 'output_shaft: {diameter: 8 mm, set_screw: {size: "#8"}}')
    assert stage.output_shaft.set_screw.holding == pytest.approx(385 * 4.4482216152605)
    assert stage.output_shaft.set_screw.other_holding is None


def test_gears_and_chains_of_known_size_take_room():
    gears, chain, other = stages(
        '[{gears: {driver: 14, driven: 56, module: 1 mm}}, {chain: {number: "40", driver: 16, driven: 45, '
        "centre_distance: 410 mm}}, {gears: {driver: 14, driven: 56}}]"
    )
    assert gears.footprint.centre_distance == pytest.approx(35e-3)
    assert (gears.footprint.driver_tip, gears.footprint.driven_tip) == (pytest.approx(8e-3), pytest.approx(29e-3))
    # p (0.6 + cot(pi/z)): 16 teeth 71.47 mm, 45 teeth 189.24 mm over the teeth
    assert chain.footprint.driver_tip * 2e3 == pytest.approx(71.47, abs=0.01)
    assert chain.footprint.driven_tip * 2e3 == pytest.approx(189.24, abs=0.01)
    assert other.footprint is None


WORM = "[{worm: {starts: 1, wheel: 43, %s}}]"


@pytest.mark.parametrize(
    "size", ["diameter: 20 mm, module: 1.25 mm", "diameter: 20 mm, centre_distance: 36.875 mm",
             "module: 1.25 mm, centre_distance: 36.875 mm"],
)  # fmt: skip
def test_a_worm_may_be_given_by_its_centre_distance(size):
    (stage,) = stages(WORM % size)
    assert math.degrees(stage.details["lead_angle"]) == pytest.approx(3.57633, rel=2e-6)
    assert stage.details["centre_distance"] == pytest.approx(36.875e-3)
    assert stage.hardware.module == pytest.approx(1.25e-3)
    assert "3.57633 deg" in notes(WORM % size)["transmission[0].worm.lead_angle"]


def test_the_way_the_wheel_turns_needs_hand_and_placement():
    size = "diameter: 20 mm, module: 1.25 mm"
    (above,) = stages(WORM % f"{size}, placement: above")
    (left,) = stages(WORM % f"{size}, placement: above, hand: left")
    (unknown,) = stages(WORM % size)
    assert (above.sense, left.sense, unknown.sense) == (1, -1, None)


@pytest.mark.parametrize(
    ("more", "turned"),
    [("placement: above", 15.5), ("placement: above, hand: left", -15.5), ("placement: below", -15.5)],
)
def test_turns_of_the_worm_about_x_over_those_of_its_wheel_about_z(more, turned):
    (stage,) = stages(f"[{{worm: {{starts: 2, wheel: 31, diameter: 18 mm, module: 1.5 mm, {more}}}}}]")
    assert stage.sense * stage.reduction == turned


@pytest.mark.parametrize(
    ("lead", "worm", "wheel", "wear"),
    [(9.9, "steel", "bronze", 0.414), (10.1, "steel", "bronze", 0.518), (24.9, "hardened-steel", "bronze", 0.690),
     (25.1, "hardened-steel", "chilled-bronze", 1.24), (5.0, "steel", "plastic", None)],
)  # fmt: skip
def test_wear_goes_by_both_materials_and_the_lead_angle(lead, worm, wheel, wear):
    (stage,) = stages(
        WORM % f"diameter: 20 mm, lead_angle: {lead} deg, friction: 0.1, worm_material: {worm}, wheel_material: {wheel}"
    )
    assert stage.hardware.wear_stress == (None if wear is None else pytest.approx(wear * 1e6))


def test_an_input_shaft_is_the_motors_only():
    (problem,) = refused(
        transmission="[{gears: {driver: 14, driven: 56}}, {gears: {driver: 14, driven: 56, input_shaft: {hex: 10 mm}}}]"
    )
    assert problem.code == "SCN122"
    assert "output_shaft" in problem.hint


def test_a_whole_train_is_judged_from_what_was_written():
    found = check(
        read(
            transmission="""
            - gears:
                {driver: 14, driven: 42, module: 1 mm, backlash: 0.1 mm,
                input_shaft: {diameter: 8 mm, bore: 8 mm, set_screw: {size: "#10"}},
                output_shaft: {hex: 3/8 in, bore: 10 mm, length: 60 mm}}
            - gears:
                {driver: 60, driven: 45, module: 1 mm, backlash: 0.1 mm,
                output_shaft: {diameter: 10 mm, length: 60 mm, key: {length: 12 mm}}}
            - worm:
                {starts: 1, wheel: 40, diameter: 20 mm, centre_distance: 40 mm, face_width: 12 mm, wheel_hand: left,
                placement: below, backlash: 0.2 deg}
            """
        )
    )
    fit = {row.rule: str(row.fit) for row in found.fit}
    assert fit["hand"] == "does not fit"
    assert fit["bore on the input shaft"] == "fits"
    assert fit["bore on the output shaft"] == "not known"  # of the last shaft told of
    # centres of the first pair 28 mm, the second driver reaches 31 mm: the motor's shaft has to end before it
    assert fit["input shaft of gears 14-42 beside the driver"] == "doubtful"
    checks = {row.check for row in found.strength}
    assert checks >= {"tooth bending", "wear", "torsion", "set screw", "key in shear", "key in bearing"}
    codes = {item.code for item in found.findings}
    assert codes >= {"parts-do-not-fit", "parts-near-miss", "part-too-weak"}
    assert found.play.rigid == ("worm 1-40",)
    assert found.play.backlash == pytest.approx(0.1 / 21 / 30 + 0.1 / 22.5 / 40 + math.radians(0.2))
