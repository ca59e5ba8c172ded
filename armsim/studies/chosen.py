"""One combination as a scenario of its own: written, read back, run exactly and judged."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from armsim.checks.assessment import Assessment
from armsim.checks.judged_parts import Fit, StrengthRow
from armsim.checks.strength import weakest
from armsim.scenario.motor_data import nominal_voltage
from armsim.scenario.source import Leaf, Listing, Tree
from armsim.scenario.stock import section_text
from armsim.studies.shelf import Choice

if TYPE_CHECKING:
    from armsim.scenario import Scenario
    from armsim.scenario.stock import StockMotor
    from armsim.scenario.tasks import Task
    from armsim.scenario.variants import Document

#: what a file says of its drive: the combination says it instead
OF_THE_DRIVE = ("motor", "transmission", "more_motors", "side_loads", "parts_list", "variant_of")

NEXT_TO_NONE = "1e-6 mohm"  #: of a supply that nothing makes sag, where a file has none


@dataclass(frozen=True, kw_only=True)
class Chosen:
    """A motor with its train, by an exact run of the whole cycle."""

    number: int  #: in the search; -1: what the file has
    motor: "StockMotor | None"
    choices: tuple[Choice, ...]
    reduction: float  #: of the train, without what is inside the motor [-]
    efficiency: float  #: of the train from rest, forward [-]
    price: float | None
    mass: float | None  #: [kg]
    lift_time: float | None  #: [s]
    motor_current: float  #: largest in the cycle, of each motor [A]
    supply_current: float  #: largest in the cycle [A]
    static_margin: float | None
    backlash: float | None  #: at the arm [rad]
    weakest: StrengthRow | None
    verdict: str
    passes: bool  #: meets the requirements, and its parts fit
    stands_against: str  #: why not
    headline: str

    @property
    def name(self) -> str:
        """What it is made of."""
        parts = [choice.name for choice in self.choices]
        return "; ".join([self.motor.name, *parts]) if self.motor else "what the file has"


@dataclass(kw_only=True)
class Confirm:
    """Exact runs that were made, each once."""

    task: "Task"
    document: "Document"
    runs: dict[int, Chosen] = field(default_factory=dict)

    @property
    def fallen(self) -> frozenset[int]:
        """Numbers of those that did not pass."""
        return frozenset(number for number, one in self.runs.items() if not one.passes)

    def all(self) -> list[Chosen]:
        """Every one, in the order of their runs."""
        return list(self.runs.values())


def confirmed(confirm: Confirm, number: int, motor: "StockMotor", choices: tuple[Choice, ...]) -> Chosen:
    """A combination by its exact run, which is made once."""
    if number not in confirm.runs:
        scenario = scenario_with(confirm.document, confirm.task, motor, choices)
        confirm.runs[number] = judged(scenario, number, motor, choices)
    return confirm.runs[number]


def today(confirm: Confirm) -> Chosen | None:
    """What the file has, where it has a whole drive."""
    scenario = confirm.task.scenario
    return None if scenario is None else judged(scenario, -1, None, ())


def judged(scenario: "Scenario", number: int, motor: "StockMotor | None", choices: tuple[Choice, ...]) -> Chosen:
    """Run a scenario and keep what a choice is made by."""
    from armsim.scenario.records import mass_of, price_of
    from armsim.studies.single import assess

    found = assess(scenario)
    against = what_stands_against(found)
    run, transmission = found.run, found.transmission
    assert run is not None
    inside = motor.given.built_in_reduction if motor is not None else None
    return Chosen(
        number=number,
        motor=motor,
        choices=choices,
        reduction=scenario.machine.reduction / (inside or 1.0),
        efficiency=transmission.efficiency_forward,
        price=price_of(scenario.parts_list),
        mass=mass_of(scenario.parts_list),
        lift_time=found.lift.time,
        motor_current=run.peaks.motor_current.value,
        supply_current=run.peaks.supply_current.value,
        static_margin=found.lift.static_margin,
        backlash=None if found.play is None else found.play.backlash,
        weakest=weakest(found.strength),
        verdict=found.verdict,
        passes=not against,
        stands_against=against,
        headline=found.headline,
    )


def what_stands_against(found: Assessment) -> str:
    """Why a combination is not to be chosen; empty where nothing does."""
    wrong = [row for row in found.fit if row.fit in (Fit.WRONG, Fit.NEAR_MISS)]
    if wrong:
        return f"does not fit: {wrong[0].stage}, {wrong[0].rule}"
    missed = [row.name for row in found.requirements if row.met is False]
    if missed:
        return f"misses {', '.join(missed)}"
    return found.headline if found.verdict == "fail" else ""


# ---------------------------------------------------------------------------------------------------- as a scenario


def typed(tree: Tree) -> Any:
    """A tree as it was typed: texts, lists and dicts."""
    if isinstance(tree, Leaf):
        return tree.text
    if isinstance(tree, Listing):
        return [typed(item) for item in tree.items]
    return {key: typed(value) for key, value in tree.entries.items()}


def drive_of(task: "Task", motor: "StockMotor", choices: Sequence[Choice], last: Any = None) -> dict[str, Any]:
    """The sections of a scenario that a combination stands for; `last` is a carriage's own last stage as typed."""
    sections: dict[str, Any] = {
        "motor": motor.section(),
        "transmission": [*(choice.section for choice in choices), *([] if last is None else [last])],
        "parts_list": parts_of(motor, choices),
    }
    if not task.has_supply:
        volts = nominal_voltage(motor.given)
        sections["supply"] = {
            "bench": {"voltage": f"{volts:.10g} V", "internal_resistance": NEXT_TO_NONE, "can_sink": "yes"}
        }
    return sections


def parts_of(motor: "StockMotor", choices: Sequence[Choice]) -> list[dict[str, str]]:
    """The parts list, equal parts in one row."""
    items = {motor.key: motor} | {item.key: item for choice in choices for item in choice.items}
    counts = Counter({motor.key: motor.given.count})
    counts.update(item.key for choice in choices for item in choice.items)
    rows = []
    for key, item in items.items():
        row = {"item": item.name, "quantity": str(counts[key])}
        if item.price is not None:
            row["unit_price"] = f"{item.price:.10g}"
        if item.mass is not None:
            row["mass"] = f"{item.mass:.10g} kg"
        rows.append(row | {"source": item.source or "stock list"})
    return rows


def last_of(document: "Document") -> Any:
    """A carriage's own rack or drum as typed; None for an arm."""
    whole = typed(document.tree)
    return whole["transmission"][-1] if "carriage" in whole and whole.get("transmission") else None


def scenario_text(document: "Document", task: "Task", motor: "StockMotor", choices: Sequence[Choice]) -> str:
    """A whole scenario that needs no other file."""
    whole = {key: value for key, value in typed(document.tree).items() if key not in OF_THE_DRIVE}
    return lines_of(whole | drive_of(task, motor, choices, last_of(document)))


def lines_of(sections: Mapping[str, Any]) -> str:
    """Sections as YAML, one a line, lists an item a line."""
    lines = []
    for key, value in sections.items():
        if isinstance(value, list) and value and key in ("transmission", "parts_list", "moves"):
            lines += [f"{key}:", *(f"  - {section_text(item)}" for item in value)]
        else:
            lines.append(f"{key}: {section_text(value)}")
    return "\n".join(lines) + "\n"


def scenario_with(document: "Document", task: "Task", motor: "StockMotor", choices: Sequence[Choice]) -> "Scenario":
    """The combination as a scenario, read from its own text."""
    from armsim.scenario import loads

    return loads(scenario_text(document, task, motor, choices), "a combination")
