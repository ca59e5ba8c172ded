"""What `armsim parts` prints: every figure of the data files, in aligned columns with units in their heads."""

import json

import pytest

from armsim.data.catalogue import KINDS, table
from armsim.report.catalogue import overview, overview_json, table_json, text


def test_the_overview_has_a_line_for_each_kind_with_its_count_and_standard():
    tables = [table(kind) for kind in KINDS]
    head, *lines = overview(tables).splitlines()
    assert head.split() == ["kind", "rows", "what", "standard"]
    assert [line.split()[0] for line in lines] == list(KINDS)
    assert " ".join(lines[0].split()) == "chains 16 Roller chains, single strand ASME B29.1, ISO 606"
    kinds = overview_json(tables)["kinds"]
    assert {row["kind"]: row["standard"] for row in kinds}["wire"] is None
    assert all(row["rows"] for row in kinds)


def test_a_chain_stands_with_its_printed_sizes_under_heads_with_units():
    title, head, *rows = [line for line in text(table("chains")).splitlines() if line]
    assert "pitch (mm)" in head
    assert "tensile strength (kN)" in head
    forty = next(row for row in rows if row.startswith("40 "))
    assert forty[: head.index("pitch (mm)") + len("pitch (mm)")].split() == ["40", "08A", "12.7"]
    assert "Roller chains" in title


@pytest.mark.parametrize("kind", KINDS)
def test_columns_line_up(kind):
    shown = table(kind)
    lines = text(shown).split("\n\n")[1].splitlines()
    assert len(lines) == len(shown.rows) + 1
    starts = [k for k in range(len(lines[0])) if lines[0][k : k + 3] == "   "]
    gaps = [k for k in starts if all(line[k : k + 3].strip() == "" for line in lines)]
    # between any two columns there is a gap that runs through all lines
    assert len({k for k in gaps if k - 1 not in gaps}) >= len([c for c in shown.columns if c != "evidence"]) - 1


@pytest.mark.parametrize("kind", KINDS)
def test_json_is_strict_and_says_units_in_names(kind):
    found = table_json(table(kind))
    assert json.loads(json.dumps(found, allow_nan=False)) is not None
    assert len(found["rows"]) == len(table(kind).rows)


def test_names_in_json_carry_units_and_what_has_no_end_is_null():
    row = next(row for row in table_json(table("chains"))["rows"] if row["number"] == "08B")
    assert row["pitch_mm"] == 12.7
    assert row["tensile_strength_kn"] == 17.8
    assert row["max_allowable_kn"] is None
    first = table_json(table("trip-times"))["rows"][0]
    assert first["earliest_s"] == 360000
    assert first["latest_s"] is None
    assert "never" in text(table("trip-times"))


def test_where_figures_come_from_is_told_below_the_table():
    assert "A marine table for small craft" in text(table("wire"))
    assert (
        text(table("trip-bands")).count("Invented within the range of the trade; replace with the maker's curve.") == 1
    )
