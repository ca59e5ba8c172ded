"""What a law needs to hold for a float and for an array of designs alike.

A float goes through `math`, which is ten times quicker than NumPy on one number; NumPy is loaded for arrays only.
"""

import math

REDUCED = 3.0  #: square of a half angle up to which the series of the cosine holds: to 198 deg [rad2]
SERIES = tuple((-1.0) ** k / math.factorial(2 * k) for k in range(12))


def plain(value):
    """True for a single number."""
    return isinstance(value, (float, int))


def cosine(angle):
    """Of an angle [rad]. [-]"""
    return math.cos(angle) if isinstance(angle, float) else _cosines(angle)


def _cosines(angles):
    """Of many angles by the series of the half angle, to 1e-14; NumPy's own takes several times as long."""
    numpy = _numpy()
    square = 0.25 * angles * angles
    if numpy.max(square, initial=0.0) > REDUCED or not numpy.isfinite(square).all():
        return numpy.cos(angles)
    half = numpy.full_like(square, SERIES[-1])
    for factor in SERIES[-2::-1]:
        half *= square
        half += factor
    half *= half
    half *= 2.0
    half -= 1.0
    return half


def sine(angle):
    """Of an angle [rad]. [-]"""
    return math.sin(angle) if isinstance(angle, float) else _numpy().sin(angle)


def exponential(value):
    """e to a power. [-]"""
    return math.exp(value) if plain(value) else _numpy().exp(value)


def root(value):
    """Square root of what is not negative."""
    return math.sqrt(value) if plain(value) else _numpy().sqrt(value)


def distance(x, y):
    """Length of the hypotenuse."""
    return math.hypot(x, y) if plain(x) and plain(y) else _numpy().hypot(x, y)


def signed(size, like):
    """A size with the sign of something else."""
    return math.copysign(size, like) if plain(size) and plain(like) else _numpy().copysign(size, like)


def either(condition, yes, no):
    """One or the other, design by design. Both have been worked out."""
    if isinstance(condition, bool):
        return yes if condition else no
    return _numpy().where(condition, yes, no)


def larger(a, b):
    """The larger of two."""
    return max(a, b) if plain(a) and plain(b) else _numpy().maximum(a, b)


def smaller(a, b):
    """The smaller of two."""
    return min(a, b) if plain(a) and plain(b) else _numpy().minimum(a, b)


def within(value, low, high):
    """Kept between two bounds."""
    if isinstance(value, float):
        return max(low, min(high, value))
    numpy = _numpy()
    return numpy.maximum(low, numpy.minimum(high, value))


def anywhere(condition):
    """True where it holds for one design at least."""
    return condition if isinstance(condition, bool) else bool(_numpy().any(condition))


def _numpy():
    import numpy

    return numpy
