"""Whether a chain fits its sprockets, centre distance and loop. Limits are trade habit unless named otherwise."""

import math
from collections.abc import Iterator

from armsim.checks.judged_parts import Fit, FitRow
from armsim.checks.phrases import degrees, millimetres, number, percent
from armsim.parts.chain import (
    ChainDrive,
    ChainLoop,
    Sprocket,
    centre_distance_for,
    chain_loop,
    even_pitches,
    outside_diameter,
    polygon_ripple,
    root_diameter,
)
from armsim.parts.chain_size import ChainSize
from armsim.parts.loop import excess_sag
from armsim.parts.stage import Stage

NEAR = 0.07  #: difference of pitch up to which parts are mistaken for each other
ALIKE = 0.001  #: difference of pitch that is only rounding
SEAT = 0.005  #: difference of roller diameter from which on a roller seats wrong
LEAST_TEETH, SLOW_TEETH, MOST_TEETH = 9, 13, 120
STEEPEST, STEEPEST_SLOW = 7.0, 10.0
LEAST_WRAP = math.radians(120.0)
PREFERRED_PITCHES, MOST_PITCHES = (30.0, 50.0), 80.0
MOST_SAG = 0.04  #: of the span
SKIPPING_TEETH = 30  #: from which on sprockets of the plain chain take one of double pitch


def chain_fit(stage: Stage, drive: ChainDrive) -> Iterator[FitRow]:
    """Every rule of a chain drive."""
    yield from _sprockets(stage.name, drive)
    yield from _teeth(stage.name, drive)
    if drive.links is not None:
        yield _even(stage.name, drive)
    loop = chain_loop(drive)
    if loop is None:
        yield _unknown_length(stage.name, drive)
        return
    yield _length(stage.name, drive, loop)
    if drive.sag is not None:
        yield _sag(stage.name, drive.sag / loop.span)
    yield _wrap(stage.name, loop)
    yield _centre_distance(stage.name, drive, loop)


def tooth_width(size: ChainSize) -> float:
    """Of a single sprocket: 0.93 of the width between inner plates up to 12.7 mm pitch, 0.95 above (ISO 606). [m]"""
    return (0.93 if size.pitch < 12.8e-3 else 0.95) * size.inner_width


def _sprockets(name: str, drive: ChainDrive) -> Iterator[FitRow]:
    if drive.driver.size is None and drive.driven.size is None:
        yield FitRow(
            stage=name, rule="sprockets", given="not given", wanted=f"cut for {drive.size.number}", fit=Fit.UNKNOWN,
            mend="give the number each is sold for: driver: {teeth, number}",
        )  # fmt: skip
    for part, sprocket in (("driver", drive.driver), ("driven", drive.driven)):
        if sprocket.size is not None:
            fit, text = matched(drive.size, sprocket.size, sprocket.teeth)
            mend = "" if fit is Fit.FITS else f"take a sprocket for number {drive.size.number}"
            yield FitRow(
                stage=name, rule=f"number of the {part}", given=sprocket.size.title, wanted=drive.size.title,
                fit=fit, text=text, mend=mend,
            )  # fmt: skip
        if sprocket.bore is not None:
            yield _bore(name, part, drive.size, sprocket, sprocket.bore)


def matched(chain: ChainSize, sprocket: ChainSize, teeth: int) -> tuple[Fit, str]:
    """Whether a chain runs on a sprocket cut for another number, by pitch, roller and width."""
    if chain.strands != sprocket.strands:
        return Fit.WRONG, f"The sprocket is made for {sprocket.strands} strands, the chain has {chain.strands}."
    if chain.family == sprocket.family and chain.double_pitch == sprocket.double_pitch:
        return Fit.FITS, ""
    if chain.double_pitch and chain.family == sprocket.family:
        text = "The chain takes every other tooth: on sprockets of the plain chain it runs from 30 teeth on, "
        return Fit.DOUBTFUL if teeth >= SKIPPING_TEETH else Fit.WRONG, text + "else it needs sprockets of its own."
    off = chain.pitch / sprocket.pitch - 1.0
    if abs(off) > ALIKE:
        text = f"Pitch is off by {number(100.0 * abs(off), 2)} %: the chain climbs the teeth."
        return Fit.NEAR_MISS if abs(off) <= NEAR else Fit.WRONG, text
    seat = chain.roller / sprocket.roller - 1.0
    if tooth_width(sprocket) > chain.inner_width:
        text = f"Same pitch, but the teeth, {millimetres(tooth_width(sprocket))} wide, do not enter between plates "
        return Fit.NEAR_MISS, text + f"{millimetres(chain.inner_width)} apart."
    if abs(seat) > SEAT:
        how = "seats high" if seat > 0.0 else "lies loose"
        text = f"Same pitch, but a roller of {millimetres(chain.roller)} {how} on a seat for "
        return Fit.NEAR_MISS, text + f"{millimetres(sprocket.roller)} and wears fast."
    return Fit.DOUBTFUL, "Pitch and roller are the same, the widths differ: it runs, with side play."


def _bore(name: str, part: str, size: ChainSize, sprocket: Sprocket, bore: float) -> FitRow:
    root = root_diameter(size, sprocket.teeth)
    fits = bore < root
    return FitRow(
        stage=name, rule=f"bore of the {part}", given=millimetres(bore),
        wanted=f"less than {millimetres(root)}, the root of the teeth", fit=Fit.FITS if fits else Fit.WRONG,
        mend="" if fits else "take more teeth or a thinner shaft",
    )  # fmt: skip


def _teeth(name: str, drive: ChainDrive) -> Iterator[FitRow]:
    few, many = sorted((drive.driver.teeth, drive.driven.teeth))
    ripple = f"Chain speed varies by {number(100.0 * float(polygon_ripple(few)), 2)} % within a tooth."
    yield FitRow(
        stage=name, rule="teeth of the smaller sprocket", given=str(few),
        wanted=f"{LEAST_TEETH} or more; {SLOW_TEETH} for slow power, 17 for normal",
        fit=Fit.FITS if few >= LEAST_TEETH else Fit.DOUBTFUL, text=ripple,
        mend="" if few >= LEAST_TEETH else f"take {SLOW_TEETH} teeth",
    )  # fmt: skip
    yield FitRow(
        stage=name, rule="teeth of the larger sprocket", given=str(many), wanted=f"{MOST_TEETH} or fewer",
        fit=Fit.FITS if many <= MOST_TEETH else Fit.DOUBTFUL,
        text="" if many <= MOST_TEETH else "A chain worn by little already climbs so many teeth.",
    )  # fmt: skip
    ratio = many / few
    yield FitRow(
        stage=name, rule="ratio", given=f"{number(ratio)}:1",
        wanted=f"{STEEPEST:.0f}:1 or less, {STEEPEST_SLOW:.0f}:1 where slow",
        fit=Fit.FITS if ratio <= STEEPEST else Fit.DOUBTFUL if ratio <= STEEPEST_SLOW else Fit.WRONG,
        mend="" if ratio <= STEEPEST else "share it among two stages",
    )  # fmt: skip


def _unknown_length(name: str, drive: ChainDrive) -> FitRow:
    outside = not drive.two_wheels
    return FitRow(
        stage=name, rule="chain length", wanted="to go round", fit=Fit.UNKNOWN,
        given="not given" if drive.links is None else f"{drive.links} links",
        text="The loop goes round more wheels than these two." if outside else "",
        mend="" if outside else "give centre_distance or links",
    )  # fmt: skip


def _choices(drive: ChainDrive, loop: ChainLoop) -> str:
    """The even loops next below and above, with their exact centre distances."""
    pitch, teeth = drive.size.pitch, (drive.driver.teeth, drive.driven.teeth)
    found = []
    for links in dict.fromkeys(even_pitches(loop.taut)):
        try:
            centre = centre_distance_for(pitch, *teeth, links)
        except ValueError:  # too short a loop is no choice
            continue
        found.append(f"{links} links at {millimetres(centre)}")
    return " or ".join(found)


def _length(name: str, drive: ChainDrive, loop: ChainLoop) -> FitRow:
    choices = _choices(drive, loop)
    taut = f"{number(loop.taut, 6)} pitches"
    if drive.links is None:
        return _length_by_distance(name, drive, loop, choices)
    assert loop.slack is not None
    given = f"{drive.links} links"
    if loop.slack < -1e-6 * drive.size.pitch:
        text = f"The loop is {millimetres(-loop.slack)} too short for the centre distance."
        fit = Fit.WRONG
    else:
        sag = loop.sag or 0.0
        text = f"The slack strand sags {millimetres(sag)}, {number(100.0 * sag / loop.span, 2)} % of its span."
        fit = Fit.FITS if sag <= MOST_SAG * loop.span else Fit.DOUBTFUL
    mend = "" if fit is Fit.FITS else f"{choices}, or a tensioner"
    wanted = f"{taut} taut, slack for up to {percent(MOST_SAG)} sag"
    return FitRow(stage=name, rule="chain length", given=given, wanted=wanted, fit=fit, text=text, mend=mend)


def _length_by_distance(name: str, drive: ChainDrive, loop: ChainLoop, choices: str) -> FitRow:
    """Without links the next even loop up is taken where it hangs no slacker than it may."""
    above = even_pitches(loop.taut)[1]
    excess = max(above - loop.taut, 0.0) * drive.size.pitch
    fits = excess_sag(loop.span, excess) <= MOST_SAG * loop.span
    return FitRow(
        stage=name, rule="chain length", given=f"{millimetres(loop.centre_distance)} between centres", wanted=choices,
        fit=Fit.FITS if fits else Fit.UNKNOWN,
        text=f"Taut there are {number(loop.taut, 6)} pitches; {above} links hang {millimetres(excess)} slack.",
        mend="" if fits else "give links, or move the shafts; else a tensioner takes the slack",
    )  # fmt: skip


def _even(name: str, drive: ChainDrive) -> FitRow:
    odd = drive.needs_offset_link
    text = "An odd number closes with an offset link only, which bears 65 % of the chain." if odd else ""
    mend = ""
    if odd:
        assert drive.links is not None
        mend = f"{drive.links + 1} links"
        if drive.two_wheels:
            teeth = drive.driver.teeth, drive.driven.teeth
            mend += f" at {millimetres(centre_distance_for(drive.size.pitch, *teeth, drive.links + 1))}"
    return FitRow(
        stage=name, rule="even links", given=str(drive.links), wanted="an even number",
        fit=Fit.DOUBTFUL if odd else Fit.FITS, text=text, mend=mend,
    )  # fmt: skip


def _sag(name: str, share: float) -> FitRow:
    fits = share <= MOST_SAG
    return FitRow(
        stage=name, rule="sag", given=f"{number(100.0 * share, 2)} % of the span",
        wanted=f"{percent(MOST_SAG)} or less, 1 to 2 % where the load reverses",
        fit=Fit.FITS if fits else Fit.DOUBTFUL, text="" if fits else "So slack it jumps teeth.",
        mend="" if fits else "tighten it",
    )  # fmt: skip


def _wrap(name: str, loop: ChainLoop) -> FitRow:
    fits = loop.wrap >= LEAST_WRAP - 1e-9
    return FitRow(
        stage=name, rule="wrap on the smaller sprocket", given=degrees(loop.wrap),
        wanted=f"{degrees(LEAST_WRAP)} or more", fit=Fit.FITS if fits else Fit.DOUBTFUL,
        text="" if fits else "Too few teeth share the pull.", mend="" if fits else "move the shafts apart",
    )  # fmt: skip


def _centre_distance(name: str, drive: ChainDrive, loop: ChainLoop) -> FitRow:
    pitch, centre = drive.size.pitch, loop.centre_distance
    least = float(sum(outside_diameter(pitch, s.teeth) for s in (drive.driver, drive.driven))) / 2.0
    pitches, (low, high) = centre / pitch, PREFERRED_PITCHES
    fit, text = Fit.FITS, ""
    if centre <= least:
        fit, text = Fit.WRONG, f"The teeth touch below {millimetres(least)}."
    elif pitches > MOST_PITCHES:
        fit, text = Fit.DOUBTFUL, "So long a strand whips without a guide."
    elif not low <= pitches <= high:
        text = "Outside the preferred range, inside the possible one."
    return FitRow(
        stage=name, rule="centre distance", given=f"{millimetres(centre)} ({number(pitches)} pitches)",
        wanted=f"{low:.0f} to {high:.0f} pitches, at most {MOST_PITCHES:.0f}", fit=fit, text=text,
        mend="" if fit is Fit.FITS else f"{millimetres(low * pitch)} to {millimetres(high * pitch)}",
    )  # fmt: skip
