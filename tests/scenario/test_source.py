"""Files to trees: what cannot be read says why, and variants merge with every value keeping its place."""

import hashlib
import os

import pytest

from armsim.scenario import ScenarioError, load, loads
from tests.scenario.texts import SECTIONS, scenario_text

CONSTANTS = "{torque_constant: 80 mN*m/A, resistance: 0.9 ohm}"


def fault(path):
    with pytest.raises(ScenarioError) as caught:
        load(path)
    assert caught.value.exit_status == 2
    assert len(caught.value.problems) == 1, str(caught.value)
    return caught.value.problems[0]


def text_fault(text):
    with pytest.raises(ScenarioError) as caught:
        loads(text)
    assert len(caught.value.problems) == 1, str(caught.value)
    return caught.value.problems[0]


def write(folder, name, text):
    path = folder / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "is empty"),
        (b"# only a comment\n", "is empty"),
        (b"\x00\x01\x02\x03", "is not a text file"),
        (b"title: M\xfcller\n", "is not UTF-8 text (line 1)"),
        ("title: x\n".encode("utf-16"), "is not UTF-8 text"),
        (b"title: a\x07b\n", "characters that no text has"),
        (b"x" * 1_000_001, "is larger than 1000 kB"),
        (b"- a\n- b\n", "a scenario is made of lines such as"),
        (b"just words\n", "a scenario is made of lines such as"),
    ],
)  # fmt: skip
def test_a_file_that_is_no_scenario_says_why(tmp_path, data, words):
    assert words in fault(write(tmp_path, "s.yaml", data)).text


def test_a_file_that_is_not_there_or_not_a_file_says_so(tmp_path):
    assert fault(tmp_path / "none.yaml").text == "does not exist"
    assert fault(tmp_path).text == "is a folder"


@pytest.mark.skipif(os.geteuid() == 0, reason="the root user may read everything")
def test_a_file_that_may_not_be_read_says_so(tmp_path):
    path = write(tmp_path, "s.yaml", "title: x\n")
    path.chmod(0)
    assert fault(path).text == "may not be read by you"


@pytest.mark.parametrize(
    ("text", "code", "line", "words"),
    [
        ("a: &x 1\n", "SCN106", 1, "an anchor"),
        ("a: *x\n", "SCN106", 1, "an alias"),
        ("a: !!python/object:os.system x\n", "SCN106", 1, "a tag"),
        ("motor:\n  <<: {count: 1}\n", "SCN106", 2, "a merge key"),
        ("? [a]\n: b\n", "SCN106", 1, "a key that is not plain text"),
        ("title: x\n---\ntitle: y\n", "SCN106", 2, "a second document"),
        ("a: " + "[" * 40 + "\n", "SCN106", 1, "levels of nesting"),
        ("title: Crate: tipper\n", "SCN105", 1, "a second colon"),
        ("title: @home\n", "SCN105", 1, "cannot start with '@'"),
        ('title: "open\n', "SCN105", 1, "never closed"),
        ("title: x\n  start: 3\n", "SCN105", 2, "indent"),
        ("motor:\n  count: 1\n supply: 3\n", "SCN105", 3, "neither the list nor the section"),
    ],
)  # fmt: skip
def test_yaml_that_scenarios_do_without_is_refused_at_its_place(text, code, line, words):
    problem = text_fault(text)
    assert (problem.code, problem.line) == (code, line)
    assert words in problem.text


def test_a_heap_of_aliases_is_refused_before_it_grows():
    bomb = "a: &a [x, x, x, x]\n" + "".join(
        f"{chr(98 + k)}: &{chr(98 + k)} [*{chr(97 + k)}, *{chr(97 + k)}]\n" for k in range(20)
    )
    assert text_fault(bomb).code == "SCN106"


def test_the_hash_is_that_of_the_bytes_base_files_included(tmp_path):
    base = write(tmp_path, "base.yaml", scenario_text())
    variant = write(tmp_path, "variant.yaml", "variant_of: base.yaml\nstart: 5 deg\n")
    assert load(base).sha256 == hashlib.sha256(base.read_bytes()).hexdigest()
    assert load(variant).sha256 == hashlib.sha256(variant.read_bytes() + base.read_bytes()).hexdigest()


def test_a_variant_merges_sections_and_replaces_lists(tmp_path):
    write(tmp_path, "base.yaml", scenario_text(moves="[{lift: {to: 70 deg}}, {hold: {for: 2 s}}]"))
    variant = load(
        write(
            tmp_path, "v.yaml", "variant_of: base.yaml\narm: {payload: {mass: 3 kg}}\nmoves: [{lift: {to: 30 deg}}]\n"
        )
    )
    assert variant.machine.arm.payload_mass == 3.0
    assert variant.machine.arm.length == 0.6
    assert len(variant.plan.moves) == 1


def test_every_value_keeps_the_file_it_came_from(tmp_path):
    write(tmp_path, "base.yaml", scenario_text())
    variant = load(write(tmp_path, "v.yaml", "variant_of: base.yaml\nstart: 5 deg\n"))
    places = {entry.key: (os.path.basename(entry.place.file), entry.place.line) for entry in variant.entries}
    assert places["start"] == ("v.yaml", 2)
    assert places["arm.length"] == ("base.yaml", 5)


def test_a_fault_in_a_base_points_into_the_base(tmp_path):
    write(tmp_path, "base.yaml", scenario_text(start="5 kg"))
    problem = fault(write(tmp_path, "v.yaml", "variant_of: base.yaml\ntitle: another\n"))
    assert os.path.basename(problem.file) == "base.yaml"
    assert problem.source_line == "start: 5 kg"


def test_none_takes_a_key_out_of_the_base(tmp_path):
    write(tmp_path, "base.yaml", scenario_text(controller="{current_limit: 20 A}"))
    assert (
        load(
            write(tmp_path, "v.yaml", "variant_of: base.yaml\ncontroller: {current_limit: none}\n")
        ).machine.controller.current_limit
        is None
    )
    assert "no such key" in fault(write(tmp_path, "w.yaml", "variant_of: base.yaml\nrepeat: none\n")).text


def test_a_variant_that_gives_constants_drops_the_catalogue_row(tmp_path):
    write(tmp_path, "base.yaml", scenario_text())
    variant = load(write(tmp_path, "v.yaml", f"variant_of: base.yaml\nmotor: {CONSTANTS}\n"))
    assert (variant.machine.motor.torque_constant, variant.machine.motor.resistance) == (0.08, 0.9)


def test_a_variant_that_gives_a_row_drops_the_constants(tmp_path):
    write(tmp_path, "base.yaml", scenario_text(motor=CONSTANTS))
    variant = load(write(tmp_path, "v.yaml", f"variant_of: base.yaml\nmotor: {SECTIONS['motor']}\n"))
    assert variant.machine.motor.resistance == pytest.approx(24 / 26)


def test_a_variant_may_change_one_figure_of_the_row(tmp_path):
    write(tmp_path, "base.yaml", scenario_text())
    variant = load(write(tmp_path, "v.yaml", "variant_of: base.yaml\nmotor: {stall_current: 24 A}\n"))
    assert variant.machine.motor.resistance == pytest.approx(1.0)


def test_a_variant_may_give_the_wire_or_the_masses_another_way(tmp_path):
    supply = (
        "{battery: {open_circuit_voltage: 25 V, internal_resistance: 40 mohm}, wiring: {gauge: 10 AWG, length: 2 m}}"
    )
    write(tmp_path, "base.yaml", scenario_text(supply=supply))
    text = "variant_of: base.yaml\nsupply: {wiring: {resistance: 12 mohm}}\narm: {masses: [{mass: 2 kg, at: 0.5 m}]}\n"
    variant = load(write(tmp_path, "v.yaml", text))
    assert variant.machine.wiring_resistance == 0.012
    assert variant.machine.arm.first_moment == pytest.approx(2 * 0.5 + 8 * 0.6)


@pytest.mark.parametrize(
    ("base", "changes", "settled"),
    [
        ("chemistry: agm, cells: 12, capacity: 60 A*h, cold_cranking_current: 600 A",
         "internal_resistance: 20 mohm", 20.0),
        ("chemistry: agm, cells: 12, capacity: 60 A*h, internal_resistance: 20 mohm, resistance_method: ac",
         "cold_cranking_current: 600 A", 9.0),
        ("chemistry: agm, cells: 12, capacity: 60 A*h, parallel: 2, temperature: 0 degC, cold_cranking_current: 600 A",
         "open_circuit_voltage: 25 V, internal_resistance: 30 mohm", 30.0),
        ("open_circuit_voltage: 25 V, internal_resistance: 30 mohm, resistance_method: ac",
         "chemistry: agm, cells: 12, capacity: 60 A*h", 12.5),
    ],
)  # fmt: skip
def test_a_variant_may_give_the_battery_another_way(tmp_path, base, changes, settled):
    write(tmp_path, "base.yaml", scenario_text(supply=f"{{battery: {{{base}}}}}"))
    changed = f"variant_of: base.yaml\nsupply: {{battery: {{{changes}}}}}\n"
    battery = load(write(tmp_path, "v.yaml", changed)).machine.battery
    assert 1000.0 * (battery.resistance + battery.relaxation_resistance) == pytest.approx(settled)


def test_variants_may_vary_variants_and_circles_are_refused(tmp_path):
    write(tmp_path, "a.yaml", scenario_text())
    write(tmp_path, "deep/b.yaml", "variant_of: c.yaml\ntitle: b\n")
    write(tmp_path, "deep/c.yaml", "title: c\nvariant_of: b.yaml\n")
    assert "a circle" in fault(tmp_path / "deep" / "b.yaml").text
    write(tmp_path, "b.yaml", "variant_of: a.yaml\nstart: 3 deg\n")
    assert load(write(tmp_path, "c.yaml", "variant_of: b.yaml\ntitle: third\n")).title == "third"
    assert "a circle" in fault(write(tmp_path, "self.yaml", "variant_of: self.yaml\n")).text


@pytest.mark.parametrize("name", ["../outside.yaml", "inner/../../outside.yaml", "link.yaml"])
def test_a_base_outside_the_folder_is_refused_links_included(tmp_path, name):
    outside = write(tmp_path, "outside.yaml", scenario_text())
    home = tmp_path / "home"
    (home / "inner").mkdir(parents=True)
    (home / "link.yaml").symlink_to(outside)
    assert "lies outside the folder" in fault(write(home, "v.yaml", f"variant_of: {name}\n")).text


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("variant_of: none.yaml", "does not exist"),
        ("variant_of: [a, b]", "wants the name of one scenario file"),
        ("variant_of:", "wants the name of one scenario file"),
        ("variant_of: .", "is a folder"),
    ],
)  # fmt: skip
def test_a_base_that_cannot_be_read_is_told_at_the_line_that_names_it(tmp_path, line, words):
    problem = fault(write(tmp_path, "v.yaml", f"title: x\n{line}\n"))
    assert (problem.code, problem.line) == ("SCN107", 2)
    assert words in problem.text


def test_a_text_in_no_file_varies_none():
    assert "in no file" in text_fault("variant_of: base.yaml\n").text
