"""The scenario's wishes against the results, each with its margin."""

from collections.abc import Iterable
from typing import Protocol

from armsim.checks.assessment import Holding, Lift, ProtectionResult, Requirement, Trips
from armsim.dynamics.run import Kind, Run

Value = float | bool | str | None
RESETS = (Kind.UNDERVOLTAGE, Kind.OVERVOLTAGE)
WORST_FIRST = (Trips.CERTAIN, Trips.POSSIBLE, Trips.NO)


class WishLike(Protocol):
    """A requirement as asked: what of, whether at most, at least or exactly, and the limit in SI."""

    @property
    def name(self) -> str: ...
    @property
    def dimension(self) -> str: ...
    @property
    def sense(self) -> str: ...
    @property
    def limit(self) -> float | bool: ...


def measured(
    lift: Lift, holding: Holding, protection: tuple[ProtectionResult, ...], run: Run | None, arm_length: float
) -> dict[str, Value]:
    """What each kind of requirement is measured by; None where it is not known."""
    values: dict[str, Value] = {
        "lift_time": lift.time,
        "static_margin": lift.static_margin,
        "holds_unpowered": holding.stays_up,
        "breaker_trips": worst_trip(protection),
    }
    if run is not None:
        peaks = run.peaks
        values["supply_current"] = peaks.supply_current.value
        values["motor_current"] = peaks.motor_current.value
        values["bus_voltage"] = peaks.bus_voltage.value
        values["controller_resets"] = any(run.first(kind) is not None for kind in RESETS)
        values["tip_speed"] = peaks.speed.value * arm_length
        values["winding_temperature"] = None if run.machine.motor.heat is None else peaks.winding.value
    return values


def worst_trip(protection: tuple[ProtectionResult, ...]) -> str | None:
    """The worst verdict of all devices: `no` without any device, None where one was not simulated."""
    found = [result.trips for result in protection]
    if any(trips is None for trips in found):
        return None
    return next((str(trips) for trips in WORST_FIRST if trips in found), str(Trips.NO))


def judge(wishes: Iterable[WishLike], values: dict[str, Value], lift: Lift) -> tuple[Requirement, ...]:
    """Every wish judged. A lift that does not arrive misses its time; what is not known is not judged."""
    judged = []
    for wish in wishes:
        value = values.get(wish.name)
        margin, met = _compare(wish, value)
        if wish.name == "lift_time" and lift.reached is False:
            margin, met = None, False
        judged.append(
            Requirement(
                name=wish.name,
                dimension=wish.dimension,
                sense=wish.sense,
                limit=wish.limit,
                value=value,
                margin=margin,
                met=met,
            )
        )
    return tuple(judged)


def _compare(wish: WishLike, value: Value) -> tuple[float | None, bool | None]:
    if value is None:
        return None, None
    if isinstance(value, str):
        # only a breaker answers in words, and only a sure answer meets a wish
        return None, value == (Trips.CERTAIN if wish.limit else Trips.NO)
    if wish.sense == "is":
        return None, bool(value) == bool(wish.limit)
    margin = float(wish.limit) - float(value) if wish.sense == "max" else float(value) - float(wish.limit)
    return margin, margin >= 0.0


def overall(requirements: tuple[Requirement, ...], arrives: bool | None) -> str:
    """pass, fail or none: a travel that does not arrive always fails; none where nothing sure can be said."""
    if arrives is False or any(requirement.met is False for requirement in requirements):
        return "fail"
    if not requirements or any(requirement.met is None for requirement in requirements):
        return "none"
    return "pass"
