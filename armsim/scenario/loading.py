"""From a file or a text to a scenario, in one call."""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from armsim.drivetrain.machine import Machine
from armsim.scenario import agreement, build, uncertainty
from armsim.scenario.build import as_built
from armsim.scenario.moves import planned, with_loop
from armsim.scenario.notes import Notes
from armsim.scenario.problems import Misreading, Problem, ScenarioError
from armsim.scenario.readers import Reading
from armsim.scenario.records import Scenario, Uncertain
from armsim.scenario.validate import Sections, dotted, read_sections, value_place
from armsim.scenario.variants import Document, read_document, read_text


def load(path: Path | str) -> Scenario:
    """Read a scenario file and what it varies. Raises ScenarioError with every problem found."""
    path = Path(path)
    return scenario_of(read_document(path), path)


def loads(text: str, name: str = "scenario.yaml") -> Scenario:
    """Read a scenario from a text. Raises ScenarioError with every problem found."""
    return scenario_of(read_text(text, name), None)


@dataclass(frozen=True)
class Checked:
    """The sections of a document after every check of keys, and how they were read."""

    sections: Sections
    reading: Reading
    uncertain: tuple[Uncertain, ...]


def checked(document: Document, may_lack: tuple[str, ...] = ()) -> Checked:
    """Read and check every section; some may be lacking. Raises ScenarioError with every problem found."""
    has = document.tree.entries
    reading = Reading(sources=document.sources, carriage="carriage" in has and "arm" not in has)
    sections = read_sections(document, reading, may_lack=may_lack)
    agreement.check(sections, document, reading)
    uncertain = uncertainty.read(document, reading)
    _raise_errors(document, reading)
    return Checked(sections, reading, uncertain)


def scenario_of(document: Document, path: Path | None) -> Scenario:
    """The scenario that a document holds. Raises ScenarioError with every problem found."""
    return finished(document, path, checked(document))


def finished(document: Document, path: Path | None, found: Checked) -> Scenario:
    """The scenario of sections that lack nothing. Raises ScenarioError with what building finds."""
    reading, file, notes = found.reading, found.sections.whole(), Notes()
    machine, plan = build.machine(file, notes), planned(file, notes)
    machine = as_built(with_loop(machine, plan, file.controller.position_loop, notes), file.as_built, notes)
    uncertain = tuple(_kept(found.uncertain, machine, notes))
    for where, fault in notes.faults:
        place, width = value_place(document.tree, where)
        reading.problems.append(document.sources.problem(place, dotted(where), fault, width=width))
    _raise_errors(document, reading)
    return Scenario(
        path=path,
        document=document,
        title=file.title,
        about=file.about,
        sha256=document.sha256,
        machine=machine,
        plan=plan,
        requirements=build.wishes(file.requirements),
        uncertainty=uncertain,
        parts_list=build.parts_list(file.parts_list),
        entries=tuple(reading.entries),
        assumptions=tuple(notes.assumptions),
        warnings=_in_order(document, reading.problems),
    )


def _kept(inputs: tuple[Uncertain, ...], machine: Machine, notes: Notes) -> Iterator[Uncertain]:
    """The inputs within what this machine can be."""
    for one in inputs:
        try:
            yield uncertainty.bounded(one, machine)
        except Misreading as fault:
            notes.faults.append(((uncertainty.SECTION, one.name), fault))


def _raise_errors(document: Document, reading: Reading) -> None:
    errors = [problem for problem in reading.problems if problem.severity == "error"]
    if errors:
        raise ScenarioError(document.file, _in_order(document, errors))


def _in_order(document: Document, problems: list[Problem]) -> tuple[Problem, ...]:
    """By file, the scenario's own first, then by place."""
    files = list(document.sources.lines)
    return tuple(sorted(problems, key=lambda p: (files.index(p.file), p.line, p.column)))
