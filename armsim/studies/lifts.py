"""What the first lift of many machines comes to, a row each: the one seam through which a study of tolerances asks."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from armsim.checks.requirements import WishLike
from armsim.drivetrain.machine import Machine
from armsim.dynamics.ensemble import unsupported
from armsim.dynamics.plan import Going, Plan, lifts, payloads
from armsim.parts.arm import with_payload
from armsim.studies import many
from armsim.studies.sampling import Array
from armsim.studies.varied import Variation

Column = NDArray[np.floating]
Columns = dict[str, Column]

#: of every row; nan: not known
MEASURES = (
    "lift_time", "motor_current", "supply_current", "bus_voltage", "tip_speed", "winding", "energy", "static_margin",
)  # fmt: skip
OUTCOMES = ("reached", "trips", "failed", "exact")  #: of every row: 0 or 1; trips 0 no, 1 possible, 2 certain


@dataclass(frozen=True, kw_only=True)
class Question:
    """What is asked of every machine: the first lift of a plan from rest, and requirements."""

    plan: Plan
    payload: float | None  #: carried in it, where moves before it changed that [kg]
    wishes: tuple[WishLike, ...]

    @property
    def margins(self) -> tuple[str, ...]:
        """Columns that hold the margin of each requirement: at least 0 where it is met."""
        return tuple(f"margin {wish.name}" for wish in self.wishes)

    def unsupported(self, machine: Machine) -> str | None:
        """Why machines like this one are run one by one; None where many can be followed together."""
        return unsupported(machine, self.plan)

    @property
    def columns(self) -> tuple[str, ...]:
        """All columns of an answer."""
        return (*MEASURES, *OUTCOMES, *self.margins)


def question_of(machine: Machine, plan: Plan, wishes: Iterable[WishLike]) -> Question | None:
    """The question that a plan with a lift asks; None where it has none."""
    start, carried = plan.start, payloads(machine.arm, plan)
    for move, payload in zip(plan.moves, carried, strict=True):
        if lifts(move):
            alone = replace(plan, start=start, moves=(move,), repeat=1)
            other = None if payload == machine.arm.payload_mass else payload
            return Question(plan=alone, payload=other, wishes=tuple(wishes))
        if isinstance(move, Going):
            start = move.to
    return None


def evaluate(question: Question, variation: Variation, values: Array) -> Columns:
    """The columns of a question, a row a row of SI values of the inputs: many together where that can be done.

    A machine that the scenario refuses, or whose run fails, has nan throughout and `failed` 1.
    """
    try:
        designs = variation.designs(values)
    except ValueError:  # machines of unlike structure go one by one
        return exactly(question, variation, values)
    machine, count = _carrying(question, designs.machine), len(designs.made)
    if not count:
        return _spread({}, designs.made, len(values), question)
    asked = many.Question(machine=variation.scenario.machine, plan=question.plan, wishes=question.wishes)
    found = many.evaluate_designs(asked, machine, count)
    return _spread(_told(question, asked, machine, found), designs.made, len(values), question)


def exactly(question: Question, variation: Variation, values: Array) -> Columns:
    """The same, every row by the exact run."""
    machines = variation.machines(values)
    asked = many.Question(machine=variation.scenario.machine, plan=question.plan, wishes=question.wishes)
    rows = []
    for machine in machines:
        if machine is None:
            rows.append(_spread({}, np.empty(0, dtype=int), 1, question))
            continue
        carrying = _carrying(question, machine)
        rows.append(_told(question, asked, carrying, many.run_each(asked, [carrying])))
    return {name: np.concatenate([row[name] for row in rows]) for name in question.columns}


def _carrying(question: Question, machine: Machine) -> Machine:
    if question.payload is None:
        return machine
    return replace(machine, arm=with_payload(machine.arm, question.payload))


def _told(question: Question, asked: many.Question, machine: Machine, found: Mapping[str, Array]) -> Columns:
    columns: Columns = {name: np.asarray(found[name], dtype=float) for name in (*MEASURES, *OUTCOMES) if name in found}
    columns["tip_speed"] = found["speed"] * machine.arm.length
    for name, margin in many.judge(asked, machine, found).items():
        columns[f"margin {name}"] = np.where(found["failed"], np.nan, margin)
    return columns


def _spread(columns: Columns, made: NDArray[np.intp], count: int, question: Question) -> Columns:
    """Rows put to their places among those that could not be made."""
    if len(made) == count:
        return columns
    found = {}
    for name in question.columns:
        column = np.full(count, np.nan)
        column[made] = columns.get(name, np.empty(0))
        found[name] = column
    found["failed"] = np.nan_to_num(found["failed"], nan=1.0)
    found["reached"] = np.nan_to_num(found["reached"], nan=0.0)
    return found
