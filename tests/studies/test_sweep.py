"""A sweep against closed forms and against bisection by runs of our own."""

import math
import re
from dataclasses import replace
from pathlib import Path

import pytest

from armsim.scenario.varied import Template
from armsim.studies.sweep import SweepError, grid, sweep, undominated
from armsim.studies.sweep_rows import POSSIBLE, STALL, Job, Row, run_rows
from tests.studies.sweeps import CAPSTAN, GATE


def template(folder, text):
    path = folder / "mine.yaml"
    path.write_text(text, encoding="utf-8")
    return Template(path)


def swept(folder, text, *options, workers=1):
    made = template(folder, text)
    return sweep(made, made.variations(options), workers)


# ------------------------------------------------------------------------------------------------------- closed forms

VOLTS, OHMS, K, TORQUE, ANGLE = 12.0, 0.1, 0.02, 20.0, math.radians(90.0)


@pytest.fixture(scope="module")
def capstan(tmp_path_factory):
    """A lossless motor without inertia or inductance to speak of against a constant torque."""
    folder = tmp_path_factory.mktemp("capstan")
    return swept(folder, CAPSTAN, "transmission.0.gearbox.reduction=10:40:7")


def steady_time(reduction):
    """Of the way at the steady speed w = (V/k - R T/(k^2 n))/n."""
    return ANGLE / ((VOLTS / K - OHMS * TORQUE / (K * K * reduction)) / reduction)


def test_each_row_takes_the_time_of_the_closed_form(capstan):
    for row in capstan.rows:
        if row.reached:
            assert row.lift_time == pytest.approx(steady_time(row.numbers[0]), rel=2e-3)


def test_the_fastest_reduction_is_that_of_the_closed_form(capstan):
    best = 2.0 * OHMS * TORQUE / (K * VOLTS)
    assert 10.0 < best < 20.0
    assert capstan.fastest.numbers[0] == pytest.approx(best, rel=0.01)
    assert capstan.fastest.lift_time == pytest.approx(steady_time(best), rel=2e-3)
    assert capstan.fastest.lift_time < min(row.lift_time for row in capstan.rows if row.reached)


def test_the_least_current_is_at_the_end_of_the_range_and_in_the_mean_that_of_the_torque(capstan):
    assert capstan.least_current.numbers[0] == 40.0
    assert capstan.least_current.supply_rms == pytest.approx(TORQUE / (40.0 * K), rel=0.01)


@pytest.fixture(scope="module")
def capstan_up_to_stall(tmp_path_factory):
    return swept(tmp_path_factory.mktemp("stall"), CAPSTAN, "transmission.0.gearbox.reduction=4:20:5")


def test_it_stalls_below_the_reduction_at_which_the_stalled_motor_bears_the_load(capstan_up_to_stall):
    (edge,) = [edge for edge in capstan_up_to_stall.edges if edge.condition == STALL]
    just = TORQUE * OHMS / (K * VOLTS)
    assert edge.refined
    assert not edge.above
    assert edge.missed < just * (1.0 + 2e-3)
    assert edge.met > just * (1.0 - 2e-3)
    assert edge.met - edge.missed <= 1e-3 * edge.met


def test_without_requirements_the_window_begins_where_it_lifts(capstan_up_to_stall):
    (window,) = capstan_up_to_stall.windows
    assert window.low.binds == (STALL,)
    assert window.low.number == pytest.approx(TORQUE * OHMS / (K * VOLTS), rel=3e-3)
    assert window.high.number == 20.0
    assert window.high.binds == ()


# -------------------------------------------------------------------------------------- edges against runs of our own


@pytest.fixture(scope="module")
def gate(tmp_path_factory):
    return swept(tmp_path_factory.mktemp("gate"), GATE, "reduction=60:480:4")


def assessed(reduction, folder):
    """The same scenario with the reduction written into the file's gearbox, run as `armsim run` does."""
    from armsim.scenario import load
    from armsim.studies.single import assess

    path = folder / "once.yaml"
    path.write_text(re.sub(r"reduction: 100\b", f"reduction: {reduction!r}", GATE), encoding="utf-8")
    return assess(load(path))


def bisected(folder, low, high, good_above, fine):
    while high - low > 5e-4 * high:
        middle = 0.5 * (low + high)
        low, high = (low, middle) if fine(assessed(middle, folder)) == good_above else (middle, high)
    return 0.5 * (low + high)


def test_both_ends_of_the_window_are_where_whole_runs_put_them(gate, tmp_path):
    (window,) = gate.windows
    assert window.low.binds == ("breaker_trips",)
    assert window.high.binds == ("lift_time",)
    low, high = window.low.number, window.high.number
    below = bisected(tmp_path, 0.95 * low, 1.05 * low, True, lambda a: a.verdict == "pass")
    above = bisected(tmp_path, 0.95 * high, 1.05 * high, False, lambda a: a.verdict == "pass")
    assert low == pytest.approx(below, rel=2e-3)
    assert high == pytest.approx(above, rel=2e-3)
    assert assessed(low, tmp_path).verdict == "pass"
    assert assessed(high, tmp_path).verdict == "pass"


def test_rows_say_what_a_whole_run_says(gate, tmp_path):
    row = next(row for row in gate.rows if row.feasible)
    whole = assessed(row.numbers[0], tmp_path)
    assert row.lift_time == pytest.approx(whole.lift.time, rel=1e-9)
    assert row.supply_current == pytest.approx(whole.run.peaks.supply_current.value, rel=1e-9)
    assert row.static_margin == pytest.approx(whole.lift.static_margin, rel=1e-12)
    assert row.exact


# ---------------------------------------------------------------------------------------------------------- the grid


def test_the_last_key_runs_fastest(tmp_path):
    made = template(tmp_path, GATE)
    points = grid(
        made.variations(["arm.payload.mass=2 kg,3 kg", "controller.when_off=shorted,open", "ambient=0 degC,9 degC"])
    )
    assert [texts for texts, _ in points] == [
        ("2 kg", "shorted", "0 degC"),
        ("2 kg", "shorted", "9 degC"),
        ("2 kg", "open", "0 degC"),
        ("2 kg", "open", "9 degC"),
        ("3 kg", "shorted", "0 degC"),
        ("3 kg", "shorted", "9 degC"),
        ("3 kg", "open", "0 degC"),
        ("3 kg", "open", "9 degC"),
    ]
    assert points[0][1] == (2.0, None, 0.0)


def test_more_workers_change_nothing(tmp_path):
    made = template(tmp_path, GATE)
    job = Job(template=made, keys=("arm.payload.mass",))
    points = grid(made.variations(["arm.payload.mass=2kg:3kg:3"]))
    heard = []
    assert run_rows(job, points, 2, heard.append) == run_rows(job, points, 1)
    assert heard[-1] == 3


def test_a_row_that_cannot_be_built_says_why_and_stops_no_other(tmp_path):
    found = swept(tmp_path, GATE, "moves.0.lift.to=50 deg,80 deg", "arm.stops.upper=70 deg,95 deg")
    assert [bool(row.failed) for row in found.rows] == [False, False, True, False]
    assert found.rows[2].failed == "80 deg is above the upper stop, 70 deg"
    assert all(row.reached for row in found.rows if not row.failed)


def test_listed_numbers_have_edges_at_the_rows_themselves(tmp_path):
    found = swept(tmp_path, GATE, "reduction=30,100,150")
    edge = next(edge for edge in found.edges if edge.condition == POSSIBLE)
    assert not edge.refined
    assert (edge.met, edge.missed) == (100.0, 30.0)
    assert {row.numbers[0] for row in (found.fastest, found.least_current)} <= {100.0, 150.0}


def test_values_from_above_give_the_same_window(tmp_path):
    risen = swept(tmp_path, GATE, "reduction=30,100,150")
    fallen = swept(tmp_path, GATE, "reduction=150,100,30")
    assert [row.numbers for row in fallen.rows] == [row.numbers for row in reversed(risen.rows)]
    assert fallen.windows == risen.windows
    assert [(w.low.number, w.high.number) for w in risen.windows] == [(100.0, 150.0)]
    assert "breaker_trips" in risen.windows[0].low.binds


def test_two_keys_get_the_line_where_it_just_no_longer_lifts(tmp_path):
    found = swept(tmp_path, GATE, "reduction=20:50:2", "arm.payload.mass=4kg:6kg:2")
    assert found.stall_line
    for reduction, mass in found.stall_line:
        lifts = {factor: _lifts(found, reduction * factor, mass) for factor in (0.97, 1.03)}
        assert lifts == {0.97: False, 1.03: True}


def _lifts(found, reduction, mass):
    made = Template(found.scenario.path)
    texts = (f"{reduction!r}", f"{mass!r} kg")
    (row,) = run_rows(Job(template=made, keys=found.keys), [(texts, (reduction, mass))])
    return row.reached


def test_a_scenario_without_a_lift_is_refused(tmp_path):
    text = GATE.replace("- lift: {to: 60 deg, patience: 0.1 s, within: 4 s}", "- hold: {for: 1 s}")
    with pytest.raises(SweepError, match="no lift"):
        swept(tmp_path, text, "arm.payload.mass=2kg:3kg:2")


# ------------------------------------------------------------------------------------------------- of several the best


def row(time, current):
    return Row(texts=(), numbers=(), lift_time=time, supply_current=current, reached=True, verdict="pass")


def test_undominated_rows_are_those_that_no_other_betters_in_both():
    rows = [row(2.0, 5.0), row(1.0, 9.0), row(1.5, 6.0), row(1.6, 6.0), row(3.0, 5.0), row(1.0, 10.0)]
    assert [(r.lift_time, r.supply_current) for r in undominated(rows)] == [(1.0, 9.0), (1.5, 6.0), (2.0, 5.0)]


def test_rows_that_failed_are_never_undominated():
    assert undominated([replace(row(1.0, 1.0), lift_time=None)]) == []


def test_a_template_is_read_from_a_file(tmp_path):
    assert template(tmp_path, GATE).file == Path(tmp_path / "mine.yaml")
