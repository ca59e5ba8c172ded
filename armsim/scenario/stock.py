"""Stock lists, read like a scenario: every set of wheels as its single wheels, every item with its section as typed."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from armsim.scenario import motor_agreement
from armsim.scenario import stock_keys as keys
from armsim.scenario.faults import Faults
from armsim.scenario.mechanical_agreement import stage_faults
from armsim.scenario.problems import Misreading, ScenarioError
from armsim.scenario.readers import Reading
from armsim.scenario.schema import Motor, Stage
from armsim.scenario.source import Leaf, Listing, Tree
from armsim.scenario.stock_items import (
    Gear,
    Item,
    Pulley,
    Sprocket,
    Stock,
    StockMotor,
    Typed,
    WholeStage,
    belt_section,
    chain_section,
    gears_section,
    section_text,
)
from armsim.scenario.validate import Sections, dotted, find, read_sections, settled, value_place
from armsim.scenario.variants import Document, read_document, read_text
from armsim.scenario.wires import run_faults

__all__ = [
    "Gear",
    "Item",
    "Pulley",
    "Sprocket",
    "Stock",
    "StockMotor",
    "Typed",
    "WholeStage",
    "belt_section",
    "chain_section",
    "gears_section",
    "load_stock",
    "loads_stock",
    "section_text",
]

#: keys of the shop, which no section of a scenario has
_OF_THE_SHOP = ("price", "mass", "available", "rated_torque")
_WARNINGS = ("SCN130", "SCN131")


def load_stock(path: Path) -> Stock:
    """Read a stock list. Raises ScenarioError with every problem found."""
    return _stock(read_document(Path(path)), Path(path))


def loads_stock(text: str, name: str = "stock.yaml") -> Stock:
    """Read a stock list from a text. Raises ScenarioError with every problem found."""
    return _stock(read_text(text, name), None)


def _stock(document: Document, path: Path | None) -> Stock:
    reading = Reading(sources=document.sources)
    sections = read_sections(document, reading, keys.StockFile)
    for where, fault in _faults(sections):
        spot = settled(document.tree, where)
        if sections.lacks_something(spot):
            continue
        place, width = value_place(document.tree, spot)
        severity = "warning" if fault.code in _WARNINGS else "error"
        problem = document.sources.problem(place, dotted(spot), fault, width=width, severity=severity)
        reading.problems.append(problem)
    problems = sorted(reading.problems, key=lambda p: (p.line, p.column))
    errors = tuple(p for p in problems if p.severity == "error")
    if errors:
        raise ScenarioError(document.file, errors)
    values = {name: sections.values.get(name, []) for name in keys.StockFile.model_fields}
    return Stock(
        path=path,
        title=values["title"],
        about=values["about"] or "",
        sha256=document.sha256,
        motors=tuple(_motors(values["motors"], document)),
        gears=tuple(gear for k, part in enumerate(values["gears"]) for gear in _gears(part, k, document)),
        sprockets=tuple(one for k, part in enumerate(values["sprockets"]) for one in _sprockets(part, k, document)),
        pulleys=tuple(one for k, part in enumerate(values["pulleys"]) for one in _pulleys(part, k, document)),
        stages=tuple(stage for name, kind in _WHOLE.items() for stage in _stages(values[name], name, kind, document)),
        warnings=tuple(p for p in problems if p.severity == "warning"),
    )


_WHOLE = {"worms": "worm", "planetaries": "planetary", "gearboxes": "gearbox"}


def _faults(sections: Sections) -> Faults:
    """What the keys of each item must agree on: as in a scenario."""
    listed = {name: sections.values.get(name) or [] for name in ("motors", "gears", *_WHOLE)}
    for k, motor in enumerate(listed["motors"]):
        if motor:
            yield from ((("motors", k, *where[1:]), fault) for where, fault in _motor_faults(motor))
    for k, part in enumerate(listed["gears"]):
        if part:
            yield from ((("gears", k, *where), fault) for where, fault in _pitch_faults(part))
    for name, kind in _WHOLE.items():
        for k, part in enumerate(listed[name]):
            if part:
                stage = Stage.model_construct(**{kind: part})
                yield from (((name, k, *where[3:]), fault) for where, fault in stage_faults(stage, (name, k)))


def _motor_faults(motor: Motor) -> Faults:
    yield from motor_agreement.motor_faults(motor)
    if motor.leads:
        yield from run_faults(motor.leads, ("motor", "leads"), "controller to motor")


def _pitch_faults(part: keys.StockGears) -> Faults:
    if part.module is not None and part.diametral_pitch is not None:
        yield ("diametral_pitch",), Misreading("SCN122", "module is given too", "keep one of the two")
    if part.module is None and part.diametral_pitch is None:
        hint = "write module: 1.5 mm, or diametral_pitch: 20"
        yield ("module",), Misreading("SCN103", "is missing", hint)


def _motors(given: list[keys.StockMotor], document: Document) -> Iterator[StockMotor]:
    for k, motor in enumerate(given):
        typed = _typed(document, ("motors", k), drop=("name", *_OF_THE_SHOP))
        yield StockMotor(
            key=f"motors[{k}]",
            name=motor.name,
            price=motor.price,
            mass=motor.mass,
            available=motor.available,
            source=motor.source,
            typed=typed,
            given=motor,
        )


def _gears(part: keys.StockGears, k: int, document: Document) -> Iterator[Gear]:
    shared = _typed(document, ("gears", k), drop=("name", "teeth", "source", *_OF_THE_SHOP))
    size = part.module if part.module is not None else part.diametral_pitch
    assert size is not None
    for j, wheel in enumerate(part.teeth):
        yield Gear(
            **_shelved(part, wheel, "gears", k, j, "gear"),
            typed={**shared, **_own(document, ("gears", k), j)},
            teeth=wheel.teeth,
            module=size,
            pressure_angle=part.pressure_angle,
            helix_angle=part.helix_angle,
            face_width=wheel.face_width if wheel.face_width is not None else part.face_width,
            bore=wheel.bore if wheel.bore is not None else part.bore,
            material=wheel.material or part.material,
        )


def _sprockets(part: keys.StockSprockets, k: int, document: Document) -> Iterator[Sprocket]:
    shared = _typed(document, ("sprockets", k), drop=("name", "teeth", "source", "bore", *_OF_THE_SHOP))
    bore = _typed(document, ("sprockets", k), keep=("bore",))
    for j, wheel in enumerate(part.teeth):
        yield Sprocket(
            **_shelved(part, wheel, "sprockets", k, j, "sprocket"),
            typed={**bore, **_own(document, ("sprockets", k), j)},
            set_typed=shared,
            teeth=wheel.teeth,
            size=part.number,
            bore=wheel.bore if wheel.bore is not None else part.bore,
        )


def _pulleys(part: keys.StockPulleys, k: int, document: Document) -> Iterator[Pulley]:
    shared = _typed(document, ("pulleys", k), drop=("name", "teeth", "source", "bore", *_OF_THE_SHOP))
    bore = _typed(document, ("pulleys", k), keep=("bore",))
    for j, wheel in enumerate(part.teeth):
        yield Pulley(
            **_shelved(part, wheel, "pulleys", k, j, "pulley"),
            typed={**bore, **_own(document, ("pulleys", k), j)},
            set_typed=shared,
            teeth=wheel.teeth,
            profile=part.profile,
            width=part.width,
            bore=wheel.bore if wheel.bore is not None else part.bore,
        )


def _stages(given: list[Any], section: str, kind: str, document: Document) -> Iterator[WholeStage]:
    for k, part in enumerate(given):
        yield WholeStage(
            key=f"{section}[{k}]",
            name=part.name or f"{kind} {k + 1}",
            price=part.price,
            mass=part.mass,
            available=part.available,
            source=part.source,
            typed=_typed(document, (section, k), drop=("source", *_OF_THE_SHOP)),
            kind=kind,
            given=part,
            rated_torque=getattr(part, "rated_torque", None),
        )


def _shelved(part: keys.WheelSet, wheel: keys.Wheel, section: str, k: int, j: int, noun: str) -> dict[str, Any]:
    """What every wheel tells of the shelf: its own figures before those of its set."""
    named = f"{part.name}, {wheel.teeth} teeth" if part.name else f"{noun} of {wheel.teeth} teeth"
    return {
        "key": f"{section}[{k}].teeth[{j}]",
        "name": wheel.name or named,
        "price": part.price if wheel.price is None else wheel.price,
        "mass": part.mass if wheel.mass is None else wheel.mass,
        "available": part.available if wheel.available is None else wheel.available,
        "source": part.source,
    }


def _own(document: Document, at: tuple[str | int, ...], j: int) -> Typed:
    """A wheel's own keys as typed, its teeth among them; one wheel may stand without a list."""
    spot = settled(document.tree, (*at, "teeth", j))
    here = find(document.tree, spot)
    if isinstance(here, Leaf):
        return {"teeth": here.text}
    assert here is not None
    return {key: value for key, value in _plain(here).items() if key not in ("name", *_OF_THE_SHOP)}


def _typed(
    document: Document, path: tuple[str | int, ...], *, drop: tuple[str, ...] = (), keep: tuple[str, ...] = ()
) -> Typed:
    here = find(document.tree, settled(document.tree, path))
    assert here is not None
    return {key: value for key, value in _plain(here).items() if key not in drop and (not keep or key in keep)}


def _plain(tree: Tree) -> Any:
    if isinstance(tree, Leaf):
        return tree.text
    if isinstance(tree, Listing):
        return [_plain(item) for item in tree.items]
    return {key: _plain(value) for key, value in tree.entries.items()}
