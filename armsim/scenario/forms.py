"""How values may be written, as fragments of JSON Schema for programs that help people to write scenarios.

A form is never stricter than the reader it stands for: what an editor underlines is wrong, what it lets pass may be.
Every form lets `none` pass, with which a variant takes a key out.
"""

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any

from pydantic import BeforeValidator

Form = dict[str, Any]

_SIGN = "[+\\-\u2010-\u2015\u2212]?\\s*"
_DIGITS = "0-9\u00bd\u00bc\u00be\u2153\u2154\u215b-\u215e"
_HEAD = f"{_SIGN}[.,]?[{_DIGITS}]"
_NUMBER = f"{_HEAD}[{_DIGITS}eE.,/+\\- ]*"
SCALAR = ("string", "number", "boolean")  #: what a plain value may be, as readers of YAML take it


@dataclass(frozen=True, slots=True)
class Typed(BeforeValidator):
    """A validator of what was typed that can say which forms it takes."""

    wants: str = ""  #: a sentence for people
    form: Callable[[], Form] = lambda: scalar()


def scalar() -> Form:
    """Any one value."""
    return {"type": list(SCALAR)}


def text() -> Form:
    """Words; an editor's reader may take some for a number."""
    return scalar()


def quantity(bare: bool) -> Form:
    """A number with a unit, or without where one is understood."""
    written = _whole(f"([Kk][Vv]\\s*)?{_HEAD}.*")
    if bare:
        return {"type": ["string", "number"], "pattern": written}
    alone = f"^(?!\\s*{_NUMBER}$)"  # what looks ahead refuses a number and nothing else
    return {"type": "string", "pattern": alone + written.removeprefix("^")}


def quantity_or(words: Iterable[str]) -> Form:
    """A number with a unit, or one of a few words."""
    return {"anyOf": [choice(words), quantity(bare=False)]}


def size(bare: bool) -> Form:
    """Of a conductor, by a gauge such as 10 AWG, #10 or 2/0, or by an area."""
    return {
        "type": ["string", "integer"] if bare else "string",
        "pattern": _whole(".*[0-9].*" if bare else ".*[0-9].*[^0-9\\s].*"),
    }


def number(limits: dict[str, float | None] | None = None) -> Form:
    """A number without unit, within limits named as JSON Schema names them."""
    return {
        "type": ["string", "number"],
        "pattern": _whole(_NUMBER),
        **{name: limit for name, limit in (limits or {}).items() if limit is not None},
    }


def whole(least: int, most: int, *, teeth: bool = False) -> Form:
    """A count, of teeth also as 14T."""
    word = r"\s*([Tt]|[Tt]eeth|[Tt]ooth)?" if teeth else ""
    return {
        "type": ["integer", "string"],
        "pattern": _whole(f"{_SIGN}[0-9]+{word}"),
        "minimum": least,
        "maximum": most,
    }


def teeth() -> Form:
    """Teeth of a wheel, which may stand for the whole section of it."""
    return whole(5, 1000, teeth=True)


def share() -> Form:
    """A part of one, or a percentage."""
    return {
        "type": ["string", "number"],
        "pattern": _whole(f"{_NUMBER}\\s*(%|percent|per cent)?"),
        "minimum": 0,
        "maximum": 1,
    }


def spreads(one: Iterable[str], many: Iterable[str]) -> Form:
    """A section of any keys, each with a tolerance or exactly one law of one value or of a list."""
    laws: Form = {law: scalar() for law in one} | {law: {"type": "array", "items": scalar()} for law in many}
    law: Form = {"type": "object", "additionalProperties": False, "properties": laws, "minProperties": 1}
    either = {"anyOf": [scalar(), law | {"maxProperties": 1}]}
    return {"type": ["object", "string"], "pattern": _whole("none"), "additionalProperties": either}


def yes_no(words: Iterable[str]) -> Form:
    """Yes or no; an editor's reader may take some of the words for a truth value."""
    return {"anyOf": [{"enum": ["yes", "no"]}, {"type": "boolean"}, {"type": "string", "pattern": _caseless(words)}]}


def choice(words: Iterable[str]) -> Form:
    """One of a few words in upper or lower case."""
    known = list(words)
    return {"anyOf": [{"enum": known}, {"type": "string", "pattern": _caseless(known)}]}


def likely(words: Iterable[str]) -> Form:
    """Words to offer where there are more ways to write them."""
    return {"anyOf": [{"enum": list(words)}, scalar()]}


def table(rows: int, columns: int) -> Form:
    """A list of rows of equal length."""
    row = {"type": "array", "minItems": columns, "maxItems": columns, "items": scalar()}
    return {"type": ["array", "string"], "pattern": _whole("none"), "minItems": rows, "items": row}


def _whole(pattern: str) -> str:
    return f"^\\s*(none|[\"']?\\s*{pattern})\\s*$"


def _caseless(words: Iterable[str]) -> str:
    """A pattern of any of these words, in a dialect that has no flags inside."""
    spelt = ("".join(f"[{c.upper()}{c}]" if c.isalpha() else re.escape(c) for c in word) for word in words)
    return _whole(f"({'|'.join(spelt)})[\"']?")
