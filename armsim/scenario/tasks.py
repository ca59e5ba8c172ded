"""A task to size a drive for: a scenario that may still lack motor, supply and transmission."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from armsim.drivetrain.machine import Load, Machine
from armsim.dynamics.plan import Plan
from armsim.scenario import build, schema
from armsim.scenario.carriages import carriage
from armsim.scenario.loading import checked, finished
from armsim.scenario.motor_data import nominal_voltage
from armsim.scenario.moves import planned, with_loop
from armsim.scenario.notes import Notes
from armsim.scenario.problems import Problem
from armsim.scenario.records import Assumption, Scenario, Wish
from armsim.scenario.variants import Document, read_document, read_text

LACKING = ("motor", "supply")  #: what a scenario must have and a task may lack; a transmission may be empty anyway


@dataclass(frozen=True, kw_only=True)
class Task:
    """What is to be lifted, from where to where, and what is asked of it."""

    path: Path | None
    title: str
    sha256: str
    load: Load
    plan: Plan
    requirements: tuple[Wish, ...]
    has_supply: bool
    file: schema.ScenarioFile
    scenario: Scenario | None  #: the whole machine, where the file has one
    assumptions: tuple[Assumption, ...]
    warnings: tuple[Problem, ...]


def load_task(path: Path) -> Task:
    """Read a scenario file that may lack motor, supply and transmission. Raises ScenarioError with every problem."""
    return _task(read_document(Path(path)), Path(path))


def loads_task(text: str, name: str = "scenario.yaml") -> Task:
    """The same from a text."""
    return _task(read_text(text, name), None)


def task_of(scenario: Scenario) -> Task:
    """The same of a scenario that was read. Raises ValueError for one that was made in code."""
    if scenario.document is None:
        raise ValueError("a scenario that was made in code has no sections to size for")
    return _task(scenario.document, scenario.path)


def _task(document: Document, path: Path | None) -> Task:
    found = checked(document, LACKING)
    file, notes = found.sections.whole(), Notes()
    complete = all(key in found.sections.values for key in LACKING)
    scenario = finished(document, path, found) if complete else None
    return Task(
        path=path,
        title=file.title,
        sha256=document.sha256,
        load=carriage(file.carriage, notes) if file.arm is None else build.arm(file.arm, notes),
        plan=planned(file, notes),
        requirements=build.wishes(file.requirements),
        has_supply="supply" in found.sections.values,
        file=file,
        scenario=scenario,
        assumptions=tuple(notes.assumptions),
        warnings=() if scenario is None else scenario.warnings,
    )


def with_motor(task: Task, motor: schema.Motor) -> Machine:
    """The task's machine with a motor and no reduction but the motor's own, and a carriage's rack or drum.

    Without a supply in the file the motor has its nominal voltage, which nothing makes sag. Raises ValueError where it
    tells none, and where its own figures cannot be taken.
    """
    supply = task.file.supply if task.has_supply else None
    if not task.has_supply:
        volts = nominal_voltage(motor)
        if volts is None:
            raise ValueError("its voltage is not known: give it a nominal_voltage, or the file a supply")
        bench = schema.Bench.model_construct(voltage=volts, internal_resistance=0.0, can_sink=True)
        supply = schema.Supply.model_construct(bench=bench)
    last = task.file.transmission[-1:] if task.file.arm is None else []
    changed = {"motor": motor, "supply": supply, "transmission": last, "more_motors": [], "side_loads": []}
    return _built(task, changed)


def whole_with_motor(task: Task, motor: schema.Motor) -> Machine:
    """The file's whole machine with another motor. Raises ValueError where its figures cannot be taken."""
    return _built(task, {"motor": motor})


def with_charge(task: Task, charge: float) -> Machine:
    """The file's whole machine with its battery at another state of charge, which its resistance follows."""
    battery = task.file.supply.battery
    assert battery is not None
    supply = task.file.supply.model_copy(update={"battery": battery.model_copy(update={"state_of_charge": charge})})
    return _built(task, {"supply": supply})


def _built(task: Task, changed: Mapping[str, object]) -> Machine:
    notes = Notes()
    file = task.file.model_copy(update=changed)
    machine = build.machine(file, notes)
    if notes.faults:
        raise ValueError("; ".join(fault.text for _, fault in notes.faults))
    return with_loop(machine, task.plan, file.controller.position_loop, notes)


def has_motor(task: Task) -> bool:
    """Whether the file has a motor of its own."""
    return "motor" in task.file.model_fields_set
