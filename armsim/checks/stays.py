"""Each hold and rest of a run as it stands at its end: what keeps the arm, volts, amps, heat, and how it creeps."""

from collections.abc import Iterator

import numpy as np

from armsim.checks.assessment import Stay
from armsim.drivetrain.circuit import winding_resistance
from armsim.dynamics.run import Event, Kind, Run

BEGIN = (Kind.HOLD, Kind.REST)
ENDS = (Kind.DRIVE_ON, Kind.HOLD, Kind.REST, Kind.PAYLOAD, Kind.END)


def stays(run: Run) -> tuple[Stay, ...]:
    """Every hold and rest, in order."""
    return tuple(_stays(run))


def _stays(run: Run) -> Iterator[Stay]:
    events = run.events
    for k, event in enumerate(events):
        if event.kind in BEGIN:
            end = next((later for later in events[k + 1 :] if later.kind in ENDS), None)
            until = float(run.time[-1]) if end is None else end.time
            last = int(np.searchsorted(run.time, until, side="left"))
            yield stay(run, event, min(last, len(run.time) - 1))


def stay(run: Run, begun: Event, last: int) -> Stay:
    """What a hold or rest has come to at a sample of the run."""
    machine, current, bus = run.machine, float(run.motor_current[last]), float(run.bus_voltage[last])
    duty = float(run.duty[last])
    copper = machine.motor.count * winding_resistance(machine, float(run.winding[last])) * current**2
    supplied = 0.0 if np.isnan(bus) else bus * float(run.supply_current[last])
    return Stay(
        name="hold" if begun.kind is Kind.HOLD else "rest",
        how=how(run, begun),
        begun=begun.time,
        duration=float(run.time[last]) - begun.time,
        angle=begun.angle,
        drift=float(run.angle[last]) - begun.angle,
        voltage=0.0 if np.isnan(duty) or np.isnan(bus) else duty * bus,
        current=current,
        heat=copper,
        supplied=supplied,
        speed=float(run.speed[last]),
    )


def how(run: Run, begun: Event) -> str:
    """What keeps the arm, in words."""
    if begun.text:
        return begun.text
    if begun.kind is Kind.HOLD:
        return "position loop"
    return "motor shorted" if run.machine.controller.shorted_when_off else "motor open"
