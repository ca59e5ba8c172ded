"""Rows of a sweep: what the first lift of many designs came to, held against what was asked."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from armsim.drivetrain.machine import Machine
from armsim.studies.many import MEASURED, TRIPS, Question, judge

Array = NDArray[Any]
Columns = dict[str, Array]

#: conditions beside the requirements, worst first; a row that misses one is told of at its edge
STALL, CERTAIN, POSSIBLE, RESET, HEAT = "stall", "trip_certain", "trip_possible", "reset", "heat"
ORDER = (STALL, CERTAIN, POSSIBLE, RESET, HEAT)
CONDITIONS = (*ORDER, *MEASURED)  #: all that a row may miss
DUST = 1e-12  #: a speed of rounding [rad/s]
NUMBERS = (
    "lift_time", "final_angle", "motor_current", "supply_current", "supply_rms", "energy", "bus_voltage", "speed",
    "winding", "trips", "heat_peak", "static_margin", "verdict",
)  # fmt: skip
FLAGS = ("reached", "exact", "failed")
WHY = "why"  #: column of texts: why a row could not be run
WIDTH = len(NUMBERS) + len(FLAGS) + 2 * len(CONDITIONS)  #: columns that a row takes, about
_TRIPS = {number: name for name, number in TRIPS.items()}
_VERDICTS = {0.0: "fail", 1.0: "pass"}


class Point(NamedTuple):
    """Values of a row, in the order of the keys."""

    texts: tuple[str, ...]  #: as they would stand in the file
    numbers: tuple[float | None, ...]  #: in the unit of each key; None for words


@dataclass(frozen=True, kw_only=True)
class Row:
    """What came of one choice of values. None: not known; SI."""

    texts: tuple[str, ...]  #: of the keys, in their order, as they would stand in the file
    numbers: tuple[float | None, ...]  #: the same in the unit of each key; None for words
    reached: bool | None = None
    lift_time: float | None = None
    final_angle: float | None = None
    motor_current: float | None = None
    supply_current: float | None = None
    supply_rms: float | None = None
    energy: float | None = None  #: from the source during the lift
    bus_voltage: float | None = None
    speed: float | None = None
    winding: float | None = None
    trips: str | None = None  #: no, possible or certain
    heat_peak: float | None = None  #: of the device nearest to its trip level, over that level
    static_margin: float | None = None
    verdict: str | None = None
    margins: Mapping[str, float] = field(default_factory=dict)  #: of conditions with a measure; below 0 missed
    missed: frozenset[str] = frozenset()  #: conditions and requirements that it misses
    exact: bool = True  #: by the exact run
    failed: str = ""  #: why it could not be run

    @property
    def feasible(self) -> bool:
        """Meets everything asked; where nothing is asked, lifts without reset, overheating or even a possible trip."""
        return not self.failed and self.verdict == "pass"


# ----------------------------------------------------------------------------------------------------------- columns


def blank(count: int) -> Columns:
    """Columns in which nothing is known."""
    columns: Columns = {name: np.full(count, np.nan) for name in (*NUMBERS, *map(_room, CONDITIONS))}
    columns |= {name: np.zeros(count, dtype=bool) for name in (*FLAGS, *map(_missed, CONDITIONS))}
    return columns


def _room(condition: str) -> str:
    return f"room {condition}"


def _missed(condition: str) -> str:
    return f"missed {condition}"


def held_against(question: Question, machine: Machine, found: Mapping[str, Array]) -> Columns:
    """What designs of a machine of arrays came to, with what each misses and the room left to what has a measure."""
    columns = blank(len(found["reached"]))
    columns |= {name: found[name] for name in (*NUMBERS, *FLAGS) if name in found}
    columns["supply_rms"] = found["supply_rms"]
    columns["speed"] = np.where(found["speed"] > DUST, found["speed"], 0.0 * found["speed"])
    missed = _conditions(machine, found)
    room = _measures(machine, found)
    for wish, (name, margin) in zip(question.wishes, judge(question, machine, found).items(), strict=True):
        missed[name] = margin < 0.0
        if name == "breaker_trips":
            room |= {} if wish.limit else {name: room[POSSIBLE]}
        elif wish.sense != "is":
            room[name] = np.where(np.isfinite(margin), margin, np.nan) / max(abs(float(wish.limit)), 1e-9)
    known = ~found["failed"]
    for name, values in missed.items():
        columns[_missed(name)] = values & known
    for name, values in room.items():
        columns[_room(name)] = np.where(known, values, np.nan)
    if not question.wishes:
        columns["verdict"] = np.where(np.any([missed[name] for name in ORDER], axis=0), 0.0, 1.0)
    return columns


def _conditions(machine: Machine, found: Mapping[str, Array]) -> dict[str, Array]:
    """Which designs miss each of ORDER."""
    heat = machine.motor.heat
    limit = None if heat is None else heat.winding_limit
    return {
        STALL: ~found["reached"],
        CERTAIN: found["trips"] == TRIPS["certain"],
        POSSIBLE: ~(found["trips"] == TRIPS["no"]),
        RESET: found["resets"] > 0.0,
        HEAT: np.zeros(len(found["reached"]), dtype=bool) if limit is None else found["winding"] > limit,
    }


def _measures(machine: Machine, found: Mapping[str, Array]) -> dict[str, Array]:
    """The room left to those of ORDER that have a measure, over its limit. [-]"""
    room = {POSSIBLE: 1.0 - found["heat_peak"]}
    if machine.controller.undervoltage is not None:
        room[RESET] = found["bus_voltage"] / machine.controller.undervoltage - 1.0
    return room


# -------------------------------------------------------------------------------------------------------- one by one


def rows_of(points: Sequence[Point], columns: Columns) -> list[Row]:
    """Rows of points from their columns."""
    lists = {name: column.tolist() for name, column in columns.items()}
    return [_row(point, {name: values[k] for name, values in lists.items()}) for k, point in enumerate(points)]


def lost(points: Sequence[Point], why: str) -> list[Row]:
    """Rows of which nothing is known."""
    return [Row(texts=point.texts, numbers=point.numbers, failed=why) for point in points]


def _row(point: Point, values: Mapping[str, Any]) -> Row:
    if values["failed"]:
        return lost([point], values[WHY])[0]
    told: dict[str, Any] = {name: None if np.isnan(values[name]) else values[name] for name in NUMBERS}
    told["trips"] = _TRIPS.get(told["trips"])
    told["verdict"] = _VERDICTS.get(told["verdict"], "none")
    room = {name: values[_room(name)] for name in CONDITIONS}
    return Row(
        texts=point.texts,
        numbers=point.numbers,
        **told,
        reached=values["reached"],
        margins={name: margin for name, margin in room.items() if not np.isnan(margin)},
        missed=frozenset(name for name in CONDITIONS if values[_missed(name)]),
        exact=values["exact"],
    )
