"""Scenario files and the scenarios they vary: read in turn, merged, each value keeping the file it came from.

A variant's sections are merged into the base's key by key; a list replaces the base's list; the value `none` takes
a key out. Where a section offers several ways of saying one thing, the variant's way drops the base's.
"""

import hashlib
import os
from collections.abc import Container, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from armsim.scenario.problems import Misreading, Problem, ScenarioError
from armsim.scenario.source import LARGEST, Leaf, Listing, Section, Sources, Tree, decode, parse, unreadable

VARIANT_KEY = "variant_of"
_ROW = ("no_load_speed", "no_load_current", "stall_torque", "stall_current")
_CONSTANTS = (
    "torque_constant", "velocity_constant", "back_emf_constant", "resistance", "coulomb_friction", "viscous_friction",
)  # fmt: skip
_WIRE = (
    (("gauge",), ("area", "resistance")),
    (("area",), ("gauge", "gauge_system", "resistance")),
    (
        ("resistance",),
        ("gauge", "area", "gauge_system", "length", "joints", "temperature", "stranding", "insulation_limit"),
    ),
)
_OF_CHEMISTRY = ("cells", "parallel", "cold_cranking_current", "temperature", "state_of_health")
#: by section: (keys that choose a way, keys of the base that it drops)
EXCLUSIVE: dict[str, tuple[tuple[tuple[str, ...], tuple[str, ...]], ...]] = {
    "motor": (
        (("torque_constant", "velocity_constant"), _ROW),
        (("torque_constant",), ("velocity_constant",)),
        (("velocity_constant",), ("torque_constant",)),
        (_ROW, _CONSTANTS),
    ),
    "supply": (
        (("battery",), ("bench",)),
        (("bench",), ("battery",)),
    ),
    "supply.battery": (
        (("chemistry",), ("open_circuit_voltage", "internal_resistance", "resistance_method")),
        (("open_circuit_voltage",), ("chemistry", *_OF_CHEMISTRY)),
        (("internal_resistance",), ("cold_cranking_current",)),
        (("cold_cranking_current",), ("internal_resistance", "resistance_method")),
    ),
    "supply.wiring": _WIRE,
    "motor.leads": _WIRE,
    "arm": (
        (("masses",), ("mass", "centre_of_mass")),
        (("mass", "centre_of_mass"), ("masses",)),
    ),
}


@dataclass(frozen=True, kw_only=True)
class Document:
    """A scenario's tree with its bases merged in, and what was read for it."""

    file: str
    tree: Section
    sources: Sources
    sha256: str  #: of all bytes read, the scenario's own first


def read_document(path: Path) -> Document:
    """Read a scenario file and every file it varies; ScenarioError for whatever stands in the way."""
    return _read(str(path), _bytes(path, str(path)), path)


def read_text(text: str, name: str) -> Document:
    """The document of a text that is in no file and so can vary none."""
    return _read(name, text.encode("utf-8", "surrogatepass"), None)


def _read(file: str, data: bytes, path: Path | None) -> Document:
    sources = Sources()
    digest = hashlib.sha256(data)
    layers = [parse(decode(data, file), file, sources)]
    seen = [] if path is None else [_resolved(path)]
    shown = file
    while (base := layers[-1].entries.get(VARIANT_KEY)) is not None:
        target, shown = _base_path(base, layers[-1], seen, shown, sources, file)
        data = _bytes_of_base(target, shown, base, sources, file)
        digest.update(data)
        seen.append(target)
        layers.append(parse(decode(data, shown), shown, sources))
    problems: list[Problem] = []
    tree = layers.pop()
    while layers:
        tree = _merged(tree, layers.pop(), "", sources, problems)
    if problems:
        raise ScenarioError(file, tuple(problems))
    entries = {key: value for key, value in tree.entries.items() if key != VARIANT_KEY}
    tree = replace(tree, entries=entries)
    return Document(file=file, tree=keyed(tree), sources=sources, sha256=digest.hexdigest())


def _bytes(path: Path, file: str) -> bytes:
    try:
        with path.open("rb") as stream:
            return stream.read(LARGEST + 1)
    except FileNotFoundError:
        raise unreadable(file, "does not exist", "`armsim new FILE` writes one to start from") from None
    except IsADirectoryError:
        raise unreadable(file, "is a folder", "name a scenario file in it") from None
    except PermissionError:
        raise unreadable(file, "may not be read by you") from None
    except (OSError, ValueError) as error:
        raise unreadable(
            file, f"cannot be read: {getattr(error, 'strerror', None) or 'not a usable file name'}"
        ) from None


def _resolved(path: Path) -> Path:
    return Path(os.path.realpath(path))


def _base_path(
    base: Tree, layer: Section, seen: list[Path], shown: str, sources: Sources, file: str
) -> tuple[Path, str]:
    place = layer.keys[VARIANT_KEY]

    def refuse(text: str, hint: str = "") -> ScenarioError:
        fault = Misreading("SCN107", text, hint)
        width = len(base.text) if isinstance(base, Leaf) else 1
        return ScenarioError(file, (sources.problem(base.place or place, VARIANT_KEY, fault, width=width),))

    if not isinstance(base, Leaf) or base.empty or "\x00" in base.text:
        raise refuse("wants the name of one scenario file", "write variant_of: other.yaml")
    if not seen:
        raise refuse("a text that is in no file cannot vary one", "load it from a file")
    target = _resolved(seen[-1].parent / base.text.strip())
    if not target.is_relative_to(seen[0].parent):
        raise refuse(
            f"'{base.text}' lies outside the folder of {Path(file).name}",
            "keep a scenario and its variants in one folder",
        )
    if target in seen:
        raise refuse(
            f"'{base.text}' comes back to a file that is already read: a circle", "one of them has to stand alone"
        )
    return target, os.path.join(os.path.dirname(shown), base.text.strip())


def _bytes_of_base(target: Path, shown: str, base: Tree, sources: Sources, file: str) -> bytes:
    try:
        return _bytes(target, shown)
    except ScenarioError as error:
        fault = Misreading(
            "SCN107", f"{shown} {error.problems[0].text}", "the name counts from the folder of this file"
        )
        width = len(base.text) if isinstance(base, Leaf) else 1
        raise ScenarioError(file, (sources.problem(base.place, VARIANT_KEY, fault, width=width),)) from None


def without_rivals(base: Mapping[str, Tree], fresh: Container[str], path: str) -> dict[str, Tree]:
    """Entries of the section at a dotted path without those that say otherwise what the fresh keys say."""
    rivals = {key for chosen, dropped in EXCLUSIVE.get(path, ()) if any(k in fresh for k in chosen) for key in dropped}
    return {key: value for key, value in base.items() if key not in rivals}


def _merged(base: Section, variant: Section, path: str, sources: Sources, problems: list[Problem]) -> Section:
    entries, keys = without_rivals(base.entries, variant.entries, path), dict(base.keys)
    for key, value in variant.entries.items():
        keys[key] = variant.keys[key]
        inner = f"{path}.{key}" if path else key
        old = entries.get(key)
        if isinstance(value, Leaf) and value.text.strip() == "none" and not value.quoted:
            if entries.pop(key, None) is None:
                fault = Misreading(
                    "SCN107", "`none` takes a key out, and the base has no such key", "leave the line out"
                )
                problems.append(sources.problem(value.place, inner, fault, width=4))
        elif isinstance(old, Section) and isinstance(value, Section):
            entries[key] = _merged(old, value, inner, sources, problems)
        else:
            entries[key] = value
    return Section(entries=entries, keys=keys, place=variant.place)


def keyed(tree: Section) -> Section:
    """A whole tree with its dotted path written into every value."""
    found = _keyed(tree, "")
    assert isinstance(found, Section)
    return found


def _keyed(tree: Tree, path: str) -> Tree:
    """The tree with its dotted path written into every value."""
    if isinstance(tree, Leaf):
        return replace(tree, key=path)
    if isinstance(tree, Listing):
        return replace(tree, items=tuple(_keyed(item, f"{path}[{k}]") for k, item in enumerate(tree.items)))
    entries = {key: _keyed(value, f"{path}.{key}" if path else key) for key, value in tree.entries.items()}
    return replace(tree, entries=entries)
