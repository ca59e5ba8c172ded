"""Wires over a run: drops by hand, warming against an integration of its own, and repeats stepped one by one."""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from armsim.checks.wire_heat import judge_wiring, load_of, repeated
from armsim.checks.wires import drop_findings, warm_findings
from armsim.dynamics.plan import Hold, Plan, Rest, Travel
from armsim.dynamics.trajectory import simulate
from armsim.parts.wire_heat import node_of
from armsim.parts.wiring import Run, Size, gauge_area, resistance_per_length, round_trip_resistance
from armsim.scenario.tables import ampacity
from tests.machines import machine

UP, DOWN = math.radians(70.0), math.radians(-30.0)
MOVES = (Travel(to=UP), Hold(duration=3.0), Travel(to=DOWN, duty=-0.3), Rest(duration=4.0))


def wire(gauge: int, **more: object) -> Run:
    """Two metres of a gauge."""
    area = gauge_area(gauge)
    thicker = tuple(
        Size(name=f"{n} AWG", area=gauge_area(n), per_metre=resistance_per_length(gauge_area(n)))
        for n in range(gauge - 2, 0, -2)
    )
    made = Run(resistance=round_trip_resistance(area, 2.0), area=area, length=2.0, ampacity=ampacity(), thicker=thicker)
    return replace(made, **more)


THIN = machine(wiring=(wire(22),), leads=wire(18, name="to the motor"))
RUN = simulate(THIN, Plan(start=DOWN, moves=MOVES))


def integrated(node, time, current, start):
    """The same node through another method, its current straight between samples."""

    def slope(t, y):
        amperes = np.interp(t, time, current)
        heat = amperes**2 * node.resistance * (1.0 + 0.00393 * (y[0] - 20.0))
        return [(heat - (y[0] - node.ambient) / node.cooling) / node.capacity]

    kept = np.concatenate([[True], np.diff(time) > 0.0])
    return solve_ivp(slope, (time[0], time[-1]), [start], t_eval=time[kept], max_step=0.005, rtol=1e-8).y[0]


def test_drops_are_resistance_times_current_and_heat_is_what_the_energy_account_has():
    supply, leads = judge_wiring(THIN, RUN)
    assert supply.peak_drop == pytest.approx(THIN.wiring_resistance * RUN.peaks.supply_current.value)
    assert supply.peak_drop_share == pytest.approx(supply.peak_drop / 25.0)
    assert leads.rms_drop == pytest.approx(THIN.leads.resistance * RUN.motor_current_rms)
    span = float(RUN.time[-1] - RUN.time[0])
    assert (supply.heat + leads.heat) * span == pytest.approx(RUN.energy.losses["wiring"], rel=1e-9)
    assert (supply.where, leads.where, leads.name) == ("supply.wiring", "motor.leads", "to the motor")


def test_the_hottest_moment_agrees_with_an_integration():
    supply, leads = judge_wiring(THIN, RUN)
    for found, run, current in ((supply, THIN.wiring[0], RUN.supply_current), (leads, THIN.leads, RUN.motor_current)):
        other = integrated(node_of(run, 25.0), RUN.time, current, 25.0)
        assert found.hottest - 25.0 == pytest.approx(other.max() - 25.0, rel=2e-3)


def test_where_it_settles_is_where_many_repeats_arrive():
    node, load = node_of(THIN.wiring[0], 25.0), load_of(RUN, leads=False)
    start = 25.0
    for _ in range(300):
        warmed = integrated_by_means(node, load, start)
        start = warmed[-1]
    assert repeated(node, load) == pytest.approx(max(warmed), abs=5e-3)
    assert judge_wiring(THIN, RUN)[0].settles == pytest.approx(max(warmed), abs=5e-3)


def integrated_by_means(node, load, start):
    """Small explicit steps over the mean squares."""
    found = [start]
    for square, span in zip(load.squares.tolist(), np.diff(load.time).tolist(), strict=True):
        pieces, temperature = math.ceil(span / 0.02), found[-1]
        for _ in range(pieces):
            heat = square * node.resistance * (1.0 + 0.00393 * (temperature - 20.0))
            temperature += span / pieces * (heat - (temperature - node.ambient) / node.cooling) / node.capacity
        found.append(temperature)
    return found


def test_many_cycles_come_to_what_one_of_them_repeated_settles_at():
    """Skipped cycles included, 400 cycles of 10 s or so are many time constants of this wire."""
    repeats = simulate(THIN, Plan(start=DOWN, moves=MOVES, repeat=400))
    assert not all(cycle.stepped for cycle in repeats.cycles)
    supply = judge_wiring(THIN, repeats)[0]
    assert supply.hottest == pytest.approx(supply.settles, abs=0.05)
    assert supply.settles == pytest.approx(judge_wiring(THIN, RUN)[0].settles, rel=0.02)


def test_a_wire_beyond_its_limit_is_told_with_the_next_size_that_stays_within_it():
    found = judge_wiring(replace(THIN, ambient=65.0), RUN)
    (first, *_) = warm_findings(found)
    assert first.code == "wire-too-hot"
    name = first.mend.split(",")[0]
    limit = 70.0
    sizes = [size.name for size in THIN.wiring[0].thicker]
    for k, size in enumerate(THIN.wiring[0].thicker):
        other = replace(THIN, ambient=65.0, wiring=(wire(int(size.name.split()[0])),))
        settles = judge_wiring(other, RUN)[0].settles
        assert (settles <= limit) == (k >= sizes.index(name)), size


def test_a_hot_ambient_leaves_no_ampacity_and_no_size_that_would_do():
    supply = judge_wiring(replace(THIN, ambient=75.0), RUN)[0]
    assert supply.ampacity == 0.0
    assert supply.remedy is None
    assert supply.too_hot


def test_a_large_drop_is_noted_over_all_runs_together():
    """Each alone stays below a twentieth of 25 V."""
    m = machine(wiring=(Run(resistance=0.013), Run(resistance=0.012)))
    run = simulate(m, Plan(start=DOWN, moves=MOVES))
    wiring = judge_wiring(m, run)
    assert all(one.peak_drop_share < 0.05 for one in wiring)
    assert 0.025 * run.peaks.supply_current.value / 25.0 > 0.05
    assert [found.code for found in drop_findings(wiring)] == ["wire-drop-large"]
    assert not list(drop_findings(judge_wiring(machine(), simulate(machine(), Plan(start=DOWN, moves=MOVES)))))


def test_without_size_or_run_only_what_is_known_is_told():
    (bare,) = judge_wiring(machine(), None)
    assert (bare.resistance, bare.peak, bare.hottest, bare.ampacity, bare.limit) == (0.012, None, None, None, None)
    (known,) = judge_wiring(machine(wiring=(wire(12, insulation_limit=105.0),), ambient=30.0), None)
    assert known.ampacity == pytest.approx(45.0, rel=1e-9)
