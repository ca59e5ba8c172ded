"""Shafts and what holds wheels on them under load, against worked answers."""

from dataclasses import replace

import pytest

from armsim.checks.judged_parts import Loads
from armsim.checks.strength import judge_strength, strength_findings
from armsim.checks.strength.shafts import shaft_strength
from armsim.parts.shaft import Key, SetScrew, Shaft
from armsim.studies.single import check_machine
from tests.checks.machines import LIFT
from tests.machines import machine, stage

BAR = Shaft(diameter=14e-3, shear_modulus=79.3e9, shear_stress=72e6)
KEY = Key(width=5e-3, height=5e-3, length=18e-3, shear_stress=60e6, bearing_stress=100e6)
POUND = 4.4482216152605
SCREW = SetScrew(size="1/4", diameter=6.35e-3, holding=400 * POUND, other_holding=1000 * POUND)


def checks(shaft, case="steady", **more):
    one = stage(4.0, **{"output_shaft": shaft, **more})
    loads = Loads(case=case, output_torque=5.0, driver_torque=1.3)
    return {row.check: row for row in shaft_strength(one, loads)}


def test_the_output_shaft_carries_the_output_torque_and_the_input_shaft_the_drivers():
    # 16 T/(pi d^3) at 10 mm and 28 N*m is 142.603 MPa
    thin = replace(BAR, diameter=10e-3)
    assert checks(thin)["torsion"].load / 1e6 == pytest.approx(142.603 * 5.0 / 28.0, rel=1e-5)
    driven = checks(None, input_shaft=thin)["torsion"]
    assert driven.load / 1e6 == pytest.approx(142.603 * 1.3 / 28.0, rel=1e-5)
    assert driven.part == "input shaft"


def test_a_keyway_takes_a_quarter_of_the_shaft():
    found = checks(replace(BAR, key=KEY))
    assert found["torsion"].allowable == pytest.approx(54e6)
    assert found["key in shear"].allowable == pytest.approx(37.8)
    assert found["key in bearing"].allowable == pytest.approx(31.5)


def test_a_stress_given_for_a_shaft_stands_before_that_of_its_material():
    given = checks(replace(BAR, allowable_shear=100e6, key=KEY))["torsion"]
    assert given.allowable == pytest.approx(75e6)  # three quarters, for the keyway
    assert "the allowable_shear given, 3/4 of that for the keyway" in given.source
    assert "half of the shear yield strength of steel" in checks(BAR)["torsion"].source


def test_a_set_screw_counts_by_the_lower_chart_and_names_the_other():
    working, standing = (checks(replace(BAR, set_screw=SCREW), case)["set screw"] for case in ("run", "stall"))
    assert working.allowable == pytest.approx(12.4550 / 4.0, rel=1e-5)
    assert standing.allowable == pytest.approx(12.4550 / 2.0, rel=1e-5)
    assert "another chart says 4448 N" in working.source
    strong = replace(SCREW, holding=1000 * POUND, other_holding=None)
    assert checks(replace(BAR, set_screw=strong), "run")["set screw"].allowable == pytest.approx(7.78439, rel=1e-6)


def test_two_set_screws_do_not_double():
    one, two = (checks(replace(BAR, set_screw=replace(SCREW, count=n)))["set screw"] for n in (1, 2))
    assert one.allowable == two.allowable
    assert "do not add up" in two.source


def test_a_hexagon_is_judged_as_a_hexagon_and_its_hub_where_known():
    hexagon = Shaft(hexagon=12.7e-3, shear_modulus=79.3e9, shear_stress=72e6)
    assert checks(hexagon)["torsion"].load / 1e6 == pytest.approx(72.8436 * 5.0 / 28.0, rel=1e-5)
    assert "hexagon in the hub" not in checks(hexagon)
    known = replace(hexagon, hub_length=10e-3, hub_stress=60e6)
    assert checks(known)["hexagon in the hub"].allowable == pytest.approx(
        12.09675, rel=1e-6
    )  # 0.5 x 60 x 10 x 12.7^2/4


def test_a_shaft_that_fails_at_work_is_an_error_however_much_worse_a_stall_is():
    # 5 N*m on 10 mm: 25.46 MPa; stalled four times that
    thin = stage(4.0, output_shaft=replace(BAR, diameter=10e-3))
    loads = [Loads(case=case, output_torque=t, driver_torque=0.0) for case, t in (("steady", 5.0), ("stall", 20.0))]

    def levels(allowable):
        shaft = replace(thin.output_shaft, shear_stress=allowable)
        rows = [row for load in loads for row in shaft_strength(replace(thin, output_shaft=shaft), load)]
        return [(str(item.level), item.code) for item in strength_findings(rows)]

    assert levels(25e6) == [("error", "part-too-weak")]
    assert levels(26e6) == [("warning", "part-too-weak")]
    assert levels(110e6) == [("note", "part-near-its-limit")]
    assert levels(160e6) == []


def test_every_case_of_the_machine_is_put_to_its_shafts():
    m = machine(stages=(stage(60.0, output_shaft=BAR, stiffness=500.0),))
    found = check_machine(m, LIFT)
    rows = judge_strength(m, found.transmission.stages, found.shocks)
    assert {row.case for row in rows} >= {"steady", "stall"}
    steady = next(row for row in rows if row.case == "steady")
    torque = found.transmission.stages[0].output_torque
    assert steady.load == pytest.approx(16.0 * torque / (3.141592653589793 * 0.014**3))
    assert rows == found.strength
