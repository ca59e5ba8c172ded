"""The same modes and guards through another of SciPy's methods: nothing may depend on the stepper."""

import numpy as np
import pytest
from scipy.integrate import Radau

from armsim.dynamics import segment
from armsim.dynamics.run import Kind
from armsim.dynamics.trajectory import simulate
from tests.dynamics.randoms import random_machine, random_plan


def radau(machine, mode, field, state, duration, tolerances):
    """An implicit one-step method of order five, ten times tighter."""
    return Radau(
        lambda time, y: np.array(field(time, y)),
        0.0,
        state,
        duration,
        first_step=min(1e-3 * machine.motor.inductance / machine.loop_resistance, 0.5 * duration),
        rtol=1e-9,
        atol=1e-11 * segment.scales(machine),
    )


@pytest.mark.parametrize("seed", [0, 1, 2, 5, 8, 11, 14, 17])
def test_radau_finds_the_same_events_peaks_and_energy(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    rng = np.random.default_rng(seed)
    machine, plan = random_machine(rng), random_plan(rng)
    here = simulate(machine, plan)
    monkeypatch.setattr(segment, "stepper", radau)
    there = simulate(machine, plan)
    assert [event.kind for event in here.events] == [event.kind for event in there.events]
    for a, b in zip(here.events, there.events, strict=True):
        if a.kind is not Kind.COMES_TO_REST:  # a motion that dies away has no sharp end
            assert a.time == pytest.approx(b.time, rel=1e-6, abs=1e-6)
    assert here.peaks.motor_current.value == pytest.approx(there.peaks.motor_current.value, rel=1e-5)
    assert here.peaks.winding.value == pytest.approx(there.peaks.winding.value, rel=1e-6)
    assert here.energy.supplied == pytest.approx(there.energy.supplied, rel=1e-6, abs=1e-6 * here.energy.throughput)
