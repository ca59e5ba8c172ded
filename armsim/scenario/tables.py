"""The tables shipped with the package: trip bands, chains, belts, materials, batteries; read when first asked for."""

import math
from dataclasses import dataclass
from functools import cache
from typing import Any

from armsim.data import read_table
from armsim.parts.belt import BeltProfile
from armsim.parts.derating import REFERENCE, heat_law, table_factor
from armsim.parts.protection import Edge, kept_to
from armsim.parts.wiring import Ampacity, gauge_area

OWN_CURVE = "own-curve"  #: kind of a protective device that is in no table
AS_PRINTED = 25.0  #: up to which bands, told for 23 to 25 degC, hold as they are [degC]


@dataclass(frozen=True, kw_only=True)
class TripFamily:
    """A kind of breaker or fuse with both edges of its band."""

    title: str
    resets_itself: bool
    resets: str  #: automatic, manual, or replace for a fuse
    reset_share: float
    earliest: Edge
    latest: Edge
    standard: str
    ambient: str  #: which effect warmth has


Points = tuple[tuple[float, float], ...]


@dataclass(frozen=True, kw_only=True)
class Chemistry:
    """What batteries of one chemistry have in common; see the head of its table for what each holds."""

    title: str
    table_cells: int
    open_circuit: Points  #: state of charge, of so many cells [V]
    resistance_capacity: float  #: of so many cells [ohm*A*s]
    board: float  #: [ohm]
    relaxation_share: float
    relaxation_time: float  #: [s]
    resistance_by_temperature: Points  #: [degC], [-]
    resistance_by_charge: Points
    capacity_by_temperature: Points
    lowest_charge: float
    coldest_charging: float  #: [degC]
    peukert_exponent: float
    rated_hours: float


def _edge(row: dict[str, Any], points: list[tuple[float, float]]) -> Edge:
    fitted = Edge(
        weights=tuple(map(float, row["weights"])),
        time_constants=tuple(map(float, row["time_constants"])),
        ultimate_multiple=float(row["ultimate_multiple"]),
    )
    return kept_to(fitted, points)


@cache
def trip_families() -> dict[str, TripFamily]:
    """Kinds of protection by the name a scenario uses."""
    return {
        kind: TripFamily(
            title=row["title"],
            resets_itself=row["resets"] == "automatic",
            resets=row["resets"],
            reset_share=float(row.get("reset_share") or 0.6),
            earliest=_edge(row["earliest"], [(m, early) for m, early, late in row["points"] if late < math.inf]),
            latest=_edge(row["latest"], [(m, late) for m, _, late in row["points"]]),
            standard=row.get("standard") or "",
            ambient=row["ambient"],
        )
        for kind, row in read_table("trip_bands.yaml")["families"].items()
    }


def ambient_factor(effect: str, ambient: float) -> float:
    """How much larger a rating must be at an ambient [degC] than where bands are told, by the effect of warmth. [-]"""
    row = read_table("trip_bands.yaml")["ambient_effects"][effect]
    if "points" in row:
        return table_factor([(float(at), float(factor)) for at, factor in row["points"]], ambient)
    if "melts" not in row or REFERENCE <= ambient <= AS_PRINTED:
        return 1.0
    return heat_law(ambient, float(row["melts"])) / heat_law(min(max(ambient, REFERENCE), AS_PRINTED), row["melts"])


@cache
def chain_rows() -> dict[str, dict[str, Any]]:
    """Rows of plain single-strand chains by number, as the table has them; chain_numbers makes sizes of them."""
    rows: dict[str, Any] = read_table("chains.yaml")["chains"]
    return {str(number): row for number, row in rows.items()}


@cache
def belt_profiles() -> dict[str, BeltProfile]:
    """Profiles of toothed belts by name."""
    return {name: _profile(name, row) for name, row in read_table("belts.yaml")["profiles"].items()}


def _profile(name: str, row: dict[str, Any]) -> BeltProfile:
    low, high = row.get("usual_play", (None, None))
    offset, height = row.get("line_offset"), row.get("tooth_height")
    return BeltProfile(
        name=name,
        title=f"{name} ({row['standard']}, {row['shape']} teeth, pitch {float(row['pitch']):g} mm)",
        pitch=float(row["pitch"]) / 1000.0,
        line_offset=None if offset is None else float(offset) / 1000.0,
        tooth_height=None if height is None else float(height) / 1000.0,
        least_teeth=row.get("least_teeth"),
        usual_play=None if low is None else (float(low) / 1000.0, float(high) / 1000.0),
        ratings=tuple((float(width) / 1000.0, float(a), float(b)) for width, a, b in row.get("ratings", ())),
    )


@cache
def densities() -> dict[str, float]:
    """Densities of materials by name. [kg/m3]"""
    return {name: float(row["density"]) for name, row in read_table("materials.yaml")["materials"].items()}


def density(material: str) -> float:
    """Density of a material that the schema knows. [kg/m3]"""
    return densities()[material]


def _points(rows: list[list[float]]) -> Points:
    return tuple((float(at), float(value)) for at, value in rows)


@cache
def chemistries() -> dict[str, Chemistry]:
    """Kinds of battery by the name a scenario uses."""
    return {name: _chemistry(row) for name, row in read_table("chemistries.yaml")["chemistries"].items()}


def _chemistry(row: dict[str, Any]) -> Chemistry:
    return Chemistry(
        title=row["title"],
        table_cells=int(row["table_cells"]),
        open_circuit=_points(row["open_circuit"]),
        resistance_capacity=float(row["resistance_capacity"]) * 3600.0,
        board=float(row["board"]),
        relaxation_share=float(row["relaxation"]["share"]),
        relaxation_time=float(row["relaxation"]["time"]),
        resistance_by_temperature=_points(row["resistance_by_temperature"]),
        resistance_by_charge=_points(row["resistance_by_charge"]),
        capacity_by_temperature=_points(row["capacity_by_temperature"]),
        lowest_charge=float(row["lowest_charge"]),
        coldest_charging=float(row["coldest_charging"]),
        peukert_exponent=float(row["peukert_exponent"]),
        rated_hours=float(row["rated_hours"]),
    )


@cache
def ampacity() -> Ampacity:
    """What single conductors bear for good."""
    table = read_table("ampacity.yaml")
    return Ampacity(
        areas=tuple(float(gauge_area(row["gauge"])) for row in table["sizes"]),
        currents=tuple(float(row["current"]) for row in table["sizes"]),
        limit=float(table["limit"]),
        ambient=float(table["ambient"]),
    )


@cache
def vehicle_areas() -> dict[int, float]:
    """Least cross-section of vehicle wire over that of the gauge of the same number, by gauge. [-]"""
    return {int(row["gauge"]): float(row["sae_area"]) for row in read_table("ampacity.yaml")["sizes"]}


@cache
def conductor_sizes() -> tuple[float, ...]:
    """Nominal sizes of metric conductors, rising. [m2]"""
    return tuple(float(size) * 1e-6 for size in read_table("conductors.yaml")["size"])


def largest_resistance(area: float, strands: str) -> float | None:
    """Largest resistance that the standard allows a nominal size [m2] of a class; None for no such size. [ohm/m]"""
    for size, resistance in zip(conductor_sizes(), read_table("conductors.yaml")[strands], strict=True):
        if abs(area - size) < 1e-3 * size:
            return float(resistance) * 1e-3
    return None


def strand_path(strands: str) -> float:
    """By how much the strands of a class lengthen the path, where no size of the standard applies. [-]"""
    return float(read_table("conductors.yaml")["path"][strands])


@dataclass(frozen=True, kw_only=True)
class WheelRow:
    """A material of worm wheels."""

    density: float  #: [kg/m3]
    bending: float  #: allowable [Pa]
    wear: dict[str, tuple[float, ...]]  #: by material of the worm, and lead angle as `wear_stress` reads it [Pa]


@cache
def wheel_rows() -> dict[str, WheelRow]:
    """Materials of worm wheels by name."""
    return {
        name: WheelRow(
            density=density(row["density"]),
            bending=float(row["bending"]) * 1e6,
            wear={worm: tuple(float(k) * 1e6 for k in factors) for worm, factors in row.get("wear", {}).items()},
        )
        for name, row in read_table("worm_wheels.yaml")["wheels"].items()
    }


def wear_stress(wheel: str, worm: str, lead_angle: float) -> float | None:
    """Buckingham's factor of a pair of materials at a lead angle [deg]; None: none is known. [Pa]"""
    factors = wheel_rows()[wheel].wear.get(worm)
    low, high = read_table("worm_wheels.yaml")["lead_angles"]
    return None if factors is None else factors[(lead_angle >= low) + (lead_angle > high)]


@dataclass(frozen=True, kw_only=True)
class ShaftRow:
    """A material of shafts."""

    shear_modulus: float  #: [Pa]
    shear_stress: float  #: allowable [Pa]
    state: str


@cache
def shaft_rows() -> dict[str, ShaftRow]:
    """Materials of shafts by name."""
    return {
        name: ShaftRow(
            shear_modulus=float(row["shear_modulus"]) * 1e9,
            shear_stress=0.577 * float(row["yield"]) * 1e6 / 2.0,
            state=row["state"],
        )
        for name, row in read_table("shaft_materials.yaml")["materials"].items()
    }


def key_size(diameter: float) -> tuple[float, float] | None:
    """Width and height of the standard key of a shaft [m]; None where the table has none. [m, m]"""
    for row in read_table("keys.yaml")["keys"]:
        if float(row["over"]) < diameter * 1e3 * (1.0 + 1e-9) and diameter * 1e3 <= float(row["to"]) * (1.0 + 1e-9):
            return float(row["width"]) / 1e3, float(row["height"]) / 1e3
    return None


def key_stresses(hub: str) -> tuple[float, float]:
    """Allowable shear of a key, and bearing stress in a hub of steel or aluminium. [Pa, Pa]"""
    table = read_table("keys.yaml")
    return float(table["shear"]) * 1e6, float(table["bearing"][hub]) * 1e6


def hexagon_stress(hub: str) -> float:
    """Allowable bearing stress of a hexagonal hub of steel or aluminium. [Pa]"""
    return float(read_table("keys.yaml")["hexagon"][hub]) * 1e6


@dataclass(frozen=True, kw_only=True)
class ScrewRow:
    """A size of set screws."""

    diameter: float  #: [m]
    holding: float  #: by the lower chart [N]
    other_holding: float | None  #: by the other; None: there is one only [N]


@cache
def screw_rows() -> dict[str, ScrewRow]:
    """Set screws by size."""
    pound = 4.4482216152605  # N
    return {
        size: ScrewRow(
            diameter=float(row["diameter"]) / 1e3,
            holding=float(row.get("low", row["holding"])) * pound,
            other_holding=float(row["holding"]) * pound if "low" in row else None,
        )
        for size, row in read_table("set_screws.yaml")["screws"].items()
    }


@cache
def key_meanings() -> dict[str, dict[str, str]]:
    """What each key of a scenario means, by section as the schema names it."""
    return {
        section: {str(key): text for key, text in keys.items()}
        for section, keys in read_table("scenario_keys.yaml").items()
    }
