"""Whether two bevel gears fit: a matched pair of one size, with teeth short enough for their cones."""

from collections.abc import Iterator

from armsim.checks.fit.gears import base_pitch_row, common_factor_row, pressure_angle_row
from armsim.checks.fit.teeth import stock_row
from armsim.checks.judged_parts import Fit, FitRow
from armsim.checks.phrases import millimetres
from armsim.parts.bevel import BevelPair, cone_distance
from armsim.parts.stage import Stage

CONE_SHARE = 1.0 / 3.0  #: of the cone distance that teeth may be long [-]


def pair_rows(stage: Stage, pair: BevelPair) -> Iterator[FitRow]:
    """Every rule of a bevel pair."""
    sizes = base_pitch_row(stage.name, pair.driver, pair.driven)
    yield sizes
    yield pressure_angle_row(stage.name, pair.driver, pair.driven, sizes.fit)
    yield matched_row(stage.name, pair)
    yield width_row(stage.name, pair)
    if pair.driver.module is not None:
        yield stock_row(stage.name, pair.driver, pair.series, "")
    yield common_factor_row(stage.name, pair.driver, pair.driven)


def matched_row(stage: str, pair: BevelPair) -> FitRow:
    """Made for each other: cones for another partner do not meet in one point."""
    given = {True: "a set", False: "two single gears", None: "not given"}[pair.matched_set]
    text, mend, mitre = "", "", pair.driver.teeth == pair.driven.teeth
    fit = {True: Fit.FITS, False: Fit.DOUBTFUL if mitre else Fit.WRONG, None: Fit.UNKNOWN}[pair.matched_set]
    if pair.matched_set is False:
        text = "Cones cut for other partners do not share their apex."
        text = "Two mitre gears of one maker may do." if mitre else text
        mend = f"buy them as one set {pair.driver.teeth:g}/{pair.driven.teeth:g}"
    elif pair.matched_set is None:
        mend = "bevel gears are made in sets: give matched_set: yes if these are one"
    return FitRow(stage=stage, rule="matched set", given=given, wanted="a set", fit=fit, text=text, mend=mend)


def width_row(stage: str, pair: BevelPair) -> FitRow:
    """Teeth no longer than a third of the cone distance."""
    distance = cone_distance(pair)
    width = max((g.face_width for g in (pair.driver, pair.driven) if g.face_width is not None), default=None)
    if distance is None or width is None:
        mend = "give module and face_width: without them strength is not judged"
        return FitRow(
            stage=stage, rule="face width", given="not given", wanted="a third of the cone", fit=Fit.UNKNOWN, mend=mend
        )
    most = CONE_SHARE * distance
    fits = width <= most * (1.0 + 1e-9)
    return FitRow(
        stage=stage,
        rule="face width",
        given=millimetres(width, 3),
        wanted=f"at most {millimetres(most, 3)}, a third of the cone distance",
        fit=Fit.FITS if fits else Fit.DOUBTFUL,
        text="" if fits else "Near the apex teeth get too thin to be cut and to carry.",
        mend="" if fits else f"{millimetres(most, 3)} or less",
    )
