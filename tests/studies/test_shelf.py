import math

import pytest

from armsim.checks.judged_parts import Loads
from armsim.checks.strength import RULES
from armsim.scenario.stock import loads_stock
from armsim.studies.candidates import best_efficiency, borne, stages_of
from armsim.studies.shelf import REFUSED, UNFIT, UNMESHED, shelf_of
from tests.studies.stocks import STOCK

GEARS = "title: gears\ngears:\n"


def test_pairs_that_mesh_are_counted_by_hand() -> None:
    # 4 gears of one module and 2 of another: 36 pairs, 16 + 4 of them mesh, less the one gear of 60 with itself
    shelf = shelf_of(loads_stock(STOCK))
    assert shelf.raw == 36 + 2
    assert shelf.refused == {UNMESHED: 16 + 1}
    assert len(shelf.choices) == 16 + 4 - 1 + 2


def test_sprockets_and_pulleys_pair_among_themselves() -> None:
    stock = (
        'title: s\nsprockets: [{number: "40", teeth: [13, 26]}, {number: "50", teeth: [13]}]\n'
        "pulleys: [{profile: 5M, width: 15 mm, teeth: [20, 40]}]\n"
    )
    shelf = shelf_of(loads_stock(stock))
    names = {choice.name for choice in shelf.choices}
    assert shelf.raw == 9 + 4
    assert {"chain 40 13-26", "chain 40 26-13", "chain 50 13-13", "belt 5M 20-40"} <= names
    assert len(names) == 4 + 1 + 4


def test_undercut_gears_and_too_few_teeth_of_a_sprocket_are_not_chosen() -> None:
    shelf = shelf_of(loads_stock(GEARS + "  - {module: 1 mm, teeth: [10, 20]}\n"))
    assert {choice.name for choice in shelf.choices} == {"gears 20-20 m 1"}
    assert shelf.refused == {UNFIT: 3}
    few = shelf_of(loads_stock('title: s\nsprockets: [{number: "40", teeth: [8, 20]}]\n'))
    assert {choice.name for choice in few.choices} == {"chain 40 20-20"}


def test_what_a_scenario_refuses_is_no_choice_and_takes_no_other_with_it() -> None:
    # a bore of 20 mm leaves nothing of a gear of 18 teeth, whose roots are at 15.5 mm
    gears = "  - {module: 1 mm, teeth: [{teeth: 18, bore: 20 mm}, {teeth: 60, bore: 20 mm}]}\n"
    shelf = shelf_of(loads_stock(GEARS + gears))
    assert {choice.name for choice in shelf.choices} == {"gears 60-60 m 1"}
    assert shelf.refused == {REFUSED: 3}


def test_price_and_mass_are_sums_and_not_known_where_one_is_not() -> None:
    gears = "  - {module: 1 mm, teeth: [{teeth: 20, price: 3, mass: 20 g}, {teeth: 40, price: 5}]}\n"
    choices = {choice.name: choice for choice in shelf_of(loads_stock(GEARS + gears)).choices}
    assert choices["gears 20-40 m 1"].price == 8.0
    assert choices["gears 20-40 m 1"].mass is None
    assert choices["gears 20-20 m 1"].mass == pytest.approx(0.04)


def test_what_a_stage_bears_is_where_its_first_part_has_no_safety_left() -> None:
    choices = [c for c in shelf_of(loads_stock(STOCK)).choices if c.stage.kind == "gears"]
    for choice in choices:
        torque, stage = borne(choice), choice.stage
        driver = torque / stage.reduction / stage.law.static()[0]
        load = Loads(case="stall", output_torque=torque, driver_torque=driver)
        safety = min(row.safety for row in RULES[type(stage.hardware)](stage, stage.hardware, load) if not row.lasting)
        assert safety == pytest.approx(1.0, rel=1e-9)


def test_a_rating_counts_where_it_is_lower_and_nothing_known_bears_all() -> None:
    (box,) = (c for c in shelf_of(loads_stock(STOCK)).choices if c.name == "box 20")
    assert borne(box) == 60.0
    bare = shelf_of(loads_stock("title: s\ngearboxes: [{reduction: 5, efficiency: 0.9}]\n")).choices
    assert math.isinf(borne(bare[0]))


def test_scarce_parts_have_a_column_each() -> None:
    shelf = shelf_of(loads_stock(STOCK))
    stages = stages_of(shelf.choices)
    assert stages.available.tolist() == [2, 1]  # two gears of 15 teeth, one of 60
    use = {choice.name: row for choice, row in zip(shelf.choices, stages.uses.tolist(), strict=True)}
    assert use["gears 15-15 m 1.5"] == [2, 0]
    assert use["gears 15-60 m 1.5"] == [1, 1]
    assert use["gears 20-75 m 1.5"] == [0, 0]


def test_a_worm_is_taken_at_its_best() -> None:
    stock = "title: w\nworms: [{starts: 1, wheel: 40, lead_angle: 5 deg, friction: 0.05, static_friction: 0.1}]\n"
    (choice,) = shelf_of(loads_stock(stock)).choices
    forward = best_efficiency(choice.stage)
    # tan(l)/tan(l + p) with the friction angle of 0.05 over cos(20 deg)
    lead, friction = math.radians(5.0), math.atan(0.05 / math.cos(math.radians(20.0)))
    assert forward == pytest.approx(math.tan(lead) / math.tan(lead + friction), rel=0.01)
    assert forward > choice.stage.law.static()[0]
