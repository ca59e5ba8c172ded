"""A scenario with some of its values changed, as if its file had been edited: read, checked and built anew."""

import hashlib
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from armsim.scenario.loading import scenario_of
from armsim.scenario.problems import Misreading, Place, Problem, ScenarioError
from armsim.scenario.records import Scenario
from armsim.scenario.source import Leaf, Listing, Section, Sources, Tree
from armsim.scenario.variants import keyed, without_rivals

CHANGES = "changes"  #: where problems of changed values are told to be, a line for each


def changed(scenario: Scenario, changes: Mapping[str, Any]) -> Scenario:
    """The scenario with other values at some of its keys.

    Keys are dotted, with the index of an item of a list: `arm.payload.mass`, `transmission.0.gears.driven` or
    `transmission[0].gears.driven`. Values are written as in a file, `"10 kg"`; numbers, True and False, mappings and
    lists of these do as well, and None takes a key out. As in a variant, another way of saying one thing drops the
    scenario's own. Raises ScenarioError with every problem found, and ValueError for a scenario that was made in code.
    """
    document = scenario.document
    if document is None:
        raise ValueError("a scenario that was made in code has no keys to change")
    lines = [f"{key}: {_typed(value)}" for key, value in changes.items()]
    sources = Sources(lines={file: list(kept) for file, kept in document.sources.lines.items()})
    first = len(sources.lines.setdefault(CHANGES, [])) + 1
    sources.lines[CHANGES] += lines
    editor = _Editor(sources=sources, problems=[])
    tree: Tree = document.tree
    for number, (key, value) in enumerate(changes.items(), first):
        tree = editor.edited(tree, key, value, Place(file=CHANGES, line=number, column=len(key) + 3))
    if editor.problems:
        raise ScenarioError(document.file, tuple(editor.problems))
    assert isinstance(tree, Section)
    digest = hashlib.sha256("\n".join([document.sha256, *lines]).encode()).hexdigest()
    return scenario_of(replace(document, tree=keyed(tree), sources=sources, sha256=digest), None)


def _typed(value: Any) -> str:
    """A value as a person would type it in one line."""
    if value is None:
        return "none"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{key}: {_typed(inner)}" for key, inner in value.items()) + "}"
    if isinstance(value, Sequence) and not isinstance(value, str):
        return "[" + ", ".join(map(_typed, value)) + "]"
    return str(value)


def _tree(value: Any, place: Place) -> Tree:
    if isinstance(value, Mapping):
        entries = {str(key): _tree(inner, place) for key, inner in value.items()}
        return Section(entries=entries, keys=dict.fromkeys(entries, place), place=place)
    if isinstance(value, Sequence) and not isinstance(value, str):
        return Listing(items=tuple(_tree(inner, place) for inner in value), place=place)
    return Leaf(text=_typed(value), place=place)


@dataclass(frozen=True, kw_only=True)
class _Editor:
    """Puts values into a tree and keeps what was wrong with their keys."""

    sources: Sources
    problems: list[Problem]

    def edited(self, tree: Tree, key: str, value: Any, place: Place) -> Tree:
        """The tree with one change, or as it was where that cannot be made."""
        steps = [step for step in re.split(r"[.\[\]]+", key) if step]
        fresh = None if value is None or value == "none" else _tree(value, place)
        try:
            if not steps:
                raise Misreading("SCN102", "a change without a key", "such as arm.payload.mass")
            return put(tree, steps, fresh, "", place)
        except Misreading as fault:
            here = replace(place, column=1)
            self.problems.append(self.sources.problem(here, key, fault, width=len(key)))
            return tree


def put(tree: Tree | None, steps: list[str], value: Tree | None, path: str, place: Place) -> Tree:
    """A part of the tree, at a dotted path, with a value further down; without it where the value is None.

    Keys on the way get the place's first column. Raises Misreading for an item that a list does not have.
    """
    step, *rest = steps
    if isinstance(tree, Listing):
        return _put_in_list(tree, steps, value, path, place)
    if isinstance(tree, Section) and step == "0" and rest and step not in tree.entries:
        return put(tree, rest, value, path, place)  # one section may stand for a list of one
    old = tree.entries if isinstance(tree, Section) else {}
    keys = tree.keys if isinstance(tree, Section) else {}
    if value is None and step not in old:
        raise Misreading("SCN107", f"there is no '{step}' to take out{f' of {path}' if path else ''}")
    entries = without_rivals(old, [step], path) if value is not None else dict(old)
    inner = f"{path}.{step}" if path else step
    if rest:
        entries[step] = put(entries.get(step), rest, value, inner, place)
    elif value is None:
        del entries[step]
    else:
        entries[step] = value
    at = replace(place, column=1)
    return Section(entries=entries, keys={step: at, **keys}, place=tree.place if tree else at)


def _put_in_list(tree: Listing, steps: list[str], value: Tree | None, path: str, place: Place) -> Tree:
    step, *rest = steps
    count = len(tree.items)
    if not step.isdigit() or int(step) >= count:
        there = f"items 0 to {count - 1}" if count > 1 else "item 0 alone" if count else "no items"
        raise Misreading("SCN120", f"{path} has {there}, not '{step}'", "give the whole list to make it longer")
    items = list(tree.items)
    if rest:
        items[int(step)] = put(items[int(step)], rest, value, f"{path}[{step}]", place)
    elif value is None:
        del items[int(step)]
    else:
        items[int(step)] = value
    return replace(tree, items=tuple(items))
