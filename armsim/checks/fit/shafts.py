"""Whether wheels fit their shafts, and whether shafts stay clear of the wheels of the next stage."""

import math
from collections.abc import Iterator
from itertools import pairwise

from armsim.checks.fit.bores import bore_verdict, wheels_on
from armsim.checks.judged_parts import Fit, FitRow
from armsim.checks.phrases import millimetres, number
from armsim.checks.transmission import inside_motor
from armsim.drivetrain.machine import Machine
from armsim.drivetrain.shafts import named_shafts, shaft_before
from armsim.parts.shaft import Shaft
from armsim.parts.stage import Footprint, Stage

KEY_WIDTH = (0.2, 0.42)  #: of the shaft, within which all standard keys lie [-]
WIDE = math.radians(90.0)  #: angle at the common shaft beyond which there is little choice of place [rad]


def judge_shafts(machine: Machine) -> Iterator[FitRow]:
    """Bores, keys and screws of every shaft told of, and the room between neighbouring stages."""
    for k, part, shaft in named_shafts(machine):
        stage = machine.stages[k].name
        if shaft.bore is not None or all(bore is None for _, bore in wheels_on(machine, k, part)):
            yield _bore(stage, part, shaft)
        yield from _fastening(stage, part, shaft)
    for k, (one, other) in enumerate(pairwise(machine.stages)):
        if one.footprint is not None and other.footprint is not None:
            yield from _room(machine, k, one, other, one.footprint, other.footprint)


def _bore(stage: str, part: str, shaft: Shaft) -> FitRow:
    wanted = f"{millimetres(shaft.size, 5)}{' across flats' if shaft.hexagon is not None else ''}"
    if shaft.bore is None:
        return FitRow(
            stage=stage, rule=f"bore on the {part}", given="not given", wanted=wanted, fit=Fit.UNKNOWN,
            mend="give bore",
        )  # fmt: skip
    fit, text = bore_verdict(shaft.bore, shaft.size)
    return FitRow(
        stage=stage,
        rule=f"bore on the {part}",
        given=millimetres(shaft.bore, 5),
        wanted=wanted,
        fit=fit,
        text=text,
        mend="" if fit is Fit.FITS else f"a bore of {millimetres(shaft.size, 5)}",
    )


def _fastening(stage: str, part: str, shaft: Shaft) -> Iterator[FitRow]:
    if shaft.key is not None and shaft.diameter is not None:
        share = shaft.key.width / shaft.diameter
        low, high = KEY_WIDTH
        usual = low * (1.0 - 1e-9) <= share <= high * (1.0 + 1e-9)
        yield FitRow(
            stage=stage,
            rule=f"key of the {part}",
            given=f"{millimetres(shaft.key.width)} wide",
            wanted=f"{millimetres(low * shaft.diameter)} to {millimetres(high * shaft.diameter)}",
            fit=Fit.FITS if usual else Fit.DOUBTFUL,
            text="" if usual else f"{'Its keyway weakens the shaft' if share > high else 'A thin key rolls over'}.",
        )
    if shaft.set_screw is not None:
        usual = shaft.set_screw.diameter <= shaft.size / 2.0 * (1.0 + 1e-9)
        yield FitRow(
            stage=stage,
            rule=f"set screw of the {part}",
            given=f"{shaft.set_screw.size}, {millimetres(shaft.set_screw.diameter)}",
            wanted=f"at most half of the shaft, {millimetres(shaft.size / 2.0)}",
            fit=Fit.FITS if usual else Fit.DOUBTFUL,
            text="" if usual else "Its point bears beside a shaft so thin, and holds less than its chart says.",
        )


def _room(machine: Machine, k: int, one: Stage, other: Stage, near: Footprint, far: Footprint) -> Iterator[FitRow]:
    """Between stage `k` and the next, whose common shaft carries the driven wheel of the one, the other's driver."""
    first, last = shaft_before(machine, k), other.output_shaft
    motors = k == inside_motor(machine)
    name = f"input shaft of {one.name}"
    yield _beside(other.name, f"{name} beside the driver", first, near.centre_distance, far.driver_tip, motors)
    name = f"output shaft of {other.name}"
    yield _beside(one.name, f"{name} beside the driven wheel", last, far.centre_distance, near.driven_tip, False)
    yield _swing(other.name, near, far, first, last)


def _beside(stage: str, rule: str, shaft: Shaft | None, centres: float, tip: float, overhung: bool) -> FitRow:
    """A shaft runs at a fixed distance from the common one, whatever way its centre is swung round it.

    Taken to run through the plane of that wheel; the motor's may end before it, then there is no collision.
    """
    needed = tip + (0.0 if shaft is None else shaft.radius)
    wanted = f"more than {millimetres(needed)} from the common shaft"
    given = f"{millimetres(centres)} from the common shaft"
    if centres <= needed:
        return FitRow(
            stage=stage,
            rule=rule,
            given=given,
            wanted=wanted,
            fit=Fit.DOUBTFUL if overhung else Fit.WRONG,
            text="Where it runs past that wheel it cuts through its teeth.",
            mend=f"let it end before the wheel, or a wheel {millimetres(2.0 * (needed - centres))} smaller",
        )
    if shaft is None:
        mend = "give the shaft's diameter"
        return FitRow(stage=stage, rule=rule, given=given, wanted=wanted, fit=Fit.UNKNOWN, mend=mend)
    return FitRow(stage=stage, rule=rule, given=given, wanted=wanted, fit=Fit.FITS)


def _swing(stage: str, near: Footprint, far: Footprint, first: Shaft | None, last: Shaft | None) -> FitRow:
    """The outer two shafts clear each other's wheels if their centre lines make a large enough angle."""
    a, b = near.centre_distance, far.centre_distance
    needed = max(far.driven_tip + _radius(first), near.driver_tip + _radius(last))
    rule = "angle between the centre lines"
    wanted = f"outer shafts {millimetres(needed)} apart"
    given = f"{millimetres(abs(a - b))} to {millimetres(a + b)}, as they are swung"
    if a + b <= needed:
        text = "Even in one line each outer shaft cuts through the other stage's wheel, unless it ends before it."
        return FitRow(stage=stage, rule=rule, given=given, wanted=wanted, fit=Fit.WRONG, text=text)
    if abs(a - b) > needed:
        return FitRow(stage=stage, rule=rule, given=given, wanted=wanted, fit=Fit.FITS)
    angle = math.acos((a * a + b * b - needed * needed) / (2.0 * a * b))
    return FitRow(
        stage=stage,
        rule=rule,
        given=given,
        wanted=wanted,
        fit=Fit.DOUBTFUL if angle > WIDE else Fit.FITS,
        text=f"The lines from the common shaft have to make at least {number(math.degrees(angle))} deg, unless the "
        "outer shafts end before each other's wheels.",
    )


def _radius(shaft: Shaft | None) -> float:
    return 0.0 if shaft is None else shaft.radius
