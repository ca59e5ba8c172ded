"""Keys of what hangs on a shaft of the train beside the arm."""

from typing import Annotated

from armsim.scenario import readers as r
from armsim.scenario.keys import Drag, Keys, Name, ViscousDrag

Shaft = Annotated[str, r.text(60)]  #: motor, arm, or a stage by its name or number; what it means, building finds


class SideLoad(Keys):
    """A load that a shaft of the train drives beside the arm."""

    example = "{shaft: 2, torque: 0.4 N*m, name: conveyor}"
    name: Name | None = None
    shaft: Shaft
    torque: Drag = 0.0
    viscous: ViscousDrag = 0.0
