"""Whether a planetary set goes together: one axis, planets at even steps, room between them, and teeth that mesh."""

import math
from collections.abc import Iterator
from dataclasses import replace

from armsim.checks.fit.gears import TIGHT, contact_row, may_mesh, tooth_rows
from armsim.checks.fit.teeth import gear_rows
from armsim.checks.judged_parts import Fit, FitRow
from armsim.checks.phrases import number
from armsim.parts.gear_mesh import ADDENDUM, Gear, centre_distance, working_angle
from armsim.parts.planetary import PlanetarySet
from armsim.parts.stage import Stage


def set_rows(stage: Stage, parts: PlanetarySet) -> Iterator[FitRow]:
    """Every rule of a set."""
    members = [("sun", parts.sun), ("planet", parts.planet), ("ring", parts.ring)]
    pairs = [("sun with planet", parts.sun, parts.planet), ("planet with ring", parts.planet, parts.ring)]
    if parts.second is not None:
        members += [("second planet", parts.second[0]), ("second ring", parts.second[1])]
        pairs.append(("second planet with second ring", *parts.second))
    for name, first, second in pairs:
        yield from tooth_rows(stage.name, first, second, f", {name}")
        angle = working_angle(first, second)
        if angle is not None and may_mesh(first, second):
            yield contact_row(stage.name, first, second, angle, f", {name}")
    for name, gear in members:
        yield from gear_rows(stage.name, gear, parts.series, f", {name}")
    yield one_axis_row(stage.name, parts)
    yield assembly_row(stage.name, parts)
    if parts.second is not None:
        yield _phase_row(stage.name, parts)
    yield neighbour_row(stage.name, parts)


def one_axis_row(stage: str, parts: PlanetarySet) -> FitRow:
    """Planets reach sun and ring, and a second ring, from one distance: unshifted, ring = sun + 2 planets."""
    module = parts.planet.module or 1.0
    pairs = [(parts.sun, parts.planet), (parts.planet, parts.ring), *([parts.second] if parts.second else [])]
    apart = [_apart(first, second, module) for first, second in pairs]
    far, near = max(apart), min(apart)
    fits = far - near <= TIGHT * module
    scale = ", ".join(number(distance / module, 4) for distance in apart)
    wanted = parts.sun.teeth + 2.0 * parts.planet.teeth
    return FitRow(
        stage=stage, rule="one axis", given=f"planets {scale} modules from the axis", wanted="one distance",
        fit=Fit.FITS if fits else Fit.WRONG,
        text="" if fits else "The planets do not reach all the gears they mesh with at once.",
        mend="" if fits else f"without profile shift a ring of {wanted:g} teeth, sun + 2 planets"
        + (", and a second ring as many teeth larger than its planet" if parts.second else ""),
    )  # fmt: skip


def _apart(first: Gear, second: Gear, module: float) -> float:
    """Centre distance, with a module where none is given; 0 where no such pair meshes. [m]"""
    sized = first if first.module is not None else replace(first, module=module)
    return centre_distance(sized, second) or 0.0


def assembly_row(stage: str, parts: PlanetarySet) -> FitRow:
    """Planets at even steps go in where sun and ring together divide by their number."""
    teeth = round(parts.sun.teeth + parts.ring.teeth)
    fits = teeth % parts.planets == 0
    possible = [str(n) for n in range(2, 9) if teeth % n == 0]
    return FitRow(
        stage=stage,
        rule="assembly",
        given=f"{parts.planets} planets, sun and ring {teeth}",
        wanted="a whole quotient",
        fit=Fit.FITS if fits else Fit.WRONG,
        text="" if fits else f"{number(teeth / parts.planets)}: the last planet does not go in at even steps.",
        mend="" if fits else f"{' or '.join(possible) or 'one'} planets, or other teeth",
    )


def _phase_row(stage: str, parts: PlanetarySet) -> FitRow:
    """Equal double planets go in at even steps where both rings divide by their number."""
    assert parts.second is not None
    rings = [round(parts.ring.teeth), round(parts.second[1].teeth)]
    fits = all(teeth % parts.planets == 0 for teeth in rings)
    return FitRow(
        stage=stage,
        rule="assembly, both rings",
        given=f"rings {rings[0]} and {rings[1]}",
        wanted=f"both divide by {parts.planets}",
        fit=Fit.FITS if fits else Fit.DOUBTFUL,
        text="" if fits else "Each double planet needs its two gears turned against each other in its own way.",
        mend="" if fits else "other teeth, or double planets marked for their places",
    )


def neighbour_row(stage: str, parts: PlanetarySet) -> FitRow:
    """Tips of neighbouring planets clear each other: (z_s + z_p) sin(pi/n) > z_p + 2, for the larger planet."""
    widest = parts.planet.teeth + 2.0 * parts.planet.profile_shift
    if parts.second is not None and parts.planet.module is not None and parts.second[0].module is not None:
        widest = max(widest, parts.second[0].teeth * parts.second[0].module / parts.planet.module)
    apart = (parts.sun.teeth + parts.planet.teeth) * math.sin(math.pi / parts.planets)
    tips = widest + 2.0 * ADDENDUM
    fits = parts.planets == 1 or apart > tips
    most = math.floor(math.pi / math.asin(min(tips / (parts.sun.teeth + parts.planet.teeth), 1.0)) - 1e-9)
    return FitRow(
        stage=stage,
        rule="room between planets",
        given=f"{number(apart)} modules apart",
        wanted=f"more than {number(tips)}",
        fit=Fit.FITS if fits else Fit.WRONG,
        text="" if fits else "Neighbouring planets strike each other.",
        mend="" if fits else f"{max(most, 1)} planets at most",
    )
