"""Combinations of a stock of twenty gears a second: searched, and run one by one. Compare the ratio, never seconds.

`python -m pytest -n 0 --benchmark-enable tests/benchmarks/test_choose.py`
"""

from pathlib import Path

import pytest

from armsim.dynamics.trajectory import simulate
from armsim.scenario.stock import Stock, loads_stock
from armsim.scenario.tasks import load_task
from armsim.scenario.variants import read_document
from armsim.studies.candidates import candidates
from armsim.studies.choice import Order
from armsim.studies.choose import choose
from armsim.studies.estimates import with_train
from armsim.studies.shelf import shelf_of

ROOT = Path(__file__).resolve().parents[2]
TIPPER = ROOT / "scenarios" / "crate-tipper.yaml"
TEETH = (14, 15, 16, 17, 18, 20, 22, 24, 26, 28, 30, 32, 36, 40, 44, 48, 54, 60, 66, 72)
GROUP = "combinations: searched, and run one by one"
LOOP = 20
MOTOR = (
    "motors: [{name: barrow motor, price: 118, mass: 2.9 kg, nominal_voltage: 24 V, no_load_speed: 3100 rpm, "
    "no_load_current: 2.2 A, stall_torque: 4.1 N*m, stall_current: 60 A, rotor_inertia: 3.8e-4 kg*m^2}]\n"
)


def gears(teeth: tuple[int, ...] = TEETH) -> Stock:
    """One motor, and gears of which any two mesh: of 20 come 400 + 400^2 + 400^3 trains."""
    wheels = ", ".join(f"{{teeth: {z}, price: {3 + 0.3 * z:.4g}, mass: {1.7e-4 * z * z:.4g} kg}}" for z in teeth)
    wheels = f"gears: [{{module: 2.5 mm, face_width: 30 mm, material: case-hardened-steel, teeth: [{wheels}]}}]\n"
    return loads_stock(f"title: twenty gears\n{MOTOR}{wheels}")


@pytest.mark.benchmark(group=GROUP)
@pytest.mark.parametrize("order", [Order.FASTEST, Order.CHEAPEST])
def test_sixty_four_million_searched(benchmark, order):
    teeth = (*TEETH[::-4], 14) if benchmark.disabled else TEETH  # as a plain test six gears will do
    task, document, stock = load_task(TIPPER), read_document(TIPPER), gears(teeth)
    pairs = len(teeth) ** 2
    found = benchmark.pedantic(choose, args=(task, document, stock, order), kwargs={"workers": 1}, rounds=1)
    benchmark.extra_info["combinations"] = found.counts.considered
    assert found.counts.considered == pairs + pairs**2 + pairs**3
    assert found.counts.complete
    assert found.top


@pytest.mark.benchmark(group=GROUP)
def test_one_by_one(benchmark):
    task, stock = load_task(TIPPER), gears()
    (motor,), _ = candidates(task, stock)
    choices = shelf_of(stock).choices
    trains = [tuple(choices[k * j % len(choices)].stage for j in (7, 11, 13)) for k in range(1, LOOP + 1)]
    machines = [with_train(motor.question.machine, train) for train in trains]
    runs = benchmark.pedantic(lambda: [simulate(one, motor.question.plan) for one in machines], rounds=1)
    benchmark.extra_info["combinations"] = LOOP
    assert len(runs) == LOOP
