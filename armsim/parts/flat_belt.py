"""Flat and round belts that pull by friction, open or crossed."""

import math
from dataclasses import dataclass

from armsim.parts.loop import crossed_step, loop_length, open_step, slant
from armsim.parts.stage import ConstantEfficiency, Hardware, Stage, reverse_of


@dataclass(frozen=True, kw_only=True)
class FlatBeltDrive(Hardware):
    """A flat or round belt over plain pulleys; diameters where its middle runs. [m], [N]"""

    driver: float
    driven: float
    crossed: bool = False
    centre_distance: float | None = None
    friction: float | None = None  #: belt on pulley, wedging of a groove included
    tension: float | None = None  #: of each strand as installed
    allowable_tension: float | None = None  #: of the tight strand
    service_factor: float = 1.0

    @property
    def step(self) -> float:
        """Difference of the radii, or their sum where the belt crosses. [m]"""
        radii = self.driver / 2.0, self.driven / 2.0
        return float(crossed_step(*radii) if self.crossed else open_step(*radii))

    @property
    def length(self) -> float | None:
        """Of the taut belt; None without a centre distance. [m]"""
        if self.centre_distance is None:
            return None
        return float(loop_length((self.driver + self.driven) / 2.0, self.step, self.centre_distance))

    @property
    def wrap(self) -> float | None:
        """Arc on the pulley that slips first; of a crossed belt both are alike. [rad]"""
        if self.centre_distance is None:
            return None
        lean = 2.0 * float(slant(self.step, self.centre_distance))
        return math.pi + lean if self.crossed else math.pi - lean

    @property
    def slip_tension(self) -> float | None:
        """Largest difference of the strands' tensions before the belt slips; None where something is not given. [N]

        T1/T2 = e^(mu wrap) at the edge of slip, T1 + T2 = 2 T0 as installed: 2 T0 (k - 1)/(k + 1), k that ratio.
        """
        if self.friction is None or self.tension is None or self.wrap is None:
            return None
        return 2.0 * self.tension * math.tanh(0.5 * self.friction * self.wrap)


def flat_belt_stage(
    drive: FlatBeltDrive,
    *,
    efficiency: float,
    reverse: float | None,
    drag: float = 0.0,
    viscous_drag: float = 0.0,
    input_inertia: float | None = None,
    output_inertia: float | None = None,
    backlash: float | None = None,
    name: str,
) -> Stage:
    """A flat or round belt as a stage: the reduction is that of the diameters; a crossed belt turns the sense round.

    Creep is left out. Raises ValueError when the pulleys overlap at the centre distance.
    """
    if drive.centre_distance is not None and drive.centre_distance <= (drive.driver + drive.driven) / 2.0:
        raise ValueError(f"the pulleys overlap at {drive.centre_distance * 1e3:.4g} mm")
    shown: dict[str, float | str] = {}
    if drive.centre_distance is not None and drive.length is not None and drive.wrap is not None:
        shown = {"centre_distance": drive.centre_distance, "belt_length": drive.length, "wrap_angle": drive.wrap}
    return Stage(
        kind="flat_belt",
        name=name,
        reduction=drive.driven / drive.driver,
        law=ConstantEfficiency(forward=efficiency, reverse=reverse_of(efficiency) if reverse is None else reverse),
        drag=drag,
        viscous_drag=viscous_drag,
        input_inertia=input_inertia or 0.0,
        output_inertia=output_inertia or 0.0,
        backlash=backlash,
        sense=-1 if drive.crossed else 1,
        driver_radius=drive.driver / 2.0,
        hardware=drive,
        details=shown,
    )
