"""Machines made of a scenario by other values of its uncertain inputs, as its file would make them."""

from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from armsim.drivetrain.as_built import FACTORS
from armsim.drivetrain.machine import Machine
from armsim.dynamics.ensemble import pick, stacked
from armsim.scenario import Scenario
from armsim.scenario.rebuild import Blueprint, blueprint
from armsim.scenario.records import Uncertain
from armsim.scenario.values import written
from armsim.studies.sampling import Array
from armsim.studies.sampling import values as input_values
from armsim.studies.settings import HANGING, setting_for

TRIED = (1e-6, 0.05, 0.25, 0.5, 0.75, 0.95, 1.0 - 1e-6)  #: shares of an input at which a setting is proved


class Designs(NamedTuple):
    """Machines as one machine of arrays."""

    machine: Machine
    made: NDArray[np.intp]  #: rows that it stands for, in order; others the scenario refuses


@dataclass(frozen=True, kw_only=True)
class Variation:
    """A scenario and the inputs that are to have other values. Picklable."""

    scenario: Scenario
    inputs: tuple[Uncertain, ...]

    def designs(self, values: Array) -> Designs:
        """A machine a row of SI values, an input a column. Raises ValueError where they differ in what they are of."""
        built = self._built(values)
        made = np.array([k for k, machine in enumerate(built) if machine is not None], dtype=int)
        found = [machine for machine in built if machine is not None]
        if not found:
            return Designs(self.scenario.machine, made)
        alike = all(machine is found[0] for machine in found)
        return Designs(self._moved(found[0] if alike else stacked(found), values[made]), made)

    def machines(self, values: Array) -> list[Machine | None]:
        """The same one by one, None for those that the scenario refuses."""
        found: list[Machine | None] = []
        for k, machine in enumerate(self._built(values)):
            found.append(None if machine is None else pick(self._moved(machine, values[[k]]), 0))
        return found

    @property
    def builds(self) -> bool:
        """Whether machines have to be built anew, not only changed in place by settings."""
        return bool(self._anew)

    @cached_property
    def _blueprint(self) -> Blueprint:
        return blueprint(self.scenario)

    @cached_property
    def _anew(self) -> tuple[int, ...]:
        """Inputs for which the machine has to be built anew."""
        return tuple(k for k, one in enumerate(self.inputs) if one.key is not None and not self._movable(one))

    def _movable(self, one: Uncertain) -> bool:
        """Whether a setting does all that a key does; where much may hang on it, that is tried over its range."""
        if any(entry.key.startswith("as_built.") for entry in self.scenario.entries):
            return False  # a value set in place would be without the machine's own factors
        setting = setting_for(self.scenario.machine, str(one.key))
        if setting is None or one.key not in HANGING or self.scenario.document is None:
            return setting is not None
        tried = input_values((one,), np.array(TRIED)[:, None])[:, 0].tolist()
        asked = self.scenario.machine
        return all(
            self._blueprint.machine([(str(one.key), value, one.measure)]) == setting.apply(asked, value)
            for value in tried
        )

    def _built(self, values: Array) -> list[Machine | None]:
        if not self._anew:
            return [self.scenario.machine] * len(values)
        inputs = [self.inputs[k] for k in self._anew]
        built: dict[tuple[float, ...], Machine | None] = {}
        found = []
        for row in map(tuple, values[:, self._anew].tolist()):
            if row not in built:
                keyed = [(str(one.key), value, one.measure) for one, value in zip(inputs, row, strict=True)]
                built[row] = self._blueprint.machine(keyed)
            found.append(built[row])
        return found

    def _moved(self, machine: Machine, values: Array) -> Machine:
        """The other inputs, by settings and factors."""
        for k, one in enumerate(self.inputs):
            if one.key is None:
                machine = FACTORS[one.name](machine, values[:, k])
            elif k not in self._anew:
                setting = setting_for(machine, one.key)
                assert setting is not None
                machine = setting.apply(machine, values[:, k])
        return machine

    def texts(self, row: list[float]) -> dict[str, str]:
        """What the scenario's file says for a row of values."""
        found = {}
        own = {entry.key: entry.value for entry in self.scenario.entries if entry.key.startswith("as_built.")}
        for one, value in zip(self.inputs, row, strict=True):
            if one.key is None:
                key = f"as_built.{one.name}"
                before = own.get(key, 1.0)
                assert isinstance(before, float)
                found[key] = f"{100.0 * value * before!r} %"
            else:
                found[one.key] = written(value, one.measure)
        return found
