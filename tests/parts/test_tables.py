"""The shipped tables: whole, consistent with their standards, and their fitted edges with their points."""

import math
from importlib import resources
from itertools import pairwise

import pytest
import yaml

from armsim.parts.protection import Edge, fit_errors, trip_time
from armsim.parts.trip_fit import fit_band


def table(name):
    return yaml.safe_load(resources.files("armsim.data").joinpath(name).read_text(encoding="utf-8"))


FAMILIES = table("trip_bands.yaml")["families"]
CHAINS = table("chains.yaml")["chains"]
BELTS = table("belts.yaml")["profiles"]


def edges(family):
    """The thermal states as fitted, heated by the square of the current alone."""
    return tuple(
        Edge(
            weights=tuple(family[side]["weights"]),
            time_constants=tuple(family[side]["time_constants"]),
            ultimate_multiple=family[side]["ultimate_multiple"],
        )
        for side in ("earliest", "latest")
    )


@pytest.mark.parametrize("kind", FAMILIES)
def test_shipped_edges_are_the_fit_to_their_own_points(kind):
    """Several sets of states meet the same bounds: a fresh one is as near to the rows, at its worst."""
    points = [tuple(map(float, row)) for row in FAMILIES[kind]["points"]]
    rows = [row for row in points if math.isfinite(row[2])]
    pairs = zip(edges(FAMILIES[kind]), fit_band(points), (1, 2), strict=True)
    for shipped, fitted, column in pairs:
        assert shipped.ultimate_multiple == pytest.approx(fitted.ultimate_multiple, rel=1e-6)
        at = [(row[0], row[column]) for row in rows]
        worst = [max(abs(math.log(error)) for error in fit_errors(edge, at)) for edge in (shipped, fitted)]
        assert worst[0] == pytest.approx(worst[1], abs=0.02)


@pytest.mark.parametrize("kind", FAMILIES)
def test_shipped_edges_enclose_their_points_by_what_the_table_says(kind):
    family, (earliest, latest) = FAMILIES[kind], edges(FAMILIES[kind])
    rows = [row for row in family["points"] if math.isfinite(row[2])]
    early = fit_errors(earliest, [(m, t) for m, t, _ in rows])
    late = fit_errors(latest, [(m, t) for m, _, t in rows])
    assert max(early) <= 1.0
    assert min(late) >= 1.0
    assert min(early) == pytest.approx(family["fit"]["earliest"], abs=0.005)
    assert max(late) == pytest.approx(family["fit"]["latest"], abs=0.005)


def straight(points, multiple):
    """Time between two rows, ln t straight in ln(multiple)."""
    for (m0, t0), (m1, t1) in pairwise(points):
        if m0 <= multiple <= m1:
            share = math.log(multiple / m0) / math.log(m1 / m0)
            return t0 ** (1.0 - share) * t1**share
    raise AssertionError(multiple)


@pytest.mark.parametrize("kind", FAMILIES)
def test_between_its_rows_an_edge_lies_inside_the_table_by_a_fifth_at_most(kind):
    family, (earliest, latest) = FAMILIES[kind], edges(FAMILIES[kind])
    rows = [row for row in family["points"] if math.isfinite(row[2])]
    lowest, highest = rows[0][0], rows[-1][0]
    for k in range(1, 200):
        multiple = lowest * (highest / lowest) ** (k / 200.0)
        assert trip_time(earliest, multiple) < 1.2 * straight([(m, t) for m, t, _ in rows], multiple)
        assert trip_time(latest, multiple) > straight([(m, t) for m, _, t in rows], multiple) / 1.2


@pytest.mark.parametrize("kind", FAMILIES)
def test_shipped_devices_hold_where_they_may_not_open_and_certain_implies_possible(kind):
    family, (earliest, latest) = FAMILIES[kind], edges(FAMILIES[kind])
    hold, _, open_end = family["points"][0]
    assert open_end == math.inf
    assert trip_time(earliest, hold) == math.inf
    for k in range(1, 60):
        multiple = hold * 1.05**k
        assert trip_time(earliest, multiple) <= trip_time(latest, multiple)


@pytest.mark.parametrize("kind", FAMILIES)
def test_every_family_says_what_it_is_and_what_it_rests_on(kind):
    family = FAMILIES[kind]
    assert family["resets"] in {"automatic", "manual", "replace"}
    assert "maker's curve" in family["evidence"]
    assert sum(family["earliest"]["weights"]) == pytest.approx(1.0, abs=1e-9)
    assert sum(family["latest"]["weights"]) == pytest.approx(1.0, abs=1e-9)


def test_only_the_breaker_that_recloses_resets_itself():
    assert [kind for kind, family in FAMILIES.items() if family["resets"] == "automatic"] == ["thermal-auto-reset"]


@pytest.mark.parametrize("number", ["25", "35", "40", "50", "60", "80"])
def test_pitch_stands_in_the_number_as_eighths_of_an_inch(number):
    assert CHAINS[number]["pitch"] == pytest.approx(int(number) // 10 * 25.4 / 8.0, abs=0.001)


@pytest.mark.parametrize("number", [n for n in CHAINS if n[:2] not in {"04", "05"} or n.endswith("A")])
def test_pitch_stands_in_the_iso_name_as_sixteenths_of_an_inch(number):
    iso = CHAINS[number]["iso"]
    if iso in {"081", "083", "085"}:  # named after 8/16 in, with a third figure of their own
        assert CHAINS[number]["pitch"] == pytest.approx(12.7)
    else:
        assert CHAINS[number]["pitch"] == pytest.approx(int(iso[:2]) * 25.4 / 16.0, abs=0.001)


@pytest.mark.parametrize("number", CHAINS)
def test_chains_have_parts_that_fit_inside_one_another(number):
    row = CHAINS[number]
    assert row["roller"] < row["pitch"]
    assert row.get("pin", 0.0) < row["roller"]
    assert 0.4 < row["mass"] / (row["pitch"] / 12.7) ** 2 / 0.65 < 1.7  # mass grows with pitch squared


@pytest.mark.parametrize("number", CHAINS)
def test_chains_bear_for_ever_less_than_once(number):
    row = CHAINS[number]
    assert row.get("max_allowable", 0.0) < row["tensile_strength"] / 3.0
    assert row.get("transverse_pitch", 99.0) > row["inner_width"]
    assert 25.0 < row["tensile_strength"] / (row["pitch"] / 25.4) ** 2 < 100.0  # strength grows with pitch squared


INCHES = {"MXL": 0.08, "XL": 0.2, "L": 0.375, "H": 0.5, "XH": 0.875, "XXH": 1.25}


@pytest.mark.parametrize(("name", "inches"), INCHES.items())
def test_inch_belts_have_their_pitch_in_inches(name, inches):
    assert BELTS[name]["pitch"] == pytest.approx(25.4 * inches)
    assert BELTS[name]["standard"] == "ISO 5296"


@pytest.mark.parametrize("name", [name for name in BELTS if any(figure in name for figure in "0123456789")])
def test_metric_belts_have_their_pitch_in_their_name(name):
    assert BELTS[name]["pitch"] == float(name.strip("MAT"))


def test_materials_lie_in_the_order_of_their_weight():
    materials = table("materials.yaml")["materials"]
    by_weight = sorted(materials, key=lambda name: materials[name]["density"])
    assert by_weight == ["plastic", "aluminium", "cast-iron", "steel", "brass", "bronze"]
