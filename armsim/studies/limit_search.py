"""Which values to try of one thing, from the verdicts of those tried, until it is known where everything holds no more.

A search asks for values and is sent their verdicts, so that whoever judges may judge here or in many processes. From
the machine as it is it looks where things at rest change (torque is just enough, friction just holds), outward if that
one does and back if it does not; where that tells nothing, in growing steps. In between it closes in by the margin of
what binds, and by halves where that has no measure. Then it samples on either side: where a verdict changed before, it
begins anew from there.
"""

import math
from collections.abc import Callable, Generator, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from armsim.checks.search import narrowed
from armsim.studies.levers import Lever

CLOSE = 1e-3  #: share of the limit within which both sides of it lie
ASIDE = 0.4 * CLOSE  #: share by which a value is tried beside where the limit is thought to be
HARDLY = 0.6  #: share of a bracket left by a guess, beyond which the next one halves it
SAMPLES = 2  #: on either side of a limit, to see whether the verdict changes once only
NEXT_TO_NOTHING = 1e-7  #: of all that is searched, below which no limit is told apart from zero


@dataclass(frozen=True, kw_only=True)
class Verdict:
    """What became of the machine at one value."""

    binding: tuple[str, ...]  #: what does not hold; empty where everything does
    margins: Mapping[str, float]  #: of requirements that are measured, over their limits
    by_run: bool = True  #: False: torque at rest alone was enough to fail it

    @property
    def passes(self) -> bool:
        """Everything holds."""
        return not self.binding


@dataclass(frozen=True, kw_only=True)
class Found:
    """Where a search ended."""

    passes: float | None
    fails: float | None
    exceptions: tuple[tuple[float, tuple[str, ...]], ...]


Asking = Generator[tuple[float, ...], Mapping[float, Verdict], None]
Pair = tuple[float, float]


@dataclass(kw_only=True)
class Search:
    """One lever's limit sought; `found` generates the values to judge and returns what came out."""

    lever: Lever
    strength: Callable[[float], float]  #: static margin at a value; infinite where nothing needs lifting
    asked: float | None = None  #: static margin that is required
    at_rest: Sequence[Callable[[float], bool]] = ()  #: what is true at rest, and where that changes a limit may be
    seen: dict[float, Verdict] = field(default_factory=dict)

    def found(self) -> Generator[tuple[float, ...], Mapping[float, Verdict], Found]:
        """Ask until the limit is known; both sides of it have been judged by runs."""
        begin, end = yield from self._bracket()
        if end is not None:
            begin, end = yield from self._narrowed(begin, end)
            yield from self._judged(*self._samples(*self._ordered(begin, end)))
            while (earlier := self._change_before(begin)) is not None:
                begin, end = yield from self._narrowed(*earlier)
        good, bad = (begin, end) if self._passes(begin) else (end, begin)
        if bad is not None and not self.seen[bad].by_run:
            self.seen |= yield (bad,)
        return Found(
            passes=good, fails=bad, exceptions=() if end is None else self._exceptions(*self._ordered(begin, end))
        )

    @property
    def runs(self) -> int:
        """Values judged by a run."""
        return sum(verdict.by_run for verdict in self.seen.values())

    def _judged(self, *values: float) -> Asking:
        """Have values judged, no more of them by a run than must be."""
        wanted = tuple(value for value in dict.fromkeys(values) if value not in self.seen)
        for value in wanted:
            if self.asked is not None and (strength := self.strength(value)) < self.asked:
                margins = {"static_margin": (strength - self.asked) / (self.asked or 1.0)}
                self.seen[value] = Verdict(binding=("static_margin",), margins=margins, by_run=False)
        rest = tuple(value for value in wanted if value not in self.seen)
        if rest:
            self.seen |= yield rest

    def _passes(self, value: float) -> bool:
        return self.seen[value].passes

    def _ordered(self, one: float, other: float) -> Pair:
        """The one that passes, and the one that fails."""
        return (one, other) if self._passes(one) else (other, one)

    def _bracket(self) -> Generator[tuple[float, ...], Mapping[float, Verdict], tuple[float, float | None]]:
        """The first two neighbours on the way tried of different verdict; the last alone where there are none."""
        last = self.lever.now
        yield from self._judged(last)
        end = self.lever.hardest if self._passes(last) else self.lever.easiest
        for value in self._way(last, end):
            yield from self._judged(value)
            if self._passes(value) is not self._passes(last):
                return last, value
            last = value
        return last, None

    def _way(self, now: float, end: float) -> Iterator[float]:
        """On either side of where things at rest change, then in growing steps."""
        edges = [edge for true in self.at_rest if (edge := _edge(true, now, end)) is not None]
        for edge in sorted(edges, key=lambda edge: abs(edge - self.lever.now)):
            for value in (edge - _aside(edge, end - now), edge + _aside(edge, end - now)):
                if min(now, end) < value < max(now, end):
                    yield value
                    now = value
        yield from steps(now, end)

    def _narrowed(self, begin: float, end: float) -> Generator[tuple[float, ...], Mapping[float, Verdict], Pair]:
        """Two values of different verdict as near as they are wanted."""
        least = NEXT_TO_NOTHING * abs(self.lever.hardest - self.lever.easiest)
        halve = False
        while (width := abs(end - begin)) > max(CLOSE * max(abs(begin), abs(end)), least):
            guess = None if halve else self._guess(*self._ordered(begin, end))
            value = 0.5 * (begin + end) if guess is None else guess
            yield from self._judged(value)
            begin, end = (value, end) if self._passes(value) is self._passes(begin) else (begin, value)
            halve = abs(end - begin) > HARDLY * width
        return begin, end

    def _guess(self, good: float, bad: float) -> float | None:
        """Just beyond where what binds is thought to be met, seen from the nearer side; None where it is not measured.

        By the line through both ends, or the inverse parabola through a third value tried too.
        """
        names = self.seen[bad].binding
        worst = {
            value: min(verdict.margins[name] for name in names)
            for value, verdict in self.seen.items()
            if all(name in verdict.margins for name in names)
        }
        if good not in worst or bad not in worst or worst[good] <= worst[bad]:
            return None
        root = good + (bad - good) * worst[good] / (worst[good] - worst[bad])
        others = sorted((value for value in worst if value not in (good, bad)), key=lambda value: abs(value - root))
        for third in others[:1]:
            curved = _inverse([(worst[value], value) for value in (good, bad, third)])
            root = curved if curved is not None and min(good, bad) < curved < max(good, bad) else root
        near, far = (good, bad) if abs(root - good) < abs(root - bad) else (bad, good)
        value = root + _aside(root, far - near)
        return value if min(near, far) < value < max(near, far) else None

    def _samples(self, good: float, bad: float) -> list[float]:
        lever = self.lever
        inside = [lever.easiest + (good - lever.easiest) * k / (SAMPLES + 1.0) for k in range(SAMPLES + 1)]
        beyond = min(2.0 * bad, lever.hardest) if lever.hardest > lever.easiest else lever.hardest
        return inside + [bad + (beyond - bad) * k / SAMPLES for k in range(1, SAMPLES + 1)]

    def _change_before(self, begin: float) -> Pair | None:
        """Two neighbours tried, nearer to the machine as it is than the limit, of different verdict."""
        now = self.lever.now
        between = [value for value in self.seen if (value - now) * (value - begin) <= 0.0]
        for one, other in pairwise(sorted(between, key=lambda value: abs(value - now))):
            if self._passes(one) is not self._passes(other):
                return one, other
        return None

    def _exceptions(self, good: float, bad: float) -> tuple[tuple[float, tuple[str, ...]], ...]:
        """Values tried whose verdict is that of the other side of the limit."""
        upward = bad > good
        return tuple(
            (value, verdict.binding)
            for value, verdict in sorted(self.seen.items())
            if verdict.passes is not ((value <= good) if upward else (value >= good))
        )


def steps(now: float, end: float) -> Iterator[float]:
    """From a value to an end: to double or half at most in the first step, each step twice as far, the end last."""
    way, part = end - now, min(1.0, 0.25 * abs(now) / max(abs(end - now), 1e-300))
    while part < 1.0:
        yield now + part * way
        part *= 2.0
    if way != 0.0:
        yield end


def _edge(true: Callable[[float], bool], now: float, end: float) -> float | None:
    """Where something becomes or stops to be true on the way; None where it is the same at both ends."""
    begun = true(now)
    return None if true(end) is begun else narrowed(lambda value: true(value) is begun, now, end, 0.1 * ASIDE)[0]


def _aside(value: float, way: float) -> float:
    return math.copysign(ASIDE * value, way)


def _inverse(points: list[tuple[float, float]]) -> float | None:
    """Where a function is zero, by the parabola of its inverse through (function, value); None where two are level."""
    total = 0.0
    for k, (here, value) in enumerate(points):
        weight = 1.0
        for j, (there, _) in enumerate(points):
            if j != k:
                if here == there:
                    return None
                weight *= there / (there - here)
        total += weight * value
    return total
