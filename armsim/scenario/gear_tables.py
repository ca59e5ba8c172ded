"""The tables of gears shipped with the package: form factors, stocked sizes, materials."""

import math
from functools import cache
from itertools import pairwise

from armsim.data import read_table
from armsim.parts.gear_mesh import Material
from armsim.parts.gears import ToothSeries

_ANGLE_SLACK = math.radians(0.3)  #: within which a table of a pressure angle is used


@cache
def gear_materials() -> dict[str, Material]:
    """Materials of gears by the name a scenario uses."""
    return {
        name: Material(
            name=name,
            density=float(row["density"]),
            bending=float(row["bending"]) * 1e6,
            contact=float(row["contact"]) * 1e6 if "contact" in row else None,
            modulus=float(row["modulus"]) * 1e9,
            poisson=float(row["poisson"]),
        )
        for name, row in read_table("gear_materials.yaml")["materials"].items()
    }


def form_factor(pressure_angle: float, teeth: float) -> float | None:
    """Lewis form factor Y, linear between rows; None below the first row and for pressure angles without a table.

    `pressure_angle` [rad]; `teeth` are those of the virtual spur gear. [-]
    """
    tables = read_table("gear_teeth.yaml")
    for degrees, rows in tables["form_factors"].items():
        if abs(pressure_angle - math.radians(float(degrees))) < _ANGLE_SLACK:
            return _between(rows, teeth)
    if abs(pressure_angle - math.radians(14.5)) < _ANGLE_SLACK and teeth >= 12:
        row = tables["formula_14_5"]
        return float(math.pi * (row["constant"] - row["by_teeth"] / teeth) * (1.0 - row["above_tables"]))
    return None


def _between(rows: list[list[float]], teeth: float) -> float | None:
    if teeth < rows[0][0]:
        return None
    for (low, first), (high, last) in pairwise(rows):
        if teeth <= high:
            return float(first + (last - first) * (teeth - low) / (high - low))
    return float(rows[-1][1])


@cache
def tooth_series() -> ToothSeries:
    """Sizes of teeth that are stocked."""
    rows = read_table("gear_teeth.yaml")
    return ToothSeries(
        modules=tuple(float(m) * 1e-3 for m in rows["modules"]),
        second=tuple(float(m) * 1e-3 for m in rows["second_choice"]),
        pitches=tuple(float(p) for p in rows["pitches"]),
        title=rows["title"],
    )
