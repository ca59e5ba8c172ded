"""Comparison with worked answers printed to six significant digits."""

import math

import pytest


def six_digits(value: float):
    """Agreement to half a unit of the sixth significant digit."""
    half = 0.5 * 10.0 ** (math.floor(math.log10(abs(value))) - 5)
    return pytest.approx(value, abs=half * (1.0 + 1e-9), rel=0.0)
