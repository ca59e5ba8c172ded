"""Whether a worm and its wheel go together."""

import math
from collections.abc import Iterator

from armsim.checks.judged_parts import Fit, FitRow
from armsim.checks.locking import angle_band
from armsim.checks.phrases import millimetres, number
from armsim.parts.stage import Stage
from armsim.parts.worm import WormLaw
from armsim.parts.worm_pair import WormPair

QUOTIENT = (8.0, 20.0)  #: usual diameter quotient, d1/m [-]
CLOSE_CENTRES = 0.02  #: of the module, within which centres count as right [-]
SHIFT = 0.5  #: of the module, that a profile shift of the wheel may make up for [-]
CLOSE_HELIX = math.radians(0.25)  #: within which a wheel's helix counts as the worm's lead angle [rad]
NEAR_HELIX = math.radians(2.0)
ROUNDED = 0.01  #: of a lead angle, by which a label may round it [-]


def judge_worm(stage: Stage, pair: WormPair) -> Iterator[FitRow]:
    """Hand, helix, size, proportions, and how surely it locks."""
    yield _hand(stage, pair)
    yield _helix(stage, pair)
    if pair.module is None or pair.diameter is None:
        yield FitRow(
            stage=stage.name,
            rule="worm size",
            given="-",
            wanted="a lead angle, centre distance and proportions that agree",
            fit=Fit.UNKNOWN,
            mend="give two of module, diameter and centre_distance",
        )
    else:
        yield _lead_angle(stage, pair, pair.module, pair.diameter)
        yield _centres(stage, pair, pair.module)
        yield _quotient(stage, pair.diameter / pair.module)
    yield _teeth(stage, pair)
    if isinstance(stage.law, WormLaw):
        yield from _locking(stage, pair, stage.law)
    if pair.curve_friction and "bronze" not in pair.wheel_material:
        yield FitRow(
            stage=stage.name,
            rule="friction curve",
            given=f"{pair.wheel_material} wheel",
            wanted="bronze",
            fit=Fit.DOUBTFUL,
            text="The mean friction curve is of hardened steel on bronze; other wheels rub by other laws.",
            mend="give friction and static_friction of this pair",
        )


def _hand(stage: Stage, pair: WormPair) -> FitRow:
    worm = _hand_word(pair.hand)
    if pair.wheel_hand is None:
        return FitRow(
            stage=stage.name, rule="hand", given=f"worm {worm}, wheel not given", wanted=f"wheel {worm}",
            fit=Fit.UNKNOWN, mend="give wheel_hand",
        )  # fmt: skip
    same = pair.wheel_hand == pair.hand
    return FitRow(
        stage=stage.name,
        rule="hand",
        given=f"worm {worm}, wheel {_hand_word(pair.wheel_hand)}",
        wanted=f"wheel {worm}",
        fit=Fit.FITS if same else Fit.WRONG,
        text="" if same else "Threads and teeth cross by twice the lead angle: worm and wheel are of one hand.",
        mend="" if same else f"a {worm}-hand wheel",
    )


def _hand_word(hand: int) -> str:
    return "right" if hand > 0 else "left"


def _helix(stage: Stage, pair: WormPair) -> FitRow:
    wanted = _fine_degrees(pair.lead_angle)
    if pair.wheel_helix is None:
        return FitRow(
            stage=stage.name, rule="helix of the wheel", given="not given", wanted=wanted, fit=Fit.UNKNOWN,
            mend="give wheel_helix",
        )  # fmt: skip
    off = abs(pair.wheel_helix - pair.lead_angle)
    fit = Fit.FITS if off <= CLOSE_HELIX else Fit.NEAR_MISS if off <= NEAR_HELIX else Fit.WRONG
    misses = fit is not Fit.FITS
    return FitRow(
        stage=stage.name,
        rule="helix of the wheel",
        given=_fine_degrees(pair.wheel_helix),
        wanted=wanted,
        fit=fit,
        text="At a right angle the teeth then touch at their ends." if misses else "",
        mend=f"a wheel cut for this worm; swung by {_fine_degrees(off)} out of square it touches in a point only"
        if misses
        else "",
    )


def _fine_degrees(angle: float) -> str:
    return f"{number(math.degrees(angle), 4)} deg"


def _lead_angle(stage: Stage, pair: WormPair, module: float, diameter: float) -> FitRow:
    made = math.atan(pair.starts * module / diameter)
    agrees = abs(pair.lead_angle - made) <= ROUNDED * made * (1.0 + 1e-9)
    return FitRow(
        stage=stage.name,
        rule="lead angle",
        given=_fine_degrees(pair.lead_angle),
        wanted=f"{_fine_degrees(made)}, from starts, module and diameter",
        fit=Fit.FITS if agrees else Fit.WRONG,
        text="" if agrees else "One of lead angle, module and diameter is wrong.",
    )


def _centres(stage: Stage, pair: WormPair, module: float) -> FitRow:
    natural = pair.natural_centres
    assert natural is not None  # module and diameter are known
    wanted = f"{millimetres(natural, 5)}, (worm diameter + module x teeth) / 2"
    if pair.centre_distance is None:
        return FitRow(
            stage=stage.name, rule="centre distance", given="not given", wanted=wanted, fit=Fit.UNKNOWN,
            mend="give centre_distance",
        )  # fmt: skip
    off = pair.centre_distance - natural
    given, shift = millimetres(pair.centre_distance, 5), off / module
    if abs(shift) <= CLOSE_CENTRES * (1.0 + 1e-9):
        return FitRow(stage=stage.name, rule="centre distance", given=given, wanted=wanted, fit=Fit.FITS)
    within = abs(shift) <= SHIFT * (1.0 + 1e-9)
    return FitRow(
        stage=stage.name,
        rule="centre distance",
        given=given,
        wanted=wanted,
        fit=Fit.DOUBTFUL if within else Fit.WRONG,
        text=f"Right only for a wheel cut with a profile shift of {number(shift)} modules."
        if within
        else f"Off by {millimetres(abs(off), 3)}, {number(abs(shift))} modules: no profile shift makes up for that.",
        mend=f"centre_distance: {millimetres(natural, 5)}",
    )


def _quotient(stage: Stage, quotient: float) -> FitRow:
    low, high = QUOTIENT
    inside = low * (1.0 - 1e-9) <= quotient <= high * (1.0 + 1e-9)
    slender = "A slender worm bends." if quotient < low else "A thick worm slides fast and loses much."
    return FitRow(
        stage=stage.name,
        rule="diameter quotient",
        given=number(quotient),
        wanted=f"{low:g} to {high:g} (diameter / module)",
        fit=Fit.FITS if inside else Fit.DOUBTFUL,
        text="" if inside else slender,
    )


def _teeth(stage: Stage, pair: WormPair) -> FitRow:
    least = 2.0 / math.sin(pair.pressure_angle) ** 2
    enough = pair.wheel >= math.floor(least)
    return FitRow(
        stage=stage.name,
        rule="teeth of the wheel",
        given=str(pair.wheel),
        wanted=f"{math.floor(least)} or more at {number(math.degrees(pair.pressure_angle))} deg",
        fit=Fit.FITS if enough else Fit.DOUBTFUL,
        text="" if enough else "Fewer are undercut at the root, as by a rack.",
    )


def _locking(stage: Stage, pair: WormPair, law: WormLaw) -> Iterator[FitRow]:
    low, high = angle_band(law, pair.friction_spread)
    angle = law.angle_in_hand()
    open_ = low < 0.0 <= high
    lead = _fine_degrees(pair.lead_angle)
    yield FitRow(
        stage=stage.name,
        rule="locking at rest",
        given=f"friction angle {_fine_degrees(angle + pair.lead_angle)}, "
        f"{_fine_degrees(low + pair.lead_angle)} to {_fine_degrees(high + pair.lead_angle)} as friction scatters",
        wanted=f"more than the lead angle, {lead}, to lock; less, to turn back",
        fit=Fit.DOUBTFUL if open_ else Fit.FITS,
        text=f"Friction off by {100.0 * pair.friction_spread:.0f} % decides whether it locks: "
        f"{_fine_degrees(low)} to {_fine_degrees(high)} in hand."
        if open_
        else f"It {'locks' if low >= 0.0 else 'does not lock'}, {number(abs(math.degrees(angle)))} deg "
        f"{'in hand' if low >= 0.0 else 'short'} ({_fine_degrees(low)} to {_fine_degrees(high)}).",
        mend="a brake, or a smaller lead angle" if open_ else "",
    )
    if not stage.locks():
        return
    speed = law.lock_loss_speed()
    rpm = None if speed is None else number(speed * 60.0 / math.tau)
    yield FitRow(
        stage=stage.name,
        rule="locking in motion",
        given="at any speed" if rpm is None else "at rest only" if speed == 0.0 else f"up to {rpm} rpm of the worm",
        wanted="-",
        fit=Fit.FITS,
        text="" if rpm is None else "Faster, friction has fallen so far that a load runs away with it.",
    )
