"""Trip time against current: the band of the device nearest to tripping, and how long the run draws how much."""

import math

import numpy as np

from armsim.checks.assessment import Assessment, ProtectionResult
from armsim.checks.duration import duration_curve
from armsim.checks.protection import nearest_to_opening, through
from armsim.dynamics.run import Run
from armsim.parts.protection import Edge, Protection, trip_time
from armsim.report.drawing import Panel
from armsim.report.layout import finish, stack
from armsim.report.numbers import show
from armsim.report.picture import Picture
from armsim.report.view import view_of
from armsim.report.wording import plain

MULTIPLES = np.geomspace(1.001, 14.0, 160)  #: of the ultimate current, at which an edge is drawn
SOONEST, LATEST = 0.01, 3600.0  #: of the times drawn [s]
MARKS = (1.0, 2.0, 5.0)  #: in each decade of an axis


def trips(assessment: Assessment) -> Picture:
    """Both edges of the band, from cold, with the run's largest rms current over each duration."""
    run = assessment.run
    assert run is not None
    nearest = nearest_to_opening(assessment.protection)
    device, result = run.machine.protection[nearest], assessment.protection[nearest]
    durations, current = drawn(device, run)
    edges = [edge_line(device, edge) for edge in (device.earliest, device.latest)]
    lowest = min(0.4 * device.rating, *(current[current > 0.0].tolist() or [device.rating]))
    highest = max(4.0 * device.rating, 1.3 * (result.stall_current or 0.0), *(1.2 * current).tolist())
    ends = (math.log10(max(lowest, 0.02 * device.rating)), math.log10(highest))
    figure, (panel,) = stack((3.6,), "Current through it (A)", ends)
    for (amps, seconds), label, pen, gid in zip(
        edges, ("earliest", "latest"), (0, 1), ("earliest", "latest"), strict=True
    ):
        panel.curve(np.log10(amps), np.log10(seconds), label, pen, gid=gid)
    kept = np.flatnonzero(current > 0.0)[::-1]
    if kept.size:
        panel.curve(np.log10(current[kept]), np.log10(durations[kept]), "this run", 2, gid="run")
    panel.mark(math.log10(device.rating), "rating", gid="rating")
    if result.stall_current is not None:
        panel.mark(math.log10(result.stall_current), "motor stalled", gid="stall")
    panel.frame("Time (s)", low=math.log10(SOONEST), high=math.log10(LATEST))
    decades(panel, ends)
    finish([panel])
    return Picture(name="trips", heading="Trip times", text=text_of(device, result, len(run.cycles) > 1), figure=figure)


def drawn(device: Protection, run: Run) -> tuple[np.ndarray, np.ndarray]:
    """Duration curve of the device's current over the stretch of the run that the other figures show."""
    shown = view_of(run).run
    return duration_curve(shown.time, through(device, shown))


def edge_line(device: Protection, edge: Edge) -> tuple[np.ndarray, np.ndarray]:
    """Currents [A] and trip times from cold [s] along an edge, within the times drawn."""
    multiples = edge.ultimate_multiple * MULTIPLES
    seconds = np.array([trip_time(edge, multiple) for multiple in multiples.tolist()])
    within = (seconds >= SOONEST) & (seconds <= LATEST)
    return device.in_force * multiples[within], seconds[within]


def decades(panel: Panel, ends: tuple[float, float]) -> None:
    """Both axes in decades: marked at 1, 2 and 5 across, at the decades up."""
    across, tens = marks(*ends), range(round(math.log10(SOONEST)), math.floor(math.log10(LATEST)) + 1)
    panel.axes.set_xticks([math.log10(value) for value in across], [f"{value:g}" for value in across])
    panel.axes.set_yticks(list(tens), [f"{10.0**ten:g}" for ten in tens])


def marks(low: float, high: float) -> list[float]:
    """Round values between two powers of ten."""
    tens = range(math.floor(low), math.ceil(high) + 1)
    return [step * 10.0**ten for ten in tens for step in MARKS if low <= math.log10(step * 10.0**ten) <= high]


def text_of(device: Protection, result: ProtectionResult, cycles: bool) -> str:
    """What the figure shows."""
    text = f"Time to trip of the {plain(device.kind)} of {show(device.rating, 'current')} against current, from cold: "
    text += "no device of its kind opens before the earliest edge, all have opened by the latest. "
    if device.factor != 1.0:
        text += f"In the warmth around it it is worth {show(device.in_force, 'current', 3)}. "
    text += "The run's line is its largest rms current over any stretch of each duration; left of the band nothing "
    text += "opens" + (
        "." if not cycles else " that is cold: what it has kept of the cycles before moves the band left."
    )
    text += " "
    if result.stall_current is None:
        return text.rstrip()
    return f"{text}A stalled motor draws {show(result.stall_current, 'current', 3)} through it."
