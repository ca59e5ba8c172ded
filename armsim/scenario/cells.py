"""Readers of a battery's chemistry and cells, in the words in which people say them."""

import difflib
import re

from pydantic import BeforeValidator

from armsim.scenario import forms
from armsim.scenario.numbers import clean
from armsim.scenario.problems import Misreading, quoted
from armsim.scenario.quantities import refuse_cell_count
from armsim.scenario.readers import Reading, pure, reader
from armsim.scenario.source import Leaf

#: other words for each chemistry, without blanks and dashes
_WORDS = {
    "lead-acid": ("leadacid", "lead", "pb", "agm", "sla", "vrla", "gel", "flooded", "absorbedglassmat"),
    "lifepo4": ("lifepo4", "lifepo", "lfp", "life", "ironphosphate", "lithiumironphosphate", "lithiumiron"),
    "li-ion": (
        "liion", "lithiumion", "lipo", "lithiumpolymer", "nmc", "nca", "lco", "limn", "18650", "21700", "inr",
    ),
}  # fmt: skip
_CHEMISTRY_OF = {word: name for name, words in _WORDS.items() for word in words}
_UNLIKE = {
    "gel": "its table is that of absorbed electrolyte",
    "flooded": "its table is that of absorbed electrolyte; flooded ones lose more capacity to high currents",
    "lco": "its table is that of nickel, manganese and cobalt",
    "limn": "its table is that of nickel, manganese and cobalt",
}
_SERIES = re.compile(r"(?i)([0-9]{1,2})\s*(?:s|cells?|in series)$")
_PACK = re.compile(r"(?i)([0-9]{1,2})\s*s\s*([0-9]{1,2})\s*p$")
_ACID_BLOCKS = (1, 2, 4, 8)  #: cells of lead-acid batteries that are no multiple of three


def chemistry_word() -> BeforeValidator:
    """One of the chemistries known here, or a word of the trade for it."""
    names = tuple(_WORDS)

    def read(leaf: Leaf, reading: Reading) -> str:
        plain = clean(leaf.text).casefold()
        refuse_cell_count(clean(leaf.text))
        word = re.sub(r"[\s_-]", "", plain)
        if word in ("lithium", "li"):
            raise Misreading(
                "SCN114", f"{quoted(leaf.text)} is two chemistries", "write lifepo4 (3.2 V a cell) or li-ion (3.6 V)"
            )
        found = _CHEMISTRY_OF.get(word)
        if found is None:
            raise Misreading("SCN115", f"wants one of {', '.join(names)}; got {quoted(leaf.text)}", _near(word))
        note = "" if plain == found else "; ".join(filter(None, (f"read as {found}", _UNLIKE.get(word, ""))))
        reading.understand(leaf, found, found, note)
        return found

    return reader(read, f"one of {', '.join(names)} is wanted", lambda: forms.likely(names))


def _near(word: str) -> str:
    """The chemistry that a misspelt word means; the names proper come first, since a wrong one costs 0.5 V a cell."""
    names = {re.sub("-", "", name): name for name in _WORDS}
    for known in (names, _CHEMISTRY_OF):
        close = difflib.get_close_matches(word, list(known), 1, 0.7)
        if close:
            return f"did you mean {known[close[0]]}?"
    return "give a battery of another chemistry by open_circuit_voltage and internal_resistance"


def cells_in_series() -> BeforeValidator:
    """How many cells stand in series: 6, or 6S."""

    def read(leaf: Leaf, reading: Reading) -> int:
        plain = clean(leaf.text)
        pack = _PACK.match(plain)
        if pack:
            raise Misreading("SCN114", f"{quoted(leaf.text)} is two counts", f"cells: {pack[1]}, parallel: {pack[2]}")
        series = _SERIES.match(plain)
        value, rest, note = pure(series[1] if series else plain)
        if rest or value.denominator != 1:
            raise Misreading("SCN113", f"wants a whole number of cells, got {quoted(leaf.text)}", "such as cells: 6")
        if not 1 <= value <= 100:
            raise Misreading("SCN120", f"{value} is out of range, it has to be 1 to 100")
        reading.understand(leaf, int(value), f"{value} in series", note)
        return int(value)

    return reader(read, "a whole number of cells in series is wanted, such as 6")


def likely_acid_cells(cells: int) -> bool:
    """True for a count in which lead-acid batteries are made or put together."""
    return cells % 3 == 0 or cells in _ACID_BLOCKS
