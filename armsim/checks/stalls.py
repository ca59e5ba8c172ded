"""How each travel of a run ended, and the kinds of failing told apart: when, where, why, and what would mend it."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from armsim.checks.assessment import StallKind
from armsim.checks.phrases import place
from armsim.drivetrain.machine import Machine
from armsim.dynamics.run import Event, Kind, Run


@dataclass(frozen=True, kw_only=True)
class TravelOutcome:
    """How one travel of a run went."""

    name: str  #: lift or lower
    begun: Event
    ended: Event | None  #: None: the run ended first
    stall: Event | None  #: its first stall
    during: tuple[Event, ...]  #: all events from begin to end

    @property
    def duration(self) -> float:
        """From its begin to where it ended or was last seen. [s]"""
        return (self.ended or self.during[-1]).time - self.begun.time

    @property
    def reached(self) -> bool:
        """True where it arrived at its angle."""
        return self.ended is not None and self.ended.kind is Kind.REACHED


def travel_outcomes(run: Run) -> tuple[TravelOutcome, ...]:
    """Every travel of the run with how it ended."""
    return tuple(_travels(run.events))


def _travels(events: tuple[Event, ...]) -> Iterator[TravelOutcome]:
    begins = [k for k, event in enumerate(events) if event.kind is Kind.DRIVE_ON]
    for k, following in pairwise([*begins, len(events)]):
        own = events[k:following]
        closing = next((j for j, event in enumerate(own) if event.kind in (Kind.REACHED, Kind.GIVEN_UP)), None)
        during = own if closing is None else own[: closing + 1]
        yield TravelOutcome(
            name=own[0].text,
            begun=own[0],
            ended=None if closing is None else own[closing],
            stall=next((event for event in during if event.kind is Kind.STALL), None),
            during=during,
        )


def stall_kind(machine: Machine, outcome: TravelOutcome) -> StallKind | None:
    """What kept a travel from arriving, the first thing that ended its motion; None for one that arrived."""
    if outcome.reached:
        return None
    enders = {Kind.BREAKER_OPENS: StallKind.BREAKER_OPEN, Kind.UNDERVOLTAGE: StallKind.RESETS}
    for event in outcome.during:
        if event is outcome.stall:
            return halt_kind(machine, outcome, event)
        if event.kind in enders:
            return enders[event.kind]
    return StallKind.OUT_OF_TIME


def halt_kind(machine: Machine, outcome: TravelOutcome, stall: Event) -> StallKind:
    """How a travel came to stand still under power."""
    arm, upward = machine.arm, outcome.name == "lift"
    if (upward and stall.angle >= arm.upper_stop - 1e-9) or (not upward and stall.angle <= arm.lower_stop + 1e-9):
        return StallKind.AT_STOP
    if any(event.kind is Kind.LIMIT_ENTERED for event in outcome.during):
        return StallKind.CURRENT_LIMIT
    started = any(event.kind is Kind.BREAKAWAY for event in outcome.during)
    return StallKind.ON_THE_WAY if started else StallKind.CANNOT_START


def stall_cause(machine: Machine, outcome: TravelOutcome) -> str | None:
    """The same in words, with what followed."""
    kind, stall = stall_kind(machine, outcome), outcome.stall
    device = next((event.text for event in outcome.during if event.kind is Kind.BREAKER_OPENS), None)
    match kind:
        case None:
            return None
        case StallKind.BREAKER_OPEN:
            return f"the {device} opens"
        case StallKind.RESETS:
            return "the controller resets on undervoltage each time the current rises"
        case StallKind.OUT_OF_TIME:
            return f"the time for the move runs out at {place(machine, outcome.during[-1].angle)}"
        case _:
            assert stall is not None
            return _halt(machine, outcome, stall) + (f", and the {device} opens" if device else "")


def _halt(machine: Machine, outcome: TravelOutcome, stall: Event) -> str:
    kind = halt_kind(machine, outcome, stall)
    if kind is StallKind.AT_STOP:
        return f"the arm runs into its {'upper' if outcome.name == 'lift' else 'lower'} stop"
    started = any(event.kind is Kind.BREAKAWAY for event in outcome.during)
    moved = "the arm slows to a halt on the way" if started else "the arm cannot start"
    return moved + (" with the current at the controller's limit" if kind is StallKind.CURRENT_LIMIT else "")


MENDS = {
    StallKind.AT_STOP: "a target short of the stop, or a stop further out",
    StallKind.BREAKER_OPEN: "less current for less long, or a device and wire of more rating",
    StallKind.RESETS: "less current (a limit, a ramp, more reduction), a stronger battery, thicker or shorter wires",
    StallKind.OUT_OF_TIME: "more time (within, patience), more speed, or more integral gain in the position loop",
    StallKind.CURRENT_LIMIT: "a higher current limit, if motor, supply and wires bear it, or more reduction",
}
