"""Stock lists: what a shop or shelf has, read like a scenario, each item able to say itself as a scenario's section.

A section is given as typed (`{"module": "1.5 mm", "driver": {"teeth": "14"}}`), so that what a person wrote is what a
scenario made of it says. `section_text` writes one as YAML.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from armsim.parts.belt import BeltProfile
from armsim.parts.chain_size import ChainSize
from armsim.scenario import motor_agreement
from armsim.scenario import stock_keys as keys
from armsim.scenario.faults import Faults
from armsim.scenario.mechanical_agreement import stage_faults
from armsim.scenario.problems import Misreading, Problem, ScenarioError
from armsim.scenario.readers import Reading
from armsim.scenario.schema import Motor, Stage
from armsim.scenario.source import Leaf, Listing, Tree
from armsim.scenario.validate import Sections, dotted, find, read_sections, settled, value_place
from armsim.scenario.variants import Document, read_document, read_text
from armsim.scenario.wires import run_faults

Typed = dict[str, Any]  #: keys and what stands there as typed: texts, lists and dicts of them

#: keys of the shop, which no section of a scenario has
_OF_THE_SHOP = ("price", "mass", "available", "rated_torque")
_WARNINGS = ("SCN130", "SCN131")
PITCH_AGREES = 1e-6  #: by which modules and pressure angles of gears that run together may differ [-]


@dataclass(frozen=True, kw_only=True)
class Item:
    """One thing on the shelf."""

    key: str  #: where it stands in the list, such as gears[0].teeth[2]
    name: str
    price: float | None  #: of one, in the money of the list
    mass: float | None  #: of one [kg]
    available: int | None  #: how many there are; None: as many as are wanted
    source: str
    typed: Typed  #: the section, as typed, without what only a shop knows


@dataclass(frozen=True, kw_only=True)
class StockMotor(Item):
    """A motor."""

    given: Motor  #: read, in SI, ready for `build`

    def section(self) -> Typed:
        """What stands under `motor`."""
        return self.typed


@dataclass(frozen=True, kw_only=True)
class Gear(Item):
    """One gear of a set. Lengths in m, stresses in Pa."""

    teeth: int
    module: float
    pressure_angle: float  #: [rad]
    helix_angle: float  #: [rad]
    face_width: float | None
    bore: float | None
    material: str

    def meshes(self, other: "Gear") -> bool:
        """Same pitch and same angles, so that both run together."""
        mine = (self.module, self.pressure_angle, self.helix_angle)
        theirs = (other.module, other.pressure_angle, other.helix_angle)
        return all(abs(a - b) <= PITCH_AGREES * max(abs(a), abs(b)) for a, b in zip(mine, theirs, strict=True))


@dataclass(frozen=True, kw_only=True)
class Sprocket(Item):
    """One sprocket."""

    teeth: int
    size: ChainSize
    bore: float | None  #: [m]
    set_typed: Typed  #: the chain's number and what it bears

    def meshes(self, other: "Sprocket") -> bool:
        """The same chain runs on both."""
        return self.size == other.size


@dataclass(frozen=True, kw_only=True)
class Pulley(Item):
    """One toothed pulley."""

    teeth: int
    profile: BeltProfile
    width: float | None  #: of the belt [m]
    bore: float | None  #: [m]
    set_typed: Typed  #: the belt's profile, width and what it bears

    def meshes(self, other: "Pulley") -> bool:
        """The same belt runs on both."""
        return self.profile == other.profile and self.width == other.width


@dataclass(frozen=True, kw_only=True)
class WholeStage(Item):
    """A stage that is bought whole: worm and wheel, planetary set, gearbox."""

    kind: str  #: worm, planetary or gearbox
    given: Any  #: its section, read, in SI
    rated_torque: float | None  #: at its output [N*m]

    def section(self) -> Typed:
        """One item of `transmission`."""
        return {self.kind: self.typed}


@dataclass(frozen=True, kw_only=True)
class Stock:
    """A stock list, read."""

    path: Path | None
    title: str
    about: str
    sha256: str
    motors: tuple[StockMotor, ...] = ()
    gears: tuple[Gear, ...] = ()
    sprockets: tuple[Sprocket, ...] = ()
    pulleys: tuple[Pulley, ...] = ()
    stages: tuple[WholeStage, ...] = ()  #: worms, planetary sets and gearboxes, in this order
    warnings: tuple[Problem, ...] = ()


def load_stock(path: Path) -> Stock:
    """Read a stock list. Raises ScenarioError with every problem found."""
    return _stock(read_document(Path(path)), Path(path))


def loads_stock(text: str, name: str = "stock.yaml") -> Stock:
    """Read a stock list from a text. Raises ScenarioError with every problem found."""
    return _stock(read_text(text, name), None)


def gears_section(driver: Gear, driven: Gear) -> Typed:
    """Two gears as one item of `transmission`; what both say stands once."""
    return {"gears": _pair(driver.typed, driven.typed)}


def chain_section(driver: Sprocket, driven: Sprocket) -> Typed:
    """Two sprockets and their chain as one item of `transmission`."""
    return {"chain": {**driver.set_typed, "driver": driver.typed, "driven": driven.typed}}


def belt_section(driver: Pulley, driven: Pulley) -> Typed:
    """Two pulleys and their belt as one item of `transmission`."""
    return {"belt": {**driver.set_typed, "driver": driver.typed, "driven": driven.typed}}


def section_text(typed: Any) -> str:
    """A section, a list or a value as YAML on one line, values as they were typed."""
    if isinstance(typed, Mapping):
        return "{" + ", ".join(f"{key}: {section_text(value)}" for key, value in typed.items()) + "}"
    if isinstance(typed, list | tuple):
        return "[" + ", ".join(map(section_text, typed)) + "]"
    plain = str(typed)
    if plain and plain[0].isalnum() and not set(plain) & set(',[]{}:#"\n'):
        return plain
    return '"' + plain.replace("\\", "\\\\").replace('"', '\\"').replace("\n", " ") + '"'


# ---------------------------------------------------------------------------------------------------- reading


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


#: keys of a gear that its stage can say for both
_OF_THE_STAGE = (
    "module", "diametral_pitch", "pressure_angle", "helix_angle", "face_width", "material", "allowable_bending",
    "allowable_contact",
)  # fmt: skip


def _pair(driver: Typed, driven: Typed) -> Typed:
    both = {key: driver[key] for key in _OF_THE_STAGE if key in driver and driven.get(key) == driver[key]}

    def own(gear: Typed) -> Any:
        rest = {key: value for key, value in gear.items() if key not in both}
        return rest["teeth"] if len(rest) == 1 else rest

    return {**both, "driver": own(driver), "driven": own(driven)}
