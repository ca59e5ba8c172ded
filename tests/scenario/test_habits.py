"""How people write scenarios: what has one meaning is taken and echoed, what has two is asked about."""

import math

import pytest

from armsim.scenario import ScenarioError, loads
from tests.scenario.texts import SECTIONS, read, refused, scenario_text, understood

GEARBOX = "[{{gearbox: {{reduction: {}, efficiency: 0.8}}}}]"


def only(problems):
    assert len(problems) == 1, [str(problem) for problem in problems]
    return problems[0]


def answer(problem):
    return f"{problem.text} / {problem.hint}"


# A. what YAML does to what was typed


@pytest.mark.parametrize(
    ("typed", "value"),
    [("20:1", 20), ("161:1", 161), ("60:1", 60), ("2.7:1", 2.7), ("7 to 1", 7), ("7", 7), ("1e2", 100)],
)
def test_a_ratio_is_never_a_base_sixty_number(typed, value):
    scenario = read(transmission=GEARBOX.format(f"'{typed}'"))
    assert scenario.machine.reduction == value
    bare = read(transmission=f"\n- gearbox:\n    reduction: {typed}\n    efficiency: 0.8\n")
    assert bare.machine.reduction == value
    assert understood(bare, "transmission[0].gearbox.reduction").startswith(f"{value:g} motor-side turns")


def test_one_thirty_is_not_ninety():
    problem = only(refused(moves="\n- lift: {to: 70 deg}\n- hold:\n    for: 1:30\n"))
    assert "90 s or 1.5 min" in problem.hint


@pytest.mark.parametrize("typed", ["1e-4 kg*m^2", "1.0e-4 kg*m^2", "0.1e-3 kg*m^2"])
def test_exponents_are_numbers(typed):
    assert read(
        arm=SECTIONS["arm"], motor=SECTIONS["motor"][:-1] + f", rotor_inertia: {typed}}}"
    ).machine.motor.rotor_inertia == pytest.approx(1e-4)


def test_a_hash_after_a_space_is_explained():
    problem = only(refused(transmission="\n- chain:\n    number: #40\n    driver: 13\n    driven: 44\n"))
    assert (problem.code, problem.line) == ("SCN108", 6)
    assert answer(problem) == 'is empty; a # after a space starts a comment / write "#40" in quotes or 40'


@pytest.mark.parametrize("typed", ["40", '"#40"', "ANSI 40", "08A"])
def test_a_chain_goes_by_any_of_its_names(typed):
    stage = read(transmission=f"[{{chain: {{number: {typed}, driver: 13, driven: 44}}}}]").machine.stages[-1]
    assert stage.reduction == pytest.approx(44 / 13)
    assert stage.driver_radius == pytest.approx(13 * 0.0127 / math.tau)


@pytest.mark.parametrize(
    ("typed", "value"),
    [
        ("yes", True),
        ("no", False),
        ("on", True),
        ("off", False),
        ("NO", False),
        ("y", True),
        ("n", False),
        ("true", True),
        ("False", False),
    ],
)
def test_yes_and_no_in_every_word(typed, value):
    (wish,) = read(requirements=f"{{holds_unpowered: {typed}}}").requirements
    assert wish.limit is value


@pytest.mark.parametrize("key", ["no", "on"])
def test_a_key_that_yaml_takes_for_a_truth_value_keeps_its_name(key):
    problem = only(refused(**{key: "3"}))
    assert (problem.code, problem.key) == ("SCN102", key)


def test_the_same_key_twice_is_refused_with_both_lines():
    with pytest.raises(ScenarioError) as caught:
        loads(scenario_text() + "start: 5 deg\n")
    assert "given twice, on lines 6 and 8" in str(caught.value)


def test_a_tab_is_named():
    with pytest.raises(ScenarioError) as caught:
        loads("title: Gate\nmotor:\n\tcount: 1\n")
    assert "line 3 starts with a tab; YAML wants spaces" in str(caught.value)


@pytest.mark.parametrize(("typed", "better"), [("012", "write 12"), ("08", "write 8")])
def test_a_leading_zero_is_not_octal(typed, better):
    assert only(refused(transmission=f"[{{gears: {{driver: {typed}, driven: 40}}}}]")).hint == better


@pytest.mark.parametrize("typed", ["", "~", "null", '""'])
def test_an_empty_value_is_called_empty(typed):
    problem = only(refused(arm=f"\nlength: 0.6 m\nmass: {typed}\n"))
    assert answer(problem) == "is empty / a mass is given in kg, g, lb, oz"


@pytest.mark.parametrize("typed", [".nan", ".inf", "nan", "inf", "-.inf"])
def test_numbers_that_are_none_are_refused(typed):
    assert "not a usable number" in only(refused(arm=f"{{length: {typed}, mass: 2 kg}}")).text


@pytest.mark.parametrize(
    ("typed", "metres"), [('4"', 0.1016), ("9'", 2.7432), ("9'6\"", 2.8956), ("4 in # to the tip", 0.1016)]
)
def test_feet_and_inches_have_their_marks(typed, metres):
    assert read(arm=f"\nmass: 2 kg\nlength: {typed}\n").machine.arm.length == pytest.approx(metres)


def test_a_range_is_no_value():
    assert "is a range" in only(refused(arm="\nmass: 2 kg\nlength: 7'-9'\n")).text


def test_typographic_characters_count_as_the_plain_ones():
    text = scenario_text(start="−5 deg", arm="\nmass: “5 kg”\nlength: 0.6\u00a0m\n")
    scenario = loads("\ufeff" + text.replace("\n", "\r\n").replace("    ", "\u00a0   "))
    assert scenario.plan.start == pytest.approx(math.radians(-5))
    assert scenario.machine.arm.length == 0.6


@pytest.mark.parametrize(
    ("typed", "meant"), [("lenght", "length"), ("Length", "length"), ("LENGTH", "length"), ("colour", "")]
)
def test_an_unknown_key_is_answered_with_the_near_one(typed, meant):
    problem = next(p for p in refused(arm=f"{{{typed}: 0.6 m, mass: 2 kg}}") if p.code == "SCN102")
    assert f"did you mean '{meant}'?" in problem.hint if meant else "known here: length, mass" in problem.hint


def test_a_misspelt_key_is_told_once_and_not_as_missing_too():
    only(refused(arm="{lenght: 0.6 m, mass: 2 kg}"))


# B. units and numbers, where the key decides


def test_a_bare_mass_for_a_torque_is_asked_about():
    problem = only(refused(motor=SECTIONS["motor"].replace("2.05 N*m", "25kg")))
    assert problem.hint == "did you mean 25 kg-cm (2.45166 N*m)?"


def test_speeds_are_echoed_in_turns_and_in_degrees():
    assert understood(read(), "motor.no_load_speed") == "2600 rpm (15600 deg/s)"


@pytest.mark.parametrize("typed", ["800KV", "800 rpm/V", "800 kv"])
def test_kv_is_turns_per_minute_per_volt(typed):
    motor = read(motor=f"{{velocity_constant: {typed}, resistance: 0.1 ohm}}").machine.motor
    assert motor.torque_constant == pytest.approx(0.01194, abs=5e-6)


def test_kv_as_a_key_is_shown_its_right_name():
    problems = refused(motor="{kv: 800, resistance: 0.1 ohm}")
    assert problems[0].hint == "write velocity_constant: 800 rpm/V"


@pytest.mark.parametrize("typed", ["3S", "3S 2200mAh 25C"])
def test_a_cell_count_is_no_voltage(typed):
    for supply in (
        f"{{battery: {typed}}}",
        f"{{battery: {{open_circuit_voltage: {typed}, internal_resistance: 40 mohm}}}}",
    ):
        assert "11.1 V nominal, 12.6 V full" in only(refused(supply=supply)).hint


@pytest.mark.parametrize(
    ("typed", "area"),
    [
        ("12 AWG", 3.309e-6),
        ("AWG 12", 3.309e-6),
        ("12ga", 3.309e-6),
        ("12g", 3.309e-6),
        ('"#12"', 3.309e-6),
        ("12", 3.309e-6),
        ("2.5 mm2", 2.5e-6),
        ("2.5mm²", 2.5e-6),
        ("2/0 AWG", 67.43e-6),
    ],
)
def test_a_wire_is_a_gauge_or_an_area(typed, area):
    scenario = read(
        supply=f"{{battery: {{open_circuit_voltage: 25 V, internal_resistance: 0 ohm}}, "
        f"wiring: {{gauge: {typed}, length: 1 m}}}}"
    )
    assert scenario.machine.conductor_area == pytest.approx(area, rel=5e-4)
    assert any("one way" in assumption.text for assumption in scenario.assumptions)


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("1:7", "a reduction of 7 or a speed-up of 7?"),
        ("1/7", "a reduction of 7 or a speed-up?"),
        ("12:84", "gears: {driver: 12, driven: 84}"),
        ("36-60", "gears: {driver: 36, driven: 60}"),
        ("12T to 84T", "gears: {driver: 12, driven: 84}"),
        ("12:36:60", "an idler, or a double gear?"),
        ("0.2", "out of range"),
    ],
)  # fmt: skip
def test_a_ratio_with_two_readings_is_asked_about(typed, words):
    assert words in answer(only(refused(transmission=GEARBOX.format(f"'{typed}'"))))


def test_a_wheel_is_not_given_by_a_bare_size():
    problems = refused(transmission="[{gears: {driver: 12, driven: 84, size: 2 inch}}]")
    assert "radius or a diameter" in only(problems).hint


def test_a_geared_motor_has_its_figures_after_the_gears():
    hint = only(refused(motor=SECTIONS["motor"][:-1] + ", ratio: 100}")).hint
    assert "at the output shaft: write built_in_reduction" in hint
    assert "of the bare motor: add a gearbox stage" in hint


@pytest.mark.parametrize(("typed", "value"), [("75%", 0.75), ("0.75", 0.75), ("75 %", 0.75), ("1", 1.0)])
def test_an_efficiency_is_a_part_of_one(typed, value):
    (stage,) = read(transmission=f"[{{gearbox: {{reduction: 7, efficiency: {typed}}}}}]").machine.stages[-1:]
    assert stage.law.static()[0] == value


@pytest.mark.parametrize(
    ("typed", "words"),
    [("75", "75 % or 75 times?"), ("0", "out of range"), ("120%", "out of range"), ("-0.5", "out of range")],
)
def test_an_efficiency_beyond_one_is_asked_about(typed, words):
    assert words in only(refused(transmission=f"[{{gearbox: {{reduction: 7, efficiency: {typed}}}}}]")).text


def test_a_bare_number_shows_the_units_and_the_likely_line():
    problem = only(refused(arm="{length: 14, mass: 2 kg}"))
    assert answer(problem) == "needs a unit: one of m, cm, mm, in, ft / write 14 in or 14 mm"


def test_a_bare_angle_is_degrees_and_says_so():
    scenario = read(start="10")
    assert scenario.plan.start == pytest.approx(math.radians(10))
    assert next(entry.note for entry in scenario.entries if entry.key == "start") == "no unit, read as deg"


@pytest.mark.parametrize(
    ("arm", "words"),
    [
        ("{length: 0.6 m, mass: 5 N·m}", "expected a mass, got a torque"),
        ("{length: 3 kg, mass: 5 kg}", "expected a length, got a mass"),
        ("{length: -0.6 m, mass: 5 kg}", "has to be more than 0 m"),
        ("{length: 0.6 m, mass: 0 kg}", "has to be more than 0 kg"),
        ("{length: 0.6 m, mass: 10-15 lbs}", "is a range"),
        ("{length: 0.6 m, mass: ~10 pounds}", "is a guess"),
    ],
)  # fmt: skip
def test_a_wrong_kind_or_size_is_named(arm, words):
    assert words in only(refused(arm=arm)).text


@pytest.mark.parametrize(
    ("typed", "words"),
    [("12.5", "12.5 is not a whole number"), ("5000", "it has to be 5 to 1000"), ("-12", "it has to be 5 to 1000")],
)
def test_teeth_are_whole_and_of_this_world(typed, words):
    assert words in only(refused(transmission=f"[{{gears: {{driver: 12, driven: {typed}}}}}]")).text


def test_an_arm_of_thirty_five_metres_runs_with_a_warning():
    (warning,) = read(arm="{length: 35 m, mass: 5 kg}").warnings
    assert (warning.code, warning.key) == ("SCN130", "arm.length")
    assert "35 m is far from the usual" in warning.text


def test_free_current_above_stall_current_is_swapped():
    problem = only(refused(motor=SECTIONS["motor"].replace("1.4 A", "30 A").replace("26 A", "13 A")))
    assert problem.text == "free 30 A is not below stall 13 A: swapped?"


def test_a_row_that_would_make_energy_is_warned_of_with_its_size():
    (warning,) = read(motor=SECTIONS["motor"].replace("2.05 N*m", "3.1 N*m")).warnings
    exact = 3.1 / (26 - 1.4) / (24 * (1 - 1.4 / 26) / (2600 * math.tau / 60)) - 1
    assert warning.code == "SCN131"
    assert f"{exact * 100:.3g} % more than its speed and currents allow" in warning.text


def test_figures_for_another_voltage_are_said_to_be_scaled():
    (warning,) = read(supply="{battery: {open_circuit_voltage: 12.5 V, internal_resistance: 40 mohm}}").warnings
    assert warning.code == "SCN132"
    assert "scaled by 0.521" in warning.hint
