"""Constants out of other figures than a catalogue row, against a motor of worked answers with known constants."""

import math

import pytest

from armsim.parts.motor import Constants, from_catalogue_row
from armsim.parts.motor_figures import (
    air_gap_power,
    at_rotor,
    from_current_line,
    from_label,
    gears_share,
    stall_torque,
)
from armsim.parts.motor_fit import CurrentLine
from tests.parts.rounded import six_digits

#: 12 V, 5000 rpm, 2.5 A, 120 A: 0.1 ohm, 0.0224408 V*s/rad, 70 % of the no-load drag Coulomb
MOTOR_A = Constants(resistance=0.1, constant=0.02244085, coulomb_torque=0.0392715, viscous_drag=3.21441e-05)


def line(constant: float, free: float) -> CurrentLine:
    return CurrentLine(no_load_current=free, constant=constant, constant_error=0.0, scatter=0.0, held_at_zero=False)


def test_a_rated_point_and_the_locked_rotor_tell_constant_and_drag() -> None:
    found = from_label(voltage=12.0, speed=424.942, current=24.6395, power=212.471, resistance=0.1)
    assert found.constant == pytest.approx(MOTOR_A.constant, rel=1e-5)
    drag = found.coulomb_torque + found.viscous_drag * 424.942
    assert drag == pytest.approx(0.0392715 + 3.21441e-05 * 424.942, rel=1e-4)
    # k w i is what copper leaves
    assert air_gap_power(12.0, 24.6395, 0.1) == pytest.approx(found.constant * 424.942 * 24.6395, rel=1e-12)


def test_a_label_that_promises_more_than_its_air_gap_makes_has_no_drag() -> None:
    found = from_label(voltage=12.0, speed=424.942, current=24.6395, power=290.0, resistance=0.1)
    assert (found.coulomb_torque, found.viscous_drag) == (0.0, 0.0)


def test_a_label_whose_resistance_takes_all_the_voltage_is_refused() -> None:
    with pytest.raises(ValueError, match="takes all the voltage"):
        from_label(voltage=12.0, speed=400.0, current=120.0, power=200.0, resistance=0.1)


def test_figures_behind_gears_hold_at_the_rotor_by_the_ratio() -> None:
    found = at_rotor(from_catalogue_row(12.0, 100.0 * math.tau / 60.0, 1.2, 14.5, 22.0), 50.0)
    assert found.resistance == six_digits(0.545455)
    assert found.constant == six_digits(0.0216682)
    # power lost at no load is the same on either side: tau w, with 50 times the speed
    assert found.coulomb_torque + found.viscous_drag * 50.0 * 10.471976 == pytest.approx(0.0216682 * 1.2, rel=1e-5)


@pytest.mark.parametrize(("stated", "gears"), [(None, 0.64), (0.8, 0.8), (0.5, 0.64), (1.0, 1.0)])
def test_gears_and_rotor_lose_together_what_the_row_is_short_of(stated, gears) -> None:
    efficiency, rest = gears_share(0.64, stated)
    assert efficiency == gears
    assert efficiency * rest == pytest.approx(0.64)


def test_stall_torque_is_what_friction_and_load_losses_leave() -> None:
    assert stall_torque(MOTOR_A, 12.0) == six_digits(2.65363)
    row = from_catalogue_row(12.0, 5000.0 * math.tau / 60.0, 2.5, 2.30, 120.0)
    assert stall_torque(row, 12.0) == pytest.approx(2.30, rel=1e-12)


def test_a_line_of_current_with_what_stands_beside_it() -> None:
    # motor A with all of its drag Coulomb: I = 2.5 A + T/k
    whole = line(MOTOR_A.constant, 2.5)
    speed = 5000.0 * math.tau / 60.0
    for found in (
        from_current_line(whole, 12.0, resistance=0.1),
        from_current_line(whole, 12.0, resistance=0.1, no_load_speed=speed),
        from_current_line(whole, 12.0, no_load_speed=speed),
    ):
        assert found.constant == pytest.approx(MOTOR_A.constant, rel=1e-5)
        assert found.coulomb_torque == pytest.approx(0.0561021, rel=1e-5)
        assert found.resistance == pytest.approx(0.1, rel=1e-3)
    lossy = from_current_line(line(0.8 * MOTOR_A.constant, 2.5), 12.0, resistance=0.1, share=0.8)
    assert lossy.constant == pytest.approx(MOTOR_A.constant)
    assert lossy.torque_share == 0.8


@pytest.mark.parametrize(
    ("free", "known", "words"),
    [
        (2.5, {"no_load_speed": 600.0}, "leave no voltage"),
        (0.0, {"no_load_speed": 500.0}, "leave no voltage"),
        (130.0, {"no_load_speed": 500.0, "resistance": 0.1}, "takes all the voltage"),
    ],
)
def test_a_line_that_contradicts_its_speed_is_refused(free, known, words) -> None:
    with pytest.raises(ValueError, match=words):
        from_current_line(line(MOTOR_A.constant, free), 12.0, **known)
