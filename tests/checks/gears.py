"""Gears small enough to judge by hand."""

import math
from dataclasses import replace
from typing import Any

from armsim.checks.judged_parts import FitRow
from armsim.parts.gear_mesh import Gear, Material
from armsim.parts.gears import GearPath, ToothSeries, gear_stage
from armsim.parts.stage import Stage

STEEL = Material(name="steel", density=7850.0, bending=138e6, contact=600e6, modulus=207e9)
SERIES = ToothSeries(modules=(1e-3, 1.5e-3), second=(1.75e-3,), pitches=(16.0, 32.0), title="a short list")


def gear(teeth: float, module: float | None = 1e-3, angle: float = 20.0, helix: float = 0.0, **more: Any) -> Gear:
    """A steel gear of module 1 mm; angles in degrees."""
    return Gear(
        **{
            "teeth": teeth,
            "module": module,
            "pressure_angle": math.radians(angle),
            "helix_angle": math.radians(helix),
            "face_width": 10e-3,
            "material": STEEL,
            **more,
        }
    )


def stage(*gears: Gear, centres: tuple[float | None, ...] = (), ring: bool = False) -> Stage:
    """A stage of such gears; centre distances in m."""
    made = (*gears[:-1], replace(gears[-1], internal=ring))
    path = GearPath(gears=made, series=SERIES, centres=centres)
    return gear_stage(path=path, efficiencies=(0.97,) * (len(gears) - 1), reverse=None, name="gears")


def by_rule(rows: Any) -> dict[str, FitRow]:
    """Rows by rule; every rule once."""
    listed = list(rows)
    found = {row.rule: row for row in listed}
    assert len(found) == len(listed)
    return found
