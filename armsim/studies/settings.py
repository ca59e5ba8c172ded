"""Numbers of a scenario that can be moved in a built machine, one by one or for thousands of designs at once.

A setting does to a machine what its key does in the file, and nothing else hangs on that key. What shapes a part anew
(teeth, sizes of wire) is no setting: such a scenario is built again. On keys that are HANGING other figures hang in
some machines and in others not: a battery's resistance on charge and temperature, a breaker's rating on warmth.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

from armsim.drivetrain.machine import Machine
from armsim.parts.arm import Arm, with_payload

Move = Callable[[Machine, Any], Machine]


@dataclass(frozen=True, kw_only=True)
class Setting:
    """One number of a machine under its key in the scenario."""

    key: str
    move: Move

    def apply(self, machine: Machine, values: Any) -> Machine:
        """The machine with the number at a value, or at one for each design, in SI."""
        return self.move(machine, values)


def setting_for(machine: Machine, key: str) -> Setting | None:
    """The setting of a key; None where there is none, or the machine has no such part."""
    indexed = re.fullmatch(r"supply\.protection\[(\d+)\]\.rating", key)
    if indexed:
        k = int(indexed[1])
        return Setting(key=key, move=_rating(k)) if k < len(machine.protection) else None
    move = SETTINGS.get(key)
    return Setting(key=key, move=move) if move is not None and _has(machine, key) else None


def _has(machine: Machine, key: str) -> bool:
    section = key.partition(".")[0]
    if section in ("arm", "carriage"):
        return isinstance(machine.arm, Arm) == (section == "arm")
    if key.startswith("motor.thermal."):
        return machine.motor.heat is not None
    return True


def _of_motor(field: str) -> Move:
    return lambda machine, values: replace(machine, motor=replace(machine.motor, **{field: values}))


def _of_heat(field: str) -> Move:
    def move(machine: Machine, values: Any) -> Machine:
        assert machine.motor.heat is not None
        heat = replace(machine.motor.heat, **{field: values})
        return replace(machine, motor=replace(machine.motor, heat=heat))

    return move


def _of_controller(field: str) -> Move:
    return lambda machine, values: replace(machine, controller=replace(machine.controller, **{field: values}))


def _of_friction(field: str) -> Move:
    def move(machine: Machine, values: Any) -> Machine:
        arm = machine.arm
        assert isinstance(arm, Arm)
        return replace(machine, arm=replace(arm, friction=replace(arm.friction, **{field: values})))

    return move


def _payload(machine: Machine, values: Any) -> Machine:
    return replace(machine, arm=with_payload(machine.arm, values))


def _rating(k: int) -> Move:
    def move(machine: Machine, values: Any) -> Machine:
        devices = tuple(
            replace(device, rating=values) if j == k else device for j, device in enumerate(machine.protection)
        )
        return replace(machine, protection=devices)

    return move


def _charge(machine: Machine, values: Any) -> Machine:
    return replace(machine, battery=replace(machine.battery, state_of_charge=values))


HANGING = ("ambient", "supply.battery.state_of_charge")
SETTINGS: dict[str, Move] = {
    "ambient": lambda machine, values: replace(machine, ambient=values),
    "supply.battery.state_of_charge": _charge,
    "arm.payload.mass": _payload,
    "carriage.payload.mass": _payload,
    "arm.pivot_friction.viscous": _of_friction("viscous"),
    "motor.inductance": _of_motor("inductance"),
    "motor.rotor_inertia": _of_motor("rotor_inertia"),
    "motor.thermal.winding_to_housing": _of_heat("winding_to_housing"),
    "motor.thermal.housing_to_air": _of_heat("housing_to_air"),
    "motor.thermal.winding_capacity": _of_heat("winding_capacity"),
    "motor.thermal.housing_capacity": _of_heat("housing_capacity"),
    "supply.other_loads": lambda machine, values: replace(machine, other_loads=values),
    "controller.current_limit": _of_controller("current_limit"),
    "controller.bridge_resistance": _of_controller("resistance"),
    "supply.undervoltage": _of_controller("undervoltage"),
}
