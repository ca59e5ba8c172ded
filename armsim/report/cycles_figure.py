"""Temperatures and lift time over many work cycles."""

import numpy as np

from armsim.dynamics.run import Run
from armsim.report.cycles import settling_of, settling_text
from armsim.report.drawing import Panel
from armsim.report.layout import finish, stack
from armsim.report.numbers import show, typeset
from armsim.report.picture import Picture

NEAR = 0.3  #: share of the way from ambient to the winding's limit from which on that limit is drawn


def cycles(run: Run) -> Picture:
    """Highest winding and housing temperature of each cycle, and its slowest lift below; stepped ones as dots."""
    number = np.array([c.number for c in run.cycles], dtype=float)
    stepped = np.array([c.stepped for c in run.cycles])
    lift = np.array([np.nan if c.lift_time is None else c.lift_time for c in run.cycles])
    warm = run.machine.motor.heat is not None
    heights = (2.3, 1.3) if warm else (1.6,)
    figure, panels = stack(heights, "Cycle (number)", (1.0, float(number[-1])))
    if warm:
        heat, housing = (np.array([getattr(c, part) for c in run.cycles]) for part in ("winding", "housing"))
        panels[0].curve(number, heat, "winding, highest", 2, gid="winding-peaks")
        panels[0].dots(number[stepped], heat[stepped], 2, gid="winding-stepped")
        panels[0].curve(number, housing, "housing, highest", gid="housing-peaks")
        panels[0].dots(number[stepped], housing[stepped], gid="housing-stepped")
        _levels(panels[0], run)
        panels[0].frame("Temperature (°C)")
    panels[-1].curve(number, lift, "slowest lift", 1, gid="lift-times")
    panels[-1].dots(number[stepped], lift[stepped], 1, gid="lift-stepped")
    panels[-1].frame("Lift time (s)")
    finish(panels)
    return Picture(name="cycles", heading="Cycles", text=_text(run), figure=figure)


def _levels(panel: Panel, run: Run) -> None:
    """Where the winding settles, and its limit where it comes near."""
    settling, heat = settling_of(run), run.machine.motor.heat
    ends = None if settling is None else settling.winding
    if ends is not None:
        panel.level(ends, f"winding settles at {typeset(show(ends, 'temperature', 3))}", gid="settling")
    limit = heat.winding_limit if heat else None
    hottest = max(ends or -np.inf, *(c.winding for c in run.cycles))
    if limit is not None and hottest > run.machine.ambient + NEAR * (limit - run.machine.ambient):
        panel.limit(limit, f"winding limit {typeset(show(limit, 'temperature'))}", gid="winding-limit", beyond=1)


def _text(run: Run) -> str:
    first, last = run.cycles[0], run.cycles[-1]
    known = run.machine.motor.heat is not None
    what = "Highest winding and housing temperature" if known else "Slowest lift"
    text = f"{what} of each of {len(run.cycles)} cycles against its number{', and its slowest lift' if known else ''}. "
    if first.lift_time is not None and last.lift_time is not None:
        text += f"The lift takes {show(first.lift_time, 'time', 3)} in the first cycle and "
        text += f"{show(last.lift_time, 'time', 3)} in the last. "
    elif last.lift_time is None:
        text += f"No lift arrives in cycle {last.number}. "
    stepped = sum(c.stepped for c in run.cycles)
    text += f"Dots are the {stepped} cycles stepped exactly, lines pass through those between."
    return f"{text} {settling_text(run)}".rstrip()
