"""Which of two devices opens first: single-pole edges have closed-form times."""

import math
from dataclasses import replace

import pytest

from armsim.checks.selectivity import fault_current, first_to_open, selectivity_findings, uncertain_span
from armsim.parts.battery import constant_source
from armsim.parts.protection import Edge, Protection

from .machines import machine


def device(rating: float, early: float, late: float) -> Protection:
    """Both edges of one pole that opens above 1.2 times the rating."""
    edges = [Edge(weights=(1.0,), time_constants=(tau,), ultimate_multiple=1.2) for tau in (early, late)]
    return Protection(kind="thermal", rating=rating, earliest=edges[0], latest=edges[1])


BRANCH = device(10.0, 5.0, 20.0)


def test_the_same_device_twice_is_never_told_apart() -> None:
    assert first_to_open(BRANCH, BRANCH, 30.0) == 0
    assert first_to_open(BRANCH, BRANCH, 11.0) is None


def test_a_much_larger_main_opens_after_its_branch() -> None:
    main = device(100.0, 5.0, 20.0)
    assert first_to_open(BRANCH, main, 60.0) == -1
    assert first_to_open(main, BRANCH, 60.0) == 1
    # far above both, times go with tau (m_u/m)^2: 20 (12/I)^2 against 5 (120/I)^2
    assert first_to_open(BRANCH, main, 1000.0) == -1
    assert uncertain_span(BRANCH, main, 2000.0) is None


def test_the_overlap_of_two_bands_begins_where_the_closed_form_says() -> None:
    """From I with tau_l ln(I^2/(I^2 - 12^2)) = tau_e ln(I^2/(I^2 - 18^2)) on; below it the small one is first."""
    main = device(15.0, 5.0, 20.0)

    def gap(current: float) -> float:
        square = current * current
        return 20.0 * math.log(square / (square - 144.0)) - 5.0 * math.log(square / (square - 324.0))

    low, high = 18.0 * (1.0 + 1e-9), 200.0
    assert gap(low) < 0.0 < gap(high)
    while high - low > 1e-9:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if gap(middle) < 0.0 else (low, middle)
    span = uncertain_span(BRANCH, main, 400.0)
    assert span is not None
    assert span[0] == pytest.approx(low, rel=0.02)
    assert span[1] == pytest.approx(400.0, rel=1e-6)
    assert first_to_open(BRANCH, main, 0.99 * low) == -1
    assert first_to_open(BRANCH, main, 1.01 * low) == 0


def test_fault_current_is_what_source_and_wires_let_through() -> None:
    assert fault_current(machine()) == pytest.approx(12.56 / 0.024)
    bare = machine(battery=constant_source(12.0, 0.0), wiring=())
    assert math.isinf(fault_current(bare))


def test_what_is_found_is_said_for_each_pair() -> None:
    sure = machine(protection=(BRANCH, device(100.0, 5.0, 20.0)))
    (found,) = selectivity_findings(sure)
    assert "certain at every current" in found.text
    alike = machine(protection=(BRANCH, replace(BRANCH, rating=11.0)))
    (found,) = selectivity_findings(alike)
    assert "either may open first" in found.text
    assert not list(selectivity_findings(machine(protection=(BRANCH,))))
