"""Worm and wheel: efficiencies by the friction angle, friction against sliding speed, and when it locks.

Friction falls with sliding speed, so a worm that holds a load at rest may be driven by it once in motion.
"""

import math
from dataclasses import dataclass, replace
from functools import cached_property

from armsim.parts.elementwise import either, exponential
from armsim.parts.stage import Stage, disc_inertia
from armsim.parts.worm_pair import WormPair, wheel_way, worm_size

SLOW_EDGE = 0.0508  #: sliding speed at which the mean friction curve changes its formula, 10 ft/min [m/s]
REST_FRICTION = 0.150  #: of the mean friction curve at rest [-]
FRICTION_FLOOR = 0.012  #: which the mean friction curve nears at high speed [-]
#: Share of running friction taken to be left at rest under vibration: dither takes away what rest adds to friction (a
#: shaken train that locked has been measured to turn back: ROBOMECH J. 2023, s40648-023-00264-w), and running friction
#: scatters by 30 % between drives. A choice on the safe side, not a measured law. [-]
VIBRATION_SHARE = 0.7


def mean_friction(sliding_speed, regime):
    """Friction of a lubricated hardened steel worm on a bronze wheel in motion, sliding speed in m/s >= 0. [-]

    0.124 exp(-2.233 v^0.645) up to 0.0508 m/s (regime 0), 0.103 exp(-1.185 v^0.450) + 0.012 above (regime 1), to about
    15 m/s; 0.150 at rest. Mean curve of ANSI/AGMA 6034-B92 in metric form; single drives scatter by 30 %. The 0.012,
    which some reprints drop, is what makes the pieces meet and other tables agree.
    """
    if regime == 0:
        return 0.124 * exponential(-2.233 * sliding_speed**0.645)
    return 0.103 * exponential(-1.185 * sliding_speed**0.450) + FRICTION_FLOOR


def sliding_radius(diameter, lead_angle):
    """Sliding speed over the worm's angular speed, d1/(2 cos(l)). [m]"""
    return diameter / (2.0 * math.cos(lead_angle))


def friction_angle(friction, pressure_angle):
    """Friction angle seen in the thread's own plane, atan(mu/cos(alpha_n)). [rad]"""
    return math.atan(friction / math.cos(pressure_angle))


def locking_friction(lead_angle, pressure_angle):
    """Friction from which on the wheel cannot drive the worm, tan(l) cos(alpha_n). [-]"""
    return math.tan(lead_angle) * math.cos(pressure_angle)


def efficiencies(lead_angle, pressure_angle, friction):
    """Forward and reverse efficiency of the thread, tan(l)/tan(l + p) and tan(l - p)/tan(l). [-, -]

    p is the friction angle. Written without it: (c - mu t)/(c + mu/t) and (c t - mu)/(t (c + mu t)), t = tan(l),
    c = cos(alpha_n). The wheel cannot drive the worm where the second is not positive.
    """
    return _efficiencies(math.tan(lead_angle), math.cos(pressure_angle), friction)


def _efficiencies(t, c, mu):
    return (c - mu * t) / (c + mu / t), (c * t - mu) / (t * (c + mu * t))


def friction_under_vibration(friction: float | None, static_friction: float) -> float:
    """Friction to count on at rest under vibration, from that of running (None: the mean curve) and of rest. [-]"""
    running = mean_friction(0.0, 0) if friction is None else friction
    return min(static_friction, VIBRATION_SHARE * running)


def lock_loss_sliding_speed(lead_angle: float, pressure_angle: float) -> float | None:
    """Sliding speed above which a load no longer locks the worm, by the mean friction curve. [m/s]

    Where mu(v) = tan(l) cos(alpha_n): slower the worm brings a falling load to rest, faster the load runs away with
    it. 0: in motion it never locks; None: it locks at any speed.
    """
    needed = locking_friction(lead_angle, pressure_angle)
    if needed >= mean_friction(0.0, 0):
        return 0.0
    if needed <= FRICTION_FLOOR:
        return None
    slow = (math.log(0.124 / needed) / 2.233) ** (1.0 / 0.645)
    if slow <= SLOW_EDGE:
        return float(slow)
    beyond = max(math.log(0.103 / (needed - FRICTION_FLOOR)), 0.0) / 1.185
    return max(SLOW_EDGE, float(beyond ** (1.0 / 0.450)))


@dataclass(frozen=True, kw_only=True)
class WormLaw:
    """Efficiencies of a worm, with friction constant or falling with sliding speed."""

    lead_angle: float  #: 0..pi/2 [rad]
    pressure_angle: float  #: normal [rad]
    static_friction: float  #: [-]
    friction: float | None = None  #: running; None: the mean curve against sliding speed [-]
    vibration_friction: float | None = None  #: at rest under vibration; None: a share of the running one [-]
    diameter: float | None = None  #: worm's reference diameter, needed by the mean curve [m]
    bearing_efficiency: float = 1.0  #: of both shafts' bearings and seals [-]

    def __post_init__(self) -> None:
        if not 0.0 < self.lead_angle < math.pi / 2.0:
            raise ValueError("a worm's lead angle lies between 0 and 90 deg")
        if self.friction is None and self.diameter is None:
            raise ValueError("friction against sliding speed needs the worm's diameter")
        if max(self.static_friction, self.friction or 0.0) * self._tangent >= self._cosine:
            raise ValueError("with this lead angle and friction the worm cannot turn the wheel either")

    @property
    def depends_on_speed(self) -> bool:
        """True where friction follows the mean curve."""
        return self.friction is None

    @cached_property
    def _tangent(self) -> float:
        return math.tan(self.lead_angle)

    @cached_property
    def _cosine(self) -> float:
        return math.cos(self.pressure_angle)

    @cached_property
    def _sliding(self) -> float:
        return 0.0 if self.diameter is None else float(sliding_radius(self.diameter, self.lead_angle))

    @cached_property
    def speed_edges(self) -> tuple[float, ...]:
        """Worm speeds between smooth pieces of the friction curve. [rad/s]"""
        return () if self.friction is not None else (SLOW_EDGE / self._sliding,)

    def running(self, speed: float, regime: int) -> tuple[float, float]:
        """Forward and reverse efficiency at a worm speed [rad/s], >= 0. [-, -]"""
        friction = self.friction
        if friction is None:
            friction = mean_friction(speed * self._sliding, regime)
        return self._with_bearings(friction)  # type: ignore[no-any-return]

    def static(self) -> tuple[float, float]:
        """Forward and reverse efficiency at rest. [-, -]"""
        return self._with_bearings(self.static_friction)  # type: ignore[no-any-return]

    @cached_property
    def threshold(self) -> float:
        """Friction from which on the wheel cannot drive the worm. [-]"""
        return float(locking_friction(self.lead_angle, self.pressure_angle))

    @cached_property
    def shaken(self) -> "WormLaw":
        """The same worm under vibration: at rest and in motion no more friction than vibration leaves."""
        left = self.vibration_friction
        if left is None:
            left = friction_under_vibration(self.friction, self.static_friction)
        return replace(self, static_friction=left, friction=left, vibration_friction=left)

    def angle_in_hand(self) -> float:
        """Friction angle at rest less the lead angle: what the thread could be steeper and still lock. [rad]"""
        return float(friction_angle(self.static_friction, self.pressure_angle)) - self.lead_angle

    def lock_loss_sliding_speed(self) -> float | None:
        """Sliding speed above which a load no longer locks it. [m/s]

        0 where it locks at rest only; None where it locks at any speed, or not even at rest.
        """
        if self.static_friction < self.threshold:
            return None
        if self.friction is not None:
            return None if self.friction >= self.threshold else 0.0
        return lock_loss_sliding_speed(self.lead_angle, self.pressure_angle)

    def lock_loss_speed(self) -> float | None:
        """The same as a speed of the worm. [rad/s]"""
        sliding = self.lock_loss_sliding_speed()
        return sliding / self._sliding if sliding else sliding

    def _with_bearings(self, friction):
        forward, reverse = _efficiencies(self._tangent, self._cosine, friction)
        # a locked thread makes the motor push through the bearings too: more torque, not less
        bearings = self.bearing_efficiency
        return forward * bearings, either(reverse > 0.0, reverse * bearings, reverse / bearings)


def worm_stage(
    *,
    starts: int,
    wheel: int,
    lead_angle: float,
    pressure_angle: float,
    friction: float | None,
    static_friction: float | None,
    vibration_friction: float | None = None,
    diameter: float | None,
    module: float | None,
    face_width: float | None = None,
    density: float,
    wheel_density: float,
    bearing_efficiency: float = 1.0,
    drag: float = 0.0,
    viscous_drag: float = 0.0,
    input_inertia: float | None = None,
    output_inertia: float | None = None,
    backlash: float | None = None,
    hand: int,
    hardware: WormPair | None = None,
    name: str,
) -> Stage:
    """A cylindrical worm of `starts` threads turning a `wheel` of so many teeth, shafts at a right angle.

    `lead_angle` and normal `pressure_angle` [rad]. `friction` None: the mean curve against sliding speed, which needs
    the worm's reference `diameter` [m] or axial `module` [m] (tan(l) = z1 m/d1 gives one from the other).
    `static_friction` None: the running friction, or 0.150 with the curve; `vibration_friction` None: 0.7 of the running
    one (0.0868 with the curve), not above the static one. `hand` +1 right, -1 left; `backlash` [rad] at the wheel.
    Wheel a solid disc `face_width` [m] wide, worm a cylinder as long as the chord it cuts off the wheel's tip circle;
    densities [kg/m3].
    The sense of the wheel depends on hand and side: None where `hardware`, both as bought or cut, tells no side. Raises
    ValueError where the curve lacks a diameter, or where lead angle, diameter and module contradict each other by more
    than 5 %.
    """
    _refuse_contradiction(starts, lead_angle, diameter, module)
    _, module, diameter = worm_size(starts, wheel, lead_angle=lead_angle, module=module, diameter=diameter)
    if static_friction is None:
        static_friction = REST_FRICTION if friction is None else friction
    law = WormLaw(
        lead_angle=lead_angle,
        pressure_angle=pressure_angle,
        static_friction=static_friction,
        friction=friction,
        vibration_friction=vibration_friction,
        diameter=diameter,
        bearing_efficiency=bearing_efficiency,
    )
    on_input, on_output = _solid_inertias(wheel, diameter, module, face_width, density, wheel_density)
    return Stage(
        kind="worm",
        name=name,
        reduction=wheel / starts,
        law=law,
        drag=drag,
        viscous_drag=viscous_drag,
        input_inertia=on_input if input_inertia is None else input_inertia,
        output_inertia=on_output if output_inertia is None else output_inertia,
        backlash=backlash,
        sense=_sense(hardware),
        corner=math.pi / 2.0,
        driver_radius=None if diameter is None else diameter / 2.0,
        hardware=hardware,
        details={
            "hand": "right" if hand > 0 else "left",
            "lead_angle": lead_angle,
            "pressure_angle": pressure_angle,
            "static_friction": static_friction,
            "static_friction_angle": friction_angle(static_friction, pressure_angle),
            **_geometry(starts, wheel, diameter, module),
            **_lock_loss(law),
        },
    )


def _refuse_contradiction(starts: int, lead_angle: float, diameter: float | None, module: float | None) -> None:
    if diameter is None or module is None:
        return
    fitting = diameter * math.tan(lead_angle) / starts
    if abs(module / fitting - 1.0) > 0.05:
        raise ValueError(f"lead angle and diameter make a module of {fitting * 1e3:.4g} mm, not {module * 1e3:.4g} mm")


def _solid_inertias(
    wheel: int,
    diameter: float | None,
    module: float | None,
    face_width: float | None,
    density: float,
    wheel_density: float,
) -> tuple[float, float]:
    """Inertia of worm and wheel; 0 where their size is not known. [kg*m2, kg*m2]"""
    if diameter is None or module is None:
        return 0.0, 0.0
    wheel_diameter = module * wheel
    worm = disc_inertia(density, 2.0 * math.sqrt(2.0 * wheel_diameter * module), diameter)
    return worm, 0.0 if face_width is None else disc_inertia(wheel_density, face_width, wheel_diameter)


def _sense(pair: WormPair | None) -> int | None:
    return None if pair is None or pair.placement is None else wheel_way(pair.hand, pair.placement)


def _geometry(starts: int, wheel: int, diameter: float | None, module: float | None) -> dict[str, float | str]:
    if diameter is None or module is None:
        return {}
    return {
        "worm_diameter": diameter,
        "wheel_diameter": module * wheel,
        "axial_module": module,
        "axial_pitch": math.pi * module,
        "centre_distance": (diameter + module * wheel) / 2.0,
    }


def _lock_loss(law: WormLaw) -> dict[str, float | str]:
    speed = law.lock_loss_speed()
    return {} if speed is None else {"worm_speed_above_which_it_no_longer_locks": speed}
