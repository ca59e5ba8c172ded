"""What a sweep found, in words and in cells of a table."""

from collections import Counter
from collections.abc import Sequence

from armsim.checks.phrases import rounded_down, rounded_up
from armsim.report.numbers import figure, of, show
from armsim.report.wording import plain
from armsim.scenario.records import Wish
from armsim.scenario.varied import is_ratio
from armsim.scenario.vary_options import Variation
from armsim.studies.sweep import End, Sweep, ordered
from armsim.studies.sweep_rows import CERTAIN, HEAT, POSSIBLE, RESET, STALL, Row
from armsim.studies.sweep_search import Edge

DIGITS = 3  #: of edges in sentences: they are found to a thousandth
CONDITIONS = {
    STALL: "it does not lift",
    CERTAIN: "the breaker trips for certain",
    POSSIBLE: "the breaker may trip",
    RESET: "the controller resets",
    HEAT: "the winding passes its limit",
}
_SHORT = {
    STALL: "stall",
    CERTAIN: "trip certain",
    POSSIBLE: "trip",
    "breaker_trips": "trip",
    RESET: "sag",
    HEAT: "heat",
}
_BEYOND = {"max": "is above", "min": "is below"}
_NAMES = {"lift_time": "the lift time", "bus_voltage": "the bus voltage", "tip_speed": "the tip speed"}
_FLAGS = {
    ("holds_unpowered", True): "it does not stay up without power",
    ("holds_unpowered", False): "it stays up without power",
    ("breaker_trips", False): "the breaker may trip",
    ("breaker_trips", True): "the breaker is not sure to trip",
    ("controller_resets", False): "the controller resets",
    ("controller_resets", True): "the controller does not reset",
}


def value(variation: Variation, number: float) -> str:
    """A number of a key, as people write it."""
    if variation.key.endswith("reduction") and not variation.unit:
        return f"{figure(number)}:1"
    return f"{figure(number)} {variation.unit}".strip()


def axis_label(variation: Variation, load: str) -> str:
    """A key along an axis, its unit in brackets."""
    if is_ratio(variation.key):
        return f"{variation.key} (motor-side turns for one towards the {load})"
    return f"{variation.key} ({variation.unit})" if variation.unit else variation.key


def scale_of(variation: Variation) -> str:
    """Of the axis along which a key runs: as its values are spaced."""
    return "log" if variation.log else "linear"


def choice_of(found: Sweep, row: Row) -> str:
    """The values that a row has, named where there are several keys."""
    parts = []
    for variation, text, number in zip(found.variations, row.texts, row.numbers, strict=True):
        told = text if number is None else value(variation, number)
        parts.append(told if len(found.variations) == 1 else f"{variation.key} {told}")
    return ", ".join(parts)


def missed(found: Sweep, condition: str) -> str:
    """What is wrong where a condition or a requirement is missed: 'the breaker may trip'."""
    wish = next((wish for wish in found.scenario.requirements if wish.name == condition), None)
    if wish is None:
        return CONDITIONS[condition]
    if wish.sense == "is":
        return _FLAGS[wish.name, bool(wish.limit)]
    return f"{_NAMES.get(wish.name, f'the {plain(wish.name)}')} {_BEYOND[wish.sense]} {limit(found, wish)}"


def limit(found: Sweep, wish: Wish) -> str:
    """The limit of a requirement, with its unit."""
    dimension = {"flag": "number"}.get(wish.dimension, of(found.scenario.machine.arm.kind, wish.dimension))
    return show(wish.limit, dimension)


def several_missed(found: Sweep, conditions: Sequence[str]) -> str:
    """The same of several at once, each thing said once."""
    told = list(dict.fromkeys(missed(found, c) for c in conditions))
    if CONDITIONS[CERTAIN] in told and CONDITIONS[POSSIBLE] in told:
        told.remove(CONDITIONS[POSSIBLE])
    if CONDITIONS[STALL] in told:
        told = [CONDITIONS[STALL]]
    return " and ".join(told)


def short(condition: str) -> str:
    """A condition or requirement in a word or two, for labels."""
    return _SHORT.get(condition, plain(condition))


# -------------------------------------------------------------------------------------------------------- conclusion


def conclusion(found: Sweep) -> str:
    """What to take from it, in a few sentences; the answer first."""
    if len(found.variations) == 1 and found.variations[0].numbers is not None:
        sentences = [_windows(found), *_binding(found), *_other_edges(found)]
    else:
        sentences = [_counted(found), *_most_missed(found)]
    if found.failed:
        sentences.append(f"{_rows(len(found.failed))} could not be run.")
    return " ".join(sentence for sentence in sentences if sentence)


def asked(found: Sweep) -> str:
    """What counts as met."""
    if found.scenario.requirements:
        return "all requirements met"
    return "nothing is required; it lifts without trip or reset"


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _best(found: Sweep) -> str:
    fast, least = found.fastest, found.least_current
    if fast is None or least is None:
        return ""
    quick = f"fastest {show(fast.lift_time, 'time')} at {best_text(found, fast)}"
    frugal = f"least current {show(least.supply_current, 'current')} at {best_text(found, least)}"
    if fast == least:
        amps = show(fast.supply_current, "current")
        return f"; fastest and of least current at {best_text(found, fast)}: {show(fast.lift_time, 'time')}, {amps}"
    return f"; {quick}; {frugal}"


def best_text(found: Sweep, row: Row) -> str:
    """The values of a row that may lie between those asked for, to the digits that are known of them."""
    if len(found.variations) > 1 or row.numbers[0] is None:
        return choice_of(found, row)
    variation, number = found.variations[0], row.numbers[0]
    if variation.numbers is not None and number in variation.numbers:
        return value(variation, number)
    for window in found.windows:
        for end, up in ((window.low, True), (window.high, False)):
            if end.number == number:
                return end_text(variation, end, up=up)
    return value(variation, float(f"{number:.{DIGITS}g}"))


def _windows(found: Sweep) -> str:
    (variation,) = found.variations
    if not found.windows:
        return f"{_nowhere(found)}{_nearest(found)}."
    spans = [
        f"at {value(variation, w.low.number)} alone" if w.low.number == w.high.number
        else f"from {end_text(variation, w.low, up=True)} to {end_text(variation, w.high, up=False)}"
        for w in found.windows
    ]  # fmt: skip
    return f"{_capital(asked(found))} {' and '.join(spans)}{_best(found)}."


def _nowhere(found: Sweep) -> str:
    if found.scenario.requirements:
        return "Nowhere are all requirements met"
    return "Nowhere does it lift without trip or reset"


def _nearest(found: Sweep) -> str:
    rows = [row for row in found.rows if not row.failed and row.missed]
    if not rows:
        return ""
    row = min(rows, key=lambda row: len(row.missed))
    return f"; nearest comes {choice_of(found, row)}: {several_missed(found, ordered(row.missed))} there"


def end_text(variation: Variation, end: End, *, up: bool) -> str:
    """An end of a window, rounded to the inside of it; the end of the range as it was asked for."""
    if not end.binds or not variation.between or end.number <= 0.0:
        return value(variation, end.number)
    return value(variation, (rounded_up if up else rounded_down)(end.number, DIGITS))


def _binding(found: Sweep) -> list[str]:
    (variation,) = found.variations
    told = []
    for window in found.windows:
        for end, word in ((window.low, "below"), (window.high, "above")):
            if end.binds:
                at = end_text(variation, end, up=word == "below")
                told.append(f"{_capital(word)} {at} {several_missed(found, end.binds)}.")
    return told


def _other_edges(found: Sweep) -> list[str]:
    """Edges that do not bind a window: where it stalls, trips, resets or overheats."""
    (variation,) = found.variations
    binding = {(end.number, name) for w in found.windows for end in (w.low, w.high) for name in end.binds}
    edges = [e for e in found.edges if e.condition in CONDITIONS and (e.met, e.condition) not in binding]
    told: dict[str, None] = {}
    for edge in edges:
        if any(abs(edge.met - number) <= 2e-3 * abs(number) for number, _ in binding):
            continue
        told[f"{_capital(edge_text(variation, edge))} {CONDITIONS[edge.condition]}."] = None
    return list(told)


def edge_text(variation: Variation, edge: Edge) -> str:
    """'below 62:1', on the side that is missed."""
    nearer = edge.met if edge.refined else edge.missed
    if not edge.refined:
        return f"{'from' if edge.above else 'down from'} {value(variation, nearer)}"
    return f"{'above' if edge.above else 'below'} {value(variation, float(f'{nearer:.{DIGITS}g}'))}"


def _counted(found: Sweep) -> str:
    feasible = len(found.feasible)
    if not feasible:
        return f"{_nowhere(found)} in {_rows(len(found.rows))}{_nearest(found)}."
    return f"{_capital(asked(found))} in {feasible} of {_rows(len(found.rows))}{_best(found)}."


def _most_missed(found: Sweep) -> list[str]:
    counts = Counter(name for row in found.rows for name in row.missed if not row.failed)
    words: Counter[str] = Counter()
    for name, count in counts.items():
        words[missed(found, name)] = max(words[missed(found, name)], count)
    if not words:
        return []
    return ["; ".join(f"in {count} {text}" for text, count in words.most_common(4)).capitalize() + "."]


def _rows(count: int) -> str:
    return f"{count} row" if count == 1 else f"{count} rows"


# ------------------------------------------------------------------------------------------------------------- table

HEAD = ("lift time", "supply peak", "motor peak", "winding", "static margin", "trips", "result")
SCREEN_ROWS = 32


def cells(found: Sweep, row: Row) -> list[str]:
    """A row of the table."""
    own = [
        text if number is None else value(variation, number)
        for variation, text, number in zip(found.variations, row.texts, row.numbers, strict=True)
    ]
    if row.failed:
        return [*own, "", "", "", "", "", "", f"not run: {row.failed}"]
    return [
        *own,
        show(row.lift_time, "time") if row.reached else "does not lift",
        show(row.supply_current, "current"),
        show(row.motor_current, "current"),
        show(row.winding, "temperature") if row.winding is not None else "-",
        show(row.static_margin, "ratio", 3) if row.static_margin is not None else "-",
        row.trips or "-",
        result(found, row),
    ]


def result(found: Sweep, row: Row) -> str:
    """Met, or what is missed, the worst first."""
    if row.feasible:
        return "met"
    names = [name for name in ordered(row.missed) if name in CONDITIONS or not _said(row, name)]
    named = {wish.name for wish in found.scenario.requirements}
    counting = [name for name in names if name in named or name == STALL or not named]
    return ", ".join(plain(name) for name in counting) or "not known"


def _said(row: Row, name: str) -> bool:
    return name == "lift_time" and STALL in row.missed


def thinned(found: Sweep, most: int = SCREEN_ROWS) -> list[Row]:
    """Rows for a screen: first and last, those around every change of the verdict, and as many between as fit."""
    rows = found.rows
    if len(rows) <= most:
        return list(rows)
    if len(found.variations) > 1:
        return list(found.best[:most]) or [rows[k * (len(rows) - 1) // (most - 1)] for k in range(most)]
    turns = [j for k in range(1, len(rows)) if rows[k].feasible != rows[k - 1].feasible for j in (k - 1, k)]
    wanted = dict.fromkeys([0, len(rows) - 1, *turns][:most])
    step = (len(rows) - 1) / max(most - len(wanted), 1)
    wanted |= dict.fromkeys(round(k * step) for k in range(max(most - len(wanted), 1)))
    return [rows[k] for k in sorted(wanted)]
