"""Whether one gear is as it should be: a size that is stocked, teeth not undercut, no wider than what bears."""

import math
from collections.abc import Iterator

from armsim.checks.judged_parts import Fit, FitRow
from armsim.checks.phrases import millimetres, number, rounded_up
from armsim.parts.gear_mesh import Gear, shift_against_undercut, undercut_teeth
from armsim.parts.gears import ToothSeries

SAME = 1e-3  #: difference of base pitches that still meshes [-]
PRACTICAL = 5.0 / 6.0  #: of the teeth at which undercut begins, down to which it is harmless (14 for 17) [-]
WIDEST = 12.5  #: face width over module that still bears all along [-]
INCH = 0.0254  #: [m]


def size_words(gear: Gear) -> str:
    """Size of the teeth as it was given."""
    if gear.module is None:
        return "not given"
    module = f"module {millimetres(gear.module, 3)}"
    return f"{INCH / gear.module:.4g} DP ({module})" if gear.by_pitch else module


def gear_rows(stage: str, gear: Gear, series: ToothSeries, suffix: str) -> Iterator[FitRow]:
    """Rules of one gear: stocked, not undercut, not too wide."""
    if gear.module is not None:
        yield stock_row(stage, gear, series, suffix)
    if not gear.internal:
        yield undercut_row(stage, gear, suffix)
    yield width_row(stage, gear, suffix)


def stock_row(stage: str, gear: Gear, series: ToothSeries, suffix: str) -> FitRow:
    """Teeth of a size that is stocked."""
    assert gear.module is not None
    module, pitch, rule = gear.module, INCH / gear.module, f"stock size{suffix}"
    inch = any(abs(p / pitch - 1.0) <= SAME for p in series.pitches)
    first, second = (any(abs(m / module - 1.0) <= SAME for m in row) for row in (series.modules, series.second))
    stocked = inch if gear.by_pitch else first or second or inch
    if stocked:
        text = "Second choice of the series." if second and not gear.by_pitch else ""
        return FitRow(stage=stage, rule=rule, given=size_words(gear), wanted="stocked", fit=Fit.FITS, text=text)
    sizes = sorted((*series.modules, *series.second), key=lambda m: abs(m / module - 1.0))
    pitches = sorted(series.pitches, key=lambda p: abs(p / pitch - 1.0))
    nearest = f"{pitches[0]:g} DP" if gear.by_pitch else f"module {millimetres(sizes[0], 3)}"
    return FitRow(
        stage=stage, rule=rule, given=size_words(gear), wanted=nearest, fit=Fit.DOUBTFUL,
        text=f"Not among {series.title}.", mend=f"take {nearest}, or have it cut",
    )  # fmt: skip


def undercut_row(stage: str, gear: Gear, suffix: str) -> FitRow:
    """Enough teeth that the cutter leaves the flank; a little undercut is let pass."""
    least = undercut_teeth(gear.pressure_angle, gear.helix_angle, gear.profile_shift)
    rule, given, wanted = f"undercut{suffix}", f"{gear.teeth:g} teeth", f"{math.ceil(least - 1e-9)} or more"
    if gear.teeth >= math.floor(least * PRACTICAL):
        little = "It is undercut a little, which does no harm."
        text = "" if gear.teeth >= math.floor(least) else little
        return FitRow(stage=stage, rule=rule, given=given, wanted=wanted, fit=Fit.FITS, text=text)
    shift = shift_against_undercut(gear.teeth, gear.pressure_angle, gear.helix_angle)
    text = "Cut without profile shift its roots are hollowed out: weaker teeth, less contact."
    mend = f"profile_shift: {number(rounded_up(shift, 2), 2)} or more, if the maker cuts it so; or more teeth"
    return FitRow(stage=stage, rule=rule, given=given, wanted=wanted, fit=Fit.DOUBTFUL, text=text, mend=mend)


def width_row(stage: str, gear: Gear, suffix: str) -> FitRow:
    """Teeth no wider than what bears all along."""
    rule, wanted = f"face width{suffix}", f"at most {number(WIDEST)} modules"
    if gear.module is None or gear.face_width is None:
        mend = "give module and face_width: without them strength is not judged"
        return FitRow(stage=stage, rule=rule, given="not given", wanted=wanted, fit=Fit.UNKNOWN, mend=mend)
    ratio = gear.face_width / gear.module
    given = f"{millimetres(gear.face_width, 3)}, {number(ratio)} modules"
    if ratio <= WIDEST * (1.0 + 1e-9):
        return FitRow(stage=stage, rule=rule, given=given, wanted=wanted, fit=Fit.FITS)
    return FitRow(
        stage=stage, rule=rule, given=given, wanted=wanted, fit=Fit.DOUBTFUL,
        text="Wider teeth bear at one end; strength counts no more than that.",
        mend=f"{millimetres(WIDEST * gear.module, 3)}, or a larger module",
    )  # fmt: skip
