"""The JSON Schema for editors: it lets pass what people may write, underlines slips, and explains every key."""

import json
import re
from pathlib import Path

import jsonschema
import pytest
import yaml

from armsim.scenario import ScenarioError, load, loads, starter
from armsim.scenario.json_schema import json_schema, meaning, sections
from armsim.scenario.schema import ScenarioFile
from armsim.scenario.tables import key_meanings
from armsim.scenario.validate import fields_by_key

ROOT = Path(__file__).resolve().parents[2]
BAD = ROOT / "tests" / "bad"
GOOD = [*sorted((ROOT / "scenarios").glob("*.yaml")), *sorted((ROOT / "tests" / "cases").glob("*.yaml"))]
SCHEMA = json_schema()
CHECK = jsonschema.Draft7Validator(SCHEMA)
#: what is wrong whatever the values are: a key of another place, a list where none belongs, no unit, no such word
BY_STRUCTURE = ("SCN102", "SCN109", "SCN110", "SCN115")
#: words that no list holds: many are read for each chemistry, and which shafts there are depends on the stages
OPEN_WORDS = {"battery-other-chemistry", "battery-unknown-chemistry", "side-loads-shaft"}


class Core(yaml.SafeLoader):
    """YAML as most editors read it: by version 1.2, where 20:1 and `no` are text."""

    yaml_implicit_resolvers = {}  # noqa: RUF012  # a class attribute of the library


for tag, pattern, first in (
    ("bool", r"^(?:true|True|TRUE|false|False|FALSE)$", "tTfF"),
    ("int", r"^[-+]?[0-9]+$", "-+0123456789"),
    ("float", r"^[-+]?(?:\.[0-9]+|[0-9]+(?:\.[0-9]*)?)(?:[eE][-+]?[0-9]+)?$", "-+0123456789."),
    ("null", r"^(?:~|null|Null|NULL|)$", ["~", "n", "N", ""]),
):
    Core.add_implicit_resolver(f"tag:yaml.org,2002:{tag}", re.compile(pattern), list(first))

LOADERS = {"1.1": yaml.SafeLoader, "1.2": Core}
by_both_readers = pytest.mark.parametrize("reader", list(LOADERS.values()), ids=list(LOADERS))


def read(text, reader):
    return yaml.load(text, Loader=reader)


def faults(text, reader=Core):
    return [f"{list(fault.absolute_path)}: {fault.message}" for fault in CHECK.iter_errors(read(text, reader))]


def test_it_is_a_schema_that_editors_know():
    jsonschema.Draft7Validator.check_schema(SCHEMA)
    text = json.dumps(SCHEMA)
    assert SCHEMA["$schema"].endswith("draft-07/schema#")
    assert "prefixItems" not in text
    assert "$defs" not in text


@by_both_readers
@pytest.mark.parametrize("path", GOOD, ids=lambda path: path.stem)
def test_what_runs_passes(path, reader):
    assert faults(path.read_text(encoding="utf-8"), reader) == []


@by_both_readers
def test_the_starter_passes(reader):
    assert faults(starter(), reader) == []


def wrong_by_structure():
    for path in sorted(BAD.glob("*.yaml")):
        answer = path.with_suffix(".txt")
        if (
            path.stem not in OPEN_WORDS
            and answer.exists()
            and any(code in answer.read_text(encoding="utf-8") for code in BY_STRUCTURE)
        ):
            yield path


@pytest.mark.parametrize("path", list(wrong_by_structure()), ids=lambda path: path.stem)
def test_what_is_wrong_by_structure_is_underlined(path):
    assert faults(path.read_text(encoding="utf-8")) != []


def test_there_are_enough_that_are_wrong_by_structure():
    assert len(list(wrong_by_structure())) > 25


START = starter()


@pytest.mark.parametrize(
    ("typed", "instead", "where"),
    [
        ("stall_torque: 0.42 N*m", "stall_torqe: 0.42 N*m", "stall_torqe"),
        ("stall_torque: 0.42 N*m", "stall_torque: 2.0", "stall_torque"),
        ("stall_torque: 0.42 N*m", 'stall_torque: "2e0"', "stall_torque"),
        ("stall_torque: 0.42 N*m", "stall_torque: [2 N*m]", "stall_torque"),
    ],
)
def test_one_slip_in_the_starter_is_underlined_where_it_is(typed, instead, where):
    assert typed in START
    (fault,) = faults(START.replace(typed, instead))
    assert where in fault


WHOLE = """
title: T
motor: {nominal_voltage: 24 V, no_load_speed: 2600 rpm, no_load_current: 1 A, stall_torque: 2 N*m, stall_current: 26 A}
supply: {battery: {open_circuit_voltage: 25 V, internal_resistance: 40 mohm}}
transmission: [{gears: {driver: 14, driven: 700}}]
arm: {length: 0.6 m, mass: 1 kg}
start: 0
moves: [{lift: {to: 70 deg}}]
"""


def test_a_small_whole_scenario_passes_and_runs():
    assert loads(WHOLE).title == "T"
    assert faults(WHOLE) == []


@pytest.mark.parametrize(
    ("typed", "instead"),
    [
        ("title: T\n", ""),
        ("length: 0.6 m, ", ""),
        ("driver: 14, ", ""),
        ("{lift: {to: 70 deg}}", "{lift: {}}"),
        ("{lift: {to: 70 deg}}", "{lift: {to: 70 deg}, rest: {for: 2 s}}"),
        ("{lift: {to: 70 deg}}", "{lift: {to: up}}"),
        ("[{lift: {to: 70 deg}}]", "{lift: {to: 70 deg}}"),
        ("start: 0", "start: 0\narms: 2"),
        ("driven: 700", "driven: 14.5"),
        ("driven: 700", "driven: 700, efficiency: 95"),
        ("driven: 700", "driven: 700, internal: maybe"),
        ("driven: 700", "driven: 700, material: cheese"),
    ],
)
def test_what_the_program_refuses_for_its_form_is_underlined(typed, instead):
    assert typed in WHOLE
    changed = WHOLE.replace(typed, instead)
    with pytest.raises(ScenarioError):
        loads(changed)
    assert faults(changed) != []


STAGES = "[{gears: {driver: 14, driven: 700}}]"
BATTERY = "resistance: 40 mohm}"
LENGTHS = ("24 in", "1/2 m", "1' 11\"", '"0,6 m"', ".6m", "½ m", "6e-1 m")
CURVE = "[[2, 4 s, 20 s], [4, 1 s, 4 s], [8, 0.1 s, 1 s]]"
WAYS = [
    *(("length: 0.6 m", f"length: {way}") for way in LENGTHS),
    ("stall_torque: 2 N*m", "stall_torque: 14 in*lbf"),
    ("stall_torque: 2 N*m", 'stall_torque: "2 N·m"'),
    ("start: 0", "start: −5 deg"),
    ("start: 0", "start: 5°"),
    ("driver: 14", "driver: 14T"),
    ("driver: 14", "driver: {teeth: 14 teeth, material: Brass}"),
    ("driven: 700", "driven: 700, efficiency: 95 %"),
    ("driven: 700", "driven: 700, efficiency: .95, material: PRINTED, internal: No"),
    ("mass: 1 kg", "mass: 1 kg, plane: horizontal"),
    ("mass: 1 kg", "mass: 1 kg, plane: {tilt: 30 deg}"),
    (BATTERY, BATTERY + ", wiring: {gauge: 10, length: 2 m}"),
    (BATTERY, BATTERY + ", wiring: [{area: 6 mm^2, length: 2 m}, {gauge: 10 AWG, length: 1 m}]"),
    (BATTERY, BATTERY + ", protection: [{kind: own-curve, rating: 30 A, curve: " + CURVE + "}]"),
    (STAGES, "[{gearbox: {reduction: 100:1, efficiency: 0.7}}]"),
    (STAGES, "[{gearbox: {reduction: 100, efficiency: 70 percent}}]"),
    (STAGES, "[{chain: {number: 40, driver: 13, driven: 44}}, {gearbox: {reduction: 50, efficiency: 70 %}}]"),
]


@by_both_readers
@pytest.mark.parametrize(("typed", "instead"), WAYS)
def test_every_way_of_writing_that_is_read_passes(typed, instead, reader):
    assert typed in WHOLE
    changed = WHOLE.replace(typed, instead)
    loads(changed)
    assert faults(changed, reader) == []


def test_a_variant_need_not_be_whole_and_may_take_keys_out(tmp_path):
    (tmp_path / "base.yaml").write_text(WHOLE.replace("mass: 1 kg", "mass: 1 kg, payload: {mass: 2 kg, at: 0.5 m}"))
    variant = (
        "variant_of: base.yaml\ntitle: V\narm: {payload: {at: none}, stops: {lower: -5 deg}}\ntransmission: none\n"
    )
    (tmp_path / "v.yaml").write_text(variant)
    assert load(tmp_path / "v.yaml").title == "V"
    assert faults(variant) == []
    for out in ("arm: {payload: none}", "motor: {stall_torque: none}", "repeat: none", "controller: {when_off: none}"):
        assert faults(f"variant_of: base.yaml\n{out}\n") == []
    assert faults("variant_of: base.yaml\nmoves: [{lift: {duty: 0.5}}]\n") != []  # a list replaces the base's


def test_every_key_is_explained_and_no_explanation_is_left_over():
    every = [ScenarioFile, *sections()]
    told = {(kind.__name__, key) for model in every for kind in model.__mro__ for key in fields_by_key(model)
            if key in key_meanings().get(kind.__name__, {})}  # fmt: skip
    assert {(name, key) for name, keys in key_meanings().items() for key in keys} == told
    unexplained = [
        f"{model.__name__}.{key}" for model in every for key in fields_by_key(model) if not meaning(model, key)
    ]
    assert unexplained == []


def test_every_property_of_the_schema_has_its_description_with_the_units():
    properties = [
        (name, key, form)
        for name, section in [("", SCHEMA), *SCHEMA["definitions"].items()]
        for key, form in section["properties"].items()
    ]
    assert len(properties) > 300
    assert [(name, key) for name, key, form in properties if not form.get("description")] == []
    torque = SCHEMA["definitions"]["Motor"]["properties"]["stall_torque"]["description"]
    assert "in-lb" in torque
    assert "held still" in torque


def test_words_are_listed_for_completion():
    def words(section, key):
        return SCHEMA["definitions"][section]["properties"][key]["anyOf"][0]["enum"]

    assert words("Controller", "when_off") == ["shorted", "open"]
    assert "own-curve" in words("Protection", "kind")
    assert "blade-fuse" in words("Protection", "kind")
    assert {"40", "08B"} <= set(words("Chain", "number"))
    assert "5M" in words("Belt", "profile")
    assert SCHEMA["definitions"]["Controller"]["properties"]["when_off"]["default"] == "open"
