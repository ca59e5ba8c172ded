"""Spur or helical gears on parallel shafts: a driver, any idlers, a driven gear that may be a ring."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from armsim.parts.gear_mesh import Gear, centre_distance, contact_ratio, sign_of, working_angle
from armsim.parts.stage import ConstantEfficiency, Hardware, Stage, disc_inertia, mesh_chain

RIM = 4.0  #: of a ring beyond its pitch circle, in modules, where nothing else is known [-]


@dataclass(frozen=True, kw_only=True)
class ToothSeries:
    """Sizes of teeth that are stocked."""

    modules: tuple[float, ...]  #: first choice [m]
    second: tuple[float, ...]  #: second choice [m]
    pitches: tuple[float, ...]  #: diametral pitches [1/in]
    title: str


@dataclass(frozen=True, kw_only=True)
class GearPath(Hardware):
    """Gears that mesh one after the other, driver first."""

    gears: tuple[Gear, ...]
    series: ToothSeries
    centres: tuple[float | None, ...] = ()  #: given, of each mesh; empty: none [m]

    def meshes(self) -> tuple[tuple[Gear, Gear, float | None], ...]:
        """Each pair with its given centre distance [m]."""
        pairs = list(pairwise(self.gears))
        return tuple((a, b, c) for (a, b), c in zip(pairs, self.centres or [None] * len(pairs), strict=True))


def gear_stage(
    *,
    path: GearPath,
    efficiencies: Sequence[float],
    reverse: float | None,
    drag: float = 0.0,
    viscous_drag: float = 0.0,
    input_inertia: float | None = None,
    output_inertia: float | None = None,
    backlash: float | None = None,
    name: str,
) -> Stage:
    """Gears in one plane, driver to driven by way of the idlers.

    The reduction is driven over driver; an idler leaves it alone, turns the sense round and costs one more mesh; a ring
    turns with its pinion. `efficiencies` are of each mesh, `reverse` of the whole stage (None: 2 - 1/eta_f of each
    mesh). Each gear is a solid disc of its pitch diameter less its bore, a ring a rim of 4 modules; idlers count on the
    input shaft, times (z1/z_idler)^2. Inertias given outright replace that; without module or width they are 0.
    `backlash` [rad] of all meshes, at the driven gear.
    """
    driver, driven = path.gears[0], path.gears[-1]
    forward, chained = mesh_chain(efficiencies)
    on_input = sum(gear_inertia(gear) * (driver.teeth / gear.teeth) ** 2 for gear in path.gears[:-1])
    radius = driver.pitch_diameter
    return Stage(
        kind="gears",
        name=name,
        reduction=driven.teeth / driver.teeth,
        law=ConstantEfficiency(forward=forward, reverse=chained if reverse is None else reverse),
        drag=drag,
        viscous_drag=viscous_drag,
        input_inertia=on_input if input_inertia is None else input_inertia,
        output_inertia=gear_inertia(driven) if output_inertia is None else output_inertia,
        backlash=backlash,
        sense=math.prod(-sign_of(wheel) for wheel in path.gears[1:]),
        driver_radius=None if radius is None else radius / 2.0,
        hardware=path,
        details={"meshes": len(path.gears) - 1, **_geometry(path)},
    )


def gear_inertia(gear: Gear) -> float:
    """A disc of the pitch diameter less its bore, or the rim of a ring; 0 where its size is not known. [kg*m2]"""
    diameter = gear.pitch_diameter
    if diameter is None or gear.face_width is None or gear.module is None:
        return 0.0
    outer, inner = (diameter + 2.0 * RIM * gear.module, diameter) if gear.internal else (diameter, gear.bore)
    density, width = gear.material.density, gear.face_width
    return float(disc_inertia(density, width, outer) - disc_inertia(density, width, inner))


def _geometry(path: GearPath) -> dict[str, float | str]:
    """Pitch diameters, centre distances [m] and contact ratios, in order from the driver."""
    names = gear_names(path)
    shown: dict[str, float | str] = {"pressure_angle": path.gears[0].pressure_angle}
    if path.gears[0].helix_angle:
        shown["helix_angle"] = path.gears[0].helix_angle
    if path.gears[0].module is not None:
        shown["module"] = path.gears[0].module
    widths = {gear.face_width for gear in path.gears}
    if len(widths) == 1 and None not in widths:
        shown["face_width"] = widths.pop() or 0.0
    for name, gear in zip(names, path.gears, strict=True):
        if gear.pitch_diameter is not None:
            shown[f"pitch_diameter_{name}"] = gear.pitch_diameter
    for (first, second), (a, b, given) in zip(pairwise(names), path.meshes(), strict=True):
        centre, angle = centre_distance(a, b), working_angle(a, b, given)
        if centre is not None:
            shown[f"centre_distance_{first}_to_{second}"] = centre if given is None else given
        if angle is not None:
            shown[f"contact_ratio_{first}_to_{second}"] = contact_ratio(a, b, angle)
    return shown


def gear_names(path: GearPath) -> list[str]:
    """driver, idler_1, ..., driven."""
    return ["driver", *(f"idler_{k}" for k in range(1, len(path.gears) - 1)), "driven"]
