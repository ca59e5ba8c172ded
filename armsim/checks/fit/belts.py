"""Whether belts fit their pulleys, centre distance and length. Limits are trade habit unless named otherwise."""

import math
from collections.abc import Iterator

from armsim.checks.judged_parts import Fit, FitRow
from armsim.checks.phrases import degrees, millimetres, number
from armsim.parts.belt import (
    FULL_MESH,
    BeltDrive,
    BeltLoop,
    BeltProfile,
    belt_centre_distance,
    belt_loop,
    belt_pitch_diameter,
    mesh_factor,
    rated_tension,
)
from armsim.parts.flat_belt import FlatBeltDrive
from armsim.parts.stage import Stage

NEAR = 0.07  #: difference of pitch up to which parts are mistaken for each other
ALIKE = 0.001
TAUT = 0.001  #: of its length that a belt stretches or gives when its shafts are not quite where they should be
STEEPEST = 8.0
LEAST_WRAP = math.radians(120.0)


def belt_fit(stage: Stage, drive: BeltDrive) -> Iterator[FitRow]:
    """Every rule of a toothed belt."""
    yield from _profiles(stage.name, drive)
    yield _least_teeth(stage.name, drive)
    yield _ratio(stage.name, stage.reduction)
    yield _rating(stage.name, drive)
    loop = belt_loop(drive)
    if loop is None:
        outside = not drive.two_wheels
        yield FitRow(
            stage=stage.name, rule="belt length", given="not given", wanted="a whole number of teeth",
            fit=Fit.UNKNOWN, text="The belt goes round more pulleys than these two." if outside else "",
            mend="" if outside else "give centre_distance or belt_teeth",
        )  # fmt: skip
        return
    yield _length(stage.name, drive, loop)
    yield _mesh(stage.name, loop)


def matched(belt: BeltProfile, pulley: BeltProfile, teeth_in_mesh: int = FULL_MESH) -> tuple[Fit, str]:
    """Whether a belt runs on a pulley cut for another profile."""
    if belt.name == pulley.name:
        return Fit.FITS, ""
    off = belt.pitch / pulley.pitch - 1.0
    if abs(off) <= ALIKE:
        return Fit.NEAR_MISS, "Same pitch, another form of tooth: it rides up and wears."
    creep = abs(belt.pitch - pulley.pitch) * teeth_in_mesh
    text = f"Pitch is off by {number(100.0 * abs(off), 2)} %, {millimetres(creep)} over {teeth_in_mesh} teeth."
    return (Fit.NEAR_MISS if abs(off) <= NEAR else Fit.WRONG), text


def _profiles(name: str, drive: BeltDrive) -> Iterator[FitRow]:
    if drive.driver.profile is None and drive.driven.profile is None:
        yield FitRow(
            stage=name, rule="pulleys", given="not given", wanted=f"cut for {drive.profile.name}", fit=Fit.UNKNOWN,
            mend="give the profile each is sold for: driver: {teeth, profile}",
        )  # fmt: skip
    for part, pulley in (("driver", drive.driver), ("driven", drive.driven)):
        if pulley.profile is not None:
            fit, text = matched(drive.profile, pulley.profile)
            yield FitRow(
                stage=name, rule=f"profile of the {part}", given=pulley.profile.title, wanted=drive.profile.title,
                fit=fit, text=text, mend="" if fit is Fit.FITS else f"take a pulley for {drive.profile.name}",
            )  # fmt: skip
        if pulley.bore is not None:
            yield _bore(name, part, drive.profile, pulley.teeth, pulley.bore)


def _bore(name: str, part: str, profile: BeltProfile, teeth: int, bore: float) -> FitRow:
    left, edge = float(belt_pitch_diameter(profile.pitch, teeth)) - (profile.line_offset or 0.0), "its outside"
    if profile.tooth_height is not None:
        left, edge = left - 2.0 * profile.tooth_height, "the bottom of its grooves"
    fits = bore < left
    return FitRow(
        stage=name, rule=f"bore of the {part}", given=millimetres(bore),
        wanted=f"less than {millimetres(left)}, {edge}", fit=Fit.FITS if fits else Fit.WRONG,
        mend="" if fits else "take more teeth or a thinner shaft",
    )  # fmt: skip


def _least_teeth(name: str, drive: BeltDrive) -> FitRow:
    few, least = drive.small.teeth, drive.profile.least_teeth
    if least is None:
        return FitRow(
            stage=name, rule="teeth of the smaller pulley", given=str(few), wanted="as the belt's maker says",
            fit=Fit.UNKNOWN,
        )  # fmt: skip
    fits = few >= least
    return FitRow(
        stage=name, rule="teeth of the smaller pulley", given=str(few), wanted=f"{least} or more",
        fit=Fit.FITS if fits else Fit.DOUBTFUL, text="" if fits else "Bent so tightly its cords break early.",
        mend="" if fits else f"take {least} teeth",
    )  # fmt: skip


def _ratio(name: str, reduction: float) -> FitRow:
    ratio = max(reduction, 1.0 / reduction)
    fits = ratio <= STEEPEST + 1e-9
    return FitRow(
        stage=name, rule="ratio", given=f"{number(ratio)}:1", wanted=f"{STEEPEST:.0f}:1 or less",
        fit=Fit.FITS if fits else Fit.DOUBTFUL, mend="" if fits else "share it among two stages",
    )  # fmt: skip


def _rating(name: str, drive: BeltDrive) -> FitRow:
    """Whether there is a limit of tension to judge strength by."""
    known = drive.allowable_tension
    if known is None:
        known = rated_tension(drive.profile, drive.width, drive.small.teeth)
    if known is not None:
        given = f"{number(known)} N"
        return FitRow(stage=name, rule="allowable tension", given=given, wanted="known", fit=Fit.FITS)
    widths = ", ".join(millimetres(width) for width, _, _ in drive.profile.ratings)
    mend = "give allowable_tension of the belt's maker"
    return FitRow(
        stage=name, rule="allowable tension", given="not given", wanted="known", fit=Fit.UNKNOWN,
        text="No public standard rates this profile." if not widths else "",
        mend=mend if not widths else f"{mend}, or a width of {widths}",
    )  # fmt: skip


def _length(name: str, drive: BeltDrive, loop: BeltLoop) -> FitRow:
    pitch, teeth = drive.profile.pitch, (drive.driver.teeth, drive.driven.teeth)
    choices = []
    for count in dict.fromkeys((math.floor(loop.taut + 1e-9), math.ceil(loop.taut - 1e-9))):
        try:
            choices.append(f"{count} teeth at {millimetres(belt_centre_distance(pitch, *teeth, count))}")
        except ValueError:  # too short a belt is no choice
            continue
    if drive.belt_teeth is None:
        off = abs(round(loop.taut) - loop.taut) * pitch
        fits = off <= TAUT * loop.taut * pitch
        return FitRow(
            stage=name, rule="belt length", given=f"{millimetres(loop.centre_distance)} between centres",
            wanted=" or ".join(choices), fit=Fit.FITS if fits else Fit.UNKNOWN,
            text=f"Taut it has {number(loop.taut, 6)} teeth.",
            mend="" if fits else "give belt_teeth, or move the shafts, or take a tensioner",
        )  # fmt: skip
    off = (drive.belt_teeth - loop.taut) * pitch
    fits = abs(off) <= TAUT * loop.taut * pitch
    text = "" if fits else f"The belt is {millimetres(abs(off))} too {'long' if off > 0.0 else 'short'}."
    exact = millimetres(belt_centre_distance(pitch, *teeth, drive.belt_teeth))
    return FitRow(
        stage=name, rule="belt length", given=f"{drive.belt_teeth} teeth", wanted=f"{number(loop.taut, 6)} teeth",
        fit=Fit.FITS if fits else Fit.WRONG, text=text, mend="" if fits else f"set the shafts {exact} apart",
    )  # fmt: skip


def _mesh(name: str, loop: BeltLoop) -> FitRow:
    whole, factor = math.floor(loop.teeth_in_mesh + 1e-9), mesh_factor(loop.teeth_in_mesh)
    fit = Fit.FITS if factor == 1.0 else Fit.DOUBTFUL if factor > 0.0 else Fit.WRONG
    return FitRow(
        stage=name, rule="teeth in mesh", given=f"{whole} ({degrees(loop.wrap)} of wrap)",
        wanted=f"{FULL_MESH} or more", fit=fit,
        text="" if fit is Fit.FITS else f"The belt carries {number(factor, 2)} of its rated tension.",
        mend="" if fit is Fit.FITS else "more teeth on the smaller pulley, or shafts further apart",
    )  # fmt: skip


def flat_belt_fit(stage: Stage, drive: FlatBeltDrive) -> Iterator[FitRow]:
    """Every rule of a flat or round belt."""
    yield _ratio(stage.name, stage.reduction)
    missing = [key for key in ("centre_distance", "friction", "tension") if getattr(drive, key) is None]
    if missing:
        yield FitRow(
            stage=stage.name, rule="slip", given=f"no {', no '.join(missing)}", wanted="known", fit=Fit.UNKNOWN,
            text="Whether the belt slips is not judged.", mend=f"give {', '.join(missing)}",
        )  # fmt: skip
    if drive.wrap is None:
        return
    fits = drive.wrap >= LEAST_WRAP - 1e-9
    yield FitRow(
        stage=stage.name, rule="wrap", given=degrees(drive.wrap), wanted=f"{degrees(LEAST_WRAP)} or more",
        fit=Fit.FITS if fits else Fit.DOUBTFUL,
        mend="" if fits else "move the shafts apart, or cross the belt",
    )  # fmt: skip
