"""A load beside the arm that a shaft of the train drives: a conveyor, a pump, a stirrer."""

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class SideLoad:
    """A torque against whichever way its shaft turns, as drag is; at rest it holds up to its constant part."""

    name: str  #: how a report calls it
    shaft: int  #: it hangs on, counted from the motor's, 0
    torque: float = 0.0  #: that does not grow with speed, >= 0 [N*m]
    viscous: float = 0.0  #: per speed of that shaft, >= 0 [N*m*s/rad]
