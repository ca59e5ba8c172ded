"""The machine: every part of it, frozen, ready to be asked for torques or run in time."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property, reduce
from typing import NamedTuple

from armsim.parts.arm import Arm, with_payload
from armsim.parts.battery import Battery
from armsim.parts.bridge import Controller
from armsim.parts.carriage import Carriage
from armsim.parts.companion import Companion
from armsim.parts.elementwise import larger
from armsim.parts.motor import Motor
from armsim.parts.outlet import Outlet
from armsim.parts.protection import Protection
from armsim.parts.side_load import SideLoad
from armsim.parts.stage import Stage
from armsim.parts.wiring import Run

Load = Arm | Carriage


class Aside(NamedTuple):
    """What drags on a shaft beside what it drives in the train."""

    torque: float  #: that does not grow with speed, while it turns [N*m]
    at_rest: float  #: with which it holds the shaft [N*m]
    viscous: float  #: per speed of the shaft [N*m*s/rad]


@dataclass(frozen=True, kw_only=True)
class Machine:
    """Motor, supply, controller, transmission and arm; shafts count from the motor's (0) to the arm's.

    A carriage may stand in the arm's place: its coordinate is then a length, and wherever an arm has rad, N*m and
    kg*m2 it has m, N and kg.
    """

    motor: Motor
    battery: Battery  #: or the voltage and inner resistance of a bench supply
    outlet: Outlet | None = None  #: what a bench supply does besides; None: nothing stands in the current's way
    wiring: tuple[Run, ...] = ()  #: in series from source to controller
    leads: Run | None = None  #: from the controller to each motor; None: no resistance
    other_loads: float = 0.0  #: constant current beside the controller [A]
    protection: tuple[Protection, ...] = ()
    controller: Controller = Controller()
    stages: tuple[Stage, ...] = ()  #: from the motor to the arm
    companions: tuple[Companion, ...] = ()  #: more motors, on any shaft
    side_loads: tuple[SideLoad, ...] = ()  #: that shafts drive beside the arm
    arm: Load
    ambient: float = 25.0  #: [degC]

    @cached_property
    def reduction(self) -> float:
        """Motor turns per arm turn. [-]"""
        return math.prod(stage.reduction for stage in self.stages)

    @cached_property
    def shaft_turns(self) -> tuple[float, ...]:
        """Turns of each shaft per arm turn, motor's first, the arm's 1 last. [-]"""
        ratios = [stage.reduction for stage in self.stages]
        return tuple(math.prod(ratios[k:]) for k in range(len(ratios) + 1))

    @cached_property
    def shaft_inertias(self) -> tuple[float, ...]:
        """Inertia turning with each shaft: rotors on the first, arm and payload on the last. [kg*m2]"""
        inertias = [0.0] * (len(self.stages) + 1)
        inertias[0] += self.motor.count * self.motor.rotor_inertia
        inertias[-1] += self.arm.inertia
        for k, stage in enumerate(self.stages):
            inertias[k] += stage.input_inertia
            inertias[k + 1] += stage.output_inertia
        for other in self.companions:
            inertias[other.shaft] += other.count * other.inertia
        return tuple(inertias)

    @cached_property
    def shaft_drags(self) -> tuple[tuple[float, float], ...]:
        """Constant [N*m] and viscous drag [N*m*s/rad] on each shaft while it turns: what `asides` tells of it.

        Of motor and pivot it has none: their friction is their own.
        """
        return tuple((sum(a.torque for a in here), sum(a.viscous for a in here)) for here in self.asides)

    @cached_property
    def shaft_breakaways(self) -> tuple[float, ...]:
        """What those drags hold of each shaft at rest. [N*m]"""
        return tuple(sum(a.at_rest for a in here) for here in self.asides)

    @cached_property
    def asides(self) -> tuple[tuple[Aside, ...], ...]:
        """What drags on each shaft: the stage it drives, side loads, and the friction of companions."""
        found: list[list[Aside]] = [[Aside(s.drag, s.drag, s.viscous_drag)] for s in self.stages] + [[]]
        for load in self.side_loads:
            found[load.shaft].append(Aside(load.torque, load.torque, load.viscous))
        for other in self.companions:
            own = (other.count * other.coulomb_torque, other.count * other.breakaway_torque)
            found[other.shaft].append(Aside(*own, other.count * other.viscous_drag))
        return tuple(map(tuple, found))

    def companion_currents(self, volts: float, speed: float = 0.0) -> tuple[float, ...]:
        """Of each companion once settled, at a terminal voltage [V] and an arm speed [rad/s]. [A]"""
        return tuple(one.current(volts, speed * self.shaft_turns[one.shaft]) for one in self.companions)

    def companion_pushes(self, currents: Sequence[float]) -> tuple[float, ...]:
        """Torque of companions on each shaft at their currents [A]; none where no currents are given. [N*m]"""
        pushes = [0.0] * (len(self.stages) + 1)
        for one, current in zip(self.companions, currents, strict=False):
            pushes[one.shaft] += one.push * current
        return tuple(pushes)

    @cached_property
    def arm_breakaway(self) -> float:
        """What holds the arm's own shaft at rest: pivot friction and what drags on it. [N*m]"""
        return self.arm.friction.breakaway + self.shaft_breakaways[-1]

    @cached_property
    def inertia(self) -> float:
        """Everything that moves, seen at the arm without losses: sum of J_k N_k^2. [kg*m2]"""
        return sum(j * n * n for j, n in zip(self.shaft_inertias, self.shaft_turns, strict=True))

    @cached_property
    def no_load_speed(self) -> float:
        """Arm speed at which the back-EMF meets the fresh source: a scale, not a result. [rad/s]"""
        return self.highest_voltage / self.motor.back_emf_constant / self.reduction

    @cached_property
    def highest_voltage(self) -> float:
        """Open-circuit voltage of the full source. [V]"""
        return reduce(larger, self.battery.voltage_points)

    @cached_property
    def wiring_resistance(self) -> float:
        """Round trip from source to controller. [ohm]"""
        return sum(run.resistance for run in self.wiring)

    @cached_property
    def conductor_area(self) -> float | None:
        """Of the thinnest run of that wiring whose cross-section is known; None: of none is it. [m2]"""
        return min((run.area for run in self.wiring if run.area is not None), default=None)

    @cached_property
    def lead_resistance(self) -> float:
        """Of the leads to each motor. [ohm]"""
        return 0.0 if self.leads is None else self.leads.resistance

    @cached_property
    def path_resistance(self) -> float:
        """In each motor's path outside its winding: bridge and leads. [ohm]"""
        return self.controller.resistance + self.lead_resistance

    @cached_property
    def source_resistance(self) -> float:
        """Battery and wiring in series, at once. [ohm]"""
        return self.battery.resistance + self.wiring_resistance

    @cached_property
    def settled_source_resistance(self) -> float:
        """The same once the battery's relaxation pair has followed. [ohm]"""
        return self.source_resistance + self.battery.relaxation_resistance

    @cached_property
    def loop_resistance(self) -> float:
        """One motor's winding at reference temperature, its leads and its bridge. [ohm]"""
        return self.motor.resistance + self.path_resistance


def loaded(machine: Machine, payload: float) -> Machine:
    """The machine with another payload [kg] in the same place."""
    return machine if payload == machine.arm.payload_mass else replace(machine, arm=with_payload(machine.arm, payload))
