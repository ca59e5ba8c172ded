"""Wire against protection: one-pole edges and the adiabatic law, both in closed form."""

import math

import pytest

from armsim.checks.wires import largest_fault, wire_findings, with_area, worst_fault
from armsim.parts.protection import Edge, Protection
from armsim.parts.wiring import Run, adiabatic_constant

from .machines import machine


def device(rating: float, latest: float) -> Protection:
    edges = [Edge(weights=(1.0,), time_constants=(tau,), ultimate_multiple=1.2) for tau in (0.1 * latest, latest)]
    return Protection(kind="thermal", rating=rating, earliest=edges[0], latest=edges[1])


def wired(area: float, *devices: Protection):
    return machine(wiring=(Run(resistance=0.010, area=area),), protection=devices)


def test_the_worst_fault_is_where_both_laws_say() -> None:
    """From I at which the wire stands 5 s up to the short circuit, 523 A; the ratio of both times by hand."""
    area = 2e-6
    m = wired(area, device(20.0, 60.0))
    worst = worst_fault(m)
    k = adiabatic_constant()

    def ratio(current: float) -> float:
        square = (current / 20.0) ** 2
        return 60.0 * math.log(square / (square - 1.44)) / (k * area / current) ** 2

    least, most = k * area / math.sqrt(5.0), 12.56 / 0.024
    assert worst is not None
    assert worst.opens / worst.stands == pytest.approx(max(ratio(least), ratio(most)), rel=1e-6)


def test_a_thin_wire_behind_a_slow_device_is_warned_of_with_the_area_that_would_do() -> None:
    thin = wired(1.5e-6, device(20.0, 60.0))
    (found,) = wire_findings(thin)
    assert found.code == "wire-unprotected"
    needed = float(found.mend.split()[3]) * 1e-6
    assert not list(wire_findings(with_area(thin, 0, needed)))
    assert list(wire_findings(with_area(thin, 0, 0.99 * needed)))


def test_a_quick_device_protects_the_same_wire_and_a_second_one_helps() -> None:
    assert list(wire_findings(wired(1.5e-6, device(20.0, 60.0))))
    assert not list(wire_findings(wired(1.5e-6, device(20.0, 1.0))))
    assert not list(wire_findings(wired(1.5e-6, device(20.0, 60.0), device(20.0, 1.0))))


def test_a_device_too_large_to_open_at_all_is_told() -> None:
    (found,) = wire_findings(wired(1e-6, device(400.0, 1.0)))
    assert "no device is sure to open" in found.text


def test_without_area_or_device_nothing_can_be_said() -> None:
    assert worst_fault(machine(protection=(device(20.0, 60.0),))) is None
    assert worst_fault(machine(wiring=(Run(resistance=0.010, area=2e-6),))) is None


def test_better_insulation_stands_more_by_the_ratio_of_the_constants() -> None:
    """143 against 115 A*s^0.5/mm2: the area that is needed falls by as much."""
    slow = device(20.0, 60.0)
    plain, cross_linked = (
        machine(wiring=(Run(resistance=0.010, area=1.0e-6, insulation_limit=limit),), protection=(slow,))
        for limit in (70.0, 90.0)
    )
    needed = [float(next(wire_findings(one)).mend.split()[3]) for one in (plain, cross_linked)]
    assert needed[1] / needed[0] == pytest.approx(114.836 / 142.874, rel=0.01)
    worst = [worst_fault(one) for one in (plain, cross_linked)]
    assert worst[0] is not None
    assert worst[1] is not None
    at = 300.0
    stands = [fault.stands * (fault.current / at) ** 2 for fault in worst]
    assert stands[1] / stands[0] == pytest.approx((142.874 / 114.836) ** 2, rel=1e-5)


def test_each_run_is_judged_at_its_own_fault() -> None:
    thick, thin = Run(resistance=0.004, area=10e-6), Run(resistance=0.050, area=1e-6)
    m = machine(wiring=(thick, thin), protection=(device(20.0, 60.0),))
    assert [found.where for found in wire_findings(m)] == ["supply.wiring[1]"]
    assert largest_fault(m, 0) == pytest.approx(12.56 / 0.018)
    assert largest_fault(m, 1) == pytest.approx(12.56 / 0.068)
