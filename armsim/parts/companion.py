"""Another motor on a shaft of the train, with a bridge of its own that is given the first motor's duty.

L di/dt = v - R i - K w, with K and everything mechanical as seen at the shaft it turns. Its winding stays at ambient.
"""

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Companion:
    """Equal motors on one shaft, beside those that the machine is named by."""

    name: str  #: how a report calls it
    shaft: int  #: it turns, counted from the first motor's, 0
    count: int = 1
    reduction: float = 1.0  #: of its own to that shaft, already in what follows [-]
    resistance: float  #: of one winding [ohm]
    inductance: float  #: of one winding [H]
    bridge_resistance: float = 0.0  #: of its bridge [ohm]
    lead_resistance: float = 0.0  #: of its leads [ohm]
    constant: float  #: torque per ampere and volts per speed, at that shaft, each [N*m/A = V*s/rad]
    coulomb_torque: float = 0.0  #: drag that does not grow with speed, each [N*m]
    viscous_drag: float = 0.0  #: per speed of that shaft, each [N*m*s/rad]
    breakaway_torque: float = 0.0  #: holds that shaft at rest, each, >= coulomb_torque [N*m]
    inertia: float = 0.0  #: of the rotor, at that shaft, each [kg*m2]

    @property
    def loop_resistance(self) -> float:
        """Of the whole circuit of one. [ohm]"""
        return self.resistance + self.bridge_resistance + self.lead_resistance

    @property
    def push(self) -> float:
        """Torque of all on the shaft per ampere in each. [N*m/A]"""
        return self.count * self.constant

    def current(self, volts, speed):
        """Of each once it has settled, at a terminal voltage [V] and a speed of its shaft [rad/s]. [A]"""
        return (volts - self.constant * speed) / self.loop_resistance

    def current_slope(self, volts, current, speed):
        """Rate of change of the current of each. [A/s]"""
        return (volts - self.loop_resistance * current - self.constant * speed) / self.inductance

    def no_load_speed(self, volts):
        """Of its shaft, were there nothing but itself on it. [rad/s]"""
        loss = self.loop_resistance * self.viscous_drag / self.constant
        return (volts - self.loop_resistance * self.coulomb_torque / self.constant) / (self.constant + loss)
