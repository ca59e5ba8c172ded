"""Gears, idlers, chains and bought gearboxes against worked answers."""

import math
from dataclasses import replace

import pytest

from armsim.parts.gear_mesh import Gear, Material
from armsim.parts.gearbox import gearbox_stage
from armsim.parts.gears import GearPath, ToothSeries, gear_stage
from armsim.parts.stage import disc_inertia, reverse_of
from tests.parts.rounded import six_digits

STEEL = Material(name="steel", density=7850.0)
SERIES = ToothSeries(modules=(), second=(), pitches=(), title="none")


def gears(driver, driven, idlers=(), *, efficiency=0.97, module=None, width=None, internal=False, **others):
    made = [Gear(teeth=z, module=module, face_width=width, material=STEEL) for z in (driver, *idlers, driven)]
    made[-1] = replace(made[-1], internal=internal)
    path = GearPath(gears=tuple(made), series=SERIES)
    losses = (efficiency,) * (len(made) - 1)
    return gear_stage(path=path, efficiencies=losses, reverse=others.pop("reverse", None), name="gears", **others)


def product(values):
    return math.prod(values)


def test_an_idler_turns_the_sense_round_and_leaves_the_reduction():
    first = gears(17, 53, (29,))
    assert first.reduction == pytest.approx(53.0 / 17.0)
    assert first.sense == 1
    assert gears(17, 53).sense == -1
    assert gears(17, 53, (29, 31)).sense == -1


def test_idlers_cost_a_mesh_each():
    long_way = gears(16, 55, (25, 33, 21), efficiency=0.975)
    assert long_way.sense * long_way.reduction == six_digits(3.43750)
    assert long_way.law.forward == six_digits(0.903688)
    assert long_way.law.reverse == six_digits(0.901314)
    assert long_way.details["meshes"] == 4
    short_way = gears(16, 55, efficiency=0.975)
    assert short_way.sense * short_way.reduction == six_digits(-3.43750)
    assert short_way.law.forward == 0.975


def test_three_stages_multiply():
    stages = [
        gears(14, 53, efficiency=0.97),
        gears(18, 61, efficiency=0.975),
        gears(20, 63, efficiency=0.965),
    ]
    assert product(stage.sense * stage.reduction for stage in stages) == six_digits(-40.4125)
    assert product(stage.law.forward for stage in stages) == six_digits(0.912649)
    assert product(stage.law.reverse for stage in stages) == six_digits(0.909978)


def test_a_train_turns_back_by_the_product_of_its_meshes_not_by_the_rule_on_their_product():
    stages = [gears(20, 60, efficiency=e) for e in (0.97, 0.965, 0.96, 0.94)]
    assert product(stage.law.forward for stage in stages) == six_digits(0.844692)
    assert product(stage.law.reverse for stage in stages) == six_digits(0.837883)
    assert reverse_of(product(stage.law.forward for stage in stages)) == six_digits(0.816136)
    poor = gears(20, 60, (30, 40), efficiency=0.78)
    assert reverse_of(poor.law.forward) == six_digits(-0.107251)  # the rule on the whole would have it lock
    assert poor.law.forward == six_digits(0.474552)
    assert poor.law.reverse == six_digits(0.370067)
    assert not poor.locks()


def test_idlers_of_locking_meshes_never_multiply_into_a_train_that_turns_back():
    assert gears(20, 60, (30,), efficiency=0.4).locks()
    assert gears(20, 60, (30, 40), efficiency=0.4).locks()


def test_a_given_reverse_efficiency_stands_for_the_whole_stage():
    assert gears(16, 55, (25,), reverse=0.5).law.reverse == 0.5


DISCS = [
    (17, 53, 1.0e-3, 10e-3, 8e-3, 6.43673e-7, 4.86478e-5),
    (19, 61, 1.25e-3, 12e-3, 10e-3, 2.94242e-6, 2.60513e-4),
    (18, 55, 1.5e-3, 16e-3, 14e-3, 6.55307e-6, 4.99820e-4),
]


@pytest.mark.parametrize(("driver", "driven", "module", "driver_width", "driven_width", "on_input", "on_output"), DISCS)
def test_gears_are_discs(driver, driven, module, driver_width, driven_width, on_input, on_output):
    assert gears(driver, driven, module=module, width=driver_width).input_inertia == six_digits(on_input)
    assert gears(driver, driven, module=module, width=driven_width).output_inertia == six_digits(on_output)


def test_inertia_of_a_gear_train_seen_at_the_motor():
    turns, seen = 1.0, 0.0
    for driver, driven, module, driver_width, driven_width, *_ in DISCS:
        seen += gears(driver, driven, module=module, width=driver_width).input_inertia / turns**2
        turns *= driven / driver
        seen += gears(driver, driven, module=module, width=driven_width).output_inertia / turns**2
    assert turns == six_digits(30.5839)
    assert seen == pytest.approx(9.15151e-6, rel=2e-6)
    assert seen * turns**2 == pytest.approx(0.00856012, rel=2e-6)


def test_an_idler_counts_at_the_input_by_its_own_speed():
    bare, with_idler = gears(20, 60, module=1e-3, width=8e-3), gears(20, 60, (40,), module=1e-3, width=8e-3)
    extra = disc_inertia(7850.0, 8e-3, 40e-3) / 4.0  # it turns at half the driver's speed
    assert with_idler.input_inertia - bare.input_inertia == pytest.approx(extra, rel=1e-12)
    assert with_idler.output_inertia == bare.output_inertia


def test_inertias_given_outright_stand_and_unknown_sizes_count_nothing():
    told = gears(20, 60, module=1e-3, width=8e-3, input_inertia=1e-6, output_inertia=0.0)
    assert (told.input_inertia, told.output_inertia) == (1e-6, 0.0)
    unknown = gears(20, 60)
    assert (unknown.input_inertia, unknown.output_inertia, unknown.driver_radius) == (0.0, 0.0, None)


def test_tooth_force_acts_at_the_pitch_radius_and_centres_are_half_the_pitch_diameters_apart():
    stage = gears(19, 61, module=0.8e-3)
    assert 1.0 / stage.driver_radius == pytest.approx(1.0 / 7.6e-3)
    assert stage.details["centre_distance_driver_to_driven"] == pytest.approx(32.0e-3, rel=1e-12)
    # 6.3 N*m on 21 teeth of module 1.5 mm: 400 N along the pitch circle
    assert 6.3 / gears(21, 60, module=1.5e-3).driver_radius == six_digits(400.0)


def test_a_gearbox_is_what_its_sheet_says_and_turns_back_by_the_rule_of_one_mesh():
    sheet = {"reduction": 71.0, "drag": 4e-3, "input_inertia": 3e-6}
    box = gearbox_stage(**sheet, efficiency=0.73, reverse=None, sense=-1, name="b")
    assert (box.reduction, box.sense, box.drag, box.input_inertia) == (71.0, -1, 4e-3, 3e-6)
    assert box.law.reverse == pytest.approx(2.0 - 1.0 / 0.73)
    assert gearbox_stage(reduction=71.0, efficiency=0.73, reverse=0.6, sense=1, name="b").law.reverse == 0.6
    assert gearbox_stage(reduction=71.0, efficiency=0.48, reverse=None, sense=1, name="b").locks()
