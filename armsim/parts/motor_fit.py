"""Motor constants out of what was measured: points of speed, torque and current, or current against torque alone."""

from dataclasses import dataclass

import numpy as np

LEAST_POINTS = 3  #: two points give four equations for four constants and tell no scatter
VOLTAGE_DEVIATION = 0.005  #: of the highest voltage: meter and leads
TORQUE_DEVIATION = 0.01  #: of the largest torque: load cell or scale
_ALIKE = 0.05  #: spread of torques over the largest, below which they tell no slope [-]
_ILL_CONDITIONED = 100.0  #: column-scaled condition number; sound sets lie near 10


@dataclass(frozen=True, kw_only=True)
class PointsFit:
    """Constants of the motor that fits best, how sure they are, and how far the points lie from it."""

    resistance: float  #: [ohm]
    constant: float  #: torque and back-EMF constant alike [N*m/A = V*s/rad]
    coulomb_torque: float  #: [N*m], >= 0
    viscous_drag: float  #: [N*m*s/rad], >= 0
    resistance_error: float  #: standard error from the scatter [ohm]
    constant_error: float  #: standard error from the scatter [N*m/A]
    voltage_scatter: float  #: root mean square misfit of the voltage rows [V]
    torque_scatter: float  #: root mean square misfit of the torque rows [N*m]
    reduced_residual: float  #: root of the sum of squares over the degrees of freedom, in deviations [-]
    drag_held_at_zero: bool  #: the best fit had a negative drag, which was held at none
    condition: float  #: of the column-scaled equations [-]


def fit_points(voltage, torque, speed, current, *, voltage_deviation=None, torque_deviation=None):
    """Weighted least squares of V = R I + k w and T = k I - tc - b w with one shared k and drags >= 0.

    At one voltage the speed is affine in the current, so the torque rows alone do not tell k, tc and b apart; the
    shared k of the voltage rows does. Equal arrays in SI, one entry a point; deviations are standard ones [V, N*m].
    Raises ValueError where points are too few or too alike, or where no motor with R, k > 0 fits.
    """
    voltage, torque, speed, current = (np.asarray(a, dtype=float) for a in (voltage, torque, speed, current))
    if voltage.size < LEAST_POINTS:
        raise ValueError(f"{voltage.size} points do not tell four constants and their scatter")
    sigma_v = VOLTAGE_DEVIATION * voltage.max() if voltage_deviation is None else voltage_deviation
    sigma_t = TORQUE_DEVIATION * np.abs(torque).max() if torque_deviation is None else torque_deviation
    if sigma_t <= 0.0:
        raise ValueError("no point carries a torque")
    rows, right = _equations(voltage, torque, speed, current, sigma_v, sigma_t)
    condition = _condition(rows)
    if np.ptp(speed) == 0.0:
        raise ValueError("the points are all at one speed: friction and back-EMF cannot be told from them")
    if condition > _ILL_CONDITIONED:
        raise ValueError("the points lie too close together to tell resistance, constant and friction apart")
    (r, k, tc, b), free = _without_negative_drag(rows, right)
    if r <= 0.0 or k <= 0.0:
        raise ValueError("no motor has these points: with more torque, current has to rise and speed to fall")
    misfit = rows @ (r, k, tc, b) - right
    count = voltage.size
    reduced = float(np.sqrt(misfit @ misfit / (2 * count - len(free))))
    errors = reduced * np.sqrt(np.diag(np.linalg.inv(rows[:, free].T @ rows[:, free])))
    return PointsFit(
        resistance=r,
        constant=k,
        coulomb_torque=tc,
        viscous_drag=b,
        resistance_error=float(errors[0]),
        constant_error=float(errors[1]),
        voltage_scatter=float(np.sqrt(np.mean(misfit[:count] ** 2)) * sigma_v),
        torque_scatter=float(np.sqrt(np.mean(misfit[count:] ** 2)) * sigma_t),
        reduced_residual=reduced,
        drag_held_at_zero=len(free) < 4,
        condition=condition,
    )


def _equations(voltage, torque, speed, current, sigma_v, sigma_t):
    """Rows for (R, k, tc, b), each over its standard deviation, and their right-hand sides."""
    none, one = np.zeros_like(speed), np.ones_like(speed)
    electrical = np.stack([current, speed, none, none], axis=1) / sigma_v
    mechanical = np.stack([none, current, -one, -speed], axis=1) / sigma_t
    return np.vstack([electrical, mechanical]), np.concatenate([voltage / sigma_v, torque / sigma_t])


def _condition(rows):
    lengths = np.linalg.norm(rows, axis=0)
    return float(np.linalg.cond(rows / lengths)) if np.all(lengths > 0.0) else float("inf")


def _without_negative_drag(rows, right):
    """The best of the fits with either drag, both or none held at zero, and which constants were free in it."""
    best, freedom, least = None, [], float("inf")
    for free in ([0, 1, 2, 3], [0, 1, 2], [0, 1, 3], [0, 1]):
        found = np.zeros(4)
        found[free] = np.linalg.lstsq(rows[:, free], right, rcond=None)[0]
        residual = float(np.sum((rows @ found - right) ** 2))
        if min(found[2:]) >= 0.0 and residual < least:
            best, freedom, least = tuple(map(float, found)), free, residual
        if len(free) == 4 and best:
            break  # nothing held is at least as good as anything held
    return best, freedom


@dataclass(frozen=True, kw_only=True)
class CurrentLine:
    """The straight line of current over shaft torque: I = I0 + T/k where friction does not grow with speed."""

    no_load_current: float  #: where the line meets no torque, >= 0 [A]
    constant: float  #: torque per current, one over the slope [N*m/A]
    constant_error: float  #: standard error from the scatter [N*m/A]
    scatter: float  #: root mean square misfit [A]
    held_at_zero: bool  #: the best line had a negative current at no torque, and was led through none


def fit_current_line(torque, current):
    """Least squares of current [A] over shaft torque [N*m], equal arrays, one entry a reading.

    Raises ValueError for fewer than three readings, for torques that do not differ, and where current does not rise.
    """
    torque, current = np.asarray(torque, dtype=float), np.asarray(current, dtype=float)
    if torque.size < LEAST_POINTS:
        raise ValueError(f"{torque.size} readings do not tell a line and its scatter")
    if np.ptp(torque) <= _ALIKE * np.abs(torque).max():
        raise ValueError("the torques lie too close together to tell a slope")
    columns = np.stack([np.ones_like(torque), torque], axis=1)
    (intercept, slope), held = np.linalg.lstsq(columns, current, rcond=None)[0], False
    if intercept < 0.0:
        intercept, slope, held = 0.0, float(torque @ current / (torque @ torque)), True
    if slope <= 0.0:
        raise ValueError("the current does not rise with torque")
    misfit = intercept + slope * torque - current
    variance = float(misfit @ misfit) / (torque.size - (1 if held else 2))
    spread = torque @ torque if held else np.sum((torque - torque.mean()) ** 2)
    return CurrentLine(
        no_load_current=float(intercept),
        constant=float(1.0 / slope),
        constant_error=float(np.sqrt(variance / spread) / slope**2),
        scatter=float(np.sqrt(np.mean(misfit**2))),
        held_at_zero=held,
    )
