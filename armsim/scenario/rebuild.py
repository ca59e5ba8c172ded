"""The machine of a scenario with other numbers at some of its keys, without reading its text again.

What was read stays as it is; the numbers are put in, checked against each other and built anew: what `changed` does, a
dozen times quicker. A key that was not read as the number it is (a voltage that stands for a table) is left to that.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from armsim.drivetrain.machine import Machine
from armsim.dynamics.plan import Plan
from armsim.scenario import agreement, build
from armsim.scenario.changes import changed
from armsim.scenario.keys import Keys
from armsim.scenario.moves import planned, with_loop
from armsim.scenario.notes import Notes
from armsim.scenario.problems import ScenarioError
from armsim.scenario.readers import Reading
from armsim.scenario.records import Measure, Scenario
from armsim.scenario.uncertainty import steps
from armsim.scenario.validate import Path, Sections, fields_by_key, read_sections
from armsim.scenario.values import written
from armsim.scenario.variants import Document


@dataclass(frozen=True, kw_only=True)
class Blueprint:
    """A scenario as read, ready to be built with other numbers."""

    scenario: Scenario
    document: Document
    sections: Sections

    def machine(self, values: Sequence[tuple[str, float, Measure]]) -> Machine | None:
        """The machine with other numbers; None where they disagree.

        Each is a dotted key, its value in SI, within what the key allows, and what it measures.
        """
        built = self.built(values)
        return None if built is None else built[0]

    def built(self, values: Sequence[tuple[str, float, Measure]]) -> tuple[Machine, Plan] | None:
        """The same machine with what it is to do, on which its numbers may bear."""
        held: dict[str, Any] = dict(self.sections.values)
        try:
            for key, value, _ in values:
                held = _put(held, steps(key), value)
        except TypeError:
            return self._read_anew(values)
        sections = replace(self.sections, values=held)
        reading = Reading(sources=self.document.sources, carriage=self.scenario.machine.arm.kind == "carriage")
        agreement.check(sections, self.document, reading)
        if any(problem.severity == "error" for problem in reading.problems):
            return None
        file, notes = sections.whole(), Notes()
        machine, plan = build.machine(file, notes), planned(file, notes)
        machine = with_loop(machine, plan, file.controller.position_loop, notes)
        machine = build.as_built(machine, file.as_built, notes)
        return None if notes.faults else (machine, plan)

    def _read_anew(self, values: Sequence[tuple[str, float, Measure]]) -> tuple[Machine, Plan] | None:
        try:
            anew = changed(self.scenario, {key: written(value, measure) for key, value, measure in values})
        except ScenarioError:
            return None
        return anew.machine, anew.plan


def blueprint(scenario: Scenario) -> Blueprint:
    """Of a scenario that was read from a file or text. Raises ValueError for one that was made in code."""
    document = scenario.document
    if document is None:
        raise ValueError("a scenario that was made in code has no keys to change")
    reading = Reading(sources=document.sources, carriage=scenario.machine.arm.kind == "carriage")
    return Blueprint(scenario=scenario, document=document, sections=read_sections(document, reading))


def _put(held: Any, path: Path, value: float) -> Any:
    """What was read, a value further down changed. Raises TypeError where it was not read as a number."""
    if not path:
        if not (held is None or isinstance(held, float)):
            raise TypeError(f"{held!r} is no number")
        return value
    step, rest = path[0], path[1:]
    if isinstance(held, Keys) and step in fields_by_key(type(held)):
        info = fields_by_key(type(held))[str(step)]
        name = next(name for name, field in type(held).model_fields.items() if field is info)
        return held.model_copy(update={name: _put(getattr(held, name), rest, value)})
    if isinstance(held, dict):
        return {**held, step: _put(held.get(str(step)), rest, value)}
    if isinstance(held, list) and isinstance(step, int):
        return [_put(item, rest, value) if k == step else item for k, item in enumerate(held)]
    raise TypeError(f"{held!r} has no {step}")
