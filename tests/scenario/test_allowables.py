"""What a part bears, as a person gives it: read, taken by its own part, and told in the checks of strength."""

import pytest

from armsim.studies.single import check
from tests.scenario.texts import read, refused

GEARS = "{gears: {driver: {teeth: 20, allowable_bending: 60 ksi}, driven: 60, module: 1 mm, face_width: 8 mm, %s}}"
PSI = 6894.757293168


def hardware(text):
    return [stage.hardware for stage in read(transmission=f"[{text}]").machine.stages if stage.hardware is not None]


def test_a_gears_own_stress_stands_before_that_of_its_stage():
    (path,) = hardware(GEARS % "allowable_bending: 300 MPa, allowable_contact: 900 N/mm^2")
    driver, driven = path.gears
    assert driver.allowable_bending == pytest.approx(60e3 * PSI)
    assert driven.allowable_bending == pytest.approx(300e6)
    assert driver.allowable_contact == driven.allowable_contact == pytest.approx(900e6)


def test_loads_of_a_chain_stresses_of_a_worm_wheel_and_of_a_shaft():
    chain, worm = hardware(
        "{chain: {number: '40', driver: 13, driven: 44, breaking_load: 16 kN, allowable_load: 800 lbf}}, "
        "{worm: {starts: 1, wheel: 30, lead_angle: 4.8 deg, friction: 0.07, allowable_bending: 90 MPa}}"
    )
    assert (chain.breaking_load, chain.allowable_load) == (16e3, pytest.approx(3558.58, rel=1e-5))
    assert worm.allowable_bending == 90e6
    text = GEARS % "output_shaft: {diameter: 8 mm, allowable_shear: 9000 psi}"
    stage = read(transmission=f"[{text}]").machine.stages[-1]
    assert stage.output_shaft.allowable_shear == pytest.approx(9000 * PSI)


def test_the_checks_say_which_figure_was_given_and_which_is_the_shipped_one():
    scenario = read(transmission=f"[{GEARS % 'output_shaft: {diameter: 8 mm, allowable_shear: 62 MPa}'}]")
    sources = {(row.part, row.check): row.source for row in check(scenario).strength}
    assert "the allowable_bending given" in sources["driver", "tooth bending"]
    assert "safe long-life stress of steel" in sources["driven", "tooth bending"]
    assert "the allowable_shear given" in sources["output shaft", "torsion"]


def test_the_pinion_of_a_rack():
    scenario = read(
        transmission="[{rack: {pinion: 19, module: 1.5 mm, face_width: 15 mm, allowable_bending: 150 MPa}}]",
        arm="",
        carriage="{mass: 6 kg}",
        start="0 mm",
        moves="[{lift: {to: 300 mm}}]",
    )
    assert scenario.machine.stages[-1].hardware.pinion.allowable_bending == 150e6


def test_a_rope_bears_a_fifth_of_its_breaking_load():
    scenario = read(
        transmission="[{gearbox: {reduction: 30, efficiency: 0.8}}, {drum: {diameter: 80 mm, rope_diameter: 4 mm, "
        "width: 40 mm, rope_length: 2 m, rope_breaking_load: 9 kN}}]",
        arm="",
        carriage="{mass: 60 kg, stops: {lower: 0 mm, upper: 1 m}}",
        start="0 mm",
        moves="[{lift: {to: 900 mm}}]",
    )
    found = check(scenario)
    (steady,) = (row for row in found.strength if row.part == "rope" and row.case == "steady")
    # 60 kg weigh 588.399 N, and 4 % of what the drum gives is lost behind it
    assert steady.load == pytest.approx(588.399 / 0.96, rel=1e-6)
    assert steady.safety == pytest.approx(1800.0 * 0.96 / 588.399, rel=1e-6)
    rules = {row.rule: str(row.fit) for row in found.fit if "drum" in row.stage}
    assert rules == {
        "drum over rope": "fits",
        "breaking load of the rope": "fits",
        "width of the drum": "fits",
        "length of the rope": "fits",
    }


def test_a_strength_typed_in_the_wrong_unit_is_refused_or_doubted():
    (problem,) = refused(transmission=f"[{GEARS % 'allowable_bending: 138'}]")
    assert problem.hint == "write 138 MPa or 138 psi"
    scenario = read(transmission=f"[{GEARS % 'allowable_bending: 138 psi'}]")
    assert any("allowable_bending" in warning.key for warning in scenario.warnings)
