"""A taut loop round two wheels: straight runs and arcs, exactly.

Both kinds of loop follow one law by their `step`: the difference of the radii where the loop is open, their sum where
it crosses itself. The straight runs lean by b, sin(b) = step/C. Lengths in any one unit.
"""

import math


def open_step(radius, other):
    """Step of an open loop, |r2 - r1|."""
    return abs(other - radius)


def crossed_step(radius, other):
    """Step of a crossed loop, r1 + r2."""
    return radius + other


def slant(step, centre_distance):
    """By how much the straight runs lean against the line of centres, asin(step/C). [rad]"""
    return math.asin(step / centre_distance)


def straight_run(step, centre_distance):
    """Length of one straight run, C cos(b)."""
    return centre_distance * math.cos(slant(step, centre_distance))


def loop_length(radii, step, centre_distance):
    """Length of the taut loop, 2 C cos(b) + pi (r1 + r2) + 2 b step; `radii` is r1 + r2."""
    lean = slant(step, centre_distance)
    return 2.0 * centre_distance * math.cos(lean) + math.pi * radii + 2.0 * lean * step


def centre_distance_of(radii: float, step: float, length: float) -> float:
    """Centre distance at which a loop of a length runs taut.

    The lean b solves cot(b) + b = (L - pi (r1 + r2))/(2 step), which falls in b, so it is bracketed; then
    C = step/sin(b). Raises ValueError when the loop is too short to go round.
    """
    if step == 0.0:
        if length <= math.pi * radii:
            raise ValueError("the loop is too short to go round both wheels")
        return 0.5 * (length - math.pi * radii)
    target = (length - math.pi * radii) / (2.0 * step)
    low, high = 0.0, math.pi / 2.0
    if target <= high:
        raise ValueError("the loop is too short to go round both wheels")
    for _ in range(200):
        middle = 0.5 * (low + high)
        if middle in (low, high):
            break
        low, high = (middle, high) if 1.0 / math.tan(middle) + middle > target else (low, middle)
    return step / math.sin(0.5 * (low + high))


def sag_excess(span, sag):
    """By how much a strand that sags at mid-span is longer than its straight span, 8 s^2/(3 a) (a flat parabola)."""
    return 8.0 * sag**2 / (3.0 * span)


def excess_sag(span, excess):
    """Sag at mid-span of a strand that is so much longer than its span, the inverse of `sag_excess`."""
    return math.sqrt(3.0 * span * excess / 8.0)
