"""A named value, the unit of every list of numbers."""

from collections.abc import Sequence
from typing import NamedTuple


class Row(NamedTuple):
    """A name and what there is to say of it."""

    name: str
    value: str


def aligned(rows: Sequence[Row], indent: int) -> str:
    """Names and values in two columns."""
    width = max(len(row.name) for row in rows)
    return "\n".join(f"{' ' * indent}{row.name.ljust(width)}   {row.value}" for row in rows)
