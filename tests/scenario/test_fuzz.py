"""No text whatsoever gives a traceback: it is a scenario, or it is refused with places."""

import re

from hypothesis import given, settings
from hypothesis import strategies as st

from armsim.scenario import ScenarioError, loads, starter
from armsim.scenario.problems import CODES
from tests.scenario.texts import scenario_text

LINES = starter().splitlines()
VALUES = [
    "", "~", "[]", "{}", "[1, 2]", "{a: b}", "-1", "0", "1e9", "1e-9", "12 V", "3 kg", "yes", "none", "worst",
    "1:30", "20:1", "#25", ".inf", "*x", "&x", "!t", "'", '"', "[[0, 1 V], [1, 2 V]]", "{to: 3 deg}", "[{}]", "\t",
    "1/0", "9'6\"",
    "\u00bd in", "x: y", "- z", "\u2028", "0 m",
]  # fmt: skip


def refusal(text):
    """The refusal of a text, None if it is taken."""
    try:
        loads(text)
    except ScenarioError as error:
        return error
    return None


def outcome(text):
    error = refusal(text)
    if error is None:
        return
    assert str(error).startswith("scenario.yaml: ")
    assert error.problems
    for problem in error.problems:
        assert problem.code in CODES
        assert problem.text
        assert problem.line <= len(text) + 2


@given(st.text(max_size=200))
def test_any_text_is_read_or_refused(text):
    outcome(text)


@given(st.text(alphabet="ab:- \n\t[]{}#\"'&*!|>%@,?0", max_size=60))
def test_any_heap_of_yaml_signs_is_read_or_refused(text):
    outcome(text)


@st.composite
def mutated(draw):
    lines = list(LINES)
    for _ in range(draw(st.integers(1, 4))):
        at = draw(st.integers(0, len(lines) - 1))
        kind = draw(st.sampled_from(["drop", "double", "value", "inner", "letter", "swap"]))
        line = lines[at]
        if kind == "drop":
            lines[at] = ""
        elif kind == "double":
            lines.insert(at, line)
        elif kind == "value" and ":" in line:
            lines[at] = f"{line.split(':')[0]}: {draw(st.sampled_from(VALUES))}"
        elif kind == "inner" and line.count(":") > 1:
            head, _, tail = line.rpartition(": ")
            lines[at] = f"{head}: {draw(st.sampled_from(VALUES))}{tail[tail.find('}') :] if '}' in tail else ''}"
        elif kind == "letter" and line:
            k = draw(st.integers(0, len(line) - 1))
            lines[at] = line[:k] + draw(st.sampled_from(list('x :,{}[]-#"0.µ'))) + line[k + 1 :]
        else:
            other = draw(st.integers(0, len(lines) - 1))
            lines[at], lines[other] = lines[other], lines[at]
    return "\n".join(lines) + "\n"


@settings(max_examples=400)
@given(mutated())
def test_a_scenario_with_slips_of_the_pen_is_read_or_refused(text):
    outcome(text)


KEYS = [
    "title", "motor", "supply", "arm", "start", "moves", "transmission", "requirements", "controller", "repeat",
    "power_cut", "parts_list", "ambient",
]  # fmt: skip


@settings(max_examples=200)
@given(st.dictionaries(st.sampled_from(KEYS), st.sampled_from(VALUES), max_size=13))
def test_any_value_in_any_section_is_read_or_refused(sections):
    outcome("".join(f"{key}: {value}\n" for key, value in sections.items()))


MOTORS = [
    "measured: [{speed: 4925 rpm, torque: 0.05 N*m, current: 4.8 A},"
    " {speed: 4524 rpm, torque: 0.25 N*m, current: 13 A},"
    " {speed: 3239 rpm, torque: 0.9 N*m, current: 42 A, voltage: 12 V, efficiency: 60 %}]",
    "bench: [{torque: 0.2 N*m, current: 4 A}, {torque: 0.6 N*m, current: 9 A},"
    " {torque: 1.2 N*m, current: 17 A, stalled: yes}]",
    "label: {power: 212 W, voltage: 12 V, speed: 4000 rpm, current: 24.6 A, locked_rotor_current: 120 A}",
    "servo: {voltage: 6 V, stall_torque: 12 kg-cm, time_for_60_deg: 0.17 s, stall_current: 2.1 A}",
    "nominal_voltage: 12 V", "no_load_speed: 2600 rpm", "no_load_current: 1.4 A", "stall_torque: 2 N*m",
    "stall_current: 26 A", "resistance: 0.5 ohm", "torque_constant: 54 mN*m/A", "built_in_reduction: 50",
    "built_in_efficiency: 0.7", "built_in_reverse_efficiency: -0.2", "built_in_peak_torque: 3 N*m", "count: 2",
    "breakaway_friction: 0.1 N*m",
]  # fmt: skip


@given(st.lists(st.sampled_from(MOTORS), max_size=6, unique=True), st.randoms())
def test_any_mixture_of_ways_to_describe_a_motor_is_read_or_refused(keys, random):
    changed = re.sub(
        r"(?<=[ ])([0-9.]+)(?= )", lambda n: f"{float(n[1]) * 10 ** random.choice((-3, 0, 0, 0, 3)):g}", ", ".join(keys)
    )
    outcome(scenario_text(motor=f"{{{changed}}}"))
