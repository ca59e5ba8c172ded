"""What a check of several keys yields: where, and what is wrong."""

from collections.abc import Iterator
from typing import Any

from armsim.scenario.problems import Misreading
from armsim.scenario.validate import Path

Faults = Iterator[tuple[Path, Misreading]]


def given(section: Any, keys: tuple[str, ...]) -> list[str]:
    """Those of some optional keys that a section has."""
    return [key for key in keys if getattr(section, key) is not None]


def below(what: str, other: str) -> Misreading:
    """Friction at rest below friction in motion."""
    return Misreading("SCN121", f"{what} is below {other}", "what holds at rest is at least what drags in motion")


def no_fall() -> Misreading:
    """A speed over which friction falls, without what it falls from."""
    return Misreading("SCN121", "says nothing without breakaway", "give breakaway, from which it falls to coulomb")


def percent_off(ratio: float) -> str:
    """How far one figure lies from another, given their ratio: 12.8 % less."""
    return f"{abs(ratio - 1.0) * 100:.3g} % {'more' if ratio > 1.0 else 'less'}"
