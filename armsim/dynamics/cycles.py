"""Many work cycles: as many stepped exactly as needed, the alike ones between them summed.

From cycle to cycle only slow things change: temperatures, the thermal states of breakers, the charge drawn. Without
what a cycle adds they decay by known linear laws, so the state at cycle ends obeys y' = E y + b with E known and b
nearly constant. b is measured by stepping a cycle, taken as linear between two stepped ones, and the stride grows while
predicted and corrected states agree. A cycle whose events differ from those of the one before is never passed over: the
stride shrinks until it is stepped. The last cycle always is. This is a multirevolution method (L. R. Petzold, SIAM J.
Numer. Anal. 18 (1981) 455-479) with the linear decay taken out.
"""

from dataclasses import dataclass, replace

from armsim.dynamics.chapter import balance, bind, most, peaks_of
from armsim.dynamics.guards import Signal
from armsim.dynamics.journal import Journal, chapter
from armsim.dynamics.moves import carry_out
from armsim.dynamics.plan import Plan, targets
from armsim.dynamics.run import Cycle, Kind, Run
from armsim.dynamics.slow import Decay, settle
from armsim.dynamics.state import State
from armsim.dynamics.stepped import Stepped, row, row_between
from armsim.dynamics.voyage import Situation, Voyage, keep

SHOWN = 2  #: cycles at the start whose series are kept, beside the last one's and
FIRST_STRIDE = 3  #: cycles passed over at first, and as long as all is well
ROUGH = 30.0  #: times the stepper's tolerances in a cycle that is neither shown nor new
MOST_SHOWN = 12  #: in all, with those in which something new happened


@dataclass(frozen=True, kw_only=True)
class Sums:
    """What the cycles so far come to, summed ones included."""

    payload: float = 0.0
    stored: float = 0.0
    booked: dict[str, float]
    cycles: tuple[Cycle, ...] = ()


def simulate_cycles(voyage: Voyage, situation: Situation, plan: Plan) -> Run:
    """All cycles of a plan from a situation; ends early where a travel is given up."""
    machine, start, decay = voyage.machine, situation, Decay(voyage.machine)
    first = step(voyage, situation, plan, 0, None, {})
    chapters, sums, peaks = [first], tally(Sums(booked={}), first), [first.peaks]
    before, last, stride = None, first, 0
    while last.done and last.number + 1 < plan.repeat:
        passed = min(stride, plan.repeat - 2 - last.number)
        ahead = decay.ahead(before, last, passed)
        number = last.number + 1 + passed
        seen_closely = number < SHOWN or number + 1 == plan.repeat or voyage.tolerances.cycles == 0.0
        now = step(voyage if seen_closely else roughly(voyage), ahead, plan, number, target_of(plan), last.seen)
        alike = now.like(last)
        if passed and not alike:
            stride = passed // 2
            continue
        if not alike and not seen_closely:
            now = step(voyage, ahead, plan, number, target_of(plan), last.seen)
        gap = 0.0
        if passed:
            states, times = decay.between(last, now, passed)
            gap = decay.gap(ahead.state, states[-1]) / voyage.tolerances.cycles
            if gap > 1.0:
                stride = min(passed - 1, next_stride(passed, gap))
                continue
            now = decay.moved(now, states[-1], times[-1])
            sums = bridge(sums, last, now, states[:-1], times[:-1])
        sums = tally(sums, now)
        peaks.append(now.peaks)
        chapters = kept(chapters, now, alike)
        may_grow = voyage.tolerances.cycles > 0.0 and alike
        stride = next_stride(passed, gap) if may_grow else 0
        before, last = last if alike else None, now
    change = last.after.state - start.state
    energy = balance(machine, change, payload=sums.payload, stored=sums.stored, booked=sums.booked)
    run = bind(
        machine,
        [one.pages for one in chapters],
        most(peaks),
        change,
        last.seen,
        energy,
        duration=last.after.time - start.time,
        cycles=sums.cycles,
        settling=settle(machine, decay, first, last),
    )
    return replace(run, trips=tuple(replace(trip, heat_peak=hottest(sums, k)) for k, trip in enumerate(run.trips)))


def kept(chapters: list[Stepped], now: Stepped, alike: bool) -> list[Stepped]:
    """The stepped cycles whose series and events are kept: the first, those in which something changed, the last."""
    *before, last = chapters
    plain = last.number >= SHOWN and last.ordinary
    room = len(chapters) < MOST_SHOWN
    return [*(before if plain or not room else chapters), replace(now, ordinary=alike)]


def roughly(voyage: Voyage) -> Voyage:
    """The same voyage with the tolerances of a cycle that only shows what cycles of its kind add."""
    limits = voyage.tolerances
    return replace(
        voyage, tolerances=replace(limits, relative=ROUGH * limits.relative, absolute=ROUGH * limits.absolute)
    )


def next_stride(passed: int, gap: float) -> int:
    """How many cycles to pass over next, the error growing with the cube of the stride; `gap` over its limit."""
    factor = min(4.0, max(0.5, (0.7 / max(gap, 1e-9)) ** (1.0 / 3.0)))
    return max(FIRST_STRIDE, int(factor * passed)) if gap <= 1.0 else max(1, int(factor * passed))


def hottest(sums: Sums, device: int) -> float:
    """Highest thermal state of a device's earliest edge over all cycles. [-]"""
    return max(cycle.heat[device] for cycle in sums.cycles)


def target_of(plan: Plan) -> float | None:
    """The angle last asked for when a cycle is over. [rad]"""
    asked = targets(plan)
    return asked[-1] if asked else None


def step(
    voyage: Voyage,
    situation: Situation,
    plan: Plan,
    number: int,
    target: float | None,
    seen: dict[tuple[Signal, int], float],
) -> Stepped:
    """One cycle, exactly."""
    journal = Journal(voyage.machine, situation.state, seen=dict(seen))
    begun = replace(voyage, journal=journal)
    if number == 0:
        journal.note(Kind.START, situation.time, situation.state)
    if situation.steering is not None:
        journal.begin_course(situation.steering, "hold")
    own, now, done = [(begun, situation, True), *carry_out(begun, situation, plan, target)][-1]
    if not done or number + 1 == plan.repeat:
        journal.note(Kind.END, now.time, now.state)
    keep(own, now)
    pages = chapter(journal, now.state)
    return Stepped(
        number=number,
        machine=voyage.machine,
        before=situation,
        after=now,
        pages=pages,
        peaks=peaks_of(pages),
        seen=journal.seen,
        done=done,
    )


def tally(sums: Sums, one: Stepped) -> Sums:
    """With a stepped cycle added."""
    pages = one.pages
    return Sums(
        payload=sums.payload + pages.payload,
        stored=sums.stored + pages.stored,
        booked={name: sums.booked.get(name, 0.0) + value for name, value in pages.booked.items()},
        cycles=(*sums.cycles, row(one)),
    )


def bridge(sums: Sums, last: Stepped, now: Stepped, begins: list[State], times: list[float]) -> Sums:
    """With the cycles between two stepped ones added, everything they add taken as linear between the two."""
    passed = len(begins)
    shares = [(j + 1) / (passed + 1) for j in range(passed)]
    rows = [
        row_between(last, now, share, state, time) for share, state, time in zip(shares, begins, times, strict=True)
    ]
    later = sum(shares)

    def summed(first: float, final: float) -> float:
        return first * (passed - later) + final * later

    return Sums(
        payload=sums.payload + summed(last.pages.payload, now.pages.payload),
        stored=sums.stored + summed(last.pages.stored, now.pages.stored),
        booked={n: v + summed(last.pages.booked[n], now.pages.booked[n]) for n, v in sums.booked.items()},
        cycles=(*sums.cycles, *rows),
    )
