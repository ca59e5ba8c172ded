"""What a comparison says: the answer first, every mark a word, nothing lost where there are many."""

import csv
import json
import math
import re
from dataclasses import replace
from io import StringIO

import pytest

from armsim.checks.assessment import Finding, Level
from armsim.report.compare_contract import KEYS, comparison_csv, comparison_json
from armsim.report.compare_markdown import comparison_report
from armsim.report.compare_table import assumption_lines, measure_lines, parts_lines
from armsim.report.compare_terminal import comparison_text
from armsim.report.compare_words import MANY, conclusion
from armsim.scenario import Problem
from armsim.studies.compare import MEASURES, Comparison
from tests.studies.proposals import PARTS, TAKEN, A, B, C, D, asked, entry, failure


def of(*outcomes, left=()):
    return Comparison(outcomes=outcomes, left=left)


def told(*outcomes, left=()):
    return "\n".join(conclusion(of(*outcomes, left=left)))


def cells(comparison, name):
    return next(line.cells for line in measure_lines(comparison) if line.name == name)


def with_entries(one, *entries):
    return replace(one, inputs=replace(one.inputs, entries=entries))


# -------------------------------------------------------------------------------------------------------- conclusion


def test_the_conclusion_says_who_passes_whom_to_take_and_what_each_costs():
    lines = conclusion(of(A, B, C, D))
    assert lines[0] == "3 of 4 meet every requirement: a, b and c."
    assert lines[1] == (
        "Take a or b: a has the least lift time (1 s); b has the least peak supply current (10 A) and the least price "
        "of the parts (60)."
    )
    # b and c are the cheapest that pass at 60: a is 30 dearer, half as much again; d is 20 cheaper and fails
    assert (
        "The cheapest that passes is b at 60; a costs 30 more (50 %); c costs the same; d costs 20 less (33 %)."
        in lines
    )
    assert "c is beaten by b: better in nothing that counts, worse in peak supply current." in lines
    assert "d fails: misses lift time and rest time by 0.5 s. DOES NOT LIFT: stalls." in lines


def test_one_price_is_said_once():
    assert "All whose price is known cost the same: 60." in told(B, C, replace(C, label="e"))


def test_a_single_choice_is_said_with_its_reason():
    assert "Take b: it is the only one that passes." in told(B, D)
    assert "Take b: of those that pass, no other is better in anything that counts." in told(B, C)
    assert told(D, replace(D, label="e")).startswith("None of 2 meets every requirement.")


def test_what_counts_is_stated_with_what_is_left_out_and_why():
    text = told(A, replace(B, values=B.values | {"price": None}))
    assert text.endswith(
        "What counts: verdict, lift time, peak supply current, static margin and energy a cycle, to the digits shown; "
        "price of the parts is not known of all and left out; mass of the parts is known of none."
    )


def test_findings_speak_against_those_to_choose_from_and_no_others():
    warned = Finding(level=Level.WARNING, code="falls-unpowered", where="power_cut", text="It falls.")
    text = told(replace(A, findings=(warned,)), B, replace(C, findings=(warned,)))
    assert text.count("falls-unpowered") == 1
    assert "Before you take a, read its findings: warning falls-unpowered." in text


def test_different_tasks_are_named_and_different_machines_are_not():
    heavy, light = entry("arm.payload.mass", "9 kg", 9.0), entry("arm.payload.mass", "4 kg", 4.0)
    moves = entry("moves[0].lift.to", "1 deg", 1.0), entry("moves[0].lift.to", "2 deg", 2.0)
    doubt = "They are not put to the same task"
    assert f"{doubt}: arm payload differs." in told(with_entries(A, heavy), with_entries(B, light))
    both = told(with_entries(A, heavy, moves[0]), with_entries(B, light, moves[1]))
    assert f"{doubt}: moves and arm payload differ." in both
    motors = entry("motor.count", "1", 1), entry("motor.count", "2", 2)
    assert doubt not in told(with_entries(A, motors[0]), with_entries(B, motors[1]))
    names = entry("arm.payload_clamp", "x"), entry("arm.payload_clamp", "y")  # only begins alike
    assert doubt not in told(with_entries(A, names[0]), with_entries(B, names[1]))


def test_those_not_run_and_not_come_to_are_told():
    problem = Problem(code="SCN102", file="x.yaml", line=3, column=1, key="motor.torq", text="unknown key", hint="")
    text = told(A, B, replace(failure("x", "long", 2), problems=(problem, problem)), failure("y"), left=("z",))
    assert "x could not be run: line 3, motor.torq: unknown key (and 1 more)." in text
    assert "y could not be run: the solver gave up." in text
    assert "Interrupted: z not done." in text


def test_many_are_told_in_few_lines_that_account_for_each():
    many = [replace(C, label=f"c{k}", values=C.values | {"supply_current_peak": 11.0 + k}) for k in range(40)]
    lost = [replace(D, label=f"d{k}", values=D.values | {"price": 200.0 + k}) for k in range(20)]
    lines = conclusion(of(B, *many, *lost))
    assert len(lines) < 10
    assert lines[0] == "41 of 61 meet every requirement: b, c0, c1, c2, c3, c4 and 35 more."
    assert (
        "c0, c1, c2, c3, c4, c5 and 54 more are beaten by b: better in nothing that counts, worse in something."
        in lines
    )
    assert (
        "d0, d1, d2, d3, d4, d5 and 14 more fail: they miss lift time (20 of them) and rest time (20 of them)." in lines
    )
    # 60 and 60 against 200 to 219
    assert "The cheapest that passes is b at 60; the others cost from the same to 159 more (260 %)." in lines
    assert MANY == 6


# ------------------------------------------------------------------------------------------------------------- tables


def test_every_mark_is_a_word():
    comparison = of(replace(A, requirements=(asked(True, 0.25),)), B, D)
    assert cells(comparison, "verdict") == ("PASS", "PASS", "FAIL")
    assert cells(comparison, "requirement: lift time") == ("PASS 0.25 s", "-", "FAIL")
    assert cells(comparison, "requirement: rest time") == ("-", "-", "FAIL -0.5 s")
    assert cells(comparison, "lift time") == ("1 s, best", "2 s", "FAIL, does not arrive")
    assert cells(comparison, "peak supply current") == ("20 A", "10 A, best", "30 A")
    assert cells(of(B, C), "beaten by") == ("-", "b")


def test_a_requirement_that_cannot_be_judged_is_open():
    assert cells(of(replace(A, requirements=(asked(None),)), B), "requirement: lift time")[0] == "OPEN"


def test_measures_known_of_none_have_no_row():
    names = [line.name for line in measure_lines(of(A, B))]
    assert "price of the parts" in names
    assert "mass of the parts" not in names


def test_parts_lists_stand_side_by_side_and_add_up():
    other = (replace(PARTS[0], quantity=1),)
    both = [replace(one, inputs=replace(one.inputs, parts_list=parts)) for one, parts in ((A, PARTS), (B, other))]
    lines = {line.name: line.cells for line in parts_lines(of(*both))}
    assert lines["motor"] == ("2 at 30, 1.5 kg", "1 at 30, 1.5 kg")
    assert lines["chain | long"] == ("1 at 12.5, not known", "-")
    assert lines["price of all"] == ("72.5", "30")  # 2 * 30 + 12.5, and 30
    assert lines["mass of all"] == ("not known", "1.5 kg")
    assert parts_lines(of(A, B)) == []


def test_assumptions_are_parted_into_shared_and_not():
    mine = replace(TAKEN, text="20 degC around the machine")
    both = (
        replace(A, inputs=replace(A.inputs, assumptions=(TAKEN,))),
        replace(B, inputs=replace(B.inputs, assumptions=(mine,))),
    )
    assert assumption_lines(of(*both)) == ([], [("ambient", (TAKEN.text, mine.text))])
    assert assumption_lines(of(both[0], replace(both[0], label="x"))) == ([("ambient", (TAKEN.text,))], [])


# ----------------------------------------------------------------------------------------------------------- terminal


def body(text, title):
    return next(part for part in text.split("\n\n") if part.startswith(title)).splitlines()[1:]


@pytest.mark.parametrize("width", [60, 80, 112, 200])
@pytest.mark.parametrize("count", [2, 5, 12, 40])
def test_no_line_is_wider_than_the_terminal_and_everyone_is_in_it(width, count):
    many = [replace(A, label=f"proposal-{k}") for k in range(count)]
    text = comparison_text(of(*many), width)
    assert max(map(len, text.splitlines())) <= width
    measures = text[text.index("\nMeasures") :]
    for one in many:
        assert re.search(rf"\b{one.label}\b", measures)


def test_columns_that_do_not_fit_go_into_blocks_that_say_which():
    text = comparison_text(of(*(replace(A, label=f"proposal-{k:02}") for k in range(6))), 80)
    assert "Measures, scenarios 1 to 4 of 6" in text
    assert "Measures, scenarios 5 to 6 of 6" in text


def test_with_many_each_has_a_row_of_what_decides():
    text = comparison_text(of(*(replace(A, label=f"p{k:02}") for k in range(40)), C), 100)
    rows = body(text, "Measures")
    assert sum(row.startswith("  p") for row in rows) == 40
    assert len(rows) < 50
    assert next(row for row in rows if row.startswith("  c")).split() == [
        *("c", "PASS", "2", "s", "11", "A,", "best", "2", "100", "J", "60,", "best")
    ]


def test_what_is_typed_cannot_drive_the_terminal_nor_break_its_lines():
    text = comparison_text(
        of(
            with_entries(A, entry("motor.source", "\x1b[31mred\nnext")),
            with_entries(B, entry("motor.source", "x" * 200)),
        ),
        100,
    )
    assert "\x1b" not in text
    assert "[31mred next" in text
    assert "x" * 45 + "..." in text
    assert "x" * 46 not in text


def test_alike_inputs_are_said_to_be_so():
    assert comparison_text(of(A, B), 100).endswith("The inputs do not differ.")
    assert comparison_text(of(failure("x")), 100).splitlines()[1] == "  None could be judged."


# ------------------------------------------------------------------------------------------------------- JSON and CSV


def test_the_object_has_every_key_for_judged_and_failed_alike():
    answer = comparison_json(of(A, failure("x"), C, B, left=("z",)))
    json.dumps(answer, allow_nan=False)
    good, bad, _, _ = answer["scenarios"]
    assert set(good) == set(bad)
    assert bad["error"] == {"status": 3, "text": "the solver gave up", "problems": []}
    assert good["error"] is None
    assert good["measures"] == {KEYS[m.name]: A.values[m.name] for m in MEASURES}
    assert answer["not_done"] == ["z"]
    assert answer["choice"] == ["a", "b"]
    assert answer["beaten"] == [{"label": "c", "by": "b", "worse_in": ["supply_peak_a"]}]
    assert answer["counted"] == [
        "verdict",
        "lift_time_s",
        "supply_peak_a",
        "static_margin",
        "energy_per_cycle_j",
        "price",
    ]
    assert answer["not_counted"] == []
    assert answer["best"]["lift_time_s"] == ["a"]
    assert set(KEYS) == {m.name for m in MEASURES}


def test_differences_say_what_was_typed_and_where():
    answer = comparison_json(of(with_entries(A, entry("repeat", "2", 2, line=7)), B))
    where = {"typed": "2", "understood": "2", "file": "x.yaml", "line": 7}
    assert answer["differences"] == [{"key": "repeat", "values": {"a": where, "b": None}}]
    assert answer["asked_apart"] == ["repeat"]


def test_the_csv_has_a_row_a_scenario_and_empty_cells_where_nothing_is_known():
    odd = replace(A, label='a, "quoted"', values=A.values | {"static_margin": math.inf, "holds_unpowered": True})
    rows = list(csv.DictReader(StringIO(comparison_csv(of(odd, failure("x", "gave up\nand more"), B, C, D)))))
    assert [row["label"] for row in rows] == ['a, "quoted"', "x", "b", "c", "d"]
    assert (rows[0]["lift_time_s"], rows[0]["static_margin"], rows[0]["unpowered_holds"]) == ("1.0", "", "yes")
    assert (rows[1]["verdict"], rows[1]["error"]) == ("", "gave up")
    assert rows[3]["beaten_by"] == "b"
    assert (rows[4]["lift_time_met"], rows[4]["lift_time_s"]) == ("no", "")


# --------------------------------------------------------------------------------------------------------- the report


def test_the_report_opens_with_the_conclusion_and_links_each_report():
    text = comparison_report(of(A, B, failure("x"), left=("z",)), [])
    sections = re.findall(r"^## (.*)", text, re.MULTILINE)
    assert sections == [
        "Conclusion", "What is compared", "Measures", "Trade-off", "Over time", "Margin over the travel",
        "What differs between the inputs", "Findings", "Parts lists", "Assumptions that differ",
        "Assumptions shared by all", "Cautions", "How to reproduce",
    ]  # fmt: skip
    assert text.split("## Conclusion\n\n")[1].startswith("- **All 2 meet every requirement: a and b.**\n")
    assert "[a](runs/a/report.md)" in text
    assert "runs/x/" not in text
    assert "runs/z/" not in text


def test_text_of_people_cannot_break_the_report_s_tables():
    nasty = replace(A, inputs=replace(A.inputs, title="A | b\n## c `d`", parts_list=PARTS))
    text = comparison_report(of(nasty, with_entries(B, entry("motor.source", "x | y `z`"))), [])
    assert not re.search(r"^## c", text, re.MULTILINE)
    for block in re.findall(r"(?:^\|.*\n?)+", text, re.MULTILINE):
        counts = {len(re.findall(r"(?<!\\)\|", line)) for line in block.splitlines()}
        assert len(counts) == 1, block


def test_many_scenarios_stand_in_several_tables_of_the_report():
    text = comparison_report(of(*(replace(A, label=f"p{k}") for k in range(14))), [])
    measures = text[text.index("## Measures") : text.index("## Trade-off")]
    heads = [line for line in measures.splitlines() if re.match(r"\| +\| p\d", line)]
    assert [len(re.findall(r"p\d+", head)) for head in heads] == [6, 6, 2]


def test_the_same_comparison_makes_the_same_text_without_a_clock():
    one, other = (comparison_report(of(A, B, C, D), []) for _ in range(2))
    assert one == other
    assert not re.search(r"\b20\d\d-\d\d|\b\d\d:\d\d", one)
