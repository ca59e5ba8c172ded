"""Brush drop and magnets, from their text to the motor's constants, against sums done by hand."""

import math

import pytest

from armsim.parts.motor import flux_ratio
from tests.scenario.texts import read, refused

ROW = (
    "nominal_voltage: 12 V, no_load_speed: 5000 rpm, no_load_current: 2.5 A, "
    "stall_torque: 2.6 N*m, stall_current: 110 A"
)
THERMAL = (
    "thermal: {winding_to_housing: 1.5 K/W, housing_to_air: 3.5 K/W, "
    "winding_capacity: 62 J/K, housing_capacity: 420 J/K}"
)


def motor(text):
    return read(motor=f"{{{text}}}").machine.motor


def test_a_row_with_brushes_leaves_the_winding_alone():
    found = motor(f"{ROW}, brush_drop: 1 V")
    assert found.resistance == pytest.approx(11.0 / 110.0)
    assert found.back_emf_constant == pytest.approx((11.0 - 0.1 * 2.5) / (5000.0 * math.tau / 60.0))
    assert found.brush_drop == 1.0
    assert found.brush_knee == pytest.approx(0.005 * 12.0 / 0.1)
    assert motor(ROW).brush_drop == 0.0


def test_points_and_labels_are_taken_behind_the_brushes_too():
    # made from R = 0.1 ohm, k = 0.0212 V*s/rad and a volt of brushes at 12 V
    made = [(amps, (11.0 - 0.1 * amps) / 0.0212, 0.0212 * amps - 0.03) for amps in (3.0, 10.0, 25.0, 40.0)]
    rows = ", ".join(f"{{speed: {w:.9g} rad/s, torque: {t:.9g} N*m, current: {amps} A}}" for amps, w, t in made)
    found = motor(f"nominal_voltage: 12 V, measured: [{rows}], brush_drop: 1 V")
    assert found.resistance == pytest.approx(0.1, rel=1e-6)
    assert found.back_emf_constant == pytest.approx(0.0212, rel=1e-6)
    label = "label: {power: 250 W, voltage: 24 V, speed: 2800 rpm, current: 13.5 A, locked_rotor_current: 85 A}"
    assert motor(f"{label}, brush_drop: 1.2 V").resistance == pytest.approx(22.8 / 85.0)


@pytest.mark.parametrize(("drop", "taken"), [("4.9 V", True), ("2.4 V", True), ("5.1 V", False)])
def test_a_drop_has_its_limits(drop, taken):
    text = f"{ROW}, brush_drop: {drop}"
    if taken:
        assert motor(text).brush_drop > 0.0
    else:
        assert [problem.key for problem in refused(motor=f"{{{text}}}")] == ["motor.brush_drop"]
    low = ROW.replace("12 V", "4 V")
    assert refused(motor=f"{{{low}, brush_drop: 2.1 V}}")[0].key == "motor.brush_drop"


@pytest.mark.parametrize(("magnet", "percent"), [("ferrite", -0.2), ("neodymium", -0.11), ("samarium-cobalt", -0.04)])
def test_magnets_weaken_by_their_kind(magnet, percent):
    found = motor(f"{ROW}, {THERMAL}, magnet: {magnet}")
    ratio = flux_ratio(85.0, found.magnet_coefficient)
    assert ratio == pytest.approx(1.0 + 0.6 * percent)


def test_an_unknown_magnet_is_answered_with_the_known_ones():
    (problem,) = refused(motor=f"{{{ROW}, magnet: ferite}}")
    assert "ferrite" in problem.text + (problem.hint or "")
