"""What the warmth around a protective device makes of its rating.

A factor f says how much larger the rating must be than at the reference temperature to carry the same current: the
rating in force is the printed one over f.
"""

import math
from collections.abc import Sequence
from itertools import pairwise

Point = tuple[float, float]  #: ambient [degC] and factor [-]

REFERENCE = 23.0  #: at which trip bands are told [degC]
BIMETAL_TRIPS = 122.58  #: of the bimetal law fitted to a published table of factors, -30 to 60 degC [degC]


def heat_law(ambient: float, trips_at: float) -> float:
    """f = sqrt((T_t - T_0)/(T_t - T)) of an element that opens at a temperature [degC], heated by I^2. [-]"""
    return math.sqrt((trips_at - REFERENCE) / (trips_at - ambient))


def table_factor(points: Sequence[Point], ambient: float) -> float:
    """Straight between the points of a table that rises in ambient; beyond its ends as the bimetal law goes on. [-]"""
    end = min(max(ambient, points[0][0]), points[-1][0])
    for (low, first), (high, second) in pairwise(points):
        if low <= end <= high:
            factor = first + (second - first) * (end - low) / (high - low)
            return factor * heat_law(ambient, BIMETAL_TRIPS) / heat_law(end, BIMETAL_TRIPS)
    raise ValueError("a table of factors needs two points or more, rising in ambient")
