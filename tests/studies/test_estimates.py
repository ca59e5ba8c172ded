from dataclasses import replace
from math import inf
from pathlib import Path

import numpy as np
import pytest

from armsim.scenario.stock import loads_stock
from armsim.scenario.tasks import load_task
from armsim.scenario.variants import read_document
from armsim.studies import best_first as search
from armsim.studies.candidates import candidates, stages_of
from armsim.studies.chosen import Confirm
from armsim.studies.combinations import Tally, combined, number_of, some
from armsim.studies.estimates import between
from armsim.studies.shelf import shelf_of
from armsim.studies.trials import Trials
from tests.studies.stocks import STOCK, STRICT, TASK, random_stock, written

SOME = 600  #: of a motor's trains, by chance


def searching(folder: Path, stock: str, monkeypatch: pytest.MonkeyPatch, wanted: str = TASK) -> search.Search:
    """A search with a grid for every motor."""
    monkeypatch.setattr(search, "GRID_WORTH", 1)
    path, _ = written(folder, wanted, stock)
    task, shelf = load_task(path), shelf_of(loads_stock(stock))
    motors, _ = candidates(task, loads_stock(stock))
    return search.Search(
        order=search.Order.FASTEST,
        motors=motors,
        shelf=shelf,
        stages=stages_of(shelf.choices),
        depth=2,
        trials=Trials(candidates=motors, choices=shelf.choices),
        confirm=Confirm(task=task, document=read_document(path)),
        told=str,
    )


@pytest.mark.parametrize("task", [TASK, STRICT], ids=["two requirements", "seven"])
def test_bounds_stop_nothing_that_passes_and_lie_below_what_comes(
    task: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    passed = stopped = 0
    for stock in (STOCK, *map(random_stock, range(3))):
        one = searching(tmp_path, stock, monkeypatch, task)
        one.survey(Tally())
        for found in one.found(Tally()):
            numbers = number_of(found, len(one.stages))
            columns = one.trials.columns(numbers)
            left, time, _ = one.bound(found, count=False)
            kept = np.isin(numbers, number_of(left, len(one.stages)))
            passes = columns["verdict"] == 1.0
            passed, stopped = passed + int(passes.sum()), stopped + int((~kept).sum())
            assert kept[passes].all()
            assert (time <= columns["lift_time"][kept])[passes[kept]].all()
            near = between(one.grids[found.motor], found.reduction, found.efficiency, found.inertia)
            assert (near.least("supply_current") <= columns["supply_current"])[passes].all()
    assert passed > 20
    assert stopped > 20


def test_rules_stop_nothing_that_passes(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    # every train of two stages, whatever torque and speed say, against what the rules leave
    total, chance = 0, np.random.default_rng(7)
    for seed in range(1, 3):
        one = searching(tmp_path, random_stock(seed), monkeypatch)
        left = {int(n) for found in one.found(Tally()) for n in number_of(found, len(one.stages))}
        for k, motor in enumerate(one.motors):
            free = replace(motor.reach, least_gain=0.0, most_reduction=inf)
            reaches = [free if j == k else replace(free, least_gain=inf) for j in range(len(one.motors))]
            for depth in (1, 2):
                for found in combined(one.stages, reaches, depth, Tally()):
                    numbers = number_of(some(found, chance.permutation(len(found))[:SOME]), len(one.stages))
                    passes = one.trials.columns(numbers)["verdict"] == 1.0
                    total += int(passes.sum())
                    assert {int(n) for n in numbers[passes]} <= left
    assert total > 5


def test_a_grid_tells_of_its_points_within_the_allowance_where_neighbours_lie_close(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    one = searching(tmp_path, STOCK, monkeypatch)
    one.survey(Tally())
    grid = one.grids[1]
    here = [np.array([np.exp(grid.axes[0][-1])]), np.array([np.exp(grid.axes[1][-1])]), np.array([0.0])]
    speed = grid.values["bus_voltage"][-1, -1, 0]
    near = between(grid, *here)
    assert near.least("bus_voltage")[0] == pytest.approx(0.98 * speed, rel=1e-6)
    assert near.most("bus_voltage")[0] == pytest.approx(1.02 * speed, rel=1e-6)


def test_beside_a_stall_the_best_neighbour_counts(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    one = searching(tmp_path, STOCK, monkeypatch)
    one.survey(Tally())
    grid, name = one.grids[1], "lift_time"
    values = grid.values[name][:, :, 0]
    k = int(np.flatnonzero(np.isnan(values[:-1, 0]) & np.isfinite(values[1:, 1]))[0])
    half = [np.array([np.exp(axis[at : at + 2].mean())]) for axis, at in zip(grid.axes[:2], (k, 0), strict=True)]
    least = between(grid, *half, np.array([0.0])).least(name)[0]
    assert least == pytest.approx(0.9 * np.nanmin(values[k : k + 2, :2]))
