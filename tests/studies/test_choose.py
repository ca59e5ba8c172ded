import math
from collections import Counter
from itertools import product
from pathlib import Path

import numpy as np
import pytest

from armsim.checks.fit import judge_fit
from armsim.checks.judged_parts import Fit, Loads
from armsim.checks.strength import RULES
from armsim.scenario import load
from armsim.scenario.stock import loads_stock
from armsim.scenario.tasks import load_task
from armsim.scenario.variants import read_document
from armsim.studies.candidates import NoChoice, candidates
from armsim.studies.choice import Choosing, Order
from armsim.studies.choose import choose
from armsim.studies.chosen import scenario_with, what_stands_against
from armsim.studies.estimates import with_train
from armsim.studies.many import evaluate
from armsim.studies.shelf import Choice, shelf_of
from armsim.studies.single import assess
from tests.studies.stocks import STOCK, TASK, written


def chosen(folder: Path, order: Order, stock: str = STOCK, task: str = TASK, **how: int) -> Choosing:
    path, _ = written(folder, task, stock)
    return choose(load_task(path), read_document(path), loads_stock(stock), order, **how)


class Brute:
    """Every combination by a loop of its own: fitting rules asked one by one, everything that fits simulated."""

    def __init__(self, folder: Path, stock: str, depth: int, task: str = TASK) -> None:
        self.path, _ = written(folder, task, stock)
        self.stock, self.task = loads_stock(stock), load_task(self.path)
        self.choices = shelf_of(self.stock).choices
        self.motors, _ = candidates(self.task, self.stock)
        self.rows: list[tuple[str, dict[str, float], float, float, int, int, tuple[Choice, ...]]] = []
        for k in range(len(self.motors)):
            for stages in range(1, depth + 1):
                trains = [t for t in product(self.choices, repeat=stages) if self.fits(k, t)]
                self.follow(k, trains)

    def fits(self, motor: int, train: tuple[Choice, ...]) -> bool:
        one = self.motors[motor]
        counts = Counter(item.key for choice in train for item in choice.items)
        items = {item.key: item for choice in train for item in choice.items}
        if any(item.available is not None and counts[key] > item.available for key, item in items.items()):
            return False
        machine = with_train(one.question.machine, tuple(choice.stage for choice in train))
        if any(row.fit in (Fit.WRONG, Fit.NEAR_MISS) for row in judge_fit(machine)):
            return False
        torque = one.reach.torque
        for choice in train:
            stage = choice.stage
            driver = torque
            torque *= stage.reduction * stage.law.running(1e4, 0)[0]
            if choice.rated_torque is not None and torque > choice.rated_torque:
                return False
            rules = RULES.get(type(stage.hardware)) if stage.hardware else None
            load = Loads(case="stall", output_torque=torque, driver_torque=driver)
            if rules and any(row.safety < 1.0 and not row.lasting for row in rules(stage, stage.hardware, load)):
                return False
        return True

    def follow(self, motor: int, trains: list[tuple[Choice, ...]]) -> None:
        one = self.motors[motor]
        for even in (True, False):
            part = [t for t in trains if all(c.stage.kind != "worm" for c in t) == even]
            for train in part:  # by itself: nothing is shared with what is tested
                machine = with_train(one.question.machine, tuple(choice.stage for choice in train))
                columns = {k: float(v[0]) for k, v in evaluate(one.question, machines=[machine]).items()}
                price = (one.motor.price or 0.0) + sum(choice.price or 0.0 for choice in train)
                mass = (one.motor.mass or 0.0) + sum(choice.mass or 0.0 for choice in train)
                name = "; ".join([one.motor.name, *(choice.name for choice in train)])
                self.rows.append((name, columns, price, mass, len(train), motor, train))

    def first(self, order: Order, count: int = 10) -> list[tuple[str, float]]:
        def key(row: tuple[str, dict[str, float], float, float, int, int, tuple[Choice, ...]]) -> tuple[float, ...]:
            _, columns, price, mass, stages, *_ = row
            time, current = columns["lift_time"], columns["supply_current"]
            return {
                Order.FASTEST: (time, price),
                Order.CHEAPEST: (round(price, 6), time),
                Order.LIGHTEST: (round(mass, 9), time),
                Order.SIMPLEST: (stages, round(price, 6), time),
                Order.LEAST_CURRENT: (current, price),
            }[order]

        passing = sorted((row for row in self.rows if row[1]["verdict"] == 1.0), key=key)
        best: list[tuple[str, float]] = []
        for row in passing:
            scenario = scenario_with(read_document(self.path), self.task, self.motors[row[5]].motor, row[6])
            if not what_stands_against(assess(scenario)):
                best.append((row[0], key(row)[0]))
            if len(best) == count:
                break
        return best


@pytest.fixture(scope="module")
def brute(tmp_path_factory: pytest.TempPathFactory) -> Brute:
    return Brute(tmp_path_factory.mktemp("brute"), STOCK, 2)


@pytest.mark.parametrize("order", list(Order))
def test_the_best_are_those_of_brute_force(brute: Brute, tmp_path: Path, order: Order) -> None:
    expected = brute.first(order, 10)
    assert len(expected) == 10
    found = chosen(tmp_path, order, stages=2, top=10)
    assert found.counts.complete
    assert [one.name for one in found.top] == [name for name, _ in expected]


def test_bounds_change_nothing_but_how_much_is_simulated(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for order in (Order.FASTEST, Order.LEAST_CURRENT):
        free = chosen(tmp_path, order, stages=3, top=3)
        monkeypatch.setattr("armsim.studies.best_first.GRID_WORTH", 1)
        bounded = chosen(tmp_path, order, stages=3, top=3)
        monkeypatch.undo()
        assert [one.name for one in bounded.top] == [one.name for one in free.top]
        assert bounded.counts.complete
        assert bounded.counts.gridded > 0


def test_what_is_counted_adds_up(tmp_path: Path) -> None:
    counts = chosen(tmp_path, Order.CHEAPEST, stages=2, top=3).counts
    assert counts.considered == 2 * (38 + 38**2)  # two motors, 36 pairs of gears, a worm and a box
    assert counts.considered == sum(counts.stopped.values()) + counts.left
    assert counts.passed <= counts.simulated <= counts.left
    assert counts.different <= counts.simulated


def test_trains_that_move_alike_are_followed_once(tmp_path: Path) -> None:
    # boxes without inertia on a shaft between them: 2 x 3 moves as 3 x 2
    boxes = "".join(f"  - {{name: box {n}, reduction: {n}, efficiency: 0.9, price: {n}}}\n" for n in (5, 6, 7))
    stock = STOCK[: STOCK.index("gears:")] + "gearboxes:\n" + boxes
    counts = chosen(tmp_path, Order.FASTEST, stock, stages=2, top=3).counts
    assert counts.different < counts.simulated


def test_every_rung_has_the_first_ones_motor_and_the_nearest_reduction(tmp_path: Path) -> None:
    found = chosen(tmp_path, Order.CHEAPEST, stages=2, top=2)
    first = found.top[0]
    assert [len(one.choices) for one in found.ladder] == [1, 2]
    for one in found.ladder:
        assert one.motor is first.motor
        reductions = {c.stage.reduction for c in shelf_of(loads_stock(STOCK)).choices}
        if len(one.choices) == 1:
            nearest = min(reductions, key=lambda n: abs(math.log(n / first.reduction)))
            assert one.choices[0].stage.reduction == pytest.approx(nearest)


def test_nothing_that_none_beats_is_beaten_by_another(tmp_path: Path) -> None:
    found = chosen(tmp_path, Order.FASTEST, stages=2, top=2)
    costs = [(one.lift_time, one.price or 0.0, one.supply_current) for one in found.unbeaten]
    assert costs
    for a in costs:
        assert not any(b != a and all(x <= y for x, y in zip(b, a, strict=True)) for b in costs)


def test_where_none_passes_it_says_what_stops_most_and_what_comes_nearest(tmp_path: Path) -> None:
    task = TASK.replace("{max: 28 A}", "{max: 3 A}")
    found = chosen(tmp_path, Order.FASTEST, task=task, stages=2)
    assert not found.top
    assert found.nearest is not None
    assert "supply_current" in found.nearest.stands_against
    assert found.nearest_misses == "supply_current"
    assert found.counts.missed["supply_current"] == found.counts.simulated


def test_a_file_without_a_lift_or_a_stock_without_stages_is_refused(tmp_path: Path) -> None:
    with pytest.raises(NoChoice, match="no lift"):
        chosen(tmp_path, Order.FASTEST, task=TASK.replace("lift: {to: 60 deg}", "rest: {for: 1 s}"))
    with pytest.raises(NoChoice, match="no stages"):
        chosen(tmp_path, Order.FASTEST, STOCK[: STOCK.index("gears:")])


def test_what_a_whole_file_has_is_set_beside_the_best(tmp_path: Path) -> None:
    motor = "motor: {nominal_voltage: 24 V, no_load_speed: 2800 rpm, no_load_current: 1.4 A, stall_torque: 2 N*m, "
    own = motor + "stall_current: 28 A}\ntransmission: [{gearbox: {reduction: 60, efficiency: 0.75}}]\n"
    found = chosen(tmp_path, Order.SIMPLEST, task=TASK + own, stages=1, top=1)
    path = tmp_path / "whole.yaml"
    path.write_text(TASK + own)
    assert found.today is not None
    assert found.today.lift_time == pytest.approx(assess(load(path)).lift.time)
    assert chosen(tmp_path, Order.SIMPLEST, stages=1, top=1).today is None


def test_an_interruption_leaves_what_was_finished(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from armsim.studies import best_first as search

    real, calls = search.Search.confirmed, []

    def interrupted(self: search.Search, number: int) -> object:
        calls.append(number)
        if len(calls) == 3:
            raise KeyboardInterrupt
        return real(self, number)

    monkeypatch.setattr(search.Search, "confirmed", interrupted)
    found = chosen(tmp_path, Order.CHEAPEST, stages=2)
    assert found.interrupted
    assert len(found.top) == 2
    assert not found.counts.complete


def test_other_processes_give_what_one_gives(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    alone = chosen(tmp_path, Order.FASTEST, stages=2, top=3, workers=1)
    monkeypatch.setattr("armsim.studies.trials.OTHERS_AFTER", 0)
    monkeypatch.setattr("armsim.studies.trials.SHARE", 4)
    shared = chosen(tmp_path, Order.FASTEST, stages=2, top=3, workers=2)
    assert [one.name for one in shared.top] == [one.name for one in alone.top]
    assert shared.counts == alone.counts
    assert np.array_equal(shared.table.lift_time, alone.table.lift_time, equal_nan=True)


def test_a_carriage_keeps_its_own_last_stage(tmp_path: Path) -> None:
    task = TASK[TASK.index("supply:") : TASK.index("arm:")] + (
        "title: tray\ncarriage: {mass: 3 kg, payload: {mass: 6 kg}, incline: 90 deg, "
        "stops: {lower: 0 mm, upper: 900 mm}}\n"
        "start: 0 mm\nmoves: [{lift: {to: 600 mm}}]\nrequirements: {lift_time: {max: 3 s}}\n"
        "transmission: [{rack: {pinion: 20, module: 2 mm}}]\n"
    )
    found = chosen(tmp_path, Order.FASTEST, task=task, stages=2, top=1)
    first = found.top[0]
    scenario = scenario_with(
        read_document(tmp_path / "task.yaml"), load_task(tmp_path / "task.yaml"), first.motor, first.choices
    )
    assert scenario.machine.stages[-1].kind == "rack"
    assert assess(scenario).lift.time == first.lift_time


def test_without_a_supply_each_motor_has_its_own_voltage(tmp_path: Path) -> None:
    task = "title: hatch\n" + TASK[TASK.index("arm:") :]
    found = chosen(tmp_path, Order.FASTEST, task=task, stages=2, top=1)
    first = found.top[0]
    scenario = scenario_with(
        read_document(tmp_path / "task.yaml"), load_task(tmp_path / "task.yaml"), first.motor, first.choices
    )
    assert scenario.machine.highest_voltage == 24.0


def test_an_interruption_before_anything_is_followed_leaves_no_best(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def interrupted(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("armsim.studies.best_first.GRID_WORTH", 1)
    monkeypatch.setattr("armsim.studies.best_first.grid_of", interrupted)
    found = chosen(tmp_path, Order.FASTEST, stages=2)
    assert found.interrupted
    assert not found.top
    assert found.counts.considered == 2 * (38 + 38**2)
