"""Chain numbers as people write them, read out: 40, #40-2, ANSI 40H, 2040, 08B-2, and what each figure means."""

import difflib
import re
from dataclasses import replace
from typing import Any

from pydantic import BeforeValidator

from armsim.parts.chain_size import STRAND_SHARES, ChainSize, heavier
from armsim.scenario import forms
from armsim.scenario.numbers import clean
from armsim.scenario.problems import Misreading
from armsim.scenario.readers import Reading, reader
from armsim.scenario.source import Leaf
from armsim.scenario.tables import chain_rows

_PREFIX = re.compile(r"(?i)^(?:#|ansi|asa|asme|iso|din|bs|no\.?)[\s#]*")
_SUFFIX = re.compile(r"(?P<base>[0-9A-Z]+?)(?P<heavy>H)?(?:-(?P<strands>[1-9]))?(?P<late>H)?$")
_DOUBLE = re.compile(r"[CA]?20(?P<eighths>[0-9]0)$|2(?P<sixteenths>(?:08|10|12|16)[AB])$")
#: plates of the heavy series, those of the next larger size (ASME B29.1) [m]
_HEAVY_PLATES = {"40": 2.03e-3, "50": 2.39e-3, "60": 3.18e-3, "80": 3.97e-3}
_ODD_NAMES = {"04B": "6 mm", "05B": "8 mm"}
_STRAND_WORDS = {2: "two strands", 3: "three strands", 4: "four strands"}


def find_chain(typed: str) -> ChainSize | None:
    """The size that a number names; None for an unknown one."""
    match = _SUFFIX.match(_PREFIX.sub("", typed.strip()).upper().replace(" ", ""))
    if match is None:
        return None
    double = _DOUBLE.match(match["base"])
    base = (double["eighths"] or double["sixteenths"]) if double else match["base"]
    number = next((number for number, row in chain_rows().items() if base in (number, str(row["iso"]))), None)
    strands, heavy = int(match["strands"] or 1), bool(match["heavy"] or match["late"])
    if number is None or strands not in STRAND_SHARES or (heavy and (double or number not in _HEAVY_PLATES)):
        return None
    size = _size(number, chain_rows()[number])
    if double:
        size = _doubled(size, match["base"])
    if heavy:
        size = replace(heavier(size, _HEAVY_PLATES[number]), words=f"{size.words}, heavy plates")
    return of_strands(size, strands)


def of_strands(size: ChainSize, strands: int) -> ChainSize:
    """The same chain with so many strands side by side."""
    if strands == 1:
        return size
    return replace(
        size,
        number=f"{size.number}-{strands}",
        strands=strands,
        words=f"{size.words}, {_STRAND_WORDS[strands]}",
    )


def _size(number: str, row: dict[str, Any]) -> ChainSize:
    def length(key: str) -> float | None:
        return float(row[key]) / 1e3 if key in row else None

    pitch, limit = float(row["pitch"]), row.get("max_allowable")
    return ChainSize(
        number=number,
        words=f"{_pitch_words(number, str(row['iso']), pitch)}, {_kind_words(number, row)}",
        pitch=pitch / 1e3,
        roller=float(row["roller"]) / 1e3,
        inner_width=float(row["inner_width"]) / 1e3,
        tensile_strength=float(row["tensile_strength"]) * 1e3,
        mass_per_length=float(row["mass"]),
        transverse_pitch=length("transverse_pitch"),
        max_allowable=None if limit is None else float(limit) * 1e3,
        pin=length("pin"),
        plate=length("plate"),
        family=number,
        standard=row["standard"],
    )


def _pitch_words(number: str, iso: str, pitch: float) -> str:
    if number in _ODD_NAMES:
        return f"pitch {_ODD_NAMES[number]}, which the number does not say"
    if number.isdigit() and not number.startswith("0"):
        return f"pitch {number[:-1]}/8 in ({pitch:g} mm)"
    return f"pitch {iso[:2]}/16 in ({pitch:g} mm)"


def _kind_words(number: str, row: dict[str, Any]) -> str:
    if row.get("rollerless"):
        return "bushes without rollers"
    if number.startswith("0"):
        return "narrow, European series" if number[-1].isdigit() else "European series"
    return "narrow and light" if number.endswith("1") else "standard proportions"


def _doubled(size: ChainSize, typed: str) -> ChainSize:
    number = typed.lstrip("CA")
    return replace(
        size,
        number=number,
        words=f"the parts of {size.number} at twice its pitch ({size.pitch * 2e3:g} mm)",
        pitch=2.0 * size.pitch,
        max_allowable=None,
        double_pitch=True,
        standard="ISO 1275",
    )


def chain_number() -> BeforeValidator:
    """A chain by its number, given as its size."""

    def read(leaf: Leaf, reading: Reading) -> ChainSize:
        typed = clean(leaf.text)
        size = find_chain(typed)
        if size is None:
            known = list(chain_rows())
            near = difflib.get_close_matches(_PREFIX.sub("", typed).upper(), known, 1, 0.5)
            hint = f"did you mean '{near[0]}'? " if near else ""
            raise Misreading("SCN115", f"unknown chain '{typed}'", f"{hint}one of {', '.join(known)}")
        reading.understand(leaf, size.number, size.title)
        return size

    return reader(read, 'a chain number is wanted, such as "40" or 08B', lambda: forms.likely(chain_rows()))
