"""How findings say numbers."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from armsim.checks.phrases import degrees, millimetres, number, rounded_down, rounded_up, span


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (0.0, "0"),
        (1.8342, "1.83"),
        (18.34, "18.3"),
        (183.4, "183"),
        (18342.0, "18342"),
        (0.0004049, "0.000405"),
        (-2.5, "-2.50"),
    ],
)
def test_numbers_keep_three_digits_and_no_exponent(value, text):
    assert number(value) == text


def test_lengths_are_told_in_millimetres_without_trailing_zeros():
    assert millimetres(0.0127) == "12.7 mm"
    assert millimetres(0.036875, 5) == "36.875 mm"
    assert millimetres(0.0100004) == "10 mm"
    assert millimetres(0.41) == "410 mm"


def test_rounding_goes_to_the_side_that_helps_and_leaves_grid_values_alone():
    assert rounded_up(92.3001) == 92.4
    assert rounded_up(92.4) == 92.4
    assert rounded_down(5.469) == 5.46
    assert rounded_down(0.48889) == 0.488
    assert rounded_up(1234.0) == 1240.0
    assert rounded_down(0.0) == 0.0


@given(st.floats(min_value=1e-4, max_value=1e6))
def test_rounded_values_bracket_and_print_exactly(value):
    low, high = rounded_down(value), rounded_up(value)
    assert low <= value * (1.0 + 1e-9)
    assert high >= value * (1.0 - 1e-9)
    assert high - low <= 0.011 * value
    assert float(number(high)) == high


def test_degrees_and_bands_read_as_sentences():
    assert degrees(-0.0) == "0.0 deg"
    assert degrees(1.2217304763960306) == "70.0 deg"
    assert span(0.504, 3.012) == "0.504 s at the earliest, 3.01 s at the latest"
    assert span(2.0, None) == "2.00 s at the earliest, never for certain"
