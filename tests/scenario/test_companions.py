"""More motors as a person writes them: which shaft they turn, what is refused, what a report tells of them."""

import pytest

from armsim.report.contract import as_json
from armsim.studies.single import assess, check

from .texts import read, refused

TRAIN = "[{gearbox: {reduction: 25, efficiency: 0.8, name: tipping box}}, {gears: {driver: 14, driven: 56}}]"
ROW = (
    "nominal_voltage: 24 V, no_load_speed: 1500 rpm, no_load_current: 1.0 A, stall_torque: 2.0 N*m, stall_current: 15 A"
)


def helped(text, row=ROW, **more):
    return read(**{"transmission": TRAIN, "more_motors": f"[{{{text}, motor: {{{row}}}}}]", **more})


@pytest.mark.parametrize(("word", "turns"), [("motor", 100), ("tipping box", 4), ("2", 1), ("arm", 1)])
def test_it_turns_the_shaft_it_is_put_on(word, turns):
    machine = helped(f"shaft: {word}").machine
    assert machine.shaft_turns[machine.companions[0].shaft] == pytest.approx(turns)


def test_its_own_reduction_makes_it_slower_stronger_and_heavier():
    plain, geared = (helped(f"shaft: 1{more}").machine.companions[0] for more in ("", ", reduction: 3"))
    assert geared.constant == pytest.approx(3.0 * plain.constant)
    assert geared.coulomb_torque == pytest.approx(3.0 * plain.coulomb_torque)
    assert geared.viscous_drag == pytest.approx(9.0 * plain.viscous_drag)
    assert geared.inertia == pytest.approx(9.0 * plain.inertia)
    assert (geared.resistance, geared.inductance) == (plain.resistance, plain.inductance)


def test_its_row_is_read_as_any_motors():
    other = helped("shaft: 1").machine.companions[0]
    # R = 24/15, k = (24 - 1.6 1)/(1500 rpm)
    assert other.resistance == pytest.approx(24.0 / 15.0)
    assert other.constant == pytest.approx((24.0 - 1.6) / (1500 * 2 * 3.141592653589793 / 60), rel=1e-9)


@pytest.mark.parametrize(
    ("row", "key"),
    [(f"{ROW}, brush_drop: 1 V", "brush_drop"), (f"{ROW}, built_in_reduction: 20", "built_in_reduction")],
)
def test_what_is_not_followed_in_it_is_refused(row, key):
    (fault,) = refused(transmission=TRAIN, more_motors=f"[{{shaft: 1, motor: {{{row}}}}}]")
    assert (fault.code, fault.key) == ("SCN122", f"more_motors[0].motor.{key}")


def test_a_limit_on_what_a_bridge_draws_is_refused_beside_it():
    (fault,) = refused(
        transmission=TRAIN, more_motors=f"[{{shaft: 1, motor: {{{ROW}}}}}]", controller="{supply_current_limit: 20 A}"
    )
    assert fault.key == "controller.supply_current_limit"


def test_one_on_no_shaft_is_told_what_there_is():
    (lost,) = refused(transmission=TRAIN, more_motors=f"[{{shaft: tiping box, motor: {{{ROW}}}}}]")
    assert (lost.code, lost.key) == ("SCN115", "more_motors[0].shaft")
    assert "did you mean tipping box?" in lost.hint


def test_names_that_are_alike_get_numbers():
    one = f"{{shaft: 1, name: helper, motor: {{{ROW}}}}}"
    machine = read(transmission=TRAIN, more_motors=f"[{one}, {one}, {{shaft: 1, motor: {{{ROW}}}}}]").machine
    assert [other.name for other in machine.companions] == ["helper 2", "helper 3", "motor 4"]


def test_run_and_check_tell_how_they_share():
    scenario = helped("shaft: 1, reduction: 3, name: helper")
    result = as_json(scenario, assess(scenario))
    lifting = result["motors"]["lifting"]
    assert [share["name"] for share in lifting["motors"]] == ["motor", "helper"]
    checked = check(scenario)
    assert checked.motors is not None
    assert [share.current for share in checked.motors.lifting.shares] == pytest.approx(
        [share["current_a"] for share in lifting["motors"]]
    )
    alone = check(read(transmission=TRAIN))
    assert checked.lift.static_margin > alone.lift.static_margin
