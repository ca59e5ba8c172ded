"""A spread study in words: its conclusion, and how inputs, measures and shares are told."""

import math
from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from armsim.drivetrain.as_built import untouched_by
from armsim.report.numbers import DISPLAY, figure, show, show_difference
from armsim.report.wording import plain
from armsim.scenario.records import Uncertain
from armsim.studies.sampling import cut_off
from armsim.studies.sensitivity import RATE, Influence
from armsim.studies.shares import Chance
from armsim.studies.spread import SpreadStudy, Turn
from armsim.studies.spread_rows import meeting_all

NOTICED = 0.005  #: standard error of a share from which on it is told


class Told(NamedTuple):
    """How a measure is called and in what it is shown."""

    name: str
    dimension: str


MEASURES = {
    "lift_time": Told("lift time", "time"),
    RATE: Told("one over the lift time", "number"),
    "motor_current": Told("peak motor current", "current"),
    "supply_current": Told("peak supply current", "current"),
    "bus_voltage": Told("lowest bus voltage", "voltage"),
    "tip_speed": Told("highest tip speed", "velocity"),
    "winding": Told("highest winding temperature", "temperature"),
    "energy": Told("energy from the source", "energy"),
    "static_margin": Told("static margin", "ratio"),
}


class Unit(NamedTuple):
    """What an input is shown in: value over size, then the name."""

    name: str
    size: float


def unit_of(one: Uncertain) -> Unit:
    """Of an input's values."""
    measure = one.measure
    if measure.share or one.key is None:
        return Unit("%", 0.01)
    if measure.dimension is None:
        return Unit("", 1.0)
    return Unit(*measure.dimension.shows[0])


def value_text(one: Uncertain, value: float, digits: int = 4) -> str:
    """A value of an input, e.g. '12.4 kg', '96.2 %'."""
    unit = unit_of(one)
    return f"{figure(value / unit.size, digits)} {unit.name}".strip()


def name_of(one: Uncertain) -> str:
    """An input as people call it; a key as it is typed."""
    return one.name if "." in one.name else plain(one.name)


def percent(share: float) -> str:
    """A share with as many digits as its distance from none and from all asks."""
    if math.isnan(share):
        return "not judged"
    if share in (0.0, 1.0):
        return f"{100.0 * share:.0f} %"
    nearest = min(share, 1.0 - share)
    digits = 1 if nearest >= 1e-3 else min(6, -math.floor(math.log10(100.0 * nearest)))
    return f"{100.0 * share:.{digits}f} %"


def sure(chance: Chance) -> str:
    """A share with its interval: 98.7 % (98.1 to 99.1)."""
    if not chance.count:
        return "not judged"
    low, high = (percent(bound).removesuffix(" %") for bound in (chance.low, chance.high))
    return f"{percent(chance.share)} ({low} to {high})"


def main_influence(study: SpreadStudy) -> Influence | None:
    """On what a lift takes; else on the first measure that moves."""
    return next(iter(study.influences), None)


def ranked(study: SpreadStudy) -> list[int]:
    """Inputs by what they do to the main measure, most first."""
    main = main_influence(study)
    order = range(len(study.inputs))
    return list(order) if main is None else sorted(order, key=lambda k: -main.total[k])


def failing(study: SpreadStudy) -> list[Chance]:
    """Requirements that some machines miss, the one that most miss first."""
    missed = [one for one in study.single if one.count and one.met < one.count]
    return sorted(missed, key=lambda one: one.met)


def conclusion(study: SpreadStudy) -> list[str]:
    """What the study says, the answer first."""
    return [_headline(study), *_rest(study)]


def _headline(study: SpreadStudy) -> str:
    judged = [one for one in study.single if one.count]
    what = "meet all requirements" if judged else "lift"
    text = f"{sure(study.together)} of such machines {what}"
    missed = failing(study)
    if missed:
        text += f"; what fails most is {plain(missed[0].name)} ({percent(1.0 - missed[0].share)})"
    elif study.together.met == study.together.count:
        text += f"; none of {study.together.count} sampled fails"
    main = main_influence(study)
    if main is not None:
        first = ranked(study)[0]
        share = percent(min(max(main.total[first], 0.0), 1.0))
        text += f"; {name_of(study.inputs[first])} matters most ({share} of the variance of "
        text += f"{MEASURES[main.name].name})"
    return f"{text}."


def _rest(study: SpreadStudy) -> Iterator[str]:
    if study.lifting.met < study.lifting.count:
        yield f"{percent(1.0 - study.lifting.share)} do not arrive at all."
    for row in study.percentiles:
        if row.name == "lift_time":
            low, middle, high = (show(value, "time", 3) for value in row.values)
            text = f"Half of those that arrive lift within {middle}, nine of ten take {low} to {high}"
            yield f"{text}; as drawn it takes {show(_known(study.drawn['lift_time']), 'time', 3)}."
    yield _worst(study)
    others = [one for one in study.single if not one.count]
    if others:
        names = ", ".join(plain(one.name) for one in others)
        yield f"Not judged, for what it needs is not known: {names}."
    if study.failed:
        yield f"{study.failed} runs could not be followed to their end and count as failed."
    if study.customary:
        yield "The scenario does not say what is uncertain: usual tolerances were taken, which are listed below."


def _worst(study: SpreadStudy) -> str:
    row, misses = study.worst.row, []
    for name, wish in zip(study.sampling.question.margins, study.sampling.question.wishes, strict=True):
        margin = row[name]
        if margin < 0.0:
            size = "" if wish.sense == "is" or math.isinf(margin) else f" by {show_difference(-margin, wish.dimension)}"
            misses.append(f"{plain(wish.name)}{size}")
    if row["reached"] == 0.0:
        return "The worst machine sampled does not arrive."
    if misses:
        return f"The worst machine sampled misses {', '.join(misses)}."
    return "The worst machine sampled meets everything too."


def _known(value: float) -> float | None:
    return None if math.isnan(value) else value


def in_unit(name: str, value: float) -> float:
    """A measure in the unit it is shown in."""
    return value / DISPLAY[MEASURES[name].dimension].scale


# ------------------------------------------------------------------------------------------------------- tables


def requirement_rows(study: SpreadStudy) -> list[tuple[str, ...]]:
    """Head and rows: each requirement, its limit, the share that meets it."""
    rows: list[tuple[str, ...]] = [("requirement", "limit", "machines that meet it", "95 % interval")]
    for chance, wish in zip(study.single, study.sampling.question.wishes, strict=True):
        sign = {"max": "<= ", "min": ">= "}.get(wish.sense, "")
        rows.append((plain(chance.name), f"{sign}{show(wish.limit, wish.dimension)}", *_shares(chance)))
    rows.append(("arrives", "", *_shares(study.lifting)))
    rows.append(("all together", "", *_shares(study.together)))
    return rows


def _shares(chance: Chance) -> tuple[str, str]:
    if not chance.count:
        return "not judged", ""
    return percent(chance.share), f"{percent(chance.low).removesuffix(' %')} to {percent(chance.high)}"


def measure_rows(study: SpreadStudy) -> list[tuple[str, ...]]:
    """Head and rows: each measure as drawn, and what 5, 50 and 95 % of machines lie below."""
    rows: list[tuple[str, ...]] = [("", "as drawn", "5 % below", "half", "95 % below")]
    for row in study.percentiles:
        told = MEASURES[row.name]
        values = (_known(study.drawn[row.name]), *row.values)
        rows.append((told.name, *(show(value, told.dimension, 3) for value in values)))
    return rows


def input_rows(study: SpreadStudy) -> list[tuple[str, ...]]:
    """Head and rows: each input, most important first, with what it does."""
    main = main_influence(study)
    rows: list[tuple[str, ...]] = [
        ("input", "as drawn", "5 to 95 %", "lift time then", "variance alone", "with others")
    ]
    for k in ranked(study):
        turn = study.turns[k]
        shares = ("", "") if main is None else (_share(main.first[k]), f"{_share(main.total[k])}{_error(main, k)}")
        rows.append((name_of(turn.input), value_text(turn.input, turn.input.nominal), *_turn(turn), *shares))
    return rows


def _share(value: float) -> str:
    return f"{100.0 * min(max(value, 0.0), 1.0):.0f} %"


def _error(main: Influence, k: int) -> str:
    return f" +- {100.0 * main.error[k]:.0f}" if main.error[k] >= NOTICED else ""


def _turn(turn: Turn) -> tuple[str, str]:
    one = turn.input
    unit = unit_of(one).name
    low, high = value_text(one, turn.low).removesuffix(f" {unit}"), value_text(one, turn.high)
    times = [_arrival(row["lift_time"]) for row in (turn.at_low, turn.at_high)]
    if all(time.endswith(" s") for time in times):
        times[0] = times[0].removesuffix(" s")
    return f"{low} to {high}", " to ".join(times)


def _arrival(time: float) -> str:
    return "never" if math.isnan(time) else show(time, "time", 3)


def assumption_rows(study: SpreadStudy) -> list[tuple[str, ...]]:
    """Head and rows: how each input is taken to scatter, and what of that cannot be."""
    from armsim.scenario.uncertainty import told

    rows: list[tuple[str, ...]] = [("input", "as given", "taken as", "left out, since it cannot be")]
    for one in study.inputs:
        share = cut_off(one.spread)
        left = untouched_by(study.scenario.machine, one.name) if one.key is None else ()
        means = f"{told(one)}; not of {', '.join(left)}, whose friction is the mean curve" if left else told(one)
        rows.append((one.name, one.typed, means, percent(share) if share > 0.0 else ""))
    return rows


def worst_rows(study: SpreadStudy) -> list[tuple[str, ...]]:
    """Head and rows: the worst machine's inputs beside those as drawn."""
    rows: list[tuple[str, ...]] = [("input", "as drawn", "worst machine")]
    for one, value in zip(study.inputs, study.worst.values, strict=True):
        rows.append((name_of(one), value_text(one, one.nominal), value_text(one, value)))
    for name in ("lift_time", "supply_current", "static_margin"):
        told = MEASURES[name]
        pair = (show(_known(row[name]), told.dimension, 3) for row in (study.drawn, study.worst.row))
        rows.append((told.name, *pair))
    return rows


def met_rows(study: SpreadStudy) -> "np.ndarray":
    """Of each point shown, whether it arrives and meets all that is judged."""
    return meeting_all(study.columns, study.judged)
