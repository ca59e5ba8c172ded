"""Mean coefficient of friction between lubricated gear teeth, from what is between them and how they roll.

Schlenk's fit to test rigs, as ISO/TR 14179-2 prints it; made for the powers of industrial drives.
"""

import math
from dataclasses import dataclass

from armsim.parts.gear_mesh import Gear, base_radius, sign_of, working_angle

LEAST_LINE_LOAD = 150e3  #: below which the fit is not to be used: friction is taken at this one [N/m]
FASTEST = 50.0  #: sum speed above which friction falls no further [m/s]
_LOAD, _LENGTH, _VISCOSITY, _ROUGHNESS = 1e3, 1e-3, 1e-3, 1e-6  #: units the fit is printed for: N/mm, mm, mPa*s, um


@dataclass(frozen=True, kw_only=True)
class Lubrication:
    """What is between the teeth, and how rough they are."""

    viscosity: float  #: dynamic, at the oil's temperature [Pa*s]
    roughness: float  #: arithmetic mean Ra of both flanks [m]
    oil: float = 1.0  #: X_L: friction against that of a mineral oil [-]


def lubricated_friction(
    pinion: Gear,
    wheel: Gear,
    lubrication: Lubrication,
    *,
    pinion_speed: float,
    line_load: float = LEAST_LINE_LOAD,
    centre: float | None = None,
) -> float | None:
    """0.048 (F_bt/b/(v_S rho_C))^0.2 eta^-0.05 Ra^0.25 X_L, at the pitch point. [-]

    F_bt/b the load along the flanks' width [N/m], v_S = 2 v_t sin(a_wt) at a speed of the pinion [rad/s], rho_C the
    curvature radius of both flanks together, v_S up to 50 m/s and F_bt/b from 150 N/mm on. None where the module is
    not known, or where the pair does not run at this centre distance [m].
    """
    angle = working_angle(pinion, wheel, centre)
    if pinion.module is None or angle is None or angle <= 0.0:
        return None
    first, second = (base_radius(gear) * math.tan(angle) * pinion.module for gear in (pinion, wheel))
    base_helix = math.asin(math.sin(pinion.helix_angle) * math.cos(pinion.pressure_angle))
    curvature = math.cos(base_helix) * (1.0 / first + sign_of(wheel) / second)
    # v_t = w r_b/cos(a_w): the sum of both flanks' speeds along the profile is 2 w r_b tan(a_w)
    sum_speed = min(2.0 * pinion_speed * first, FASTEST)
    loaded = max(line_load, LEAST_LINE_LOAD) / _LOAD * curvature * _LENGTH / sum_speed
    smooth = (lubrication.viscosity / _VISCOSITY) ** -0.05
    return float(0.048 * loaded**0.2 * smooth * (lubrication.roughness / _ROUGHNESS) ** 0.25 * lubrication.oil)
