"""Every way of describing a motor, against motors whose constants are known and against worked answers."""

import math

import pytest

from armsim.checks.assessment import Level
from armsim.checks.lifting import available_torque
from armsim.parts.motor import steady_point
from armsim.studies.single import check
from tests.parts.rounded import six_digits
from tests.scenario.texts import SECTIONS, read, refused

#: speed rpm, torque N*m, current A, voltage V of a worked answer; constants fitted by another program
BENCH = (
    (515.8, 0.05, 4.8, 12), (473.8, 0.2482, 13.65, 12), (422.8, 0.5001, 24.83, 12), (339.2, 0.8988, 42.73, 12),
    (336.9, 0.0502, 4.58, 8), (284.8, 0.3014, 15.68, 8), (222.4, 0.5962, 28.94, 8),
)  # fmt: skip


def points(rows=BENCH):
    entries = (f"{{speed: {w} rad/s, torque: {t} N*m, current: {i} A, voltage: {v} V}}" for w, t, i, v in rows)
    return f"{{measured: [{', '.join(entries)}]}}"


def assumed(scenario, key):
    return [assumption for assumption in scenario.assumptions if assumption.key == key]


def warned(scenario, key):
    return [problem.text for problem in scenario.warnings if problem.key == key]


def test_measured_points_give_back_the_constants_they_were_made_with():
    scenario = read(motor=points())
    motor = scenario.machine.motor
    assert motor.resistance == pytest.approx(0.104, rel=0.01)  # the points carry noise of half a per cent
    assert motor.torque_constant == pytest.approx(0.0223, rel=0.002)
    assert motor.coulomb_torque == pytest.approx(0.042, rel=0.02)
    assert motor.viscous_drag == pytest.approx(3.0e-5, rel=0.1)
    assert not warned(scenario, "motor.measured")


def test_a_fit_is_told_with_its_scatter():
    scenario = read(motor=points())
    (resistance,) = assumed(scenario, "motor.resistance")
    assert resistance.origin == "fitted"
    assert "standard error" in resistance.text
    (scatter,) = assumed(scenario, "motor.measured")
    assert "7 points" in scatter.text
    assert " V and " in scatter.text


def test_points_without_a_voltage_are_at_the_nominal_one():
    rows = BENCH[:4]
    bare = points(rows).replace(", voltage: 12 V", "").replace("{measured", "{nominal_voltage: 12 V, measured")
    assert read(motor=bare).machine.motor == read(motor=bare).machine.motor
    assert read(motor=bare).machine.motor.resistance == read(motor=points(rows)).machine.motor.resistance


def test_points_of_no_one_motor_are_warned_of():
    slipped = [list(row) for row in BENCH]
    slipped[2][1] *= 1.6
    assert "no one motor has all these points" in warned(read(motor=points(slipped)), "motor.measured")[0]


def test_a_point_that_gives_more_than_it_takes_is_warned_of_with_both_powers():
    slipped = [list(row) for row in BENCH]
    slipped[1][1] *= 1.5
    (text,) = warned(read(motor=points(slipped)), "motor.measured[1].torque")
    assert text.startswith("176.396 W at the shaft are 7.69 % more than the 163.8 W")


def test_a_stated_efficiency_is_checked_against_its_point():
    stated = points().replace("current: 24.83 A", "current: 24.83 A, efficiency: HERE")
    true = 0.5001 * 422.8 / (12 * 24.83)
    assert not read(motor=stated.replace("HERE", f"{true:.3f}")).warnings
    (text,) = warned(read(motor=stated.replace("HERE", "60 %")), "motor.measured[2].efficiency")
    assert text == f"0.6 is stated, while torque, speed, voltage and current make {true:.3g}"


def test_friction_below_none_is_held_and_told():
    made = [(w, 0.0223 * i + 0.02, i, v) for w, _, i, v in BENCH]
    scenario = read(motor=points(made))
    assert scenario.machine.motor.coulomb_torque == 0.0
    assert any("held at none" in note.text for note in assumed(scenario, "motor.measured"))


ROW = SECTIONS["motor"].strip("{}")


def test_a_resistance_beside_a_row_checks_it_and_changes_nothing():
    alone = read(motor=f"{{{ROW}}}")
    close = read(motor=f"{{{ROW}, resistance: 0.9 ohm}}")
    assert close.machine.motor == alone.machine.motor
    assert not close.warnings
    assert any("2.5 % less" in note.text for note in assumed(close, "motor.resistance"))
    far = read(motor=f"{{{ROW}, resistance: 0.5 ohm}}")
    assert far.machine.motor == alone.machine.motor
    (text,) = warned(far, "motor.resistance")
    assert text == "the resistance is 45.8 % less than the 0.923077 ohm that voltage over stall current gives"


def test_more_than_one_way_is_asked_about():
    (problem,) = refused(motor=points().replace("{measured", "{torque_constant: 22 mN*m/A, measured"))
    assert problem.code == "SCN122"
    assert problem.text == "constants (torque_constant ...) and points (measured) both describe the motor"


def bench(beside, last="", constant=0.08, free=1.5):
    """Readings on an exact line, 0.08 N*m/A and 1.5 A at no load, with other keys beside them."""
    torques = (0.2, 0.6, 1.2)
    rows = [f"{{torque: {torque} N*m, current: {free + torque / constant} A}}" for torque in torques]
    return f"{{nominal_voltage: 24 V, {beside}, bench: [{', '.join([*rows, *filter(None, [last])])}]}}"


def test_readings_with_a_stall_current_make_a_motor():
    for beside, last in (
        ("stall_current: 26.5 A", ""),
        ("resistance: 0.9056603774 ohm", ""),
        ("count: 1", "{torque: 2 N*m, current: 26.5 A, stalled: yes}"),
    ):
        scenario = read(motor=bench(beside, last))
        motor = scenario.machine.motor
        assert motor.torque_constant == pytest.approx(0.08)
        assert motor.coulomb_torque == pytest.approx(0.08 * 1.5)
        assert motor.viscous_drag == 0.0
        assert motor.resistance == pytest.approx(24 / 26.5)
        assert not scenario.warnings
        (slope,) = assumed(scenario, "motor.torque_constant")
        assert slope.origin == "fitted"


def test_readings_with_a_no_load_speed_leave_the_rest_of_the_voltage_to_the_resistance():
    speed = (24 - 0.9 * 1.5) / 0.08  # rad/s
    scenario = read(motor=bench(f"no_load_speed: {speed} rad/s"))
    assert scenario.machine.motor.resistance == pytest.approx(0.9)
    (resistance,) = assumed(scenario, "motor.resistance")
    assert "uncertain by" in resistance.text


def test_readings_with_speed_and_stall_current_tell_what_is_lost_with_load():
    speed = (24 - 0.9 * 1.5) / 0.1  # rad/s: 0.1 V*s/rad against 0.08 N*m/A
    scenario = read(motor=bench(f"no_load_speed: {speed} rad/s, resistance: 0.9 ohm"))
    assert scenario.machine.motor.back_emf_constant == pytest.approx(0.1)
    assert scenario.machine.stages[0].law.static()[0] == pytest.approx(0.8)
    # at stall the rotor's k I - tc, less the fifth that is lost: on the line again
    assert 0.8 * (0.1 * 20.0 - scenario.machine.motor.coulomb_torque) == pytest.approx(0.08 * (20.0 - 1.5))
    (text,) = warned(scenario, "motor.no_load_speed")
    assert text == "the readings make 20 % less torque per ampere than it allows"


def test_figures_beside_the_readings_that_contradict_them_are_measured():
    stalled = "{torque: 2 N*m, current: 26.5 A, stalled: yes}"
    scenario = read(motor=bench("stall_current: 40 A, stall_torque: 3.5 N*m", stalled))
    assert scenario.machine.motor.resistance == pytest.approx(24 / 26.5)
    assert warned(scenario, "motor.stall_current") == ["50.9 % more than the stalled reading"]
    assert warned(scenario, "motor.stall_torque") == ["the readings make 2 N*m at stall, 42.9 % less than this"]


def test_readings_that_scatter_are_warned_of():
    scattered = bench("stall_current: 26 A").replace("current: 9.0 A", "current: 13 A")
    assert "from a line" in warned(read(motor=scattered), "motor.bench")[0]


GEARED = (
    "nominal_voltage: 12 V, no_load_speed: 100 rpm, no_load_current: 1.2 A, stall_torque: 14.5 N*m, stall_current: 22 A"
)
TWELVE = "{battery: {open_circuit_voltage: 12 V, internal_resistance: 0 ohm}}"


def geared(more=""):
    return read(motor=f"{{{GEARED}, built_in_reduction: 50:1{more}}}", supply=TWELVE, transmission="[]")


def test_a_geared_motors_row_becomes_a_rotor_and_gears_that_give_the_row_back():
    scenario = geared()
    machine = scenario.machine
    assert machine.motor.resistance == six_digits(0.545455)
    assert machine.motor.back_emf_constant == six_digits(0.0216682)
    assert machine.reduction == 50.0
    assert available_torque(machine, 1.0) == pytest.approx(14.5, rel=1e-9)
    speed, current = steady_point(machine.motor, 12.0, 0.0)
    assert speed / 50.0 == pytest.approx(100 * math.tau / 60, rel=1e-9)
    assert current == pytest.approx(1.2, rel=1e-9)
    (gears,) = machine.stages
    assert gears.law.static()[0] == pytest.approx(0.643, abs=0.015)  # torque per ampere; the no-load current apart
    assert not scenario.warnings
    assert not gears.locks()


def test_the_makers_efficiency_is_not_taken_off_a_second_time():
    for stated in (0.5, 0.64, 0.7, 0.9):
        machine = geared(f", built_in_efficiency: {stated}").machine
        assert available_torque(machine, 1.0) == pytest.approx(14.5, rel=1e-9)
    assert geared(", built_in_efficiency: 0.9").machine.stages[-1].law.static()[0] == 0.9
    (text,) = warned(geared(", built_in_efficiency: 0.5"), "motor.built_in_efficiency")
    assert text == "0.5 is stated, while the figures at the output shaft leave 0.632 at stall"


def test_gears_of_a_motor_lock_only_where_that_is_said():
    assert geared(", built_in_reverse_efficiency: -0.1").machine.stages[0].locks()


def test_a_bare_motors_row_beside_a_reduction_is_doubted():
    scenario = read(motor=SECTIONS["motor"].replace("2.05", "1.6")[:-1] + ", built_in_reduction: 50:1}")
    assert "are the figures the bare motor's?" in warned(scenario, "motor.built_in_reduction")[0]


def test_a_row_far_short_of_torque_is_asked_whether_gears_are_inside():
    row = f"{{{GEARED}}}"
    (problem,) = read(motor=row, supply=TWELVE, transmission="[]").warnings
    assert (problem.code, problem.key) == ("SCN131", "motor.stall_torque")
    assert "35.7 % less" in problem.text
    assert "built_in_reduction" in problem.hint


def test_gears_that_carry_more_than_they_may_are_told():
    scenario = geared(", built_in_peak_torque: 4 N*m")
    (told,) = (f for f in check(scenario).findings if f.code == "gears-overloaded")
    # 5 kg half way and 8 kg at the end of 0.6 m, level, on the gears' own shaft
    assert told.text.startswith(f"built-in gears 50:1 carries {9.80665 * (5 * 0.3 + 8 * 0.6):.1f} N*m in a steady lift")
    assert told.text.endswith("15.4 times the 4.00 N*m that it may carry.")
    assert told.level is Level.WARNING
    light = SECTIONS["arm"].replace("5 kg", "0.2 kg").replace("8 kg", "0.2 kg")
    row = f"{{{GEARED}, built_in_reduction: 50:1, built_in_peak_torque: 4 N*m}}"
    (told,) = (
        f
        for f in check(read(motor=row, supply=TWELVE, transmission="[]", arm=light)).findings
        if f.code == "gears-overloaded"
    )
    assert "stalled against a block" in told.text
    assert told.level is Level.NOTE
    assert "gears-overloaded" not in {f.code for f in check(geared(", built_in_peak_torque: 400 N*m")).findings}


def test_readings_behind_gears_need_to_know_what_the_gears_lose():
    speed = (24 - 0.9 * 1.5) / 0.1  # rad/s
    both = read(motor=bench(f"no_load_speed: {speed} rad/s, resistance: 0.9 ohm, built_in_reduction: 5:1"))
    said = read(motor=bench("resistance: 0.9 ohm, built_in_reduction: 5:1, built_in_efficiency: 0.8"))
    for scenario in (both, said):
        assert scenario.machine.motor.torque_constant == pytest.approx(0.02)
        assert scenario.machine.motor.coulomb_torque == pytest.approx(0.02 * 1.5)
        assert scenario.machine.stages[0].law.static()[0] == pytest.approx(0.8)
        assert not scenario.warnings


def test_figures_at_another_voltage_than_the_supplys_are_told_with_their_scale():
    (note,) = assumed(read(), "motor.nominal_voltage")  # 24 V of figures on 25 V
    assert note.text.endswith("speed and stall figures are scaled by 1.04")
    near = read(supply=TWELVE.replace("12 V", "24.5 V"))
    assert not assumed(near, "motor.nominal_voltage")


def test_a_row_short_of_torque_is_told_with_both_constants():
    scenario = read(motor=SECTIONS["motor"].replace("2.05", "1.9"))
    (note,) = assumed(scenario, "motor.stall_torque")
    assert note.text.startswith("makes 0.0772358 N*m/A, 7.39 % less")  # 1.9/24.6 against 24(1 - 1.4/26)/272.271


def test_a_stall_torque_a_little_too_good_is_noted():
    scenario = read(motor=SECTIONS["motor"].replace("2.05", "2.14"))
    assert not warned(scenario, "motor.stall_torque")
    (note,) = assumed(scenario, "motor.stall_torque")
    assert note.text.startswith(
        f"{100 * (2.14 / 24.6 / (24 * (1 - 1.4 / 26) / (2600 * math.tau / 60)) - 1):.3g} % more"
    )


def servo(more="", beside="", time="0.1 s/60 deg"):
    figures = f"voltage: 12 V, stall_torque: 14.5 N*m, time_for_60_deg: {time}, stall_current: 22 A{more}"
    return read(motor=f"{{servo: {{{figures}}}{beside}}}", supply=TWELVE, transmission="[]")


@pytest.mark.parametrize(
    "typed", ["0.1 s/60 deg", "0.1sec/60deg", ".1 sec.60", "0.1 s/60°", "0.1 s", "100 ms", "100 rpm"]
)
def test_a_servo_is_a_geared_motor_by_other_words(typed):
    scenario = servo(", no_load_current: 1.2 A", ", built_in_reduction: 50:1", typed)
    ours, known = scenario.machine, geared().machine
    assert ours.motor.back_emf_constant == pytest.approx(known.motor.back_emf_constant, rel=1e-12)
    assert ours.motor.resistance == known.motor.resistance
    assert available_torque(ours, 1.0) == pytest.approx(14.5, rel=1e-9)


def test_a_servo_without_a_known_ratio_is_taken_at_its_output_shaft():
    scenario = servo()
    machine = scenario.machine
    assert machine.reduction == 1.0
    assert available_torque(machine, 1.0) == pytest.approx(14.5, rel=1e-9)
    speed, current = steady_point(machine.motor, 12.0, 0.0)
    assert speed == pytest.approx(math.pi / 3 / 0.1, rel=1e-9)
    assert current == pytest.approx(2.2, rel=1e-9)  # a tenth of stall
    assert assumed(scenario, "motor.servo.no_load_current")[0].origin == "default"
    assert "not modelled" in assumed(scenario, "motor.servo")[0].text
    assert not scenario.warnings


def test_a_servo_on_another_voltage_is_told_with_its_scale():
    scenario = read(
        motor="{servo: {voltage: 6 V, stall_torque: 12 kg-cm, time_for_60_deg: 0.17 s, stall_current: 2.1 A}}",
        supply=TWELVE.replace("12 V", "7.4 V"),
    )
    assert "scaled by 1.23" in assumed(scenario, "motor.nominal_voltage")[0].text
    assert scenario.machine.motor.nominal_voltage == 6.0


#: the rated point of a worked answer: 0.1 ohm, k 0.0224408, 0.0392715 N*m and 3.21441e-05 N*m*s/rad of friction
RATED = "power: 212.471 W, voltage: 12 V, speed: 424.942 rad/s, current: 24.6395 A"


def label(more, rated=RATED, beside=""):
    return read(motor=f"{{label: {{{rated}, {more}}}{beside}}}", supply=TWELVE)


@pytest.mark.parametrize(
    "locked", ["locked_rotor_current: 120 A", "locked_rotor_current: 20 A, locked_rotor_voltage: 2 V"]
)
def test_a_label_and_a_locked_rotor_give_back_the_motor_of_its_rated_point(locked):
    scenario = label(locked)
    motor = scenario.machine.motor
    assert motor.resistance == pytest.approx(0.1)
    assert motor.torque_constant == pytest.approx(0.0224408, rel=1e-5)
    drag = motor.coulomb_torque + motor.viscous_drag * 424.942
    assert drag == pytest.approx(0.0392715 + 3.21441e-05 * 424.942, rel=1e-4)
    assert motor.coulomb_torque == pytest.approx(0.7 * drag)
    assert steady_point(motor, 12.0, 0.5)[0] == pytest.approx(424.942, rel=1e-5)
    assert not scenario.warnings
    assert "70 %" in assumed(scenario, "motor.coulomb_friction")[0].text


def test_a_label_that_contradicts_itself_is_measured():
    lock = "locked_rotor_current: 120 A"
    good = label(f"{lock}, torque: 0.5 N*m, efficiency: 0.72", beside=", resistance: 0.1 ohm")
    assert not good.warnings
    assert warned(label(f"{lock}, torque: 0.6 N*m"), "motor.label.torque") == [
        "0.6 N*m is 20 % more than the 0.5 N*m of power and speed"
    ]
    assert warned(label(f"{lock}, efficiency: 0.9"), "motor.label.efficiency") == [
        "0.9 is stated, while power, voltage and current make 0.719"
    ]
    (text,) = warned(label(lock, beside=", resistance: 60 mohm"), "motor.resistance")
    assert text.startswith("the resistance is 40 % less than the 0.1 ohm")


def test_the_power_put_in_is_no_power_at_the_shaft():
    scenario = label("locked_rotor_current: 120 A", RATED.replace("212.471", "295"))
    (text,) = warned(scenario, "motor.label.power")
    assert text == "295 W is 25.6 % more than the 234.964 W that copper leaves of 295.674 W put in"
    assert scenario.machine.motor.coulomb_torque == 0.0


def test_a_label_far_short_of_power_is_asked_about():
    scenario = label("locked_rotor_current: 120 A", RATED.replace("212.471", "100"))
    assert "57.4 % less than the 0.55" in warned(scenario, "motor.label.power")[0]


def test_a_label_in_horsepower_is_read_as_the_mechanical_one():
    scenario = label("locked_rotor_current: 120 A", RATED.replace("212.471 W", "2/7 hp"))
    (entry,) = (entry for entry in scenario.entries if entry.key == "motor.label.power")
    assert entry.understood == "213.057 W"
    assert "550 foot-pounds" in entry.note
