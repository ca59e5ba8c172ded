"""What switching adds to the averaged currents of a run: ripple in the windings, and the capacitor's share."""

from typing import NamedTuple

import numpy as np

from armsim.dynamics.run import Run
from armsim.parts.bridge import capacitor_current, ripple, ripple_rms


class Ripple(NamedTuple):
    """The worst of a run, per motor."""

    peak_to_peak: float  #: of a winding's current [A]
    extra_copper: float  #: over the copper loss without ripple, at the run's rms current [-]
    capacitor: float  #: rms that the controller's input capacitor carries so that the line does not [A]


def worst_ripple(run: Run) -> Ripple | None:
    """None where the switching frequency is not known, or the bridge never drives."""
    machine = run.machine
    frequency, driven = machine.controller.pwm_frequency, np.isfinite(run.duty) & np.isfinite(run.bus_voltage)
    if frequency is None or not np.any(driven):
        return None
    duties, buses, currents = run.duty[driven], run.bus_voltage[driven], run.motor_current[driven]
    inductance = machine.motor.inductance
    swing = max(ripple(bus, duty, frequency, inductance) for bus, duty in zip(buses, duties, strict=True))
    steady = run.motor_current_rms
    extra = (ripple_rms(steady, swing) / steady) ** 2 - 1.0 if steady > 0.0 else 0.0
    capacitor = max(capacitor_current(amps, min(1.0, abs(duty))) for amps, duty in zip(currents, duties, strict=True))
    return Ripple(float(swing), float(extra), float(capacitor))
