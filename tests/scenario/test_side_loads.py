"""Side loads as a person writes them: which shaft they come to, and what a report tells of them."""

import pytest

from armsim.report.contract import as_json
from armsim.report.side_loads import side_load_cells
from armsim.studies.single import assess, check

from .texts import read, refused

TRAIN = "[{gearbox: {reduction: 25, efficiency: 0.8, name: tipping box}}, {gears: {driver: 14, driven: 56}}]"


def loads(text, **more):
    return read(**{"transmission": TRAIN, "side_loads": f"[{text}]", **more})


@pytest.mark.parametrize(
    ("word", "turns"),
    [("motor", 100), ("1", 4), ("Tipping box", 4), ("2", 1), ("gears 14-56", 1), ("arm", 1)],
)
def test_a_stage_by_number_or_name_is_its_output_shaft(word, turns):
    machine = loads(f"{{shaft: {word}, torque: 0.4 N*m}}").machine
    assert machine.shaft_turns[machine.side_loads[0].shaft] == pytest.approx(turns)


def test_the_motors_shaft_is_the_one_behind_its_built_in_gears():
    machine = loads(
        "{shaft: motor, torque: 0.4 N*m}",
        motor="{nominal_voltage: 24 V, no_load_speed: 52 rpm, no_load_current: 1.4 A, stall_torque: 90 N*m, "
        "stall_current: 26 A, built_in_reduction: 50}",
    ).machine
    assert machine.shaft_turns[machine.side_loads[0].shaft] == pytest.approx(100)
    assert machine.shaft_turns[0] == pytest.approx(5000)


def test_a_load_of_neither_kind_and_one_on_no_shaft_are_refused():
    (empty,) = refused(transmission=TRAIN, side_loads="[{shaft: 1}]")
    assert (empty.code, empty.key) == ("SCN122", "side_loads[0]")
    (lost,) = refused(transmission=TRAIN, side_loads="[{shaft: tiping box, torque: 1 N*m}]")
    assert (lost.code, lost.key) == ("SCN115", "side_loads[0].shaft")
    assert "did you mean tipping box?" in lost.hint
    assert "1 (tipping box), 2 (gears 14-56)" in lost.hint
    assert refused(transmission=TRAIN, side_loads="[{shaft: 3, torque: 1 N*m}]")[0].code == "SCN115"


def test_a_carriage_has_no_shaft():
    carriage = {
        "transmission": "[{gearbox: {reduction: 25, efficiency: 0.8}}, {rack: {pinion: 19, module: 1.5 mm}}]",
        "arm": "",
        "carriage": "{mass: 6 kg}",
        "start": "0 mm",
        "moves": "[{lift: {to: 500 mm}}]",
    }
    for word in ("arm", "2"):
        (fault,) = refused(**carriage, side_loads=f"[{{shaft: {word}, torque: 1 N*m}}]")
        assert fault.key == "side_loads[0].shaft"
        assert "the shaft before, 1;" in fault.hint
    assert read(**carriage, side_loads="[{shaft: 1, torque: 1 N*m}]").machine.side_loads[0].torque == 1.0


def test_it_stands_by_name_in_shaft_section_account_and_json():
    scenario = loads("{shaft: 1, torque: 2 N*m, name: conveyor}, {shaft: motor, torque: 10 mN*m}")
    result = as_json(scenario, assess(scenario))
    names = [(row["name"], row["shaft"]) for row in result["transmission"]["side_loads"]]
    assert names == [("conveyor", "tipping box to gears 14-56"), ("side load", "motor")]
    energy = result["energy"]
    assert energy["losses_j"]["side_loads"] == pytest.approx(sum(energy["side_load_losses_j"]))
    assert all(joules > 0.0 for joules in energy["side_load_losses_j"])


def test_a_check_tells_of_it_without_a_run():
    scenario = loads("{shaft: 1, torque: 2 N*m, viscous: 0.1 N*m*s/rad, name: conveyor}")
    result = check(scenario)
    (row,) = result.transmission.side_loads
    speed = result.transmission.shafts[1].speed
    assert row.torque == pytest.approx(2.0 + 0.1 * speed)
    assert side_load_cells((row,), None)[1][-1] == "not known"
    bare = check(read(transmission=TRAIN))
    assert result.lift.static_margin < bare.lift.static_margin
    assert result.holding.reverse_torque > bare.holding.reverse_torque
