"""A pinion and its rack: the rules of fit, and bending by hand."""

import math

import pytest

from armsim.checks.fit import judge_fit
from armsim.checks.fit.racks import rack_rows
from armsim.checks.judged_parts import Fit, Loads
from armsim.checks.strength.racks import rack_strength
from armsim.parts.rack import rack_contact_ratio
from tests.scenario.test_carriages import SECTIONS
from tests.scenario.texts import read, refused


def built(pinion: str):
    stage = read(**{**SECTIONS, "transmission": f"[{{rack: {{pinion: {pinion}}}}}]"}).machine.stages[-1]
    return stage, stage.hardware


def rows(pinion: str):
    return {row.rule: row for row in rack_rows(*built(pinion))}


def test_pairs_in_contact_of_nineteen_teeth():
    _, rack = built("19, module: 1.5 mm")
    assert rack_contact_ratio(rack.pinion) == pytest.approx(1.76228, rel=1e-5)


@pytest.mark.parametrize(("teeth", "fit"), [(14, Fit.FITS), (13, Fit.DOUBTFUL)])
def test_small_pinions_are_undercut(teeth: int, fit: Fit):
    assert rows(f"{teeth}, module: 1.5 mm, face_width: 15 mm")["undercut of the pinion"].fit is fit


def test_an_odd_module_is_told_with_the_nearest():
    assert rows("19, module: 1.5 mm")["stock size of the pinion"].fit is Fit.FITS
    assert rows("19, module: 1.55 mm")["stock size of the pinion"].wanted == "module 1.5 mm"


def test_a_pinions_bore_is_held_against_the_shaft_of_the_stage_before():
    gearbox = "{gearbox: {reduction: 12, efficiency: 0.8, output_shaft: {diameter: 10 mm}}}"
    text = f"[{gearbox}, {{rack: {{pinion: 19, module: 1.5 mm, bore: 3/8 in}}}}]"
    found = {row.rule: row for row in judge_fit(read(**{**SECTIONS, "transmission": text}).machine)}
    assert found["bore of the pinion on its shaft"].fit is Fit.NEAR_MISS
    (problem,) = refused(**{**SECTIONS, "transmission": "[{rack: {pinion: 19, module: 1.5 mm, bore: 24.8 mm}}]"})
    assert (problem.code, problem.key) == ("SCN121", "transmission[0].rack.bore")
    assert "24.75 mm" in problem.text


def test_a_pinions_root_bends_under_the_pull_of_the_rack():
    stage, rack = built("19, module: 1.5 mm, face_width: 15 mm")
    loads = Loads(case="stall", output_torque=600.0, driver_torque=0.0)
    (row,) = rack_strength(stage, rack, loads)
    # Lewis, Y of 19 teeth 0.314: 600 N over 15 mm x 1.5 mm
    assert row.load == pytest.approx(600.0 / (0.015 * 0.0015 * 0.314), rel=1e-6)
    assert (row.part, row.check, row.case) == ("pinion", "tooth bending", "stall")
    assert math.isfinite(row.safety)
    harder = Loads(case="stall", output_torque=600.0, driver_torque=20.0)
    (other,) = rack_strength(stage, rack, harder)
    assert other.load / row.load == pytest.approx(20.0 / 0.01425 / 600.0)
