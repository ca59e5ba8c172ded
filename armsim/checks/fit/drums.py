"""Whether a rope suits its drum: bent not too tightly, room for its turns, turns left when it is paid out.

First-pass rules of lifting practice; the ratio of diameters is that of ISO 4308-1, drum to the middle of the rope.
"""

import math
from collections.abc import Iterator

from armsim.checks.judged_parts import Fit, FitRow
from armsim.checks.phrases import millimetres, number
from armsim.drivetrain.machine import Machine
from armsim.parts.rack import DEAD_TURNS, Drum, drum_radius, turns_needed

#: drum over rope: for running on and on, for usual lifting, and for what is seldom lifted and light [-]
WIRE = (25.0, 18.0, 11.2)
FIBRE = (12.0, 8.0, 6.0)


def judge_drums(machine: Machine) -> Iterator[FitRow]:
    """Every rule of a drum; it is the last stage where there is one."""
    drum = machine.stages[-1].hardware if machine.stages else None
    if isinstance(drum, Drum):
        name = machine.stages[-1].name
        travel = machine.arm.upper_stop - machine.arm.lower_stop
        yield _bending(name, drum)
        yield _breaking(name, drum)
        yield _width(name, drum, travel)
        if drum.rope_length is not None and math.isfinite(travel):
            yield _length(name, drum, drum.rope_length, travel)


def _bending(stage: str, drum: Drum) -> FitRow:
    ratio = 2.0 * drum_radius(drum.diameter, drum.rope_diameter, 1) / drum.rope_diameter
    lasting, usual, least = WIRE if drum.rope_material == "wire" else FIBRE
    by = "ISO 4308-1 for lifting" if drum.rope_material == "wire" else "trade habit of fibre ropes"
    wanted = f"{usual:g} or more ({by}), {lasting:g} for running all day"
    fit = Fit.FITS if ratio >= usual - 1e-9 else Fit.DOUBTFUL if ratio >= least - 1e-9 else Fit.WRONG
    text = {Fit.FITS: "", Fit.DOUBTFUL: "Bent so tightly the rope wears out early: look at it often."}.get(
        fit, "Bent so tightly the rope takes a set and does not lie in its turns."
    )
    drum_wanted = millimetres((usual - 1.0) * drum.rope_diameter)
    return FitRow(
        stage=stage, rule="drum over rope", given=f"{number(ratio)} to 1", wanted=wanted, fit=fit, text=text,
        mend="" if fit is Fit.FITS else f"a drum of {drum_wanted}, or a thinner rope",
    )  # fmt: skip


def _breaking(stage: str, drum: Drum) -> FitRow:
    known = drum.rope_breaking_load
    given = "not given" if known is None else f"{number(known)} N"
    return FitRow(
        stage=stage, rule="breaking load of the rope", given=given, wanted="known",
        fit=Fit.UNKNOWN if known is None else Fit.FITS, mend="give rope_breaking_load" if known is None else "",
    )  # fmt: skip


def _width(stage: str, drum: Drum, travel: float) -> FitRow:
    """Turns of all layers side by side; two stay on the drum when the carriage is at its lower stop."""
    rule = "width of the drum"
    if not math.isfinite(travel):
        mend = "give both stops of the carriage" + (" and width" if drum.width is None else "")
        return FitRow(stage=stage, rule=rule, given=_given(drum), wanted="the travel known", fit=Fit.UNKNOWN, mend=mend)
    turns = turns_needed(drum, travel)
    needed, layers = turns * drum.rope_diameter, f" in {drum.layers} layers" if drum.layers > 1 else ""
    wanted = f"{millimetres(needed)} or more: {turns} turns side by side{layers}, {DEAD_TURNS} of them never paid out"
    if drum.width is None:
        return FitRow(stage=stage, rule=rule, given=_given(drum), wanted=wanted, fit=Fit.UNKNOWN, mend="give width")
    fits = drum.width >= needed - 1e-9
    return FitRow(
        stage=stage, rule=rule, given=_given(drum), wanted=wanted, fit=Fit.FITS if fits else Fit.WRONG,
        text="" if fits else "The rope climbs over its own turns or over the flange.",
        mend="" if fits else f"a drum {millimetres(needed)} wide, a larger one, or another layer",
    )  # fmt: skip


def _given(drum: Drum) -> str:
    return "not given" if drum.width is None else millimetres(drum.width)


def _length(stage: str, drum: Drum, length: float, travel: float) -> FitRow:
    """What is left on the drum at the lower stop at best: the rope also spans from drum to carriage."""
    turn = 2.0 * math.pi * drum_radius(drum.diameter, drum.rope_diameter, 1)
    left = (length - travel) / turn
    fits = left >= DEAD_TURNS - 1e-9
    needed = travel + DEAD_TURNS * turn
    given = f"{millimetres(length)}, at most {number(left)} turns left on the drum" if left >= 0.0 else (
        f"{millimetres(length)}, shorter than the travel"
    )  # fmt: skip
    return FitRow(
        stage=stage, rule="length of the rope", given=given,
        wanted=f"more than {millimetres(needed)}: the travel and {DEAD_TURNS} turns that hold its end",
        fit=Fit.FITS if fits else Fit.WRONG,
        text="" if fits else "Paid out so far the rope hangs on its clamp alone.",
        mend="" if fits else f"{millimetres(needed)} and what spans from the drum to the carriage at its upper stop",
    )  # fmt: skip
