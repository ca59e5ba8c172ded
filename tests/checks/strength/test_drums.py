"""Ropes under load, against their breaking load."""

from dataclasses import replace

import pytest

from armsim.checks.judged_parts import Loads
from armsim.checks.strength.drums import drum_strength
from armsim.parts.rack import drum_stage

STAGE = drum_stage(diameter=60e-3, rope_diameter=4e-3, efficiency=0.95, name="drum")


def rows(case="steady", pull=950.0, **rope):
    stage = replace(STAGE, hardware=replace(STAGE.hardware, **rope))
    load = Loads(case=case, output_torque=pull, driver_torque=pull / 0.95 * 32e-3)
    return list(drum_strength(stage, stage.hardware, load))


@pytest.mark.parametrize(("material", "factor"), [("wire", 5.0), ("fibre", 7.0)])
def test_a_rope_that_lifts_breaks_at_five_times_its_pull_and_of_fibre_at_seven(material, factor):
    # 950 N come out of the stage, 1000 N leave the drum
    (row,) = rows(rope_breaking_load=6e3, rope_material=material)
    assert row.load == pytest.approx(1000.0)
    assert row.safety == pytest.approx(6.0 / factor)
    assert f"over {factor:g}, for {material} ropes" in row.source


@pytest.mark.parametrize(("case", "safety"), [("run", 1.2), ("cut", 1.2), ("stall", 3.0), ("impact", 3.0)])
def test_a_stall_or_blow_may_reach_half_the_breaking_load(case, safety):
    (row,) = rows(case, rope_breaking_load=6e3)
    assert row.safety == pytest.approx(safety)


def test_a_rope_of_unknown_strength_is_not_judged():
    assert rows() == []
