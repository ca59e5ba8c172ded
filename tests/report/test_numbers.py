"""Values as people read them."""

import math

import pytest

from armsim.report.numbers import DISPLAY, figure, one_line, show, show_difference, typeset


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (1.83371, "1.834"),
        (24.0, "24"),
        (12345.6, "12350"),
        (0.000213, "0.000213"),
        (2.134e-7, "2.134e-07"),
        (9.99996, "10"),
        (-0.0, "0"),
        (3e-25, "0"),
        (-12.5, "-12.5"),
        (None, "not known"),
        (math.nan, "not known"),
        (math.inf, "without limit"),
    ],
)
def test_numbers_carry_four_digits_and_no_padding(value, text):
    assert figure(value) == text


@pytest.mark.parametrize(
    ("value", "dimension", "text"),
    [
        (math.radians(70.0), "angle", "70 deg"),
        (math.tau * 50.0, "shaft_speed", "3000 rpm"),
        (math.pi, "angular_speed", "180 deg/s"),
        (5400.0, "battery_energy", "1.5 W*h"),
        (0.0125, "length", "12.5 mm"),
        (0.86, "share", "86 %"),
        (True, "flag", "yes"),
        (False, "flag", "no"),
        ("possible", "flag", "possible"),
        (None, "torque", "not known"),
        (5.12e-12, "current", "0 A"),  # what is left of a current that decays in a shorted motor
        (-1.98e-8, "current", "0 A"),
        (2e-6, "current", "2.000e-06 A"),
        (3e-9, "voltage", "0 V"),
        (2.1e-9, "length", "0 mm"),
        (2.1e-5, "length", "0.021 mm"),
        (4e-8, "power", "0 W"),
        (2e-9, "inertia", "2.000e-09 kg*m2"),
    ],
)
def test_values_are_shown_in_the_unit_people_read(value, dimension, text):
    assert show(value, dimension) == text


def test_a_temperature_difference_is_in_kelvin():
    assert show_difference(80.0, "temperature") == "80 K"


def test_all_units_are_plain_ascii_until_they_are_typeset():
    assert all(display.unit.isascii() for display in DISPLAY.values())
    assert (
        typeset("needs 3 N*m at 40 degC, 2.1 kg*m2, 12 mohm -> 4 W*h")
        == "needs 3 N·m at 40 °C, 2.1 kg·m², 12 mΩ → 4 W·h"
    )


def test_text_of_a_person_cannot_drive_the_terminal():
    assert one_line("Crate\x1b[31m tipper\r\n\x07two") == "Crate [31m tipper two"
