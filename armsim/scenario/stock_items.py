"""What a shop or shelf has, item by item, each able to say itself as a scenario's section.

A section is given as typed (`{"module": "1.5 mm", "driver": {"teeth": "14"}}`), so that what a person wrote is what a
scenario made of it says. `section_text` writes one as YAML.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from armsim.parts.belt import BeltProfile
from armsim.parts.chain_size import ChainSize
from armsim.scenario.problems import Problem
from armsim.scenario.schema import Motor

Typed = dict[str, Any]  #: keys and what stands there as typed: texts, lists and dicts of them

PITCH_AGREES = 1e-6  #: by which modules and pressure angles of gears that run together may differ [-]


@dataclass(frozen=True, kw_only=True)
class Item:
    """One thing on the shelf."""

    key: str  #: where it stands in the list, such as gears[0].teeth[2]
    name: str
    price: float | None  #: of one, in the money of the list
    mass: float | None  #: of one [kg]
    available: int | None  #: how many there are; None: as many as are wanted
    source: str
    typed: Typed  #: the section, as typed, without what only a shop knows


@dataclass(frozen=True, kw_only=True)
class StockMotor(Item):
    """A motor."""

    given: Motor  #: read, in SI, ready for `build`

    def section(self) -> Typed:
        """What stands under `motor`."""
        return self.typed


@dataclass(frozen=True, kw_only=True)
class Gear(Item):
    """One gear of a set. Lengths in m, stresses in Pa."""

    teeth: int
    module: float
    pressure_angle: float  #: [rad]
    helix_angle: float  #: [rad]
    face_width: float | None
    bore: float | None
    material: str

    def meshes(self, other: "Gear") -> bool:
        """Same pitch and same angles, so that both run together."""
        mine = (self.module, self.pressure_angle, self.helix_angle)
        theirs = (other.module, other.pressure_angle, other.helix_angle)
        return all(abs(a - b) <= PITCH_AGREES * max(abs(a), abs(b)) for a, b in zip(mine, theirs, strict=True))


@dataclass(frozen=True, kw_only=True)
class Sprocket(Item):
    """One sprocket."""

    teeth: int
    size: ChainSize
    bore: float | None  #: [m]
    set_typed: Typed  #: the chain's number and what it bears

    def meshes(self, other: "Sprocket") -> bool:
        """The same chain runs on both."""
        return self.size == other.size


@dataclass(frozen=True, kw_only=True)
class Pulley(Item):
    """One toothed pulley."""

    teeth: int
    profile: BeltProfile
    width: float | None  #: of the belt [m]
    bore: float | None  #: [m]
    set_typed: Typed  #: the belt's profile, width and what it bears

    def meshes(self, other: "Pulley") -> bool:
        """The same belt runs on both."""
        return self.profile == other.profile and self.width == other.width


@dataclass(frozen=True, kw_only=True)
class WholeStage(Item):
    """A stage that is bought whole: worm and wheel, planetary set, gearbox."""

    kind: str  #: worm, planetary or gearbox
    given: Any  #: its section, read, in SI
    rated_torque: float | None  #: at its output [N*m]

    def section(self) -> Typed:
        """One item of `transmission`."""
        return {self.kind: self.typed}


@dataclass(frozen=True, kw_only=True)
class Stock:
    """A stock list, read."""

    path: Path | None
    title: str
    about: str
    sha256: str
    motors: tuple[StockMotor, ...] = ()
    gears: tuple[Gear, ...] = ()
    sprockets: tuple[Sprocket, ...] = ()
    pulleys: tuple[Pulley, ...] = ()
    stages: tuple[WholeStage, ...] = ()  #: worms, planetary sets and gearboxes, in this order
    warnings: tuple[Problem, ...] = ()


def gears_section(driver: Gear, driven: Gear) -> Typed:
    """Two gears as one item of `transmission`; what both say stands once."""
    return {"gears": _pair(driver.typed, driven.typed)}


def chain_section(driver: Sprocket, driven: Sprocket) -> Typed:
    """Two sprockets and their chain as one item of `transmission`."""
    return {"chain": {**driver.set_typed, "driver": driver.typed, "driven": driven.typed}}


def belt_section(driver: Pulley, driven: Pulley) -> Typed:
    """Two pulleys and their belt as one item of `transmission`."""
    return {"belt": {**driver.set_typed, "driver": driver.typed, "driven": driven.typed}}


def section_text(typed: Any) -> str:
    """A section, a list or a value as YAML on one line, values as they were typed."""
    if isinstance(typed, Mapping):
        return "{" + ", ".join(f"{key}: {section_text(value)}" for key, value in typed.items()) + "}"
    if isinstance(typed, list | tuple):
        return "[" + ", ".join(map(section_text, typed)) + "]"
    plain = str(typed)
    if plain and plain[0].isalnum() and not set(plain) & set(',[]{}:#"\n'):
        return plain
    return '"' + plain.replace("\\", "\\\\").replace('"', '\\"').replace("\n", " ") + '"'


#: keys of a gear that its stage can say for both
_OF_THE_STAGE = (
    "module", "diametral_pitch", "pressure_angle", "helix_angle", "face_width", "material", "allowable_bending",
    "allowable_contact",
)  # fmt: skip


def _pair(driver: Typed, driven: Typed) -> Typed:
    both = {key: driver[key] for key in _OF_THE_STAGE if key in driver and driven.get(key) == driver[key]}

    def own(gear: Typed) -> Any:
        rest = {key: value for key, value in gear.items() if key not in both}
        return rest["teeth"] if len(rest) == 1 else rest

    return {**both, "driver": own(driver), "driven": own(driven)}
