"""A wheel's own bore: on its shaft, and with metal left around it."""

import math
from dataclasses import replace

import pytest

from armsim.checks.fit import fit_findings, judge_fit
from armsim.checks.fit.bores import bore_verdict, judge_bores, rim_factor, trade_size
from armsim.checks.fit.shafts import judge_shafts
from armsim.checks.judged_parts import Fit
from armsim.parts.belt import BeltDrive, Pulley
from armsim.parts.chain import ChainDrive, Sprocket
from armsim.parts.gear_mesh import Gear, Material
from armsim.parts.gears import GearPath
from armsim.parts.rack import Rack
from armsim.parts.shaft import Key, Shaft
from armsim.scenario.chain_numbers import find_chain
from armsim.scenario.gear_tables import tooth_series
from armsim.scenario.tables import belt_profiles
from tests.machines import machine, stage

STEEL = Material(name="steel", density=7850.0)
BAR = Shaft(diameter=10e-3, shear_modulus=79.3e9, shear_stress=72e6)
KEY = Key(width=4e-3, height=4e-3, length=18e-3, shear_stress=60e6, bearing_stress=100e6)
MM = 1e-3


def gears(driver=0.0, driven=0.0, teeth=20, internal=False, idler=None):
    made = [Gear(teeth=teeth, module=MM, bore=driver * MM, material=STEEL)]
    made += [] if idler is None else [Gear(teeth=20, module=MM, bore=idler * MM, material=STEEL)]
    made += [Gear(teeth=60, module=MM, bore=driven * MM, internal=internal, material=STEEL)]
    return GearPath(gears=tuple(made), series=tooth_series())


def chain(driver=None, teeth=13):
    return ChainDrive(
        size=find_chain("40"), driver=Sprocket(teeth=teeth, bore=driver), driven=Sprocket(teeth=44, bore=None)
    )


def rules(*stages):
    return {f"{row.stage} {row.rule}": row for row in judge_bores(machine(stages=stages))}


def one(hardware, **more):
    return {key.removeprefix("stage "): row for key, row in rules(stage(4.0, hardware=hardware, **more)).items()}


@pytest.mark.parametrize(
    ("bore", "shaft", "fit", "words"),
    [
        (9.525, 10.0, Fit.NEAR_MISS, "too narrow: it does not go on. 3/8 in and 10 mm look alike"),
        (10.0, 9.525, Fit.NEAR_MISS, "too wide: the wheel wobbles. 10 mm and 3/8 in look alike"),
        (6.35, 6.0, Fit.NEAR_MISS, "1/4 in and 6 mm"),
        (6.35, 6.35, Fit.FITS, ""),
        (
            8.0,
            7.9375,
            Fit.NEAR_MISS,
            "0.0625 mm of clearance: the wheel sits off centre and works loose. 8 mm and",
        ),
        (7.9375, 8.0, Fit.NEAR_MISS, "5/16 in and 8 mm"),
        (12.7, 12.0, Fit.NEAR_MISS, "1/2 in and 12 mm"),
        (12.7, 14.0, Fit.WRONG, "1.3 mm too narrow: it does not go on."),
        (10.1, 10.0, Fit.DOUBTFUL, "0.1 mm of clearance"),
    ],
)
def test_inch_bores_and_metric_shafts_are_named(bore, shaft, fit, words):
    found, text = bore_verdict(bore * MM, shaft * MM)
    assert found is fit
    assert words in text
    assert ("look alike" in text) == (fit is Fit.NEAR_MISS)


def test_sizes_as_shops_call_them():
    sizes = (25.4, 19.05, 28.575, 12.0, 12.5, 9.6)
    assert [trade_size(size * MM) for size in sizes] == ["1 in", "3/4 in", "1-1/8 in", "12 mm", "12.5 mm", None]


def test_the_driver_sits_on_the_shaft_before_and_the_driven_on_that_behind():
    first = stage(4.0, name="first", hardware=gears(8.0, 10.0), input_shaft=replace(BAR, diameter=8e-3))
    first = replace(first, output_shaft=BAR)
    second = stage(4.0, name="second", hardware=chain(9.525e-3))
    found = rules(first, second)
    assert found["first bore of the driver on its shaft"].fit is Fit.FITS
    assert found["first bore of the driven on its shaft"].fit is Fit.FITS
    assert found["second bore of the driver on its shaft"].fit is Fit.NEAR_MISS
    assert found["second bore of the driver on its shaft"].mend == "a bore of 10 mm"
    assert one(gears(8.0))["bore of the driver on its shaft"].fit is Fit.UNKNOWN


def test_a_pulley_is_seated_too_and_a_ring_has_no_bore():
    profile = belt_profiles()["5M"]
    belt = BeltDrive(profile=profile, driver=Pulley(teeth=18, bore=6e-3), driven=Pulley(teeth=60, bore=10e-3))
    found = one(belt, input_shaft=replace(BAR, diameter=6.35e-3), output_shaft=BAR)
    assert [row.fit for row in found.values()] == [Fit.NEAR_MISS, Fit.FITS]
    assert one(gears(internal=True, driven=10.0)) == {}


def test_a_shaft_does_not_ask_for_a_bore_that_its_wheels_tell():
    asked = [row.rule for row in judge_shafts(machine(stages=(stage(4.0, hardware=gears(), output_shaft=BAR),)))]
    assert "bore on the output shaft" in asked
    for stages in (
        (stage(4.0, hardware=gears(driven=10.0), output_shaft=BAR),),
        (stage(4.0, output_shaft=BAR), stage(4.0, hardware=chain(10e-3))),
    ):
        assert "bore on the output shaft" not in [row.rule for row in judge_shafts(machine(stages=stages))]


def test_of_two_wheels_on_a_shaft_that_tells_no_bore_each_is_asked_for_its_own():
    def asked(first, second, shaft=BAR):
        stages = stage(4.0, name="one", hardware=gears(driven=first), output_shaft=shaft)
        found = rules(stages, stage(4.0, name="two", hardware=chain(second)))
        return {key: row.mend for key, row in found.items() if row.fit is Fit.UNKNOWN}

    assert asked(10.0, 10e-3) == asked(0.0, None) == {}
    assert asked(0.0, 10e-3) == {"one bore of the driven on its shaft": "give bore of the driven"}
    assert asked(10.0, None) == {"two bore of the driver on its shaft": "give bore of the driver"}
    assert asked(10.0, None, shaft=replace(BAR, bore=10e-3)) == {}


def test_the_pinion_of_a_rack_sits_on_the_shaft_before_it():
    pinion = Gear(teeth=19, module=1.5e-3, bore=12.7e-3, material=STEEL)
    rack = Rack(teeth=19, module=1.5e-3, pressure_angle=math.radians(20.0), efficiency=0.96, pinion=pinion)
    found = one(rack, input_shaft=replace(BAR, diameter=12e-3))
    assert found["bore of the pinion on its shaft"].fit is Fit.NEAR_MISS
    # roots at 24.75 mm, 1.2 tooth heights of 3.375 mm: a bore of 16.65 mm
    edges = [(16.6, Fit.FITS), (16.7, Fit.DOUBTFUL)]
    for bore, fit in edges:
        assert one(replace(rack, pinion=replace(pinion, bore=bore * MM)))["wall of the pinion"].fit is fit


@pytest.mark.parametrize(
    # 20 teeth of module 1 mm: roots at 17.5 mm, 1.2 tooth heights are 2.7 mm, half a height 1.125 mm
    ("bore", "fit"),
    [(12.09, Fit.FITS), (12.11, Fit.DOUBTFUL), (15.24, Fit.DOUBTFUL), (15.26, Fit.WRONG)],
)
def test_a_bore_leaves_a_rim_under_the_teeth(bore, fit):
    assert one(gears(bore))["wall of the driver"].fit is fit
    assert one(gears(idler=bore))["wall of the idler 1"].fit is fit


@pytest.mark.parametrize(("bore", "fit"), [(8.09, Fit.FITS), (8.11, Fit.DOUBTFUL)])
def test_a_keyway_takes_half_of_its_key_off_the_wall(bore, fit):
    shaft = replace(BAR, diameter=bore * MM, key=KEY)
    assert one(gears(bore), input_shaft=shaft)["wall of the driver"].fit is fit


def test_a_thin_rim_raises_the_stress_by_the_logarithm_of_its_share():
    # ISO 6336-3: 1.6 ln(2.242 / share); 1 at 1.2, 2.4 at a half
    assert rim_factor(0.8) == pytest.approx(1.6 * math.log(2.8025))
    assert rim_factor(1.2) == pytest.approx(1.0, abs=1e-3)
    assert rim_factor(0.5) == pytest.approx(2.4, abs=1e-2)
    # bore 13.9: 1.8 mm are 0.8 tooth heights
    assert f"{100 * (rim_factor(0.8) - 1):.0f} % more stress" in one(gears(13.9))["wall of the driver"].text


@pytest.mark.parametrize(("bore", "fit"), [(20.6, Fit.FITS), (20.65, Fit.DOUBTFUL)])
def test_a_sprocket_of_13_teeth_takes_a_bore_of_twenty_millimetres_with_a_keyway(bore, fit):
    # 0.5 in (cot(pi/13) - 1) - 0.03 in = 1.49857 in of hub; 4/3 bore + 2 (0.187 + 0.01 x 2.0893) in of it are needed
    assert one(chain(bore * MM))["wall of the driver"].fit is fit


def test_a_loose_wheel_is_told_as_a_finding():
    found = stage(4.0, name="gears", hardware=gears(9.525), input_shaft=BAR)
    codes = {item.code: item.text for item in fit_findings(judge_fit(machine(stages=(found,))))}
    assert "gears, bore of the driver on its shaft: 9.525 mm; wanted 10 mm" in codes["parts-near-miss"]
