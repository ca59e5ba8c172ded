"""What every kind of stage of the transmission may have."""

from typing import Annotated

from armsim.scenario import dimensions as d
from armsim.scenario import readers as r
from armsim.scenario.backlash import Backlash, angle_or_length
from armsim.scenario.keys import Drag, Inertia, Keys, Name, ViscousDrag
from armsim.scenario.shaft_keys import Shaft


class StageKeys(Keys):
    """What every kind of stage may have."""

    name: Name | None = None
    drag: Drag = 0.0
    viscous_drag: ViscousDrag = 0.0
    input_inertia: Inertia | None = None
    output_inertia: Inertia | None = None
    backlash: Annotated[Backlash, angle_or_length()] | None = None
    stiffness: Annotated[float, r.quantity(d.TORSION_RATE, above=0.0, usual=(1.0, 1e8))] | None = None
    input_shaft: Shaft | None = None
    output_shaft: Shaft | None = None
