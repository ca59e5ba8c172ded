"""A quantity that people give as one of two kinds: which one is told by its unit."""

from collections.abc import Callable
from dataclasses import dataclass

from pydantic import BeforeValidator

from armsim.scenario import forms
from armsim.scenario.dimensions import Dimension
from armsim.scenario.numbers import clean, read_number
from armsim.scenario.problems import Misreading, quoted
from armsim.scenario.quantities import read_quantity
from armsim.scenario.readers import Limits, Reading, quantity_reader, reader
from armsim.scenario.source import Leaf


@dataclass(frozen=True, kw_only=True)
class Kind:
    """One of the two."""

    dimension: Dimension
    allowed: Limits
    unit: str  #: to offer
    where: str  #: that unit holds


def either(first: Kind, second: Kind, noun: str, wants: str, made: Callable[[Kind, float], object]) -> BeforeValidator:
    """A value of one of two kinds, and what is `made` of it; `noun` and `wants` say what was looked for."""

    def read(leaf: Leaf, reading: Reading) -> object:
        return made(*read_either(leaf, reading, (first, second), noun, wants))

    return reader(read, wants, lambda: forms.quantity(bare=False))


def read_either(leaf: Leaf, reading: Reading, kinds: tuple[Kind, Kind], noun: str, wants: str) -> tuple[Kind, float]:
    """The kind a value is of, and the value in SI; a Misreading says `wants` where it is neither."""
    number = read_number(clean(leaf.text))
    if not number.rest:
        needed = ", or ".join(f"{kind.unit} {kind.where}" for kind in kinds)
        hint = " or ".join(f"{number.typed} {kind.unit}" for kind in kinds)
        raise Misreading("SCN110", f"needs a unit: {needed}", f"write {hint}")
    for kind in kinds:
        try:
            read_quantity(leaf.text, kind.dimension)
        except Misreading as fault:
            if fault.code == "SCN112":  # its own hint knows of one kind only
                raise Misreading(fault.code, fault.text, wants) from None
            if fault.code != "SCN111":
                raise
        else:
            value: float = quantity_reader(kind.dimension, kind.allowed)(leaf, reading)
            return kind, value
    raise Misreading("SCN111", f"wants {noun}, got {quoted(leaf.text)}", wants)
