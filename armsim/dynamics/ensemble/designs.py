"""A machine of arrays: one Machine whose numbers are arrays over designs, and the ways in and out of it.

Every law of parts/ and drivetrain/ is elementwise, so such a machine answers as a single one does, for all its designs
at once. Whole numbers, texts and what a part is made of are its structure and the same for all.
"""

from collections.abc import Sequence
from dataclasses import dataclass, fields, is_dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from armsim.drivetrain.machine import Machine
from armsim.parts.wiring import Run

Numbers = NDArray[np.float64]
Index = int | NDArray[np.intp] | NDArray[np.bool_]


def stacked(machines: Sequence[Machine]) -> Machine:
    """One machine of arrays from machines of equal structure, in order. Raises ValueError where they differ in it."""
    bare = [bones(machine) for machine in machines]
    joined: Machine = _joined(bare)
    return joined


def bones(machine: Machine) -> Machine:
    """The machine without what no motion depends on: hardware, wire sizes, names of stages."""
    stages = tuple(
        replace(
            stage,
            name="",
            hardware=None,
            details={},
            input_shaft=None,
            output_shaft=None,
            footprint=None,
            backlash=None,
            stiffness=None,
            peak_torque=None,
            driver_radius=None,
            sense=None,
        )
        for stage in machine.stages
    )
    wiring = tuple(Run(resistance=run.resistance) for run in machine.wiring)
    leads = None if machine.leads is None else Run(resistance=machine.leads.resistance)
    return replace(machine, stages=stages, wiring=wiring, leads=leads)


def _joined(parts: Sequence[Any]) -> Any:
    first = parts[0]
    if any(type(part) is not type(first) for part in parts):
        raise ValueError(f"machines differ in what they are made of: {first!r}")
    if all(part is first or part == first for part in parts):
        return first  # most of a machine is alike in all: tables need no look at each number
    if is_dataclass(first) and not isinstance(first, type):
        names = [field.name for field in fields(first) if field.init]
        return replace(first, **{name: _joined([getattr(part, name) for part in parts]) for name in names})
    if isinstance(first, tuple):
        if any(len(part) != len(first) for part in parts):
            raise ValueError("machines differ in how many parts they have")
        return tuple(_joined(column) for column in zip(*parts, strict=True))
    if isinstance(first, float):
        return np.array(parts)
    raise ValueError(f"machines differ in what they are made of: {first!r}")


def pick(machine: Machine, index: Index) -> Machine:
    """One design of a machine of arrays (a plain machine), or some of them."""
    return Designs.of(machine).pick(index)


@dataclass(frozen=True)
class Designs:
    """A machine of arrays with the places of its arrays, so that some of its designs are quickly picked."""

    machine: Machine
    branches: Any  #: by field or place in a tuple what lies below it; True: an array

    @classmethod
    def of(cls, machine: Machine) -> "Designs":
        """Find the arrays of a machine."""
        return cls(machine, _branches(machine))

    def pick(self, index: Index) -> Machine:
        """One design, or some of them."""
        picked: Machine = _picked(self.machine, self.branches, index)
        return picked

    def some(self, index: Index) -> "Designs":
        """The same of some of the designs."""
        return Designs(self.pick(index), self.branches)


def _branches(part: Any) -> Any:
    if isinstance(part, np.ndarray):
        return True
    found: dict[Any, Any]
    if isinstance(part, tuple):
        found = {k: _branches(one) for k, one in enumerate(part)}
    elif is_dataclass(part):
        found = {field.name: _branches(getattr(part, field.name)) for field in fields(part)}
    else:
        return None
    return {key: below for key, below in found.items() if below is not None} or None


def _picked(part: Any, branches: Any, index: Index) -> Any:
    if branches is None:
        return part
    if branches is True:
        return float(part[index]) if isinstance(index, int) else part[index]
    if isinstance(part, tuple):
        return tuple(_picked(one, branches.get(k), index) for k, one in enumerate(part))
    return replace(part, **{name: _picked(getattr(part, name), below, index) for name, below in branches.items()})
