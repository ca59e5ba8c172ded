"""The keys of a scenario as a JSON Schema, from which editors complete, explain and underline.

It keeps to draft 7, which the language servers of editors know. Words, ranges and shapes come from the schema itself,
the meaning of each key from the table of keys. A variant need not be whole and may say `none`: keys that must be there
are asked of files that vary none, and of items of lists, which a variant replaces as a whole.
"""

import types
from collections.abc import Iterator
from functools import cache
from typing import Annotated, Any, Union, get_args, get_origin

from pydantic.fields import FieldInfo

from armsim.scenario.forms import Form, Typed, scalar
from armsim.scenario.keys import Keys
from armsim.scenario.schema import ScenarioFile
from armsim.scenario.tables import key_meanings
from armsim.scenario.validate import fields_by_key
from armsim.scenario.variants import VARIANT_KEY

DRAFT = "http://json-schema.org/draft-07/schema#"
_NONE = "^\\s*none\\s*$"


def json_schema() -> Form:
    """The schema of a scenario file."""
    variant = {"type": "string", "description": "Another scenario in the same folder tree, which this one varies"}
    return {
        "$schema": DRAFT,
        "title": "armsim scenario",
        "description": _said(ScenarioFile),
        "type": "object",
        "additionalProperties": False,
        "properties": {VARIANT_KEY: variant, **_properties(ScenarioFile)},
        "if": {"required": [VARIANT_KEY]},
        "else": _needs(ScenarioFile),
        "definitions": {model.__name__: _section(model) for model in sections()},
    }


def sections(model: type[Keys] = ScenarioFile) -> list[type[Keys]]:
    """Every section that can stand in a scenario, each once."""
    found: dict[type[Keys], None] = {}
    for inner in (_model(_kind(info)) for info in fields_by_key(model).values()):
        if inner is not None:
            found |= dict.fromkeys((inner, *sections(inner)))
    return list(found)


@cache
def _always_whole() -> frozenset[type[Keys]]:
    """Sections that stand in items of lists and nowhere else, so that no variant gives a part of them."""

    def reached(model: type[Keys]) -> set[type[Keys]]:
        kinds = [kind for kind in map(_kind, fields_by_key(model).values()) if not _is_list(kind)]
        inner = {found for kind in kinds if (found := _model(kind)) is not None}
        return inner.union(*map(reached, inner))

    return frozenset(sections()) - reached(ScenarioFile)


def meaning(model: type[Keys], key: str) -> str:
    """What a key of a section is, from the table of keys; empty where that has none."""
    for kind in model.__mro__:
        if key in key_meanings().get(kind.__name__, {}):
            return key_meanings()[kind.__name__][key]
    return ""


def _section(model: type[Keys]) -> Form:
    form: Form = {
        "description": _said(model),
        "type": ["object", "string"],
        "pattern": _NONE,
        "additionalProperties": False,
        "properties": _properties(model),
    }
    if model in _always_whole() and (required := _required(model)):
        form["required"] = required
    return form | ({"minProperties": 1, "maxProperties": 1} if model.alone else {})


def _said(model: type[Keys]) -> str:
    """The sentence of a section, and an example of it."""
    docstring = (model.__doc__ or "").strip()
    return f"{docstring} Such as {model.example}" if model.example else docstring


def _properties(model: type[Keys]) -> dict[str, Form]:
    return {key: _property(model, key, info) for key, info in fields_by_key(model).items()}


def _property(model: type[Keys], key: str, info: FieldInfo) -> Form:
    kind = _kind(info)
    wants = _typed(kind).wants
    text = ". ".join(part[0].upper() + part[1:] for part in (meaning(model, key), wants) if part)
    default = info.get_default()
    stated = {"default": default} if isinstance(default, str | int) and default != "" else {}
    if isinstance(default, bool):
        stated = {"default": "yes" if default else "no"}
    return {"description": f"{text}.", **stated, **_form(kind)}


def _kind(info: FieldInfo) -> Any:
    kind: Any = info.annotation
    for extra in info.metadata:
        kind = Annotated[kind, extra]
    return kind


def _parts(kind: Any) -> tuple[Any, list[Any]]:
    """A type without its alternatives of None, and what it is annotated with."""
    if get_origin(kind) is Annotated:
        inner, *extras = get_args(kind)
        bare, more = _parts(inner)
        return bare, [*more, *extras]
    if get_origin(kind) in (Union, types.UnionType):
        only = next(choice for choice in get_args(kind) if choice is not type(None))
        return _parts(only)
    return kind, []


def _typed(kind: Any) -> Typed:
    _, extras = _parts(kind)
    return next((extra for extra in extras if isinstance(extra, Typed)), Typed(lambda value: value))


def _form(kind: Any) -> Form:
    """A value, a section, or a list of either."""
    bare, extras = _parts(kind)
    if get_origin(bare) is list:
        (item,) = get_args(bare)
        each = _form(item)
        model = _model(item)
        listing: Form = {
            "type": ["array", "string"],
            "pattern": _NONE,
            "items": {"allOf": [each, needs]} if (needs := {} if model is None else _needs(model)) else each,
        }
        return {"anyOf": [listing, each]} if extras else listing
    if isinstance(bare, type) and issubclass(bare, Keys):
        section = {"$ref": f"#/definitions/{bare.__name__}"}
        short = [extra.form() for extra in extras if isinstance(extra, Typed)]
        return {"anyOf": [section, *short]} if short else {"allOf": [section]}
    return _typed(kind).form() if extras else scalar()


def _model(kind: Any) -> type[Keys] | None:
    """The section behind a type, through lists and alternatives."""
    bare, _ = _parts(kind)
    if get_origin(bare) is list:
        return _model(get_args(bare)[0])
    return bare if isinstance(bare, type) and issubclass(bare, Keys) else None


def _needs(model: type[Keys]) -> Form:
    """What must be there in a section that is whole and in those that it holds, beyond what their definitions ask."""
    return dict(_needed(model))


def _needed(model: type[Keys]) -> Iterator[tuple[str, Any]]:
    if model not in _always_whole() and (required := _required(model)):
        yield "required", required
    inner = {key: _inner_needs(info) for key, info in fields_by_key(model).items()}
    if any(inner.values()):
        yield "properties", {key: needs for key, needs in inner.items() if needs}


def _required(model: type[Keys]) -> list[str]:
    return [key for key, info in fields_by_key(model).items() if info.is_required()]


def _inner_needs(info: FieldInfo) -> Form:
    """Of a section that stands by itself; items of lists are asked where the list is."""
    kind = _kind(info)
    model = _model(kind)
    return {} if model is None or _is_list(kind) else _needs(model)


def _is_list(kind: Any) -> bool:
    """True for a list of which no single item may stand in its place."""
    bare, extras = _parts(kind)
    return get_origin(bare) is list and not extras
