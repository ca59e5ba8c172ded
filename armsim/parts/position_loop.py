"""The sampled position loop of a motor controller: a voltage from the angle's and the speed's error.

    v = v_ff + K_p e + K_d (w_ref - w) + I,     I += K_i e T once a period,

with the derivative on the measured speed and the integral by forward Euler. The integral rests while the output is
limited and the error would push it further (conditional integration), and inside the tolerance once the reference is
at rest, so that friction may end the motion without hunting. K. J. Astrom and T. Hagglund, "PID Controllers", 2nd ed.,
ISA 1995, chapters 3 and 6.
"""

import math
from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class LoopSettings:
    """The loop as a person sets it; gains left out are placed for the machine as it is loaded."""

    period: float = 0.01  #: time between two looks, > 0 [s]
    tolerance: float = math.radians(0.5)  #: error that counts as in position [rad]
    proportional: float | None = None  #: [V/rad]
    integral: float | None = None  #: [V/(rad*s)]
    derivative: float | None = None  #: [V*s/rad]


@dataclass(frozen=True, kw_only=True)
class PositionLoop:
    """Gains of the loop at the arm's angle, and how often it looks."""

    period: float  #: [s]
    tolerance: float  #: [rad]
    proportional: float  #: [V/rad]
    integral: float  #: [V/(rad*s)]
    derivative: float  #: [V*s/rad]


def loop_voltage(loop, error, speed_error, integral, forward):
    """What the loop asks for. [V]"""
    return forward + loop.proportional * error + loop.derivative * speed_error + integral


def next_integral(loop, error, integral, *, asked, limited, settled):
    """The integral term after a period. [V]

    `limited`: the output falls short of what was `asked` [V]; `settled`: the reference is at rest.
    """
    if limited and error * asked > 0.0:
        return integral
    if settled and abs(error) <= loop.tolerance:
        return integral
    return integral + loop.integral * error * loop.period


def pole_placement(*, gain, time_constant, bandwidth, damping=1.0):
    """Gains K_p, K_i, K_d for a motor from voltage to angle, (1/gain)/(s (tau s + 1)), gain in V*s/rad.

    The three closed-loop poles are a pair at the bandwidth [rad/s] and a real one at a fifth of it for the integral.
    """
    slow = bandwidth / 5.0
    pair = 2.0 * damping * bandwidth
    return (
        gain * time_constant * (bandwidth**2 + pair * slow),
        gain * time_constant * bandwidth**2 * slow,
        max(gain * (time_constant * (pair + slow) - 1.0), 0.0),
    )
