"""A sweep against closed forms and against bisection by runs of our own."""

import math
import pickle
import re
from dataclasses import replace
from pathlib import Path

import pytest

from armsim.scenario import load
from armsim.scenario.varied import Template
from armsim.studies.single import assess, verdict_of
from armsim.studies.sweep import judged, sweep, undominated
from armsim.studies.sweep_job import SweepError, exactly, job_of, rows_evaluated
from armsim.studies.sweep_rows import CONDITIONS, ORDER, POSSIBLE, STALL, Point, Row, rows_of
from tests.studies.sweeps import CAPSTAN, GATE

SCENARIOS = Path(__file__).resolve().parents[2] / "scenarios"
TIPPER = SCENARIOS / "crate-tipper.yaml"


def template(folder, text):
    path = folder / "mine.yaml"
    path.write_text(text, encoding="utf-8")
    return Template(path)


def swept(folder, text, *options):
    made = template(folder, text)
    return sweep(made, made.variations(options))


def job(file, *options):
    made = Template(file)
    return job_of(made, made.variations(options))


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


def gate_with(reduction, folder):
    """The same scenario with the reduction written into the file's gearbox."""
    path = folder / "once.yaml"
    path.write_text(re.sub(r"reduction: 100\b", f"reduction: {reduction!r}", GATE), encoding="utf-8")
    return load(path)


def test_both_ends_of_the_window_are_where_whole_runs_put_them(gate, tmp_path):
    (window,) = gate.windows
    assert window.low.binds == ("breaker_trips",)
    assert window.high.binds == ("lift_time",)
    low, high = window.low.number, window.high.number
    scenarios = [gate_with(number, tmp_path) for number in (0.998 * low, low, high, 1.002 * high)]
    verdicts = [verdict_of(one.machine, one.plan, one.requirements)[0] for one in scenarios]
    assert verdicts == ["fail", "pass", "pass", "fail"]


def test_rows_say_what_a_whole_run_says(gate, tmp_path):
    row = gate.fastest
    whole = assess(gate_with(row.numbers[0], tmp_path))
    assert row.lift_time == pytest.approx(whole.lift.time, rel=1e-9)
    assert row.supply_current == pytest.approx(whole.run.peaks.supply_current.value, rel=1e-9)
    assert row.static_margin == pytest.approx(whole.lift.static_margin, rel=1e-12)
    assert row.exact


# ----------------------------------------------------------------------------------- many rows against each alone

#: what rows of many at once may be off by, of the value
NEAR = {"lift_time": 1e-4} | dict.fromkeys(
    ("motor_current", "supply_current", "supply_rms", "energy", "bus_voltage", "speed", "winding", "heat_peak"), 1e-3
)


def test_sixty_rows_at_once_are_what_each_is_by_the_exact_run():
    asked = job(TIPPER, "reduction=30:250:10", "arm.payload.mass=4kg:28kg:6")
    points = asked.points(0, 60)
    many, each = asked.rows(points), rows_of(points, asked.columns(points, exactly))
    assert sum(row.exact for row in many) < 6
    assert 6 < sum(not row.reached for row in each) < 30
    for row, alone in zip(many, each, strict=True):
        assert (row.texts, row.missed, row.verdict, row.trips) == (
            alone.texts, alone.missed, alone.verdict, alone.trips,
        )  # fmt: skip
        assert row.static_margin == pytest.approx(alone.static_margin, rel=1e-9)
        for name, share in NEAR.items():
            assert (getattr(row, name) is None) == (getattr(alone, name) is None)
            if getattr(alone, name) is not None:
                assert getattr(row, name) == pytest.approx(getattr(alone, name), rel=share), (row.texts, name)
        assert row.margins == pytest.approx(alone.margins, abs=2e-3)
    assert set().union(*(row.missed for row in each)) <= set(CONDITIONS)


def test_a_key_that_is_built_anew_gives_what_its_text_gives():
    """Words, teeth, a measured length and a requirement together, against the text of each read by itself."""
    keys = (
        "controller.when_off=shorted,open",
        "transmission.1.gears.driver=12,14",
        "requirements.lift_time.max=1 s,2 s",
    )
    asked = job(TIPPER, *keys, "arm.length=0.55m:0.65m:2", "arm.payload.mass=6kg:14kg:2")
    points = asked.points(0, asked.count)[::5]
    for point, row in zip(points, asked.rows(points), strict=True):
        scenario = asked.template.scenario(dict(zip(asked.keys, point.texts, strict=True)))
        _, requirements, lift = judged_alone(scenario)
        assert row.lift_time == pytest.approx(lift.time, rel=1e-4)
        assert row.static_margin == pytest.approx(lift.static_margin, rel=1e-9)
        assert {name for name in row.missed if name not in ORDER} == {one.name for one in requirements if not one.met}


def judged_alone(scenario):
    """Verdict, requirements and lift of a scenario's first move by itself."""
    plan = replace(scenario.plan, moves=scenario.plan.moves[:1], repeat=1)
    return verdict_of(scenario.machine, plan, scenario.requirements)


def test_a_number_of_the_machine_is_put_in_without_reading_and_gives_the_same(monkeypatch):
    asked = job(TIPPER, "arm.length=0.55m:0.65m:2", "supply.battery.internal_resistance=20mohm:60mohm:2")
    points = asked.points(0, 4)
    read = [asked.template.scenario(dict(zip(asked.keys, point.texts, strict=True))) for point in points]
    monkeypatch.setattr(Template, "scenario", lambda *rest: pytest.fail("read anew"))
    for row, scenario in zip(asked.rows(points), read, strict=True):
        assert row.lift_time == pytest.approx(judged_alone(scenario)[2].time, rel=1e-4)


def test_a_value_in_the_file_still_turns_out_as_built(tmp_path):
    made = template(tmp_path, TIPPER.read_text(encoding="utf-8") + "as_built: {friction: 300 %}\n")
    asked = job_of(made, made.variations(["arm.pivot_friction.viscous=1 N*m*s/rad,2 N*m*s/rad"]))
    points = asked.points(0, 2)
    for point, row in zip(points, asked.rows(points), strict=True):
        text = made.scenario(dict(zip(asked.keys, point.texts, strict=True)))
        assert text.machine.arm.friction.viscous == pytest.approx(3.0 * point.numbers[0])
        assert row.lift_time == pytest.approx(judged_alone(text)[2].time, rel=1e-4)


def test_what_cannot_be_followed_at_once_is_run_exactly_and_says_so(tmp_path):
    text = CAPSTAN.replace("rotor_inertia", "brush_drop: 0.5 V\n  rotor_inertia")
    found = swept(tmp_path, text, "reduction=20,30")
    assert [row.exact for row in found.rows] == [True, True]
    assert all(row.reached for row in found.rows)


def test_rows_come_out_alike_in_another_process():
    asked = job(TIPPER, "arm.length=0.55m:0.65m:2", "reduction=100,110")
    again = pickle.loads(pickle.dumps(asked))
    here, there = (rows_evaluated(one, (1, 3)) for one in (asked, again))
    for name, column in here.items():
        assert column.tobytes() == there[name].tobytes()


def test_rows_that_never_came_say_why():
    asked = job(TIPPER, "arm.payload.mass=6 kg,8 kg,10 kg,12 kg,14 kg", "reduction=100,110")
    found = judged(asked, [(2, rows_evaluated(asked, (2, 6)))], {0: "the chunk was given up"})
    assert [row.failed for row in found.rows] == ["the chunk was given up"] * 2 + [""] * 4 + [
        "its process was ended"
    ] * 4
    assert [row.texts for row in found.rows] == [point.texts for point in asked.points(0, 10)]


def test_numbers_of_a_unit_with_another_zero_are_spaced_as_typed():
    (variation,) = Template(TIPPER).variations(["ambient=32 degF:128 degF:3:log"])
    assert variation.numbers == pytest.approx((32.0, 64.0, 128.0))
    assert variation.values == pytest.approx((0.0, 32.0 * 5 / 9, 96.0 * 5 / 9))
    assert variation.value_of("50 degF", 50.0) == pytest.approx(10.0)


# ---------------------------------------------------------------------------------------------------------- the grid


def test_the_last_key_runs_fastest(tmp_path):
    made = template(tmp_path, GATE)
    keys = ("arm.payload.mass=2 kg,3 kg", "controller.when_off=shorted,open", "ambient=0 degC,9 degC")
    points = job_of(made, made.variations(keys)).points(0, 8)
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
    texts = (f"{reduction!r}", f"{mass!r} kg")
    made = job_of(Template(found.scenario.path), found.variations)
    return made.exact(Point(texts, (reduction, mass))).reached


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
