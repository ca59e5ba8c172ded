import math
from dataclasses import replace
from itertools import product

import numpy as np
import pytest

from armsim.studies import combinations as c

NAN = math.nan


def stages(reductions: list[float], **changes: object) -> c.Stages:
    """Stages without loss, each of a part of its own of which there are plenty."""
    count = len(reductions)
    plain = c.Stages(
        reduction=np.array(reductions),
        efficiency=np.ones(count),
        input_inertia=np.zeros(count),
        output_inertia=np.zeros(count),
        price=np.arange(1.0, count + 1.0),
        mass=np.ones(count),
        rated=np.full(count, np.inf),
        even=np.ones(count, dtype=bool),
        centres=np.full(count, NAN),
        driver_tip=np.full(count, NAN),
        driven_tip=np.full(count, NAN),
        uses=np.zeros((count, 0), dtype=np.int64),
        available=np.zeros(0, dtype=np.int64),
    )
    return replace(plain, **changes)  # type: ignore[arg-type]


def reach(**changes: float) -> c.Reach:
    return replace(c.Reach(torque=1.0, least_gain=0.0, most_reduction=math.inf, price=10.0, mass=1.0), **changes)


def everything(
    some: c.Stages, reaches: list[c.Reach], depth: int, **how: str
) -> tuple[set[tuple[int, tuple[int, ...]]], c.Tally]:
    tally = c.Tally()
    rows = set()
    for found in c.combined(some, reaches, depth, tally, **how):
        rows |= {(found.motor, tuple(row)) for row in found.at.tolist()}
    return rows, tally


@pytest.mark.parametrize("depth", [1, 2, 3])
def test_without_rules_there_is_every_train_for_every_motor(depth: int) -> None:
    rows, tally = everything(stages([2.0, 3.0, 5.0]), [reach(), reach()], depth)
    assert tally.considered == tally.left == 2 * 3**depth
    assert rows == {(m, at) for m in (0, 1) for at in product(range(3), repeat=depth)}


def test_a_part_of_which_there_is_one_is_in_no_train_twice() -> None:
    # part 0 is in stages 0 and 1: of 27 trains those with none or one of the two are 1 + 3 * 2
    uses = np.array([[1], [1], [0]])
    rows, tally = everything(stages([2.0, 3.0, 5.0], uses=uses, available=np.array([1])), [reach()], 3)
    assert len(rows) == 1 + 3 * 2
    assert tally.stopped == {c.TOO_FEW: 27 - 7}


def test_scarce_parts_are_counted_as_one_by_one() -> None:
    rng = np.random.default_rng(1)
    uses, available = rng.integers(0, 3, (6, 3)), np.array([2, 3, 4])
    rows, _ = everything(stages([2.0] * 6, uses=uses, available=available), [reach()], 3)
    expected = {at for at in product(range(6), repeat=3) if (uses[list(at)].sum(axis=0) <= available).all()}
    assert {at for _, at in rows} == expected


def test_a_window_of_reductions_is_kept_on_both_sides() -> None:
    rows, tally = everything(stages([2.0, 3.0, 5.0]), [reach(least_gain=6.0, most_reduction=15.0)], 2)
    # 4 6 10 / 6 9 15 / 10 15 25: one is too weak, one too slow
    assert len(rows) == 7
    assert tally.stopped == {c.TOO_WEAK: 1, c.TOO_SLOW: 1}


def test_a_rating_is_passed_by_the_torque_that_comes_through_what_is_before() -> None:
    # rated 12 N*m behind a reduction of 5: by itself 2 x 5 = 10 N*m, behind any other more
    some = stages([2.0, 5.0], rated=np.array([np.inf, 12.0]))
    rows, tally = everything(some, [reach(torque=2.0)], 2)
    assert {at for _, at in rows} == {(0, 0), (1, 0)}
    assert tally.stopped == {c.RATED: 2}


def test_wheels_keep_out_of_the_next_shaft() -> None:
    # stage 0: centres 50 mm, wheel of 45 mm radius; stage 1: centres 40 mm, wheel of 20 mm
    some = stages(
        [3.0, 2.0],
        centres=np.array([50e-3, 40e-3]),
        driver_tip=np.array([10e-3, 15e-3]),
        driven_tip=np.array([45e-3, 20e-3]),
    )
    rows, tally = everything(some, [reach()], 2)
    assert {at for _, at in rows} == {(0, 0), (1, 0), (1, 1)}  # 40 mm behind a wheel of 45 does not go
    assert tally.stopped == {c.IN_THE_WAY: 1}


def test_a_shaft_before_lies_in_the_way_of_a_large_driver_unless_it_is_the_motors() -> None:
    # centres 30 mm and a driver of 35 mm radius behind it: only the first shaft may end before the wheel
    some = stages(
        [3.0, 2.0],
        centres=np.array([30e-3, 90e-3]),
        driver_tip=np.array([8e-3, 35e-3]),
        driven_tip=np.array([24e-3, 60e-3]),
    )
    assert (0, (0, 1)) in everything(some, [reach()], 2)[0]
    assert (0, (0, 0, 1)) not in everything(some, [reach()], 3)[0]


def test_what_is_not_priced_is_left_out_only_where_price_is_wanted() -> None:
    some = stages([2.0, 3.0], price=np.array([1.0, NAN]))
    assert len(everything(some, [reach()], 2)[0]) == 4
    rows, tally = everything(some, [reach()], 2, wanted="price")
    assert {at for _, at in rows} == {(0, 0)}
    assert tally.stopped == {c.UNTOLD: 3}


def test_inertia_comes_onto_the_first_shaft_over_the_squares_of_reductions() -> None:
    # 0.1 on the motor's shaft; 0.2 + 0.1 behind 2:1 at 0.8; 0.2 behind 2 x 2 at 0.8 each
    some = stages([2.0], efficiency=np.array([0.8]), input_inertia=np.array([0.1]), output_inertia=np.array([0.2]))
    (found,) = c.combined(some, [reach()], 2, c.Tally())
    assert found.inertia[0] == pytest.approx(0.1 + 0.3 / (4 * 0.8) + 0.2 / (16 * 0.64))
    assert found.efficiency[0] == pytest.approx(0.64)
    assert found.price[0] == 10.0 + 1.0 + 1.0


def test_numbers_lead_back_to_their_combination() -> None:
    some = stages([2.0] * 7)
    for depth in (1, 2, 3):
        for found in c.combined(some, [reach(), reach()], depth, c.Tally()):
            for number, row in zip(c.number_of(found, 7).tolist(), found.at.tolist(), strict=True):
                assert c.places_of(number, 7) == (found.motor, tuple(row))
