"""Functions of the exponential integrator: phi of numbers, and of a 2x2 matrix for each design.

phi_0 = e^z, phi_k = (phi_{k-1} - 1/(k-1)!)/z. A linear system y' = A y + f with
f = p0 + p1 s + p2 s^2 + p3 s^3 over a step h, s from 0 to 1, is then exact:

    y(s) = y0 + h s [phi_1 F0 + s phi_2 p1 + 2 s^2 phi_3 p2 + 6 s^3 phi_4 p3],   each phi of s h A, F0 = A y0 + p0

(M. Hochbruck and A. Ostermann, "Exponential integrators", Acta Numerica 19 (2010) 209-286), and its integral has every
phi's index one higher. For a 2x2 matrix phi(M) = alpha I + beta M from its two eigenvalues.
"""

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
SERIES = 0.5  #: size of z below which the Taylor series is the more exact
TERMS = [1.0 / math.factorial(k) for k in range(5, 14)]
Matrix = tuple[Array, Array, Array, Array]  #: a11, a12, a21, a22 of each design [1/s]
NUDGE = 1e-5  #: share by which two eigenvalues are kept apart


def phis(z):  # type: ignore[no-untyped-def]
    """phi_0 to phi_5 at z, real or complex, without cancellation near zero."""
    small = np.abs(z) < SERIES
    if small.all():
        five = _series(z)
    elif not small.any():
        five = _recursion(z)
    else:
        five = np.where(small, _series(np.where(small, z, 0.0)), _recursion(np.where(small, 1.0, z)))
    four = z * five + 1.0 / 24.0
    three = z * four + 1.0 / 6.0
    two = z * three + 0.5
    one = z * two + 1.0
    return z * one + 1.0, one, two, three, four, five


def _series(z):  # type: ignore[no-untyped-def]
    """phi_5 by its Taylor series."""
    five = np.full_like(z, TERMS[-1])
    for term in TERMS[-2::-1]:
        five *= z
        five += term
    return five


def _recursion(z):  # type: ignore[no-untyped-def]
    """phi_5 by the definition."""
    value, inverse = np.exp(z), 1.0 / z
    for known in (1.0, 1.0, 0.5, 1.0 / 6.0, 1.0 / 24.0):
        value -= known
        value *= inverse
    return value


def doubled(found):  # type: ignore[no-untyped-def]
    """phi_0 to phi_5 at 2 z from those at z."""
    zero, one, two, three, four, five = found
    return (
        zero * zero,
        0.5 * one * (zero + 1.0),
        0.25 * (zero * two + one + two),
        0.125 * (zero * three + 0.5 * one + two + three),
        0.0625 * (zero * four + one / 6.0 + 0.5 * two + three + four),
        0.03125 * (zero * five + one / 24.0 + two / 6.0 + 0.5 * three + four + five),
    )


class Spectrum(NamedTuple):
    """Both eigenvalues of each design's matrix: real ones, or where `turning` a real and an imaginary part."""

    first: Array  #: the larger in size, or the real part [1/s]
    second: Array  #: or the imaginary part [1/s]
    turning: NDArray[np.bool_]


def spectrum(a11: Array, a12: Array, a21: Array, a22: Array) -> Spectrum:
    """Eigenvalues of [[a11, a12], [a21, a22]], kept apart by a hair where they meet."""
    half, det = 0.5 * (a11 + a22), a11 * a22 - a12 * a21
    disc = 0.25 * (a11 - a22) ** 2 + a12 * a21
    least = NUDGE * NUDGE * (half * half + np.abs(det)) + 1e-300
    disc = np.where(np.abs(disc) < least, least, disc)
    turning = disc < 0.0
    size = np.sqrt(np.abs(disc))
    first = np.where(half > 0.0, half + size, half - size)
    second = det / np.where(first == 0.0, 1.0, first)
    return Spectrum(np.where(turning, half, first), np.where(turning, size, second), turning)


def pairs(found: Spectrum, span: Array, *, both: bool) -> tuple[Array, Array]:
    """alpha and beta of phi_1 to phi_5 (first axis) of span A; with `both` of half the span and of all of it (second).

    Of one node only the second axis has length one.
    """
    begin = 0.5 * span if both else span
    first, second = found.first * begin, found.second * begin
    turning = found.turning
    if not turning.any():
        return _real(first, second, both)
    shape = (5, 2 if both else 1, len(span))
    alpha, beta = np.empty(shape), np.empty(shape)
    for chosen, way in ((~turning, _real), (turning, _complex)):
        if chosen.any():
            alpha[:, :, chosen], beta[:, :, chosen] = way(first[chosen], second[chosen], both)
    return alpha, beta


def _nodes(z, both, out):  # type: ignore[no-untyped-def]
    """phi_1 to phi_5 along the first axis, nodes along the second."""
    found = phis(z)
    for node, values in enumerate((found, doubled(found)) if both else (found,)):
        for k in range(5):
            out[k, node] = values[k + 1]
    return out


def _real(first: Array, second: Array, both: bool) -> tuple[Array, Array]:
    shape = (5, 2 if both else 1, len(first))
    beta, alpha = _nodes(first, both, np.empty(shape)), _nodes(second, both, np.empty(shape))
    scale = np.array([[1.0], [2.0]]) if both else np.array([[1.0]])
    between = first - second
    apart = 1.0 / (scale * np.where(between == 0.0, 1.0, between))  # none over a step without length
    beta -= alpha
    beta *= apart
    alpha -= (scale * second) * beta
    return alpha, beta


def _complex(real: Array, imaginary: Array, both: bool) -> tuple[Array, Array]:
    values = _nodes(real + 1j * imaginary, both, np.empty((5, 2 if both else 1, len(real)), dtype=complex))
    scale = np.array([[1.0], [2.0]]) if both else np.array([[1.0]])
    beta = values.imag / (scale * np.where(imaginary == 0.0, 1.0, imaginary))
    return values.real - (scale * real) * beta, beta


class Flow(NamedTuple):
    """How a constant, straight, square and cubic force becomes a gain of the pair: phi_1 to phi_5 of the matrix."""

    spans: Array  #: from the start to each node [s]
    factors: tuple[Array, ...]  #: of the coefficients at each node
    electric: tuple[Array, Array]  #: current's gain by electric and by mechanical force, phi by phi
    mechanic: tuple[Array, Array]  #: speed's


def flow_of(matrix: Matrix, functions: tuple[Array, Array], spans: Array, share: Array, moving: bool) -> Flow:
    """The flow of a linear system to shares of a step."""
    (alpha, beta), (a11, a12, a21, a22) = functions, matrix
    factors = spans, spans * share, spans * (2.0 * share**2), spans * (6.0 * share**3)
    beta = spans * beta
    own = a11 * beta
    own += alpha
    if not moving:
        return Flow(spans, factors, (own, own), (own, own))
    other = a22 * beta
    other += alpha
    return Flow(spans, factors, (own, a12 * beta), (a21 * beta, other))
