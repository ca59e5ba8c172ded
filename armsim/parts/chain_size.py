"""Sizes of roller chain, and what they bear and carry by their standards."""

import math
from dataclasses import dataclass, replace

#: what so many strands bear in fatigue, against one (they never share evenly)
STRAND_SHARES = {1: 1.0, 2: 1.7, 3: 2.5, 4: 3.3}


@dataclass(frozen=True, kw_only=True)
class ChainSize:
    """A size of chain by its standard. Lengths in m, forces in N of one strand, mass in kg/m of one strand."""

    number: str  #: as the standard writes it
    words: str  #: what the number means
    pitch: float
    roller: float  #: diameter of the roller, or of the bush where there is none
    inner_width: float
    tensile_strength: float  #: minimum ultimate, not the average of makers
    mass_per_length: float
    transverse_pitch: float | None = None  #: between strands
    max_allowable: float | None = None  #: fatigue limit; None: not published
    pin: float | None = None
    plate: float | None = None
    family: str = ""  #: the plain number whose sprockets it runs on
    strands: int = 1
    double_pitch: bool = False
    standard: str = ""

    @property
    def title(self) -> str:
        """The number and what it means."""
        return f"{self.number}: {self.words}"

    @property
    def breaking_load(self) -> float:
        """Of all strands. [N]"""
        return self.tensile_strength * self.strands

    @property
    def fatigue_limit(self) -> float | None:
        """Of all strands, which never share evenly; None: not published. [N]"""
        return None if self.max_allowable is None else self.max_allowable * STRAND_SHARES[self.strands]


def heavier(size: ChainSize, plate: float) -> ChainSize:
    """The heavy series of a size: thicker plates, else alike; its strength is taken for that of the plain chain.

    Mass grows at most as the plates do.
    """
    assert size.plate is not None
    mass = size.mass_per_length * plate / size.plate
    return replace(size, number=f"{size.number}H", plate=plate, mass_per_length=mass)


#: constants of the power rating by plates and by rollers, of numbers 41, 25 and 35, and the others
_RATING = {"41": (0.0022, 3.4), "25": (0.004, 29.0), "35": (0.004, 29.0)}
_HORSEPOWER, _INCH = 745.69987, 0.0254


def power_rating(size: ChainSize, teeth: int, speed: float) -> float | None:
    """Power that a chain of 100 pitches carries for 15 000 h, well lubricated, by the small sprocket's speed. [W]

    The lower of plate fatigue, K1 z^1.08 n^0.9 p^(3 - 0.07 p), and roller impact, 1000 K2 z^1.5 p^0.8/n^1.5, hp, n in
    rpm, p in inch (ASME B29.1, numbers 25 to 240). None for other chains and at rest.
    """
    if size.standard != "ASME B29.1" or size.double_pitch or speed <= 0.0:
        return None
    plate, roller = _RATING.get(size.family, (0.004, 17.0))
    turns, pitch = speed * 60.0 / math.tau, size.pitch / _INCH
    by_plates = plate * teeth**1.08 * turns**0.9 * pitch ** (3.0 - 0.07 * pitch)
    by_rollers = 1000.0 * roller * teeth**1.5 * pitch**0.8 / turns**1.5
    return float(min(by_plates, by_rollers) * STRAND_SHARES[size.strands] * _HORSEPOWER)
