"""What a stock list can be put together to: every stage that two of its wheels make, or that is bought whole.

A pair is read and built as a scenario's stage would be, and judged by the rules of fit of such a stage.
"""

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import product
from typing import TYPE_CHECKING, Any

from armsim.checks.fit import RULES
from armsim.checks.judged_parts import Fit, FitRow
from armsim.parts.stage import Stage
from armsim.scenario import stages as building
from armsim.scenario.loading import checked
from armsim.scenario.notes import Notes
from armsim.scenario.problems import ScenarioError
from armsim.scenario.stock import Item, belt_section, chain_section, gears_section, section_text
from armsim.scenario.validate import dotted
from armsim.scenario.variants import read_text

if TYPE_CHECKING:
    from armsim.scenario import schema
    from armsim.scenario.stock import Stock, Typed

#: rules of fit that are let pass in a file, and not looked for on purpose
STRICT = ("undercut", "teeth of the smaller")
UNMESHED, REFUSED, UNFIT = "wheels that do not run together", "refused as a scenario", "parts that do not fit"


@dataclass(frozen=True, kw_only=True)
class Choice:
    """One stage that the stock can make."""

    name: str  #: what it is made of, in words
    section: "Typed"  #: one item of `transmission`
    items: tuple[Item, ...]
    stage: Stage
    rated_torque: float | None = None  #: at its output [N*m]

    @property
    def price(self) -> float | None:
        """Of all its items."""
        return total([item.price for item in self.items])

    @property
    def mass(self) -> float | None:
        """Of all its items. [kg]"""
        return total([item.mass for item in self.items])


@dataclass(frozen=True, kw_only=True)
class Shelf:
    """The stages that a stock makes, and those it does not, by the rule that stands against them."""

    choices: tuple[Choice, ...]
    raw: int  #: stages there are, with those that do not fit
    refused: dict[str, int]  #: by rule


def total(values: Sequence[float | None]) -> float | None:
    """The sum; None where one is not known."""
    known = [value for value in values if value is not None]
    return sum(known) if len(known) == len(values) else None


def shelf_of(stock: "Stock") -> Shelf:
    """Every stage that the stock makes, in the order of the list."""
    drafts, unmeshed = [], 0
    for draft in _drafts(stock):
        if draft is None:
            unmeshed += 1
        else:
            drafts.append(draft)
    refused = Counter({UNMESHED: unmeshed})
    choices = []
    for (name, section, items, rated), given in zip(drafts, _read([draft[1] for draft in drafts]), strict=True):
        stage = None if given is None else built(given)
        if stage is None:
            refused[REFUSED] += 1
        elif any(stops(row) for row in rows_of(stage)):
            refused[UNFIT] += 1
        else:
            choices.append(Choice(name=name, section=section, items=items, stage=stage, rated_torque=rated))
    return Shelf(
        choices=tuple(choices), raw=len(drafts) + unmeshed, refused={rule: n for rule, n in refused.items() if n}
    )


Draft = tuple[str, "Typed", tuple[Item, ...], float | None]


def _drafts(stock: "Stock") -> Iterator[Draft | None]:
    """Name, section, items and rated torque of each; None for two wheels that do not run together."""
    families: tuple[tuple[Sequence[Any], Callable[[Any, Any], Typed], Callable[[Any], str]], ...] = (
        (stock.gears, gears_section, lambda a: f"gears {{}} m {1e3 * a.module:.4g}"),
        (stock.sprockets, chain_section, lambda a: f"chain {a.size.number} {{}}"),
        (stock.pulleys, belt_section, lambda a: f"belt {a.profile.name} {{}}"),
    )
    for wheels, section, words in families:
        for driver, driven in product(wheels, repeat=2):
            if (driver is driven and driver.available == 1) or not driver.meshes(driven):
                yield None
            else:
                name = words(driver).format(f"{driver.teeth}-{driven.teeth}")
                yield name, section(driver, driven), (driver, driven), None
    for whole in stock.stages:
        yield whole.name, whole.section(), (whole,), whole.rated_torque


TASK = """\
title: stages of a stock
motor: {nominal_voltage: 12 V, no_load_speed: 100 rpm, no_load_current: 0.1 A, stall_torque: 1 N*m, stall_current: 10 A}
supply: {bench: {voltage: 12 V}}
arm: {length: 1 m, mass: 1 kg}
start: 0 deg
moves: [{rest: {for: 1 s}}]
transmission:
"""


def _read(sections: "Sequence[Typed]") -> "list[schema.Stage | None]":
    """Each section as a scenario reads it; None for one that it refuses."""
    left = list(range(len(sections)))
    while left:
        lines = "".join(f"  - {section_text(sections[k])}\n" for k in left)
        try:
            found = checked(read_text(TASK + lines, "stock")).sections.whole().transmission
        except ScenarioError as fault:
            wrong = {k for n, k in enumerate(left) if any(_about(p.key, n) for p in fault.problems)}
            if not wrong:
                raise
            left = [k for k in left if k not in wrong]
            continue
        by_place = dict(zip(left, found, strict=True))
        return [by_place.get(k) for k in range(len(sections))]
    return [None] * len(sections)


def _about(key: str, place: int) -> bool:
    own = dotted(("transmission", place))
    return key == own or key.startswith((f"{own}.", f"{own}["))


def built(given: "schema.Stage") -> Stage | None:
    """A stage by its section; None where a part of it cannot be."""
    notes = Notes()
    found = building.stages([given], 100.0, notes.default, notes.derived, notes.faults)
    return found[0] if found and not notes.faults else None


def rows_of(stage: Stage) -> list[FitRow]:
    """Every rule of fit of a stage by itself."""
    rules = None if stage.hardware is None else RULES.get(type(stage.hardware))
    return [] if rules is None else list(rules(stage, stage.hardware))


def stops(row: FitRow) -> bool:
    """Whether a rule of fit keeps parts from being chosen."""
    return row.fit in (Fit.WRONG, Fit.NEAR_MISS) or (row.fit is Fit.DOUBTFUL and row.rule.startswith(STRICT))
