"""The tables of shipped parts leave nothing of the data files out."""

from importlib import resources

import pytest

from armsim.data import read_table
from armsim.data.catalogue import KINDS, UnknownKind, table

FILES = sorted(path.name for path in resources.files("armsim.data").iterdir() if path.name.endswith(".yaml"))
NO_PARTS = {"scenario_keys.yaml"}
#: numbers that are no rows: fits of what is listed, the formula beside a table, bounds that stand in heads of columns
BESIDE = {"weights", "time_constants", "ultimate_multiple", "fit", "formula_14_5", "lead_angles"}
BELT_RATINGS = {"belts": {"ratings"}}  #: a table of their own
#: shown in other words: a gauge as 10 AWG, a share of an area as that area
REWORDED = {"gauge", "sae_area"}


def numbers(tree, key=""):
    if key in BESIDE | REWORDED:
        return
    if isinstance(tree, dict):
        for inner, value in tree.items():
            yield from numbers(value, inner)
    elif isinstance(tree, list):
        for value in tree:
            yield from numbers(value)
    elif isinstance(tree, int | float) and not isinstance(tree, bool):
        yield float(tree)


def shown(file):
    for name, kind in KINDS.items():
        if kind.file == file:
            for row in table(name).rows:
                for value in row.values():
                    yield from numbers(list(value) if isinstance(value, tuple) else value)


@pytest.mark.parametrize("file", sorted(set(FILES) - NO_PARTS))
def test_every_number_of_a_data_file_is_in_a_table(file):
    found = list(numbers(read_table(file)))
    assert found
    assert set(found) - set(shown(file)) == set()


@pytest.mark.parametrize("kind", KINDS)
def test_every_column_has_something_in_it_and_rows_have_no_others(kind):
    found = table(kind)
    assert found.rows
    raw = list(KINDS[kind].rows(read_table(KINDS[kind].file)))
    assert {name for row in raw for name in row} - BELT_RATINGS.get(kind, set()) == set(found.columns)
    assert [name for name in found.columns if all(row[name] is None for row in found.rows)] == []


def test_ten_gauge_wire_has_its_area_of_the_formula():
    ten = next(row for row in table("wire").rows if row["gauge"] == "10 AWG")
    assert ten["area"] == pytest.approx(5.261, abs=5e-4)  # (0.127 mm * 92^(26/39))^2 pi/4
    assert [row["gauge"] for row in table("wire").rows][-3:] == ["1/0 AWG", "2/0 AWG", "4/0 AWG"]


def test_an_unknown_kind_is_answered_with_the_nearest():
    with pytest.raises(UnknownKind, match=r"no kind 'chians' of parts; did you mean chains\?"):
        table("chians")
    with pytest.raises(UnknownKind, match="Known: chains, belts"):
        table("cheese")
    assert UnknownKind.exit_status == 2
