"""What is not known exactly: the section `uncertainty`, each input with how it may turn out.

An input is a key of the scenario, a word for one (payload, charge, temperature), or a factor on many parts at once
(`drivetrain.as_built`). Its keys are those of the file itself, so that it is read once everything else has been.
"""

import difflib
import math
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

from armsim.drivetrain.as_built import FACTORS, largest_factor, touches
from armsim.drivetrain.machine import Machine
from armsim.scenario import dimensions as d
from armsim.scenario.dimensions import understood
from armsim.scenario.numbers import clean, read_number, shown
from armsim.scenario.problems import Misreading, Place, quoted
from armsim.scenario.quantities import read_quantity
from armsim.scenario.readers import Reading
from armsim.scenario.records import Entry, Measure, Scenario, Spread, Uncertain
from armsim.scenario.source import Leaf, Listing, Section, Tree
from armsim.scenario.special_readers import LISTED_LAWS, SINGLE_LAWS
from armsim.scenario.validate import Path, find, key_place, value_place
from armsim.scenario.variants import Document

SECTION = "uncertainty"
LAWS = (*SINGLE_LAWS, *LISTED_LAWS)
EXAMPLE = "payload: 10 %, or {normal: 2 %}, {uniform: [8 kg, 13 kg]}, {triangular: [8 kg, 12 kg, 13 kg]}"
CHARGE, AMBIENT = "supply.battery.state_of_charge", "ambient"
WORDS = ("payload", "charge", "temperature")
#: What parts and work of this kind commonly scatter by, taken where a scenario does not say. No standard says so: it is
#: what sheets grant (motor constants to 10 %, resistance likewise) and what is usual in a workshop.
CUSTOMARY = {
    "motor_constant": "10 %",
    "motor_resistance": "10 %",
    "efficiency": "5 %",
    "friction": "30 %",
    "payload": "5 %",
    "charge": "10 %",
    "temperature": "15 K",
}
_FACTOR = Measure(dimension=None, least=0.0)
_TEMPERATURE = Measure(dimension=d.TEMPERATURE, least=-60.0, most=90.0)
_SHARE = Measure(dimension=None, least=0.0, most=1.0, share=True)
_SIGNS = re.compile(r"^(?:\u00b1|\+\s*/?\s*-)\s*")


@dataclass(frozen=True, kw_only=True)
class Known:
    """What the rest of a file says."""

    tree: Section
    entries: Mapping[str, Entry]


def known(document: Document, entries: Iterable[Entry]) -> Known:
    """The same from what was read."""
    return Known(tree=document.tree, entries={entry.key: entry for entry in entries})


def read(document: Document, reading: Reading) -> tuple[Uncertain, ...]:
    """Every input of the section that can be read; faults go into the reading."""
    section = document.tree.entries.get(SECTION)
    if not isinstance(section, Section):
        return ()
    file = known(document, reading.entries)
    found: list[Uncertain] = []

    def tell(path: Path, fault: Misreading, at_key: bool) -> None:
        place, width = (key_place if at_key else value_place)(document.tree, path)
        reading.problems.append(document.sources.problem(place, ".".join(map(str, path)), fault, width=width))

    for name, tree in section.entries.items():
        try:
            target = _target(name, file)
        except Misreading as fault:
            tell((SECTION, name), fault, at_key=True)
            continue
        if target is None:
            continue
        twice = next((one.name for one in found if target.key is not None and one.key == target.key), None)
        if twice is not None:
            tell((SECTION, name), Misreading("SCN122", f"is the same as {twice}", "keep one of them"), at_key=True)
            continue
        path: Path = (SECTION, name)
        try:
            uncertain = _read(name, tree, target)
        except Misreading as fault:
            tell(path, fault, at_key=not isinstance(tree, Leaf) or tree.empty)
            continue
        found.append(uncertain)
        if isinstance(tree, Leaf):
            reading.understand(tree, None, told(uncertain))
    return tuple(found)


@dataclass(frozen=True, kw_only=True)
class Target:
    """What is uncertain: a key, or none for a factor, with its value as drawn."""

    key: str | None
    nominal: float
    measure: Measure


def _target(name: str, file: Known) -> Target | None:
    """What a name stands for; None where its value is there and could not be read, which is told elsewhere."""
    if name in FACTORS:
        return Target(key=None, nominal=1.0, measure=_FACTOR)
    key = _key(name, file)
    entry = file.entries.get(key)
    if entry is not None and entry.measure is not None and isinstance(entry.value, float):
        if key.startswith(("requirements.", f"{SECTION}.")):
            raise Misreading("SCN102", "is asked for, not a figure of the machine", _known_names(file))
        return Target(key=key, nominal=entry.value, measure=entry.measure)
    at = find(file.tree, steps(key))
    if key == AMBIENT and at is None:
        return Target(key=key, nominal=25.0, measure=_TEMPERATURE)
    if key == CHARGE and at is None and find(file.tree, steps("supply.battery")) is not None:
        return Target(key=key, nominal=1.0, measure=_SHARE)
    if entry is None and isinstance(at, Leaf):
        return None
    if entry is not None:
        raise Misreading("SCN109", f"{entry.understood} is no figure that could be a little off", _known_names(file))
    if name in WORDS:
        raise Misreading("SCN121", f"{key} is not in this file", "give it, or leave this line out")
    raise Misreading("SCN102", "is no figure that this file gives", _nearest(key, file) or _known_names(file))


def _key(name: str, file: Known) -> str:
    """The dotted key of a word, or of a key written with or without brackets."""
    if name in WORDS:
        load = "arm" if "arm" in file.tree.entries or "carriage" not in file.tree.entries else "carriage"
        return {"payload": f"{load}.payload.mass", "charge": CHARGE, "temperature": AMBIENT}[name]
    return re.sub(r"\.(\d+)(?=\.|$)", r"[\1]", name.strip())


def steps(key: str) -> Path:
    """motor.leads.length, transmission[0].gears.efficiency as a path."""
    return tuple(int(step) if step.isdigit() else step for step in re.split(r"[.\[\]]+", key) if step)


def _figures(file: Known) -> list[str]:
    return [key for key, entry in file.entries.items() if entry.measure is not None]


def _nearest(key: str, file: Known) -> str:
    names = [*FACTORS, *WORDS, *_figures(file)]
    ends = [name for name in names if name.rsplit(".", 1)[-1] == key.rsplit(".", 1)[-1]]
    near = difflib.get_close_matches(key, names, 1, 0.7) or (ends if len(ends) == 1 else [])
    return f"did you mean '{near[0]}'?" if near else ""


def _known_names(file: Known) -> str:
    example = next((key for key in _figures(file) if key.startswith(("arm.", "carriage."))), "arm.mass")
    return f"known here: {', '.join((*FACTORS, *WORDS))}, and any figure of this file by its key, such as {example}"


# ------------------------------------------------------------------------------------------------------ values


def _read(name: str, tree: Tree, target: Target) -> Uncertain:
    if isinstance(tree, Leaf):
        if tree.empty:
            raise Misreading("SCN108", "is empty", f"such as {EXAMPLE}")
        return _uncertain(name, target, _around("uniform", _tolerance(tree, target), target), clean(tree.text))
    if not isinstance(tree, Section):
        raise Misreading("SCN109", "wants a tolerance or a section of one law, got a list", f"such as {EXAMPLE}")
    if len(tree.entries) != 1 or next(iter(tree.entries)) not in LAWS:
        fault = f"wants exactly one of {', '.join(LAWS)}; got {', '.join(tree.entries) or 'nothing'}"
        raise Misreading("SCN122", fault, f"such as {EXAMPLE}")
    ((law, inside),) = tree.entries.items()
    return _uncertain(name, target, _by_law(law, inside, target), f"{{{law}: {_text(inside)}}}")


def _text(tree: Tree) -> str:
    if isinstance(tree, Listing):
        return f"[{', '.join(map(_text, tree.items))}]"
    return clean(tree.text) if isinstance(tree, Leaf) else "{...}"


def _by_law(law: str, inside: Tree, target: Target) -> Spread:
    if law in SINGLE_LAWS:
        if not isinstance(inside, Leaf) or inside.empty:
            raise Misreading("SCN109", f"{law} wants one value", f"write {{{law}: 2 %}}")
        return _around("uniform" if law == "plus_minus" else "normal", _tolerance(inside, target), target)
    count = 2 if law == "uniform" else 3
    items = inside.items if isinstance(inside, Listing) else ()
    leaves = [item for item in items if isinstance(item, Leaf) and not item.empty]
    names = "[least, most]" if law == "uniform" else "[least, most likely, most]"
    if len(leaves) != count or len(items) != count:
        raise Misreading("SCN109", f"{law} wants a list, {names}", f"such as {EXAMPLE}")
    values = [_value(leaf, target) for leaf in leaves]
    if sorted(values) != values or values[0] == values[-1]:
        raise Misreading("SCN121", f"{law} wants its values rising, {names}", "")
    return Spread(
        law=law,
        low=values[0],
        high=values[-1],
        centre=values[1] if law == "triangular" else 0.0,
        least=target.measure.least,
        most=target.measure.most,
    )


def _around(law: str, size: float, target: Target) -> Spread:
    bounds = target.measure
    if law == "normal":
        return Spread(law=law, centre=target.nominal, deviation=size, least=bounds.least, most=bounds.most)
    low, high = target.nominal - size, target.nominal + size
    return Spread(law=law, low=low, high=high, least=bounds.least, most=bounds.most)


def _tolerance(leaf: Leaf, target: Target) -> float:
    """How far a value may be off, in SI; in per cent of itself, of a part of one in its points."""
    text = _SIGNS.sub("", clean(leaf.text))
    dimension = target.measure.dimension
    number = read_number(text)
    if number.rest.casefold() in ("%", "percent", "per cent"):
        if dimension is d.TEMPERATURE:
            raise Misreading("SCN111", "per cent of a temperature say nothing", f"write {number.typed} K")
        size = float(number.value / 100) * (1.0 if target.measure.share else abs(target.nominal))
        if size == 0.0 and number.value:
            raise Misreading("SCN121", "per cent of nothing are nothing", "say how far it may be off in its unit")
    elif dimension is d.TEMPERATURE:
        size = _kelvins(number.value, number.rest, leaf)
    elif dimension is None:
        if number.rest:
            raise Misreading("SCN111", f"wants per cent or a number, got {quoted(leaf.text)}", "such as 5 %")
        size = float(number.value)
        if target.key is None:
            raise Misreading("SCN110", "needs a per cent sign", f"write {number.typed} %")
    else:
        size = read_quantity(text, dimension).value
    if not 0.0 < size < math.inf:
        raise Misreading("SCN120", f"{quoted(leaf.text)} is out of range, it has to be more than 0")
    return size


def _kelvins(value: Fraction, unit: str, leaf: Leaf) -> float:
    plain = re.sub(r"[\s\u00b0]", "", unit).casefold().removeprefix("deg")
    if plain in ("k", "c", "kelvin", "celsius"):
        return float(value)
    if plain in ("f", "fahrenheit"):
        return float(value * 5 / 9)
    raise Misreading("SCN111", f"wants a difference of temperatures, got {quoted(leaf.text)}", "such as 15 K")


def _value(leaf: Leaf, target: Target) -> float:
    """A value of the input itself, in SI; of a factor, or in per cent of one that is no part of one, times its own."""
    text, measure = clean(leaf.text), target.measure
    number = read_number(text)
    percent = number.rest.casefold() in ("%", "percent", "per cent")
    if percent:
        if measure.dimension is d.TEMPERATURE:
            raise Misreading("SCN111", "per cent of a temperature say nothing", "give it in degC")
        value = float(number.value / 100) * (1.0 if measure.share else target.nominal)
    elif measure.dimension is not None:
        value = read_quantity(text, measure.dimension).value
    elif number.rest:
        raise Misreading("SCN111", f"wants per cent or a number, got {quoted(leaf.text)}", "such as 95 %")
    else:
        value = float(number.value)
    if not measure.least <= value <= measure.most or (value == measure.least and target.key is None):
        low, high = (_shown(bound, measure) for bound in (measure.least, measure.most))
        raise Misreading("SCN120", f"{_shown(value, measure)} is out of range, {low} to {high}")
    return value


def _uncertain(name: str, target: Target, spread: Spread, typed: str) -> Uncertain:
    return Uncertain(
        name=name, key=target.key, nominal=target.nominal, spread=spread, measure=target.measure, typed=typed
    )


def _shown(value: float, measure: Measure) -> str:
    if math.isinf(value):
        return "without limit"
    if measure.share or measure is _FACTOR:
        return f"{shown(100.0 * value)} %"
    return shown(value) if measure.dimension is None else understood(value, measure.dimension)


def told(uncertain: Uncertain) -> str:
    """How an input may turn out, in words."""
    spread, measure = uncertain.spread, uncertain.measure
    low, high, centre = (_shown(value, measure) for value in (spread.low, spread.high, spread.centre))
    if spread.law == "normal":
        size = _shown(spread.deviation, measure)
        if measure.dimension is d.TEMPERATURE:
            size = f"{shown(spread.deviation)} K"
        return f"about {centre} by the normal law, standard deviation {size}"
    if spread.law == "triangular":
        return f"{low} to {high}, most often {centre}"
    return f"{low} to {high}, evenly"


# ------------------------------------------------------------------------------------------------- of a machine


def bounded(uncertain: Uncertain, machine: Machine) -> Uncertain:
    """A factor kept to what the machine can be. Raises Misreading where it changes nothing in the machine."""
    if uncertain.key is not None:
        return uncertain
    if not touches(machine, uncertain.name):
        raise Misreading("SCN121", f"there is no {uncertain.name} in this machine to be off", "leave this line out")
    most = largest_factor(machine, uncertain.name)
    return replace(uncertain, spread=replace(uncertain.spread, most=most))


def customary(scenario: Scenario) -> tuple[Uncertain, ...]:
    """What machines of this kind commonly scatter by, as far as the scenario has it."""
    if scenario.document is None:
        return ()
    file, found = known(scenario.document, scenario.entries), []
    for name, text in CUSTOMARY.items():
        try:
            target = _target(name, file)
            if target is None:
                continue
            uncertain = _read(name, Leaf(text=text, place=Place(file="")), target)
            found.append(bounded(uncertain, scenario.machine))
        except Misreading:
            continue
    return tuple(found)


def section_of(inputs: tuple[Uncertain, ...]) -> str:
    """The section that says the same of inputs, ready to be put into a file."""
    lines = [f"  {one.name}: {one.typed}" for one in inputs]
    return "\n".join([f"{SECTION}:", *lines])
