"""First-pass strength of gear teeth: bending at the root by Lewis, pressure of the flanks by Hertz."""

import math

from armsim.parts.gear_mesh import Gear, pitch_radius, sign_of, transverse_angle

BARTH = 6.1  #: of cut or milled teeth [m/s]


def barth_factor(speed):
    """What moving teeth add to their load, (6.1 + v)/6.1 for cut or milled teeth; 1 at stall. [-]"""
    return (BARTH + abs(speed)) / BARTH


def lewis_stress(force, width, module, form_factor, speed=0.0):
    """Bending stress at the root with all the load on the tip of one tooth, K_v W_t/(b m Y). [Pa]"""
    return barth_factor(speed) * force / (width * module * form_factor)


def flank_pressure(force: float, width: float, pinion: Gear, wheel: Gear) -> float | None:
    """Hertz' pressure of two cylinders at the pitch point, load on one pair of teeth. [Pa]

    sqrt(F_n/b E*/(pi rho)), F_n = W_t/cos(a_t), rho of both flanks r sin(a_t), 1/E* = sum of (1 - nu^2)/E. None where a
    modulus or the module is not known. Helical teeth are taken by their transverse section, a little too high.
    """
    moduli = pinion.material.modulus, wheel.material.modulus
    if pinion.module is None or moduli[0] is None or moduli[1] is None:
        return None
    angle = transverse_angle(pinion)
    curvature = 1.0 / pitch_radius(pinion) + sign_of(wheel) / pitch_radius(wheel)
    curvature /= pinion.module * math.sin(angle)
    soft = sum((1.0 - g.material.poisson**2) / e for g, e in zip((pinion, wheel), moduli, strict=True) if e)
    return math.sqrt(force / (math.cos(angle) * width) * curvature / (math.pi * soft))
