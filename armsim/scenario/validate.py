"""The tree of a document against the schema: every section on its own, every fault with its place and in our words."""

import difflib
import types
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cache
from typing import Annotated, Any, Union, get_args, get_origin

from pydantic import BaseModel, TypeAdapter, ValidationError
from pydantic.fields import FieldInfo

from armsim.scenario.keys import Keys
from armsim.scenario.numbers import clean
from armsim.scenario.problems import Misreading, Place, Problem, printable, quoted, shortened
from armsim.scenario.quantities import refuse_cell_count
from armsim.scenario.readers import TOLD, Reading
from armsim.scenario.schema import ScenarioFile
from armsim.scenario.source import Leaf, Listing, Section, Tree
from armsim.scenario.variants import Document

Path = tuple[str | int, ...]
Fault = tuple[Path, dict[str, Any]]  #: where, and what the schema says

#: other words for a key, each read only as a suggestion
_OTHER_WORDS = {
    "ratio": "reduction", "gear_ratio": "reduction", "kv": "velocity_constant", "kt": "torque_constant",
    "ke": "back_emf_constant", "weight": "mass", "com": "centre_of_mass", "cg": "centre_of_mass",
    "voltage": "nominal_voltage", "wire": "gauge", "awg": "gauge", "breaker": "protection", "fuse": "protection",
    "duration": "for", "time": "for", "angle": "to", "target": "to", "timeout": "within", "temperature": "ambient",
    "free_speed": "no_load_speed", "free_current": "no_load_current", "terminal_resistance": "resistance",
    "cycles": "repeat", "price": "unit_price", "friction": "pivot_friction", "name": "title",
    "description": "about", "motors": "count", "hold_for": "for", "input": "driver", "output": "driven",
    "dp": "diametral_pitch", "soc": "state_of_charge", "soh": "state_of_health",
    "cca": "cold_cranking_current", "series": "cells",
    "strings": "parallel", "limit": "max", "esr": "internal_resistance",
    "distance": "at", "position": "at", "gearing": "transmission", "gears": "transmission", "battery": "supply",
    "threads": "starts", "mu": "friction", "eta": "efficiency", "stop": "stops", "limits": "stops",
    "spring": "counterbalance", "counterweight": "counterbalance", "stiffness": "rate", "preload": "initial_tension",
    "rpm": "speed", "amps": "current", "shaft": "output_shaft", "across_flats": "hex", "hexagon": "hex",
    "setscrew": "set_screw", "grub_screw": "set_screw", "keyway": "key", "helix": "wheel_helix",
    "cost": "price", "quantity": "available", "back": "outside", "on_back": "outside", "pretension": "tension",
}  # fmt: skip
_GEARED = "figures at the output shaft: write built_in_reduction; figures of the bare motor: add a gearbox stage"
#: keys whose refusal needs more than a spelling
_ADVICE = {
    ("Motor", "ratio"): _GEARED,
    ("Motor", "reduction"): _GEARED,
    ("Motor", "gear_ratio"): _GEARED,
    ("Gears", "ratio"): "the teeth say it: driver and driven",
    ("Chain", "ratio"): "the teeth say it: driver and driven",
    ("Belt", "ratio"): "the teeth say it: driver and driven",
    ("FlatBelt", "ratio"): "the diameters say it: driver and driven",
    ("Chain", "length"): "give links, the number of pitches of the loop",
    ("Belt", "length"): "give belt_teeth: length over pitch",
    ("Worm", "ratio"): "the teeth say it: starts and wheel",
    (
        "Gears",
        "size",
    ): "a size can be a radius or a diameter, to the pitch line or the tips: give the teeth and the module",
    ("Chain", "size"): "a size can be a radius or a diameter, to the pitch line or the tips: give the teeth",
    ("Motor", "kv"): "write velocity_constant: 800 rpm/V",
}


@dataclass
class Sections:
    """The top-level sections by key, for checks that look at several keys.

    Where a value could not be read it is left out; `partial` holds the paths of what lacks something so.
    """

    values: dict[str, Any] = field(default_factory=dict)
    partial: list[Path] = field(default_factory=list)

    def whole(self) -> ScenarioFile:
        """All of them as one record; only where nothing failed. What may be lacking and does is left out."""
        optional = {name: info for name, info in ScenarioFile.model_fields.items() if not info.is_required()}
        defaults = {name: info.get_default(call_default_factory=True) for name, info in optional.items()}
        return ScenarioFile.model_construct(_fields_set=set(self.values), **{**defaults, **self.values})

    def lacks_something(self, path: Path) -> bool:
        """True where a value at or beside this path could not be read."""
        return any(path[: len(hole)] == hole for hole in self.partial)


def read_sections(
    document: Document, reading: Reading, root: type[Keys] = ScenarioFile, may_lack: tuple[str, ...] = ()
) -> Sections:
    """Read every top-level section of a file of some kind; what fails is told into the reading.

    Of the sections that such a file must have, some may be lacking all the same.
    """
    sections = Sections()
    faults: list[Fault] = []
    for key, tree in document.tree.entries.items():
        if key not in root.model_fields:
            faults.append(((key,), {"type": "extra_forbidden"}))
        elif isinstance(tree, Listing) and get_origin(root.model_fields[key].annotation) is list:
            adapter = _item_adapter(root, key)
            items = [_unit(adapter, (key, k), item, reading, faults, sections) for k, item in enumerate(tree.items)]
            sections.values[key] = items
        else:
            value = _unit(_adapter(root, key), (key,), tree, reading, faults, sections)
            if value is not None:
                sections.values[key] = value
    for key, info in root.model_fields.items():
        if info.is_required() and key not in document.tree.entries and key not in may_lack:
            faults.append(((key,), {"type": "missing"}))
    reading.problems += _problems(faults, document, root)
    return sections


def _unit(
    adapter: TypeAdapter[Any], path: Path, tree: Tree, reading: Reading, faults: list[Fault], sections: Sections
) -> Any:
    """A section or list item; with faults, what is left of it without the values that failed, or None."""
    plain = _plain(tree)
    try:
        return adapter.validate_python(plain, context=reading)
    except ValidationError as error:
        details = error.errors(include_url=False, include_input=False)
    places = [settled(tree, e["loc"]) for e in details]
    faults += [((*path, *place), dict(e)) for place, e in zip(places, details, strict=True)]
    sections.partial.append(path)
    try:
        left = _without(plain, places)
        return adapter.validate_python(left, context=Reading(sources=reading.sources, carriage=reading.carriage))
    except ValidationError:
        return None


def _without(plain: Any, paths: list[Path]) -> Any:
    """A part of the plain tree without the keys at some paths; a fault in a list takes the whole list away."""
    for path in paths:
        keys = list(path)
        at = plain
        for depth, step in enumerate(keys):
            inner = at.get(step) if isinstance(at, dict) else None
            if not isinstance(inner, dict) or depth == len(keys) - 1:
                if isinstance(at, dict):
                    at.pop(step, None)
                break
            at = inner
    return plain


@cache
def _adapter(root: type[Keys], key: str) -> TypeAdapter[Any]:
    info: FieldInfo = root.model_fields[key]
    kind: Any = info.annotation
    for extra in info.metadata:
        kind = Annotated[kind, extra]
    return TypeAdapter(kind)


@cache
def _item_adapter(root: type[Keys], key: str) -> TypeAdapter[Any]:
    (kind,) = get_args(root.model_fields[key].annotation)
    return TypeAdapter(kind)


def _plain(tree: Tree) -> Any:
    if isinstance(tree, Section):
        return {key: _plain(value) for key, value in tree.entries.items()}
    if isinstance(tree, Listing):
        return [_plain(item) for item in tree.items]
    return tree


def find(tree: Tree, path: Path) -> Tree | None:
    """The part of the tree at a path, as far as it goes."""
    at: Tree | None = tree
    for step in path:
        if isinstance(at, Section) and isinstance(step, str):
            at = at.entries.get(step)
        elif isinstance(at, Listing) and isinstance(step, int) and step < len(at.items):
            at = at.items[step]
        else:
            return None
    return at


def settled(tree: Tree, path: Path) -> Path:
    """A path as the tree has it: where one section stands for a list of them there is no index."""
    kept: Path = ()
    for step in path:
        if not (isinstance(step, int) and isinstance(find(tree, kept), (Section, Leaf))):
            kept = (*kept, step)
    return kept


def dotted(path: Path) -> str:
    """motor.count, moves[0].lift."""
    text = ""
    for step in path:
        text += f"[{step}]" if isinstance(step, int) else f".{step}" if text else step
    return printable(text)


def key_place(tree: Section, path: Path) -> tuple[Place, int]:
    """Where the key of a path stands, or the nearest one above it, and its width."""
    while path:
        parent = find(tree, path[:-1])
        last = path[-1]
        if isinstance(parent, Section) and isinstance(last, str) and last in parent.keys:
            return parent.keys[last], len(last)
        here = find(tree, path)
        if here is not None:
            return here.place, 1
        path = path[:-1]
    return Place(file=tree.place.file), 1


def value_place(tree: Section, path: Path) -> tuple[Place, int]:
    """Where the value of a path stands if it is one value, else its key."""
    here = find(tree, path)
    if isinstance(here, Leaf) and not here.empty:
        return here.place, len(here.text)
    return key_place(tree, path)


def _problems(faults: list[Fault], document: Document, root: type[Keys]) -> Iterator[Problem]:
    meant = {(*path[:-1], _suggestion(path, root)) for path, e in faults if e["type"] == "extra_forbidden"}
    for path, error in faults:
        if error["type"] == TOLD or (error["type"] == "missing" and path in meant):
            continue
        fault, at_key = _worded(path, error, document, root)
        place, width = (key_place if at_key else value_place)(document.tree, path)
        yield document.sources.problem(place, dotted(path), fault, width=width)


def _worded(path: Path, error: dict[str, Any], document: Document, root: type[Keys]) -> tuple[Misreading, bool]:
    """A fault of the schema in our words, and whether it points at the key."""
    kind, wants = error["type"], error.get("ctx", {}).get("wants", "")
    here = find(document.tree, path)
    if kind == "extra_forbidden":
        return Misreading("SCN102", "unknown key", _unknown_hint(path, root)), True
    if kind == "missing":
        return Misreading("SCN103", "is missing", _missing_hint(path, root)), True
    if kind == "empty_value" or (isinstance(here, Leaf) and here.empty):
        return _empty(wants or _shape_hint(path, kind, root), here, document), True
    if kind == "single_value":
        return Misreading("SCN109", f"wants a single value, got {_SHAPES[type(here)]}", wants), True
    if kind == "rows":
        return Misreading("SCN109", "is a table of another shape", wants), True
    return _wrong_shape(kind, here, path, root), False


def _wrong_shape(kind: str, here: Tree | None, path: Path, root: type[Keys]) -> Misreading:
    wanted = "a list" if kind == "list_type" else "a section of keys"
    if isinstance(here, Leaf) and path[-1] == "battery":
        try:
            refuse_cell_count(clean(here.text))
        except Misreading as cells:
            return cells
    got = quoted(here.text) if isinstance(here, Leaf) else _SHAPES[type(here)]
    return Misreading("SCN109", f"wants {wanted}, got {got}", _shape_hint(path, kind, root))


def _empty(wants: str, here: Tree | None, document: Document) -> Misreading:
    line = document.sources.line(here.place) if here else ""
    after = line[here.place.column - 1 :].strip() if here else ""
    if after.startswith("#"):
        word = after.lstrip("# ").split()[0] if after.lstrip("# ").split() else ""
        return Misreading(
            "SCN108",
            "is empty; a # after a space starts a comment",
            f'write "#{shortened(word)}" in quotes or {shortened(word)}',
        )
    return Misreading("SCN108", "is empty", wants)


def _model_of(kind: Any) -> type[Keys] | None:
    """The section behind a field's type, through lists and alternatives."""
    if isinstance(kind, type) and issubclass(kind, BaseModel):
        return kind if issubclass(kind, Keys) else None
    if get_origin(kind) in (list, Annotated, Union, types.UnionType):
        return next(filter(None, map(_model_of, get_args(kind))), None)
    return None


def _model_at(path: Path, root: type[Keys]) -> type[Keys] | None:
    model: type[Keys] | None = root
    for step in path:
        if isinstance(step, int) or model is None:
            continue
        info = fields_by_key(model).get(step)
        model = _model_of(info.annotation) if info else None
    return model


def fields_by_key(model: type[Keys]) -> dict[str, FieldInfo]:
    """The keys of a section as a scenario spells them."""
    return {info.alias or name: info for name, info in model.model_fields.items()}


def _suggestion(path: Path, root: type[Keys]) -> str:
    """The key that an unknown one probably means; empty if none is near."""
    model, typed = _model_at(path[:-1], root), str(path[-1])
    if model is None:
        return ""
    known = list(fields_by_key(model))
    plain = typed.strip().casefold().replace(" ", "_").replace("-", "_")
    if plain in known:
        return plain
    if _OTHER_WORDS.get(plain) in known:
        return _OTHER_WORDS[plain]
    return next(iter(difflib.get_close_matches(plain, known, 1, 0.75)), "")


def _unknown_hint(path: Path, root: type[Keys]) -> str:
    model, typed = _model_at(path[:-1], root), str(path[-1])
    advice = _ADVICE.get((model.__name__ if model else "", typed.casefold()))
    if advice:
        return advice
    meant = _suggestion(path, root)
    if meant:
        return f"did you mean '{meant}'?"
    return f"known here: {', '.join(fields_by_key(model))}" if model else ""


def _missing_hint(path: Path, root: type[Keys]) -> str:
    if len(path) == 1 and path[0] in _LINES:
        return _LINES[str(path[0])]
    model, parent = _model_at(path, root), _model_at(path[:-1], root)
    if model and model.example:
        return f"write {path[-1]}: {model.example}"
    return f"such as {parent.example}" if parent and parent.example else ""


_SHAPES: dict[type, str] = {Listing: "a list", Section: "a section of keys"}
#: what to write for a missing key of the scenario itself
_LINES = {
    "title": "write title: Crate tipper, gears and a chain",
    "start": "write start: -30 deg, counted up from the horizontal",
    "moves": "write moves: [{lift: {to: 70 deg}}]",
    "uncertainty": "write uncertainty: {payload: 10 %, efficiency: 5 %}",
    "motor": "a catalogue row is nominal_voltage, no_load_speed, no_load_current, stall_torque, stall_current",
}


def _shape_hint(path: Path, kind: str, root: type[Keys]) -> str:
    model, last = _model_at(path, root), path[-1]
    if model is None or not model.example:
        return _LINES.get(str(last), "")
    example = model.example
    if isinstance(last, int):
        return f"such as {example}"
    if kind == "list_type":
        return f"write {last}: [{example if example.startswith('{') else '{' + example.removeprefix('- ') + '}'}]"
    return f"write {example}" if example.startswith(f"{last}:") else f"write {last}: {example}"
