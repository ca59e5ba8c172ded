"""Runs of wire from their keys, against the standards' figures and sums done by hand."""

import math

import pytest

from armsim.studies.single import assess, check
from tests.scenario.texts import read

BATTERY = "battery: {open_circuit_voltage: 25 V, internal_resistance: 40 mohm}"
MOTOR = (
    "nominal_voltage: 24 V, no_load_speed: 2600 rpm, no_load_current: 1.4 A, stall_torque: 2.05 N*m, "
    "stall_current: 26 A"
)


def wired(wiring, **sections):
    return read(supply=f"{{{BATTERY}, wiring: {wiring}}}", **sections)


def assumed(scenario, key):
    return next(assumption for assumption in scenario.assumptions if assumption.key == key)


def test_runs_in_series_add_up_and_keep_their_names():
    scenario = wired(
        "[{name: battery to breaker, gauge: 6 AWG, length: 0.5 m}, {name: breaker to controller, gauge: 10 AWG, "
        "length: 1.8 m, joints: 2 mohm}, {resistance: 3 mohm}]"
    )
    first, second, third = scenario.machine.wiring
    assert (first.name, second.name, third.name) == ("battery to breaker", "breaker to controller", "")
    by_hand = 2 * 0.5 * 1.29614e-3 + 2 * 1.8 * 3.27704e-3 + 2e-3 + 3e-3
    assert scenario.machine.wiring_resistance == pytest.approx(by_hand, rel=1e-5)
    assert assumed(scenario, "supply.wiring[1].resistance").origin == "derived"


def test_one_run_reads_as_before_and_as_a_list_of_one():
    alone, listed = wired("{gauge: 10 AWG, length: 2 m}"), wired("[{gauge: 10 AWG, length: 2 m}]")
    assert alone.machine.wiring == listed.machine.wiring


@pytest.mark.parametrize(
    ("keys", "milliohm_per_metre"),
    [
        ("area: 4 mm^2", 4.95),
        ("area: 4 mm^2, stranding: class-5", 4.95),
        ("area: 4 mm^2, stranding: class 2", 4.61),
        ("area: 4 mm^2, stranding: 1.05", 1.05 * 17.241 / 4),
        ("area: 3 mm^2", 17.241 / 3),
        ("gauge: 12 AWG", 5.21069),
        ("gauge: 12 AWG, stranding: class-5", 1.08 * 5.21069),
        ("gauge: 12 AWG, gauge_system: SAE", 5.21069 / 0.90),
        ("gauge: 4/0, gauge_system: sae", 0.1608 / 0.97),
        ("gauge: 7 AWG, gauge_system: SAE", 2.061 * 10 ** (-0.1) / 0.90 * 0.99988),  # half way from 0.88 to 0.92
    ],
)
def test_a_metre_has_the_resistance_of_its_size_and_standard(keys, milliohm_per_metre):
    loop = wired(f"{{{keys}, length: 1 m}}").machine.wiring_resistance
    assert loop == pytest.approx(2e-3 * milliohm_per_metre, rel=2e-3)


def test_a_warm_metric_wire_drops_what_the_worked_answer_says():
    """4 mm2 class 5 at its limit, 1.4 m, 70 degC, 45 A, four contacts and a fuse."""
    loop = wired("{area: 4 mm^2, length: 1.4 m, temperature: 70 degC, joints: 2.44 mohm}").machine.wiring_resistance
    assert 45.0 * loop == pytest.approx(0.856057, rel=1e-6)


def test_the_resistance_class_of_a_metric_size_is_told():
    note = assumed(wired("{area: 6 mm^2, length: 1 m}"), "supply.wiring.stranding")
    assert "3.3 mohm/m at 20 degC, the most that IEC 60228 allows this size in class-5" in note.text


def test_the_loop_of_a_run_gives_its_metre_back():
    (run,) = wired("{gauge: 12 AWG, length: 3 m, temperature: 70 degC, joints: 4 mohm}").machine.wiring
    assert run.per_metre == pytest.approx(5.21069e-3, rel=1e-5)


def test_leads_limit_the_stall_current_and_their_heat_is_booked_under_wiring():
    """R = 24/26 ohm, one motor: E/(R + source + leads) by hand."""
    bare = read(supply=f"{{{BATTERY}}}", motor=f"{{{MOTOR}}}")
    with_leads = read(supply=f"{{{BATTERY}}}", motor=f"{{{MOTOR}, leads: {{resistance: 60 mohm}}}}")
    assert with_leads.machine.leads.resistance == 0.060
    loop = 24 / 26 + 0.040
    for scenario, extra in ((bare, 0.0), (with_leads, 0.060)):
        stall = next(point for point in check(scenario).operating if point.name == "stall")
        assert stall.current == pytest.approx(25 / (loop + extra), rel=1e-9)
    energy = assess(with_leads).energy
    run = assess(with_leads).run
    assert assess(bare).energy.losses["wiring"] == 0.0
    span = run.time[-1] - run.time[0]
    assert energy.losses["wiring"] == pytest.approx(0.060 * run.motor_current_rms**2 * span, rel=1e-9)
    assert abs(energy.residual) < 1e-6 * energy.throughput


def test_leads_of_a_gauge_are_read_like_wiring():
    leads = read(motor=f"{{{MOTOR}, leads: {{gauge: 14 AWG, length: 30 cm}}}}").machine.leads
    assert leads.resistance == pytest.approx(0.6 * 8.28533e-3, rel=1e-5)
    assert math.isclose(leads.area, 2.08091e-6, rel_tol=1e-5)
