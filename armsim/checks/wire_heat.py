"""What a run of the machine does to each run of wire: drop, heat, and how warm the conductor gets.

The simulation keeps each wire at the temperature that its resistance was given for; its warming is worked out
afterwards from the currents of the run, from ambient on, and where the same currents come back for ever.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from armsim.drivetrain.machine import Machine
from armsim.dynamics.run import Run, Series
from armsim.parts.battery import open_circuit_voltage
from armsim.parts.wire_heat import WireNode, bearable, node_of, step
from armsim.parts.wiring import Run as WireRun
from armsim.parts.wiring import Size

ROUNDING = 1e-12  #: of a time, within which two are the same


@dataclass(frozen=True, kw_only=True)
class WireResult:
    """One run of wire; None where there was no simulation, or size, length or cooling are not known."""

    where: str  #: dotted key
    name: str
    resistance: float  #: there and back [ohm]
    peak: float | None = None  #: current [A]
    rms: float | None = None  #: [A]
    peak_drop: float | None = None  #: [V]
    peak_drop_share: float | None = None  #: of the source without load [-]
    rms_drop: float | None = None  #: [V]
    rms_drop_share: float | None = None
    heat: float | None = None  #: mean over the run, joints included [W]
    hottest: float | None = None  #: conductor, in the run [degC]
    hottest_at: float | None = None  #: [s]
    settles: float | None = None  #: hottest once the cycle has repeated for ever; inf: it runs away [degC]
    limit: float | None = None  #: of the insulation [degC]
    ampacity: float | None = None  #: current that settles at that limit in this ambient [A]
    remedy: Size | None = None  #: next thicker size that stays within its limit, where this one does not

    @property
    def too_hot(self) -> bool:
        """Beyond its insulation's limit, in the run or repeating it."""
        reached = [value for value in (self.hottest, self.settles) if value is not None]
        return self.limit is not None and any(value > self.limit for value in reached)


@dataclass(frozen=True, kw_only=True)
class Load:
    """A current through a wire over a run of the machine."""

    time: Series
    squares: Series  #: mean square over each interval; NaN where cycles without samples were passed over [A2]
    last: int  #: first interval of the cycle that is repeated for ever
    peak: float
    rms: float


def judge_wiring(machine: Machine, run: Run | None) -> tuple[WireResult, ...]:
    """Every run of wire, leads last."""
    return tuple(_judge(machine, wire, where, run) for wire, where in places(machine))


def supply_places(machine: Machine) -> Iterator[tuple[WireRun, str]]:
    """Each run up to the controller with its dotted key."""
    for k, wire in enumerate(machine.wiring):
        yield wire, f"supply.wiring[{k}]" if len(machine.wiring) > 1 else "supply.wiring"


def places(machine: Machine) -> Iterator[tuple[WireRun, str]]:
    """Each run of wire with its dotted key, leads last."""
    yield from supply_places(machine)
    if machine.leads is not None:
        yield machine.leads, "motor.leads"


def _judge(machine: Machine, wire: WireRun, where: str, run: Run | None) -> WireResult:
    node = node_of(wire, machine.ambient)
    bare = WireResult(
        where=where,
        name=wire.name,
        resistance=wire.resistance,
        limit=None if wire.area is None else wire.insulation_limit,
        ampacity=None if node is None else bearable(node, wire.insulation_limit),
    )
    if run is None:
        return bare
    load, source = load_of(run, leads=where == "motor.leads"), open_circuit_voltage(machine.battery, 0.0)
    drops = [wire.resistance * load.peak, wire.resistance * load.rms]
    judged = replace(
        bare,
        peak=load.peak,
        rms=load.rms,
        peak_drop=drops[0],
        peak_drop_share=drops[0] / source,
        rms_drop=drops[1],
        rms_drop_share=drops[1] / source,
        heat=wire.resistance * load.rms**2,
    )
    if node is None:
        return judged
    hottest, when = warmest(node, load)
    judged = replace(judged, hottest=hottest, hottest_at=when, settles=repeated(node, load))
    return replace(judged, remedy=next_size(machine, wire, load)) if judged.too_hot else judged


def load_of(run: Run, *, leads: bool) -> Load:
    """The current from the source, or of each motor."""
    current, rms = (run.motor_current, run.motor_current_rms) if leads else (run.supply_current, run.supply_current_rms)
    time, a, b, last = run.time, current[:-1], current[1:], 0
    squares = (a * a + a * b + b * b) / 3.0
    if run.cycles:
        begins = np.array([cycle.begun for cycle in run.cycles])
        ends = begins + np.array([cycle.duration for cycle in run.cycles])
        slack = ROUNDING * time[1:]
        whole = np.searchsorted(begins, time[:-1] - slack, "left") < np.searchsorted(ends, time[1:] + slack, "right")
        squares[whole] = np.nan
        last = int(np.searchsorted(time, begins[-1] * (1.0 - ROUNDING), "left"))
    both = (run.peaks.motor_current,) if leads else (run.peaks.supply_current, run.peaks.supply_current_back)
    highest = max(abs(extreme.value) for extreme in both)
    return Load(time=time, squares=squares, last=min(last, len(time) - 2), peak=highest, rms=rms)


def path(node: WireNode, load: Load, start: float, first: int = 0) -> list[float]:
    """Temperature at each sample from one on, given there. [degC]"""
    temperatures = [start]
    spans = np.diff(load.time)[first:].tolist()
    for square, span in zip(load.squares[first:].tolist(), spans, strict=True):
        factor, summand = passed_over(node, load, span) if math.isnan(square) else step(node, square, span)
        temperatures.append(factor * temperatures[-1] + summand)
    return temperatures


def passed_over(node: WireNode, load: Load, span: float) -> tuple[float, float]:
    """The same as of a step, for cycles without samples over a time [s]: they are as the last one is."""
    factor, summand = over_cycle(node, load)
    if factor >= 1.0:
        return 1.0, math.inf
    kept = factor ** (span / float(load.time[-1] - load.time[load.last]))
    return kept, (1.0 - kept) * summand / (1.0 - factor)


def over_cycle(node: WireNode, load: Load) -> tuple[float, float]:
    """Factor and summand that take a temperature [degC] through the last cycle."""
    low, high = (path(node, load, start, load.last)[-1] for start in (0.0, 1000.0))
    return (high - low) / 1000.0, low


def warmest(node: WireNode, load: Load) -> tuple[float, float]:
    """Highest temperature [degC] of the run, begun at ambient, and when [s]."""
    temperatures = path(node, load, node.ambient)
    k = int(np.argmax(temperatures))
    return temperatures[k], float(load.time[k])


def repeated(node: WireNode, load: Load) -> float:
    """Highest temperature once a cycle has repeated for ever; inf where each leaves more than it found. [degC]

    A cycle takes a temperature T to a T + b, so that the one it comes back to is b/(1 - a).
    """
    factor, summand = over_cycle(node, load)
    return math.inf if factor >= 1.0 else max(path(node, load, summand / (1.0 - factor), load.last))


def next_size(machine: Machine, wire: WireRun, load: Load) -> Size | None:
    """The first of the thicker sizes of its kind that stays within the limit under the same current; None: none."""
    for size in wire.thicker:
        length = wire.length or 0.0
        resistance = wire.joints + 2.0 * length * size.per_metre
        node = node_of(replace(wire, area=size.area, resistance=resistance, temperature=20.0), machine.ambient)
        if node and max(warmest(node, load)[0], repeated(node, load)) <= wire.insulation_limit:
            return size
    return None
