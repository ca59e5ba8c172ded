"""Which part of a run a reader is shown: all of a short one, the last cycle of many.

A run of many cycles keeps the series and events of some of them only: the first few and the last.
"""

from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from armsim.dynamics.chapter import highest, lowest
from armsim.dynamics.run import Cycle, Extreme, Kind, Peaks, Run
from armsim.report.numbers import show

MOST_WHOLE = 3  #: cycles that a figure over time can still show side by side
ROUNDING = 1e-14  #: of a time, within which two are the same


@dataclass(frozen=True, kw_only=True)
class View:
    """A run as figures over time show it."""

    run: Run  #: all of it, or its last cycle with time counted from where that begins
    x_label: str
    title_end: str = ""  #: which cycle
    where: str = ""  #: likewise, to follow the first words of a sentence


def passes_over(run: Run) -> bool:
    """True for a run of more cycles than can be shown side by side, of which some may not have been stepped."""
    return len(run.cycles) > MOST_WHOLE


def given_up(run: Run) -> bool:
    """True where the run ended in a move given up."""
    return run.first(Kind.GIVEN_UP) is not None


def first_samples(run: Run) -> dict[int, int]:
    """Index of the first sample of each cycle whose series are kept, by the cycle's number."""
    found: dict[int, int] = {}
    for cycle in run.cycles:
        slack = ROUNDING * cycle.begun
        first = int(np.searchsorted(run.time, cycle.begun - slack, "left"))
        past = int(np.searchsorted(run.time, cycle.begun + slack, "right"))
        if past < run.time.size and run.time[past] < cycle.begun + cycle.duration:
            # the instant in which a cycle follows on another holds the end of that one too
            found[cycle.number] = past - 1 if cycle.number - 1 in found else first
    return found


def numbers(run: Run) -> NDArray[np.int_]:
    """The number of the cycle to which each sample belongs, from 1."""
    starts = first_samples(run)
    if not starts:
        return np.ones(run.time.size, dtype=int)
    slots = np.searchsorted(np.array(list(starts.values())), np.arange(run.time.size), "right") - 1
    return np.array(list(starts))[np.maximum(slots, 0)]


def kept_cycles(run: Run) -> str:
    """Which cycles' series and events are kept, in words; empty where all are."""
    kept = [str(number) for number in first_samples(run)]
    if len(kept) in (0, len(run.cycles)):
        return ""
    return f"cycles {', '.join(kept[:-1])} and {kept[-1]}" if len(kept) > 1 else f"cycle {kept[0]}"


def view_of(run: Run) -> View:
    """All of a run, or the last of many cycles."""
    starts = first_samples(run)
    if not passes_over(run) or run.cycles[-1].number not in starts:
        return View(run=run, x_label="Time (s)")
    last = run.cycles[-1]
    name = f"cycle {last.number}, the last begun" if given_up(run) else f"cycle {last.number} of {last.number}"
    return View(
        run=only(run, last, starts[last.number]),
        x_label=f"Time in cycle {last.number} (s)",
        title_end=f", {name}",
        where=f" in {name}, which begins at {show(last.begun, 'time')} of the run",
    )


def only(run: Run, cycle: Cycle, first: int) -> Run:
    """A run's last cycle alone, from its first sample on, with time counted from its beginning."""
    since = cycle.begun * (1.0 - ROUNDING)
    series: dict[str, Any] = {
        each.name: getattr(run, each.name)[first:]
        for each in fields(run)
        if isinstance(getattr(run, each.name), np.ndarray)
    }
    series["time"] = series["time"] - cycle.begun
    cut = replace(
        run,
        **series,
        heat_earliest=tuple(heat[first:] for heat in run.heat_earliest),
        heat_latest=tuple(heat[first:] for heat in run.heat_latest),
        events=tuple(replace(e, time=e.time - cycle.begun) for e in run.events if e.time >= since),
        tracks=tuple(
            replace(
                t,
                begun=t.begun - cycle.begun,
                ended=t.ended - cycle.begun,
                reference_ends=t.reference_ends - cycle.begun,
            )
            for t in run.tracks
            if t.begun >= since
        ),
    )
    return replace(cut, peaks=peaks_of_cycle(cut, cycle))


def peaks_of_cycle(cut: Run, cycle: Cycle) -> Peaks:
    """Extremes of a cycle: the values of its row, and where the series have them."""

    def at(extreme: Extreme, value: float) -> Extreme:
        return replace(extreme, value=value)

    time = cut.time
    return Peaks(
        motor_current=at(highest(time, np.abs(cut.motor_current)), cycle.motor_current),
        supply_current=at(highest(time, cut.supply_current), cycle.supply_current),
        supply_current_back=lowest(time, cut.supply_current),
        bus_voltage=at(lowest(time, cut.bus_voltage), cycle.bus_voltage),
        bus_highest=highest(time, cut.bus_voltage),
        speed=highest(time, np.abs(cut.speed)),
        winding=at(highest(time, cut.winding), cycle.winding),
        housing=at(highest(time, cut.housing), cycle.housing),
    )
