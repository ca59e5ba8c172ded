"""The machine: every part of it, frozen, ready to be asked for torques or run in time."""

import math
from dataclasses import dataclass
from functools import cached_property

from armsim.parts.arm import Arm
from armsim.parts.battery import Battery
from armsim.parts.bridge import Controller
from armsim.parts.motor import Motor
from armsim.parts.protection import Protection
from armsim.parts.stage import Stage


@dataclass(frozen=True, kw_only=True)
class Machine:
    """Motor, supply, controller, transmission and arm; shafts count from the motor's (0) to the arm's."""

    motor: Motor
    battery: Battery
    wiring_resistance: float = 0.0  #: round trip from source to controller [ohm]
    other_loads: float = 0.0  #: constant current beside the controller [A]
    protection: tuple[Protection, ...] = ()
    controller: Controller = Controller()
    stages: tuple[Stage, ...] = ()  #: from the motor to the arm
    arm: Arm
    ambient: float = 25.0  #: [degC]

    @cached_property
    def reduction(self) -> float:
        """Motor turns per arm turn. [-]"""
        return math.prod(stage.reduction for stage in self.stages)

    @cached_property
    def source_resistance(self) -> float:
        """Battery and wiring in series. [ohm]"""
        return self.battery.resistance + self.wiring_resistance

    @cached_property
    def loop_resistance(self) -> float:
        """One motor's winding at reference temperature and its bridge. [ohm]"""
        return self.motor.resistance + self.controller.resistance
