"""Planetary sets: speeds by the carrier's frame, efficiency by the power that rolls through the meshes.

The carrier's frame is that of an ordinary train. There a mesh passes torque by its teeth and loses part of the power
T (w - w_carrier) that rolls through it, not of what goes round with the carrier. Which side of a mesh drives is not
known beforehand: every combination is solved, and the one whose powers flow as it supposes is the answer.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

from armsim.parts.gear_mesh import Gear
from armsim.parts.gears import ToothSeries, gear_inertia
from armsim.parts.stage import ConstantEfficiency, Hardware, Stage, reverse_of

CARRIER = "carrier"
SECOND_RING = "second_ring"
MEMBERS = ("sun", "ring", CARRIER)  #: that a shaft can be fixed to


@dataclass(frozen=True, kw_only=True)
class SetMesh:
    """Two bodies of a set that mesh, neither of them the carrier."""

    first: str
    second: str
    first_teeth: float
    second_teeth: float
    internal: bool = False  #: the second is a ring

    @property
    def ratio(self) -> float:
        """Speed of the first over that of the second, both seen from the carrier. [-]"""
        return (1.0 if self.internal else -1.0) * self.second_teeth / self.first_teeth


@dataclass(frozen=True, kw_only=True)
class PlanetarySet(Hardware):
    """Sun, planets on a carrier, ring; one member fixed.

    With a second planet on each planet's shaft and a ring of its own around it, that ring is the output and the carrier
    runs free.
    """

    sun: Gear
    planet: Gear
    ring: Gear
    planets: int
    fixed: str
    input: str
    series: ToothSeries
    second: tuple[Gear, Gear] | None = None  #: second planet and its ring

    @property
    def output(self) -> str:
        """The member that is left."""
        if self.second is not None:
            return SECOND_RING
        return next(member for member in MEMBERS if member not in (self.fixed, self.input))

    def meshes(self) -> tuple[SetMesh, ...]:
        """Sun with planet, planet with ring, second planet with its ring."""
        sun, planet, ring = self.sun.teeth, self.planet.teeth, self.ring.teeth
        simple = (
            SetMesh(first="sun", second="planet", first_teeth=sun, second_teeth=planet),
            SetMesh(first="planet", second="ring", first_teeth=planet, second_teeth=ring, internal=True),
        )
        if self.second is None:
            return simple
        small, wide = (gear.teeth for gear in self.second)
        return (
            *simple,
            SetMesh(first="planet", second=SECOND_RING, first_teeth=small, second_teeth=wide, internal=True),
        )


def speeds(meshes: Sequence[SetMesh], fixed: str, driver: str) -> dict[str, float]:
    """Speed of every body while the driver turns once, from Willis' equation of every mesh. [-]"""
    import numpy as np

    bodies = _bodies(meshes)
    place = {body: k for k, body in enumerate(bodies)}
    matrix, right = np.zeros((len(bodies), len(bodies))), np.zeros(len(bodies))
    for row, mesh in enumerate(meshes):
        matrix[row, place[mesh.first]] = 1.0
        matrix[row, place[mesh.second]] = -mesh.ratio
        matrix[row, place[CARRIER]] = mesh.ratio - 1.0
    matrix[-2, place[fixed]] = matrix[-1, place[driver]] = right[-1] = 1.0
    return dict(zip(bodies, np.linalg.solve(matrix, right).tolist(), strict=True))


def _bodies(meshes: Sequence[SetMesh]) -> list[str]:
    return [*dict.fromkeys(body for mesh in meshes for body in (mesh.first, mesh.second)), CARRIER]


def torques(
    meshes: Sequence[SetMesh], efficiencies: Sequence[float], flows: Sequence[int], shafts: tuple[str, str, str]
) -> tuple[dict[str, float], list[float]]:
    """Outer torque on every shaft, and torque on the first body of every mesh, for a torque of one at the driver.

    `flows` are +1 where the first body of a mesh drives the second, -1 the other way; `shafts` are driver, driven and
    fixed. Every body is in balance, and so are the outer torques together.
    """
    import numpy as np

    driver, driven, fixed = shafts
    bodies, count = _bodies(meshes), len(meshes)
    matrix, right = np.zeros((count + 2, count + 2)), np.zeros(count + 2)
    place = {body: k for k, body in enumerate(bodies[:-1])}  # the carrier's balance is that of all together
    for k, (mesh, efficiency, flow) in enumerate(zip(meshes, efficiencies, flows, strict=True)):
        matrix[place[mesh.first], k] = 1.0
        matrix[place[mesh.second], k] = -mesh.ratio * efficiency**flow
    for column, body in ((count, driven), (count + 1, fixed)):
        matrix[-1, column] = 1.0
        if body != CARRIER:
            matrix[place[body], column] = 1.0
    right[-1] = -1.0
    if driver != CARRIER:
        right[place[driver]] = -1.0
    solved = np.linalg.solve(matrix, right).tolist()
    return {driver: 1.0, driven: solved[count], fixed: solved[count + 1]}, solved[:count]


def set_efficiency(
    meshes: Sequence[SetMesh], efficiencies: Sequence[float], driver: str, driven: str, fixed: str
) -> float | None:
    """Power out over power in; below 0 where the driver alone cannot turn the set, which locks. None: no flow. [-]

    Where meshes that could lock leave two answers, the one between 0 and 1 is that of a set kept turning.
    """
    turning = speeds(meshes, fixed, driver)
    found = []
    for flows in product((1, -1), repeat=len(meshes)):
        outer, first = torques(meshes, efficiencies, flows, (driver, driven, fixed))
        rolling = [-torque * (turning[m.first] - turning[CARRIER]) for m, torque in zip(meshes, first, strict=True)]
        if all(power * flow >= 0.0 for power, flow in zip(rolling, flows, strict=True)):
            found.append(-outer[driven] * turning[driven])
    return max((value for value in found if 0.0 < value <= 1.0 + 1e-12), default=max(found, default=None))


def planetary_stage(
    *,
    parts: PlanetarySet,
    efficiencies: Sequence[float],
    reverse: float | None,
    drag: float = 0.0,
    viscous_drag: float = 0.0,
    input_inertia: float | None = None,
    output_inertia: float | None = None,
    backlash: float | None = None,
    name: str,
) -> Stage:
    """A planetary set in any of its six arrangements, or with a second ring.

    `efficiencies` are of each of its meshes with the motor driving, above 0.5; driven from the arm each is 2 - 1/eta.
    ValueError where a mesh would lock, or the set passes no power or does not turn its output.
    """
    meshes = parts.meshes()
    turning = speeds(meshes, parts.fixed, parts.input)
    if abs(turning[parts.output]) < 1e-9:
        raise ValueError("with these teeth the output stands still: both rings turn alike")
    if min(efficiencies) <= 0.5:
        raise ValueError("a mesh of a planetary set has to have an efficiency above 0.5")
    forward = set_efficiency(meshes, efficiencies, parts.input, parts.output, parts.fixed)
    back = set_efficiency(meshes, [reverse_of(e) for e in efficiencies], parts.output, parts.input, parts.fixed)
    if forward is None or forward <= 0.0:
        raise ValueError("with these meshes the motor cannot turn the set: power that rolls in it eats all there is")
    ratio = 1.0 / turning[parts.output]
    on_input, on_output = _inertias(parts, turning)
    return Stage(
        kind="planetary",
        name=name,
        reduction=abs(ratio),
        law=ConstantEfficiency(forward=forward, reverse=(back or 0.0) if reverse is None else reverse),
        drag=drag,
        viscous_drag=viscous_drag,
        input_inertia=on_input if input_inertia is None else input_inertia,
        output_inertia=on_output if output_inertia is None else output_inertia,
        backlash=backlash,
        sense=1 if ratio > 0.0 else -1,
        hardware=parts,
        details={
            "fixed": parts.fixed,
            "input": parts.input,
            "output": parts.output,
            "efficiency_with_the_carrier_fixed": efficiencies[0] * efficiencies[1],
            "planet_turns_per_input_turn": turning["planet"],
        },
    )


def _inertias(parts: PlanetarySet, turning: dict[str, float]) -> tuple[float, float]:
    """On the input shaft, planets referred to it and the bare carrier left out, and on the output shaft. [kg*m2]"""
    own = {"sun": gear_inertia(parts.sun), "ring": gear_inertia(parts.ring), CARRIER: 0.0}
    rollers = [parts.planet]
    if parts.second is not None:
        rollers.append(parts.second[0])
        own[SECOND_RING] = gear_inertia(parts.second[1])
    planets = sum(_rolling_inertia(parts, roller, turning) for roller in rollers)
    return own[parts.input] + parts.planets * planets, own[parts.output]


def _rolling_inertia(parts: PlanetarySet, roller: Gear, turning: dict[str, float]) -> float:
    """Of one planet, which turns about itself and goes round with the carrier, at the input shaft. [kg*m2]"""
    diameter, sun = roller.pitch_diameter, parts.sun.pitch_diameter
    if diameter is None or sun is None or parts.planet.pitch_diameter is None:
        return 0.0
    inertia = gear_inertia(roller)
    mass = 8.0 * inertia / (diameter * diameter + roller.bore**2)
    radius = 0.5 * (sun + parts.planet.pitch_diameter)
    return inertia * turning["planet"] ** 2 + mass * (radius * turning[CARRIER]) ** 2
