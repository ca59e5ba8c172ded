"""Markdown that any viewer renders alike: escaping, tables and lists."""

import re
from collections.abc import Iterable, Sequence

from armsim.report.numbers import one_line, typeset

_SPECIAL = re.compile(r"([\\`*_\[\]<>|~$&])")
_LIST_OR_HEADING = re.compile(r"^(?:([#>+-])|(\d+)([.)])(?=\s))")


def escape(text: str) -> str:
    """Text of a person as Markdown that shows it as typed, on one line."""
    return _SPECIAL.sub(r"\\\1", one_line(text))


def code(text: str) -> str:
    """A key or code as it is written in files."""
    plainly = one_line(text).replace("`", "'").replace("|", r"\|")
    return f"`{plainly}`" if plainly else ""


def prose(text: str) -> str:
    """Our own sentences: units typeset, everything else shown as it stands."""
    return _SPECIAL.sub(r"\\\1", typeset(one_line(text)))


def alternative(text: str) -> str:
    """The first two sentences of a text, as what is read out in place of a picture."""
    first_two = ". ".join(text.split(". ")[:2]).rstrip(".") + "."
    return _SPECIAL.sub("", typeset(first_two))


def table(head: Sequence[str], rows: Iterable[Sequence[str]], numeric: bool = True, words: int = 1) -> str:
    """A pipe table of finished cells; all but the first columns, of words, right aligned where they are numbers."""
    marks = [*["---"] * words, *["---:" if numeric else "---"] * (len(head) - words)]
    lines = [f"| {' | '.join(row)} |" for row in (head, marks, *rows)]
    return "\n".join(lines)


def bullets(texts: Iterable[str]) -> str:
    """A list of our own sentences."""
    return "\n".join(f"- {prose(text)}" for text in texts)


def paragraphs(text: str) -> str:
    """Free text of a person, its paragraphs kept."""
    parts = [escape(part) for part in re.split(r"\n\s*\n", text) if part.strip()]
    return "\n\n".join(_LIST_OR_HEADING.sub(_opener_escaped, part) for part in parts)


def _opener_escaped(match: re.Match[str]) -> str:
    sign, number, dot = match.groups()
    return f"\\{sign}" if sign else f"{number}\\{dot}"
