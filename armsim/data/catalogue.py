"""The generic parts and materials shipped with the package, as tables for people to look up.

Values are those of the data files, in the units of their trade; what a file nests becomes a table of its own.
"""

import difflib
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from armsim.data import read_table

Value = str | float | int | tuple[float, float] | None  #: two numbers are a range; a limit may be infinite
Row = dict[str, Value]
Data = dict[str, Any]

MM, MPA, GPA, DENSITY, CELSIUS = "mm", "MPa", "GPa", "kg/m3", "degC"


@dataclass(frozen=True, kw_only=True)
class Kind:
    """One table: what it lists, its columns with their units, and how its rows come out of a data file."""

    title: str
    file: str
    columns: dict[str, str]  #: name -> unit, empty for words and pure numbers
    rows: Callable[[Data], Iterable[Row]]
    standard: str = ""  #: where neither the file nor its rows name one


@dataclass(frozen=True, kw_only=True)
class Table:
    """A table read."""

    kind: str
    title: str
    standard: str
    columns: dict[str, str]
    rows: tuple[Row, ...]
    evidence: str = ""


class UnknownKind(Exception):
    """A kind that is not here."""

    exit_status = 2


def _named(section: str, name: str) -> Callable[[Data], Iterator[Row]]:
    """Rows of a section by name, `name` heading the column of their names."""

    def rows(data: Data) -> Iterator[Row]:
        for key, row in data[section].items():
            yield {name: str(key), **{column: _plain(value) for column, value in row.items()}}

    return rows


def _listed(section: str) -> Callable[[Data], Iterator[Row]]:
    def rows(data: Data) -> Iterator[Row]:
        yield from ({column: _plain(value) for column, value in row.items()} for row in data[section])

    return rows


def _plain(value: Any) -> Value:
    """One value of a cell."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list) and len(value) == 2 and not isinstance(value[0], list):
        return float(value[0]), float(value[1])
    return value if isinstance(value, str | int | float) else None


def _chains(data: Data) -> Iterator[Row]:
    for row in _named("chains", "number")(data):
        yield {**row, "rollerless": row.get("rollerless", "no")}


def _belt_ratings(data: Data) -> Iterator[Row]:
    for profile, row in data["profiles"].items():
        for width, a, b in row.get("ratings", ()):
            yield {"profile": profile, "width": float(width), "a": float(a), "b": float(b)}


def _wire(data: Data) -> Iterator[Row]:
    from armsim.parts.wiring import gauge_area

    for row in data["sizes"]:
        gauge = int(row["gauge"])
        area = float(gauge_area(gauge)) * 1e6
        yield {
            "gauge": f"{gauge} AWG" if gauge > 0 else f"{1 - gauge}/0 AWG",
            "area": float(f"{area:.4g}"),
            "current": row["current"],
            "insulation_limit": data["limit"],
            "ambient": data["ambient"],
            "vehicle_wire_area": float(f"{area * row['sae_area']:.4g}"),
        }


def _conductors(data: Data) -> Iterator[Row]:
    for size, flexible, stranded in zip(data["size"], data["class-5"], data["class-2"], strict=True):
        yield {"size": size, "class_5": flexible, "class_2": stranded}


def _strands(data: Data) -> Iterator[Row]:
    yield from ({"class": strands, "path": factor} for strands, factor in data["path"].items())


def _trip_bands(data: Data) -> Iterator[Row]:
    for kind, row in data["families"].items():
        plain = {
            key: _plain(row.get(key)) for key in ("title", "ratings", "resets", "reset_share", "ambient", "standard")
        }
        yield {"kind": kind, **plain, "evidence": row["evidence"]}


def _trip_times(data: Data) -> Iterator[Row]:
    for kind, row in data["families"].items():
        for multiple, earliest, latest in row["points"]:
            yield {"kind": kind, "multiple": multiple, "earliest": earliest, "latest": latest}


def _ambient_effects(data: Data) -> Iterator[Row]:
    for effect, row in data["ambient_effects"].items():
        for at, factor in row.get("points", [(None, None)]):
            yield {"effect": effect, "ambient": at, "rating_factor": factor, "element_melts": row.get("melts")}


def _chemistries(data: Data) -> Iterator[Row]:
    for name, row in data["chemistries"].items():
        plain = {key: _plain(value) for key, value in row.items() if not isinstance(value, list | dict)}
        shares = {"relaxation_share": row["relaxation"]["share"], "relaxation_time": row["relaxation"]["time"]}
        yield {"chemistry": name, **plain, **shares}


def _open_circuit(data: Data) -> Iterator[Row]:
    for name, row in data["chemistries"].items():
        for charge, volts in row["open_circuit"]:
            yield {"chemistry": name, "cells": row["table_cells"], "state_of_charge": charge, "voltage": volts}


def _battery_factors(data: Data) -> Iterator[Row]:
    for name, row in data["chemistries"].items():
        for key, values in row.items():
            if "_by_" in key:
                of, by = key.split("_by_")
                for at, factor in values:
                    where = {"temperature": at} if by == "temperature" else {"state_of_charge": at}
                    yield {"chemistry": name, "of": of, **where, "factor": factor}


def _wheels(data: Data) -> Iterator[Row]:
    for name, row in data["wheels"].items():
        yield {"wheel": name, "density_of": row["density"], "bending": row["bending"]}


def _wear(data: Data) -> Iterator[Row]:
    for wheel, row in data["wheels"].items():
        for worm, (flat, middle, steep) in row.get("wear", {}).items():
            yield {"wheel": wheel, "worm": worm, "below_10_deg": flat, "to_25_deg": middle, "above_25_deg": steep}


def _key_stresses(data: Data) -> Iterator[Row]:
    yield {"part": "key in shear", "hub": None, "stress": data["shear"]}
    for part, hubs in (("key or hub in bearing", data["bearing"]), ("hexagon in bearing", data["hexagon"])):
        yield from ({"part": part, "hub": hub, "stress": stress} for hub, stress in hubs.items())


def _gear_sizes(data: Data) -> Iterator[Row]:
    for key, series, unit in (
        ("modules", "first choice", "mm module"),
        ("second_choice", "second choice", "mm module"),
        ("pitches", "usual", "teeth per inch"),
    ):
        yield from ({"size": size, "of": unit, "series": series} for size in data[key])


def _form_factors(data: Data) -> Iterator[Row]:
    for angle, rows in data["form_factors"].items():
        yield from ({"pressure_angle": angle, "teeth": teeth, "factor": y} for teeth, y in rows)


KINDS = {
    "chains": Kind(
        title="Roller chains, single strand", file="chains.yaml", rows=_chains,
        columns={
            "number": "", "iso": "", "pitch": MM, "roller": MM, "inner_width": MM, "pin": MM, "plate": MM,
            "transverse_pitch": MM, "tensile_strength": "kN", "max_allowable": "kN", "mass": "kg/m", "rollerless": "",
            "standard": "",
        },
    ),
    "belts": Kind(
        title="Toothed belts", file="belts.yaml", rows=_named("profiles", "profile"),
        columns={
            "profile": "", "shape": "", "pitch": MM, "tooth_height": MM, "line_offset": MM, "least_teeth": "",
            "usual_play": MM, "standard": "",
        },
    ),
    "belt-ratings": Kind(
        title="Largest torque of toothed belts, d (a - b d^2) on a pulley of d inch", file="belts.yaml",
        rows=_belt_ratings, standard="RMA IP-24",
        columns={"profile": "", "width": MM, "a": "lbf", "b": "lbf/in^2"},
    ),
    "wire": Kind(
        title="Wire by its gauge, and what one conductor bears for good in free air", file="ampacity.yaml", rows=_wire,
        columns={
            "gauge": "", "area": "mm^2", "current": "A", "insulation_limit": CELSIUS, "ambient": CELSIUS,
            "vehicle_wire_area": "mm^2",
        },
    ),
    "conductors": Kind(
        title="Largest resistance of copper conductors at 20 degC", file="conductors.yaml", rows=_conductors,
        columns={"size": "mm^2", "class_5": "mohm/m", "class_2": "mohm/m"},
    ),
    "strands": Kind(
        title="Path of strands over that of the conductor", file="conductors.yaml", rows=_strands, standard="none",
        columns={"class": "", "path": ""},
    ),
    "trip-bands": Kind(
        title="Breakers and fuses", file="trip_bands.yaml", rows=_trip_bands,
        columns={
            "kind": "", "title": "", "ratings": "A", "resets": "", "reset_share": "", "ambient": "", "standard": "",
            "evidence": "",
        },
    ),
    "trip-times": Kind(
        title="Trip bands: time by multiple of the rating, cold, at 23 to 25 degC", file="trip_bands.yaml",
        rows=_trip_times, columns={"kind": "", "multiple": "", "earliest": "s", "latest": "s"},
    ),
    "ambient-effects": Kind(
        title="How much larger a rating must be in warmth", file="trip_bands.yaml", rows=_ambient_effects,
        columns={"effect": "", "ambient": CELSIUS, "rating_factor": "", "element_melts": CELSIUS},
    ),
    "chemistries": Kind(
        title="Batteries by chemistry, new, at 25 degC", file="chemistries.yaml", rows=_chemistries,
        columns={
            "chemistry": "", "title": "", "table_cells": "", "resistance_capacity": "ohm*A*h", "board": "ohm",
            "relaxation_share": "", "relaxation_time": "s", "lowest_charge": "", "coldest_charging": CELSIUS,
            "peukert_exponent": "", "rated_hours": "h", "evidence": "",
        },
    ),
    "open-circuit-voltages": Kind(
        title="Voltage of batteries at rest, of so many cells", file="chemistries.yaml", rows=_open_circuit,
        columns={"chemistry": "", "cells": "", "state_of_charge": "", "voltage": "V"},
    ),
    "battery-factors": Kind(
        title="What cold and charge make of a battery's figures", file="chemistries.yaml", rows=_battery_factors,
        columns={"chemistry": "", "of": "", "temperature": CELSIUS, "state_of_charge": "", "factor": ""},
    ),
    "materials": Kind(
        title="Densities", file="materials.yaml", rows=_named("materials", "material"),
        columns={"material": "", "density": DENSITY, "note": ""},
    ),
    "gear-materials": Kind(
        title="Materials of gears: tooth root, flank, stiffness", file="gear_materials.yaml",
        rows=_named("materials", "material"),
        columns={"material": "", "density": DENSITY, "bending": MPA, "contact": MPA, "modulus": GPA, "poisson": ""},
    ),
    "gear-sizes": Kind(
        title="Stocked sizes of teeth", file="gear_teeth.yaml", rows=_gear_sizes,
        columns={"size": "", "of": "", "series": ""},
    ),
    "form-factors": Kind(
        title="Lewis form factors of teeth loaded at the tip", file="gear_teeth.yaml", rows=_form_factors,
        columns={"pressure_angle": "deg", "teeth": "", "factor": ""}, standard="none",
    ),
    "worm-wheels": Kind(
        title="Materials of worm wheels", file="worm_wheels.yaml", rows=_wheels,
        columns={"wheel": "", "density_of": "", "bending": MPA},
    ),
    "worm-wear": Kind(
        title="Buckingham's load-stress factors, by lead angle", file="worm_wheels.yaml", rows=_wear,
        columns={"wheel": "", "worm": "", "below_10_deg": MPA, "to_25_deg": MPA, "above_25_deg": MPA},
    ),
    "shaft-materials": Kind(
        title="Materials of shafts", file="shaft_materials.yaml", rows=_named("materials", "material"),
        columns={"material": "", "shear_modulus": GPA, "yield": MPA, "state": ""},
    ),
    "keys": Kind(
        title="Parallel keys by shaft diameter", file="keys.yaml", rows=_listed("keys"), standard="ISO 773, DIN 6885-1",
        columns={"over": MM, "to": MM, "width": MM, "height": MM},
    ),
    "key-stresses": Kind(
        title="Allowable stresses of keys and hexagons", file="keys.yaml", rows=_key_stresses,
        columns={"part": "", "hub": "", "stress": MPA},
    ),
    "set-screws": Kind(
        title="Cup-point set screws", file="set_screws.yaml", rows=_named("screws", "size"),
        columns={"size": "", "diameter": MM, "seating": "lbf*in", "holding": "lbf", "low": "lbf"},
    ),
}  # fmt: skip


def table(kind: str) -> Table:
    """A table by the name of its kind; UnknownKind says which there are."""
    if kind not in KINDS:
        near = difflib.get_close_matches(kind.casefold().replace("_", "-"), KINDS, 1, 0.5)
        meant = f"; did you mean {near[0]}?" if near else ""
        raise UnknownKind(f"no kind '{kind[:40]}' of parts{meant}\nKnown: {', '.join(KINDS)}")
    asked = KINDS[kind]
    data = read_table(asked.file)
    rows = tuple({column: row.get(column) for column in asked.columns} for row in asked.rows(data))
    return Table(
        kind=kind,
        title=asked.title,
        standard=asked.standard or _standards(data, rows),
        columns=asked.columns,
        rows=rows,
        evidence=data.get("evidence", ""),
    )


def _standards(data: Data, rows: Iterable[Row]) -> str:
    """What the file says, or its rows; `none` where the figures are those of the trade."""
    if "standard" in data:
        return str(data["standard"])
    named = dict.fromkeys(name for row in rows for name in str(row.get("standard") or "").split(", "))
    return ", ".join(name for name in named if name and not name.startswith("no")) or "none"
