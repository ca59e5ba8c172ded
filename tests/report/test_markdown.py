"""report.md: sections in order, text of people kept harmless, and a sentence with numbers for every figure."""

import re
from dataclasses import replace

import pytest

from armsim.report.cautions import CAUTIONS
from armsim.report.drawing import house_style
from armsim.report.figures import pictures
from armsim.report.markdown import report
from armsim.report.marking import code, escape, paragraphs, prose
from armsim.report.tables import torque_cells
from tests.report import sample

SOMETIMES = {
    "Position loop": "Angle and speed",
    "Duty and what the motor bears": "Temperatures",
    "Cycles": "Duty and what the motor bears",
    "Battery": "Currents and bus voltage",
    "Wiring": "Battery",
    "Holds and rests": "Wiring",
}  #: and what each comes after
SECTIONS = [
    "Verdict",
    "Numbers that matter",
    "What happened",
    "Angle and speed",
    "Currents and bus voltage",
    "Temperatures",
    "Torque needed and available",
    "Motor",
    "Drivetrain",
    "Holding and power loss",
    "Energy",
    "Findings",
    "Parts list",
    "Assumptions",
    "What is not modelled",
    "Cautions",
    "How to reproduce",
]


def written(case):
    scenario, assessment = case()
    with house_style():
        return report(scenario, assessment, list(pictures(assessment)))


@pytest.fixture(scope="module", params=["lifting", "stalling", "looped", "repeated", "checked", "sprung"])
def text(request):
    return written(getattr(sample, request.param))


@pytest.fixture(scope="module")
def lifted():
    return written(sample.lifting)


def test_every_section_is_there_in_order_and_none_is_empty(text):
    found = re.findall(r"^## (.+)$", text, re.M)
    assert [heading for heading in found if heading not in SOMETIMES] == SECTIONS
    for heading, before in SOMETIMES.items():
        assert heading not in found or found[found.index(heading) - 1] == before
    for body in re.split(r"^## .+$", text, flags=re.M)[1:]:
        assert body.strip()


def cells_of(line):
    return re.split(r"(?<!\\)\|", line)[1:-1]


def test_every_table_has_as_many_cells_in_each_row_as_in_its_head(text):
    for block in re.findall(r"(?:^\|.*\|$\n)+", text, re.M):
        head, *rows = block.strip().splitlines()
        assert len(rows) >= 2
        assert {len(cells_of(row)) for row in rows} == {len(cells_of(head))}


def test_tables_and_pictures_stand_alone_between_blank_lines(text):
    lines = text.splitlines()
    for k, line in enumerate(lines):
        if line.startswith("|") and not lines[k - 1].startswith("|"):
            assert lines[k - 1] == ""
        if line.startswith("!["):
            assert lines[k - 1] == lines[k + 1] == ""


def test_each_picture_has_a_sentence_for_alternative_text_and_the_same_fact_below(lifted):
    found = re.findall(r"^!\[(.+)\]\((.+)\.png\)\n\n(.+)$", lifted, re.M)
    assert [name for _, name, _ in found] == [
        "motion",
        "currents",
        "trips",
        "temperatures",
        "torques",
        "motor",
        "schematic",
        "power-loss",
        "energy",
    ]
    for alt, _, below in found:
        assert alt.endswith(".")
        assert re.search(r"\d", alt)
        assert not re.search(r"[\[\]|`]", alt)
        assert alt[:30] in below


@pytest.mark.parametrize(
    ("typed", "shown"),
    [
        ("a | b", r"a \| b"),
        ("two\nlines", "two lines"),
        ("*bold* _and_ `code` <b> $x$ [a](b)", r"\*bold\* \_and\_ \`code\` \<b\> \$x\$ \[a\](b)"),
        ("back\\slash", r"back\\slash"),
        ("0.62 m", "0.62 m"),
    ],
)
def test_text_of_a_person_is_shown_as_typed_and_breaks_nothing(typed, shown):
    assert escape(typed) == shown


def test_free_text_cannot_become_a_heading_or_a_list():
    assert paragraphs("# one\n\n- two\n\n3. three\n\nfour\nfive\n\n2.5 m") == "\n\n".join(
        [r"\# one", r"\- two", r"3\. three", "four five", "2.5 m"]
    )


def test_keys_are_shown_as_code_and_units_typeset():
    assert code("power_cut") == "`power_cut`"
    assert code("a|b`") == r"`a\|b'`"
    assert prose("3 N*m and 2*2") == r"3 N·m and 2\*2"


def test_shipped_defaults_derived_and_given_values_are_marked_apart(lifted):
    section = lifted.split("## Assumptions")[1].split("\n## ")[0]
    default, derived, given = (section.index(x) for x in ("arm.payload.at", "motor.inductance", "arm.length"))
    assert section.index("Shipped defaults") < default < section.index("Derived") < derived < section.index("Given")
    assert section.index("Given") < given
    assert "Given in crate-tipper.yaml, as typed" in section
    assert "| line 31 |" in section


def test_the_file_of_most_given_values_is_named_once_and_any_other_at_its_values():
    scenario, assessment = sample.checked()
    (entry,) = scenario.entries
    base = [replace(entry, key=key, place=replace(entry.place, file="base.yaml", line=4)) for key in ("a", "b")]
    section = report(replace(scenario, entries=(entry, *base)), assessment, []).split("## Assumptions")[1]
    assert "Given in base.yaml where no other file is named, as typed" in section
    assert "| line 31 of crate-tipper.yaml |" in section
    assert section.count("| line 4 |") == 2


def test_the_parts_list_sums_what_is_known_and_nothing_else(lifted):
    section = lifted.split("## Parts list")[1].split("\n## ")[0]
    assert "| total |  | 56 | not known |  |" in section
    assert r"motor \| 24 V" in section
    assert "invented here" in section


def test_gravity_alone_has_a_column_where_springs_carry_of_it():
    head, first, *_ = torque_cells(sample.sprung()[1])
    assert head[:3] == ("angle", "gravity alone", "needed")
    # at -30 deg: 6 g cos(30 deg); 30 * 140 deg carried, 0.9 of friction on top
    assert first[:3] == ("-30 deg", "50.96 N*m", "-21.45 N*m")
    assert "gravity alone" not in torque_cells(sample.checked()[1])[0]


def test_every_requirement_stands_in_the_verdict_table(lifted):
    section = lifted.split("## Verdict")[1].split("\n## ")[0]
    assert "Verdict: **FAIL** (not met: holds unpowered)." in section
    assert re.search(r"\| PASS \| lift time \| 0\.\d+ s \| at most 2\.5 s \| 1\.\d+ s \|", section)


def test_it_says_how_to_reproduce_without_a_path_or_a_clock(lifted):
    scenario, assessment = sample.lifting()
    section = lifted.split("## How to reproduce")[1]
    assert "`armsim run crate-tipper.yaml --output DIR`" in section
    assert scenario.sha256 in section
    assert f"{assessment.run.costs.evaluations} evaluations" in section
    assert "orchard/" not in lifted
    assert not re.search(r"\d\d:\d\d", lifted)


def test_all_cautions_are_in_every_report(text):
    assert all(prose(caution) in text for caution in CAUTIONS)


def test_a_stall_is_told_with_what_would_mend_it():
    text = written(sample.stalling)
    assert "DOES NOT LIFT" in text.split("## Verdict")[0]
    assert "What would make it lift" in text
    assert "does not help" in text


def test_a_scenario_without_extras_still_makes_a_report():
    scenario, assessment = sample.checked()
    bare = replace(
        scenario, path=None, about="", parts_list=(), entries=(), assumptions=(), warnings=(), requirements=()
    )
    text = report(bare, replace(assessment, requirements=(), findings=(), verdict="none"), [])
    assert [found for found in re.findall(r"^## (.+)$", text, re.M) if found not in SOMETIMES] == SECTIONS
    assert "states no requirements" in text


def test_a_long_text_is_not_printed_twice_among_what_was_given():
    scenario, assessment = sample.checked()
    about = "The gate lets water into the press yard, and nobody has to stand in it while it moves, for once."
    entry = replace(scenario.entries[0], key="about", typed=about, understood=about)
    section = report(replace(scenario, entries=(entry,)), assessment, []).split("## Assumptions")[1]
    (row,) = (line for line in section.splitlines() if line.startswith("| `about`"))
    assert row.count(about) == 1
    assert "| as typed |" in row
