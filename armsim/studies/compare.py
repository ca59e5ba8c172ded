"""Several scenarios side by side: which pass, which are beaten by another, and what sets them apart."""

import math
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property, partial
from pathlib import Path
from typing import TYPE_CHECKING

from armsim.studies.processes import Missing, each, usual_workers
from armsim.studies.proposal import Entrant, Failure, Keep, Proposal, judged

if TYPE_CHECKING:
    from armsim.scenario import Entry, Scenario

DIGITS = 4  #: to which measures are shown, and therefore compared
VERDICTS = ("pass", "none", "fail")  #: best first
APART = ("title", "about", "parts_list")  #: keys that tell scenarios apart anyhow, or stand in a table of their own
#: what is asked of a machine rather than chosen for it
TASK = (
    *("ambient", "start", "repeat", "moves", "power_cut", "requirements"),
    *("arm.payload", "arm.plane", "carriage.payload", "carriage.incline"),
)


@dataclass(frozen=True, kw_only=True)
class Measure:
    """Something that scenarios are compared by."""

    name: str
    dimension: str
    better: int  #: +1 the more the better, -1 the less, 0 neither
    counts: bool = False  #: decides whether one beats another


MEASURES = (
    Measure(name="lift_time", dimension="time", better=-1, counts=True),
    Measure(name="motor_current_peak", dimension="current", better=-1),
    Measure(name="motor_current_rms", dimension="current", better=-1),
    Measure(name="supply_current_peak", dimension="current", better=-1, counts=True),
    Measure(name="supply_current_rms", dimension="current", better=-1),
    Measure(name="breaker_trips", dimension="flag", better=0),
    Measure(name="bus_voltage_min", dimension="voltage", better=1),
    Measure(name="winding_peak", dimension="temperature", better=-1),
    Measure(name="holds_unpowered", dimension="flag", better=0),
    Measure(name="static_margin", dimension="ratio", better=1, counts=True),
    Measure(name="weakest_part_safety", dimension="ratio", better=1),
    Measure(name="energy_per_cycle", dimension="energy", better=-1, counts=True),
    Measure(name="mass", dimension="mass", better=-1, counts=True),
    Measure(name="price", dimension="number", better=-1, counts=True),
    Measure(name="parts", dimension="number", better=-1),
)


@dataclass(frozen=True, kw_only=True)
class Beaten:
    """One that another leaves no reason to take."""

    label: str
    by: str  #: itself beaten by none
    worse_in: tuple[str, ...]  #: measures, or verdict


@dataclass(frozen=True, kw_only=True)
class Difference:
    """A key of the scenarios that they do not have in common."""

    key: str
    entries: dict[str, "Entry | None"]  #: by label; None: it does not have the key


@dataclass(frozen=True, kw_only=True)
class Ranking:
    """How the judged ones stand to each other."""

    counted: tuple[str, ...]  #: measures that decide beside the verdict
    left_out: tuple[str, ...]  #: measures that would, and are known of some only
    beaten: tuple[Beaten, ...]
    choice: tuple[str, ...]  #: labels that pass and are not beaten
    best: dict[str, frozenset[str]]  #: by measure: labels that have the best value of those whose moves arrive


@dataclass(frozen=True, kw_only=True)
class Comparison:
    """Every scenario in the order given, judged or failed."""

    outcomes: tuple[Proposal | Failure, ...]
    left: tuple[str, ...] = ()  #: labels not come to before an interruption

    @cached_property
    def proposals(self) -> tuple[Proposal, ...]:
        """Those judged."""
        return tuple(one for one in self.outcomes if isinstance(one, Proposal))

    @cached_property
    def failures(self) -> tuple[Failure, ...]:
        """Those that gave no answer."""
        return tuple(one for one in self.outcomes if isinstance(one, Failure))

    @cached_property
    def ranking(self) -> Ranking:
        """How those judged stand to each other."""
        return ranked(self.proposals)

    @cached_property
    def differences(self) -> tuple[Difference, ...]:
        """What differs between the inputs of those judged."""
        return differing(self.proposals)

    @property
    def asked_apart(self) -> tuple[str, ...]:
        """In what their tasks differ."""
        return asked_apart(self.differences)


def compare(
    sources: Sequence["Path | Scenario"],
    *,
    workers: int | None = None,
    keep: Keep | None = None,
    told: Callable[[int], None] | None = None,
    work: Callable[[Entrant], Proposal | Failure] | None = None,
) -> Comparison:
    """Read, run and judge every scenario, in so many processes, and set them side by side.

    Nothing that goes wrong with one stops the others: it becomes its Failure. `keep` is called in the process of each
    while its whole result is there, `told` here with how many are done; what is passed must be such as can be sent to
    another process. `work` is what is done for each, `judged` unless said otherwise.
    """
    entrants = entrants_of(sources)
    done = each(work or partial(judged, keep=keep), entrants, workers or usual_workers(), told)
    outcomes: list[Proposal | Failure] = []
    left = []
    for entrant, outcome in zip(entrants, done, strict=True):
        if outcome is Missing.LEFT:
            left.append(entrant.label)
        elif isinstance(outcome, Missing):
            outcomes.append(Failure(label=entrant.label, path=entrant.path, status=70, text=outcome.value))
        else:
            outcomes.append(outcome)
    return Comparison(outcomes=tuple(outcomes), left=tuple(left))


def entrants_of(sources: Sequence["Path | Scenario"]) -> tuple[Entrant, ...]:
    """Each with a label of its own: the file's name without its ending, numbered where two have the same."""
    taken: set[str] = set()
    entrants = []
    for source in sources:
        path = source if isinstance(source, Path) else source.path
        stem = (path.stem if path is not None else "scenario").lstrip(".") or "scenario"
        label, count = stem, 1
        while label.casefold() in taken:  # folders are named by it, and some disks do not tell A from a
            count += 1
            label = f"{stem}-{count}"
        taken.add(label.casefold())
        entrants.append(Entrant(label=label, source=source))
    return tuple(entrants)


# ------------------------------------------------------------------------------------------------------- who is better


def ranked(proposals: Sequence[Proposal]) -> Ranking:
    """Who is beaten by whom, and who is best at what."""
    eligible = [measure for measure in MEASURES if measure.counts]
    counted = tuple(m for m in eligible if proposals and all(cost(p, m) is not None for p in proposals))
    beaten = beaten_ones(proposals, counted)
    losers = {loser.label for loser in beaten}
    return Ranking(
        counted=tuple(m.name for m in counted),
        left_out=tuple(m.name for m in eligible if m not in counted and any(cost(p, m) is not None for p in proposals)),
        beaten=beaten,
        choice=tuple(p.label for p in proposals if p.verdict == "pass" and p.label not in losers),
        best={m.name: best_of(proposals, m) for m in MEASURES if m.better},
    )


def as_shown(value: float) -> float:
    """A value as far as it is shown, so that what reads alike counts as alike."""
    return float(f"{value:.{DIGITS - 1}e}")


def cost(proposal: Proposal, measure: Measure) -> float | None:
    """A measure as a number of which less is better; None: not known. A lift that does not arrive takes for ever."""
    value = proposal.values.get(measure.name)
    if measure.name in ("lift_time", "energy_per_cycle") and value is None and not proposal.arrives:
        return math.inf
    return None if value is None or isinstance(value, str) else -measure.better * as_shown(float(value))


def _costs(proposal: Proposal, counted: Sequence[Measure]) -> dict[str, float]:
    costs = {"verdict": float(VERDICTS.index(proposal.verdict))}
    known = {measure.name: cost(proposal, measure) for measure in counted}
    return costs | {name: value for name, value in known.items() if value is not None}


def beats(one: Proposal, other: Proposal, counted: Sequence[Measure]) -> tuple[str, ...]:
    """In what the other is worse, where it is better in nothing that counts; else empty."""
    own, theirs = _costs(one, counted), _costs(other, counted)
    if any(theirs[name] < own[name] for name in own):
        return ()
    return tuple(name for name in own if theirs[name] > own[name])


def beaten_ones(proposals: Sequence[Proposal], counted: Sequence[Measure]) -> tuple[Beaten, ...]:
    """Everyone whom another beats, with the first such that is itself beaten by none."""
    winners = [p for p in proposals if not any(beats(other, p, counted) for other in proposals)]
    found = []
    for loser in proposals:
        by = next((winner for winner in winners if beats(winner, loser, counted)), None)
        if by is not None:
            found.append(Beaten(label=loser.label, by=by.label, worse_in=beats(by, loser, counted)))
    return tuple(found)


def best_of(proposals: Sequence[Proposal], measure: Measure) -> frozenset[str]:
    """Who has the best value of those whose moves arrive; nobody where all are alike or only one is known."""
    costs = {p.label: cost(p, measure) for p in proposals if p.arrives}
    known = {label: value for label, value in costs.items() if value is not None}
    if len(known) < 2 or len(set(known.values())) == 1:
        return frozenset()
    return frozenset(label for label, value in known.items() if value == min(known.values()))


def trade_off(points: Sequence[tuple[float, float]]) -> list[int]:
    """Which points no other beats where less of both is better, by the first coordinate. Equal ones all stay."""

    def beaten(x: float, y: float) -> bool:
        return any(a <= x and b <= y and (a, b) != (x, y) for a, b in points)

    return sorted((k for k, point in enumerate(points) if not beaten(*point)), key=lambda k: (*points[k], k))


# ---------------------------------------------------------------------------------------------------- what sets apart


def differing(proposals: Sequence[Proposal]) -> tuple[Difference, ...]:
    """Keys that not all have, or not with the same meaning, in the order of the files."""
    given = {p.label: {entry.key: entry for entry in p.inputs.entries} for p in proposals}
    keys = dict.fromkeys(key for entries in given.values() for key in entries)
    found = []
    for key in keys:
        entries = {label: own.get(key) for label, own in given.items()}
        if key.split(".")[0].split("[")[0] not in APART and not _alike(list(entries.values())):
            found.append(Difference(key=key, entries=entries))
    return tuple(found)


def asked_apart(differences: Sequence[Difference]) -> tuple[str, ...]:
    """The parts of their task in which scenarios differ, so that their verdicts judge different things."""
    paths = [re.sub(r"\[\d+\]", "", difference.key) for difference in differences]
    return tuple(task for task in TASK if any(f"{path}.".startswith(f"{task}.") for path in paths))


def _alike(entries: Sequence["Entry | None"]) -> bool:
    first, *others = entries
    return all(_same(first, other) for other in others)


def _same(one: "Entry | None", other: "Entry | None") -> bool:
    """True for what means the same however it is written: 1 m and 1000 mm."""
    if one is None or other is None:
        return one is other
    if type(one.value) is float and type(other.value) is float:
        return math.isclose(one.value, other.value, rel_tol=1e-12)
    return one.value == other.value if one.value is not None else one.typed == other.typed
