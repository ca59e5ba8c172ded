"""Wire against protection: one-pole edges and the adiabatic law, both in closed form."""

import math
from dataclasses import replace

import pytest

from armsim.checks.wires import wire_findings, worst_fault
from armsim.parts.protection import Edge, Protection
from armsim.parts.wiring import adiabatic_constant

from .machines import machine


def device(rating: float, latest: float) -> Protection:
    edges = [Edge(weights=(1.0,), time_constants=(tau,), ultimate_multiple=1.2) for tau in (0.1 * latest, latest)]
    return Protection(kind="thermal", rating=rating, earliest=edges[0], latest=edges[1])


def wired(area: float, *devices: Protection):
    return machine(conductor_area=area, protection=devices)


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
    assert not list(wire_findings(replace(thin, conductor_area=needed)))
    assert list(wire_findings(replace(thin, conductor_area=0.99 * needed)))


def test_a_quick_device_protects_the_same_wire_and_a_second_one_helps() -> None:
    assert list(wire_findings(wired(1.5e-6, device(20.0, 60.0))))
    assert not list(wire_findings(wired(1.5e-6, device(20.0, 1.0))))
    assert not list(wire_findings(wired(1.5e-6, device(20.0, 60.0), device(20.0, 1.0))))


def test_a_device_too_large_to_open_at_all_is_told() -> None:
    (found,) = wire_findings(wired(1e-6, device(400.0, 1.0)))
    assert "no device is sure to open" in found.text


def test_without_area_or_device_nothing_can_be_said() -> None:
    assert worst_fault(machine(protection=(device(20.0, 60.0),))) is None
    assert worst_fault(machine(conductor_area=2e-6)) is None
