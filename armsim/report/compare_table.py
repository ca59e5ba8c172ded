"""The table of a comparison: a row a measure, a column a scenario, every mark a word."""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from armsim.checks.assessment import Requirement
from armsim.report.numbers import show, show_difference
from armsim.report.wording import plain
from armsim.scenario import Entry, PartsRow
from armsim.scenario.records import mass_of, price_of
from armsim.studies.compare import MEASURES, Comparison, Measure
from armsim.studies.proposal import Proposal

NAMES = {
    "motor_current_peak": "peak motor current",
    "motor_current_rms": "rms motor current",
    "supply_current_peak": "peak supply current",
    "supply_current_rms": "rms supply current",
    "bus_voltage_min": "lowest bus voltage",
    "winding_peak": "winding at most",
    "holds_unpowered": "holds without power",
    "weakest_part_safety": "safety of the weakest part",
    "energy_per_cycle": "energy a cycle",
    "mass": "mass of the parts",
    "price": "price of the parts",
    "parts": "count of parts",
}
BEST, NOTHING = "best", "-"


class Line(NamedTuple):
    """A row of a table of scenarios: its name, and a cell for each."""

    name: str
    cells: tuple[str, ...]


def name_of(measure: str) -> str:
    """A measure in words."""
    return NAMES.get(measure, plain(measure))


def labels(comparison: Comparison) -> tuple[str, ...]:
    """The heads of the columns."""
    return tuple(p.label for p in comparison.proposals)


def measure_lines(comparison: Comparison) -> list[Line]:
    """Verdict, margin of each requirement, every measure that is known of any."""
    proposals, best = comparison.proposals, comparison.ranking.best
    asked = dict.fromkeys(r.name for p in proposals for r in p.requirements)
    lines = [Line("verdict", tuple(p.verdict.upper() for p in proposals))]
    lines += [Line(f"requirement: {plain(name)}", tuple(_margin(p, name) for p in proposals)) for name in asked]
    for measure in MEASURES:
        cells = tuple(_cell(p, measure, p.label in best.get(measure.name, ())) for p in proposals)
        if any(p.values[measure.name] is not None for p in proposals):
            lines.append(Line(name_of(measure.name), cells))
        if measure.name == "weakest_part_safety" and any(p.weakest for p in proposals):
            lines.append(Line("weakest part", tuple(_weakest(p) for p in proposals)))
    return [*lines, *_beaten_line(comparison)]


def _beaten_line(comparison: Comparison) -> list[Line]:
    by = {one.label: one.by for one in comparison.ranking.beaten}
    return [Line("beaten by", tuple(by.get(label, NOTHING) for label in labels(comparison)))] if by else []


def short_lines(comparison: Comparison) -> list[Line]:
    """The rows that decide: verdict, what counts, by whom beaten."""
    wanted = {"verdict", "beaten by", *map(name_of, comparison.ranking.counted)}
    return [line for line in measure_lines(comparison) if line.name in wanted]


def _margin(proposal: Proposal, name: str) -> str:
    found = next((r for r in proposal.requirements if r.name == name), None)
    return NOTHING if found is None else margin_text(found)


def margin_text(requirement: Requirement) -> str:
    """PASS, FAIL or OPEN with the room left, if it has a size."""
    word = {True: "PASS", False: "FAIL", None: "OPEN"}[requirement.met]
    if requirement.margin is None:
        return word
    return f"{word} {show_difference(requirement.margin, requirement.dimension)}"


def _cell(proposal: Proposal, measure: Measure, best: bool) -> str:
    value = proposal.values[measure.name]
    if measure.name == "lift_time" and value is None and not proposal.arrives:
        return "FAIL, does not arrive"
    text = NOTHING if value is None else show(value, measure.dimension)
    return f"{text}, {BEST}" if best else text


def _weakest(proposal: Proposal) -> str:
    row = proposal.weakest
    return NOTHING if row is None else f"{row.stage}: {row.part}"


def misses(proposal: Proposal) -> list[str]:
    """The requirements it misses, with by how much."""
    return [_miss(r) for r in proposal.requirements if r.met is False]


def _miss(r: Requirement) -> str:
    if r.margin is None:
        return plain(r.name)
    return f"{plain(r.name)} by {show_difference(abs(r.margin), r.dimension)}"


# -------------------------------------------------------------------------------------------------------- other tables


def difference_lines(comparison: Comparison) -> list[Line]:
    """Every key that differs, its values as typed."""
    names = labels(comparison)
    return [Line(d.key, tuple(_typed(d.entries[label]) for label in names)) for d in comparison.differences]


def _typed(entry: Entry | None) -> str:
    return NOTHING if entry is None else entry.typed


def parts_lines(comparison: Comparison) -> list[Line]:
    """The parts lists side by side: how many of each and at what price, and what they come to."""
    lists = [p.inputs.parts_list for p in comparison.proposals]
    items = dict.fromkeys(part.item for parts in lists for part in parts)
    if not items:
        return []
    lines = [Line(item, tuple(_bought(parts, item) for parts in lists)) for item in items]
    lines.append(Line("price of all", tuple(show(price_of(parts), "number", 6) for parts in lists)))
    lines.append(Line("mass of all", tuple(show(mass_of(parts), "mass") for parts in lists)))
    return lines


def _bought(parts: Sequence[PartsRow], item: str) -> str:
    rows = [part for part in parts if part.item == item]
    if not rows:
        return NOTHING
    return "; ".join(
        f"{show(p.quantity, 'number')} at {show(p.unit_price, 'number', 6)}, {show(p.mass, 'mass')}" for p in rows
    )


def assumption_lines(comparison: Comparison) -> tuple[list[Line], list[Line]]:
    """What is taken alike in all, one cell a line, and what is not."""
    own = [{a.key: a.text for a in p.inputs.assumptions} for p in comparison.proposals]
    shared, apart = [], []
    for key in dict.fromkeys(key for texts in own for key in texts):
        texts = tuple(each.get(key, NOTHING) for each in own)
        if len(set(texts)) == 1:
            shared.append(Line(key, texts[:1]))
        else:
            apart.append(Line(key, texts))
    return shared, apart


def blocks(count: int, size: int) -> Iterator[slice]:
    """Columns cut into groups of at most so many."""
    for start in range(0, count, max(1, size)):
        yield slice(start, start + max(1, size))
