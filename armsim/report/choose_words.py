"""A choice in words and cells that terminal, report and CSV share."""

from armsim.report.numbers import figure, show
from armsim.report.rows import Row
from armsim.studies.candidates import FEW_MOTORS, OVER_VOLTAGE, UNUSABLE
from armsim.studies.choice import Choosing, Order
from armsim.studies.chosen import Chosen
from armsim.studies.combinations import IN_THE_WAY, TOO_FEW, UNTOLD
from armsim.studies.shelf import REFUSED, UNFIT, UNMESHED

NONE = "-"
HEAD = ("", "made of", "reduction", "lifts in", "supply peak", "price", "mass", "weakest part")
SIDE_HEAD = (
    "stages", "made of", "reduction", "efficiency", "lifts in", "supply peak", "price", "mass", "play", "verdict",
)  # fmt: skip
FRONT_HEAD = ("made of", "reduction", "lifts in", "supply peak", "price", "mass")
WORDS = 2  #: columns of the first two that are words
SUPERLATIVE = {
    Order.FASTEST: "the fastest",
    Order.CHEAPEST: "the cheapest",
    Order.LIGHTEST: "the lightest",
    Order.SIMPLEST: "the simplest",
    Order.LEAST_CURRENT: "the one with the least current",
}
DOES_NOT = "does not arrive"
#: rules of parts alone: another requirement would not let these pass
OF_THE_PARTS = (
    FEW_MOTORS, UNUSABLE, OVER_VOLTAGE, UNMESHED, REFUSED, UNFIT, TOO_FEW, IN_THE_WAY, UNTOLD,
)  # fmt: skip
UNSAFE = 1.0  #: safety below which a part is said to fail [-]


def many(count: int) -> str:
    """A whole number with its thousands apart."""
    return f"{count:,}"


def conclusion(found: Choosing) -> str:
    """The answer in a sentence."""
    counts = found.counts
    start = f"Of {many(counts.considered)} combinations"
    if found.top:
        first = found.top[0]
        proven = "" if counts.complete else " so far"
        return (
            f"{start} {SUPERLATIVE[found.order]}{proven} that meets every requirement: {first.name} "
            f"({figure(first.reduction)}:1), lifts in {show(first.lift_time, 'time')} with "
            f"{show(first.supply_current, 'current')} at most{_paid(first)}."
        )
    if found.interrupted:
        return f"{start} none was confirmed before the interruption."
    return f"{start} none meets every requirement. {blame(found)}"


def _paid(one: Chosen) -> str:
    price = "" if one.price is None else f", price {figure(one.price, 6)}"
    return price + ("" if one.mass is None else f", {show(one.mass, 'mass')}")


def blame(found: Choosing) -> str:
    """What keeps most from passing of those that fit together, and what comes nearest."""
    counts, parts = found.counts, []
    reasons = {name: n for name, n in counts.stopped.items() if name not in OF_THE_PARTS}
    for name, n in counts.bounded.items():
        reasons[plain(name)] = reasons.get(plain(name), 0) + n
    if any(reasons.values()):
        rule = max(reasons, key=lambda name: reasons[name])
        parts.append(f"Of those that fit together most are stopped by: {rule} ({many(reasons[rule])}).")
    if counts.missed:
        name = max(counts.missed, key=lambda name: counts.missed[name])
        what = "do not arrive" if name == DOES_NOT else f"miss {plain(name)}"
        parts.append(f"Of {many(counts.simulated)} simulated {many(counts.missed[name])} {what}.")
    if found.nearest is not None:
        near = found.nearest
        against = near.stands_against or f"misses {found.nearest_misses}"
        time = "does not arrive" if near.lift_time is None else f"lifts in {show(near.lift_time, 'time')}"
        current = show(near.supply_current, "current")
        parts.append(f"Nearest comes {near.name}: it {time} with {current} at most, and {plain(against)}.")
    return " ".join(parts)


def plain(name: str) -> str:
    """A requirement's name as words."""
    return name.replace("_", " ")


def ranked_cells(found: Choosing) -> list[tuple[str, ...]]:
    """The best, a row each, heads first; what the file has comes last."""
    rows = [_ranked(str(k), one) for k, one in enumerate(found.top, 1)]
    if found.today is not None:
        rows.append(_ranked("today", found.today))
    return [HEAD, *rows]


def _ranked(place: str, one: Chosen) -> tuple[str, ...]:
    return (
        place,
        one.name,
        figure(one.reduction),
        NONE if one.lift_time is None else show(one.lift_time, "time"),
        show(one.supply_current, "current", 3),
        _or_none(one.price),
        NONE if one.mass is None else show(one.mass, "mass", 3),
        weak(one),
    )


def weak(one: Chosen) -> str:
    """The weakest part with its safety and the case it is weakest in."""
    row = one.weakest
    if row is None:
        return "not known"
    return f"{row.part} of {row.stage}, {row.check}: {figure(row.safety, 3)}"


def _or_none(value: float | None, digits: int = 5) -> str:
    return NONE if value is None else figure(value, digits)


def side_cells(found: Choosing) -> list[tuple[str, ...]]:
    """The best one's reduction by one stage, two and so on, heads first."""
    return [SIDE_HEAD, *(_side(one) for one in found.ladder)]


def _side(one: Chosen) -> tuple[str, ...]:
    return (
        str(len(one.choices)),
        one.name,
        figure(one.reduction),
        figure(one.efficiency, 3),
        NONE if one.lift_time is None else show(one.lift_time, "time"),
        show(one.supply_current, "current", 3),
        _or_none(one.price),
        NONE if one.mass is None else show(one.mass, "mass", 3),
        NONE if one.backlash is None else show(one.backlash, "angle", 3),
        "passes" if one.passes else one.stands_against,
    )


def front_cells(found: Choosing) -> list[tuple[str, ...]]:
    """What none other beats in time, current and price at once, heads first."""
    rows = [
        (
            one.name,
            figure(one.reduction),
            show(one.lift_time, "time"),
            show(one.supply_current, "current", 3),
            _or_none(one.price),
            NONE if one.mass is None else show(one.mass, "mass", 3),
        )
        for one in found.unbeaten
    ]
    return [FRONT_HEAD, *rows]


def count_rows(found: Choosing) -> list[Row]:
    """What became of all combinations, in the order of the rules."""
    counts = found.counts
    rows = [Row("combinations", many(counts.considered))]
    rows += [Row(f"- {name}", many(n)) for name, n in counts.stopped.items()]
    rows.append(Row("left by these rules", many(counts.left)))
    rows += [
        Row(
            f"- {plain(name)}, by designs beside it" if name != DOES_NOT else f"- {name}, nor does a better one",
            many(n),
        )
        for name, n in counts.bounded.items()
        if n
    ]
    rows.append(Row("calculated for bounds", many(counts.gridded)))
    rows.append(Row("followed in their lift", f"{many(counts.simulated)}, {many(counts.different)} of them different"))
    rows.append(Row("of these pass", many(counts.passed)))
    rows += [
        Row("of these do not arrive" if name == DOES_NOT else f"of these miss {plain(name)}", many(n))
        for name, n in counts.missed.items()
    ]
    rows.append(Row("exact runs of the whole cycle", f"{many(counts.exact)}, {many(counts.fell)} do not pass it"))
    return rows


def notes(found: Choosing) -> list[str]:
    """What a reader has to know beside the tables."""
    counts, told = found.counts, []
    if found.interrupted:
        told.append("Interrupted: what stands here was finished before.")
    elif counts.complete and found.top:
        told.append(
            f"Nothing that was not simulated can come among these: its bound is worse than the last of them "
            f"({many(counts.simulated)} followed)."
        )
    elif not counts.complete:
        told.append("The search was given up before its bounds proved the best: there may be better ones.")
    slack = [one for one in found.top if one.weakest is not None and one.weakest.safety < UNSAFE]
    if slack:
        told.append(
            "A safety below 1 beside a part that was chosen is one of wear or of a blow: nothing breaks at stall by "
            "first-pass checks."
        )
    if any(one.price is None for one in found.top):
        told.append("Where the list tells no price, none is summed.")
    return told


CAUTIONS = (
    "Chains and belts themselves, shafts, keys, bearings and mountings are in no stock list: neither their price nor "
    "their mass is summed.",
    "Centre distances are those of the wheels; those of chains and belts are left open.",
    "Of the simulated only the best were run over the whole cycle; the others are judged by their first lift.",
)
