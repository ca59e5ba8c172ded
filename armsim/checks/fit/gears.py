"""Whether gears mesh: size of teeth, angles, hands, centres, contact, undercut.

Involute teeth run together where their base pitches agree; bought ones where module, pressure angle and helix do.
"""

import math
from collections.abc import Iterator

from armsim.checks.fit.teeth import SAME, gear_rows, size_words
from armsim.checks.judged_parts import Fit, FitRow
from armsim.checks.phrases import millimetres, number
from armsim.parts.gear_mesh import (
    Gear,
    added_backlash,
    base_pitch,
    base_radius,
    centre_distance,
    contact_parts,
    contact_ratio,
    overlap_ratio,
    sign_of,
    tip_radius,
    transverse_angle,
    working_angle,
)
from armsim.parts.gears import GearPath, gear_names
from armsim.parts.stage import Stage

ALIKE = 0.07  #: up to which two sizes are taken for each other [-]
SAME_ANGLE = math.radians(0.05)  #: [rad]
TIGHT = 0.01  #: by how many modules centres may be closer than without play [-]
LOOSE = 0.05  #: by how many they may be further apart without a word [-]
GOOD_CONTACT, LEAST_CONTACT = 1.2, 1.0  #: contact ratio [-]
RING_ROOM, RING_LEAST = 10, 8  #: teeth that a ring has more than its pinion, full depth and stub, 20 degrees


def path_rows(stage: Stage, path: GearPath) -> Iterator[FitRow]:
    """Every rule of gears on parallel shafts."""
    names = [name.replace("_", " ") for name in gear_names(path)]
    for k, (first, second, centre) in enumerate(path.meshes()):
        suffix = "" if len(path.gears) == 2 else f", {names[k]} with {names[k + 1]}"
        yield from tooth_rows(stage.name, first, second, suffix)
        if may_mesh(first, second):
            yield from centre_rows(stage.name, first, second, centre, suffix)
    for name, gear in zip(names, path.gears, strict=True):
        yield from gear_rows(stage.name, gear, path.series, f", {name}")


def tooth_rows(stage: str, first: Gear, second: Gear, suffix: str = "") -> Iterator[FitRow]:
    """Rules of two gears in mesh wherever their shafts are; `suffix` tells the rules of several meshes apart."""
    sizes = base_pitch_row(stage, first, second, suffix)
    yield sizes
    yield pressure_angle_row(stage, first, second, sizes.fit, suffix)
    helices = helix_row(stage, first, second, suffix)
    if helices is not None:
        yield helices
    if second.internal:
        yield ring_row(stage, first, second, suffix)
    yield common_factor_row(stage, first, second, suffix)


def may_mesh(first: Gear, second: Gear) -> bool:
    """Whether sizes and angles agree, as far as they are known, so that centres and contact have a meaning."""
    ratio = size_ratio(first, second)
    alike = abs(first.helix_angle - second.helix_angle) <= SAME_ANGLE
    return alike and (ratio is None or abs(ratio - 1.0) <= SAME)


def size_ratio(first: Gear, second: Gear) -> float | None:
    """Base pitch of the first over that of the second, in the normal section. [-]"""
    if first.module is None or second.module is None:
        return None
    angles = math.cos(first.pressure_angle) / math.cos(second.pressure_angle)
    return first.module / second.module * angles


def base_pitch_row(stage: str, first: Gear, second: Gear, suffix: str = "") -> FitRow:
    """Teeth of one size, whether told by module or by diametral pitch."""
    rule, ratio, given = f"size of teeth{suffix}", size_ratio(first, second), size_words(first)
    if ratio is None or first.module is None or second.module is None:
        mend = "give module or diametral_pitch of both"
        return FitRow(stage=stage, rule=rule, given=given, wanted="the same", fit=Fit.UNKNOWN, mend=mend)
    if size_words(second) != given:
        given += f" with {size_words(second)}"
    if abs(ratio - 1.0) <= SAME:
        return FitRow(stage=stage, rule=rule, given=given, wanted="the same base pitch", fit=Fit.FITS)
    pitches = [math.pi * gear.module * math.cos(gear.pressure_angle) for gear in (first, second) if gear.module]
    off = f"{number(100.0 * abs(ratio - 1.0))} % {'more' if ratio > 1.0 else 'less'}"
    text = f"From tooth to tooth the first has {off}, {number(abs(pitches[0] - pitches[1]) * 1e6)} um along the line "
    alike = abs(ratio - 1.0) <= ALIKE
    text += "of action: " + ("it turns, noisily and on its tips, and wears out." if alike else "they do not mesh.")
    fit, mend = (Fit.NEAR_MISS if alike else Fit.WRONG), "take both gears of one module and pressure angle"
    return FitRow(stage=stage, rule=rule, given=given, wanted="the same base pitch", fit=fit, text=text, mend=mend)


def pressure_angle_row(stage: str, first: Gear, second: Gear, sizes: Fit, suffix: str = "") -> FitRow:
    """One pressure angle; others mesh only where the base pitches agree all the same."""
    one, other = (f"{number(math.degrees(gear.pressure_angle))} deg" for gear in (first, second))
    rule = f"pressure angle{suffix}"
    if abs(first.pressure_angle - second.pressure_angle) <= SAME_ANGLE:
        return FitRow(stage=stage, rule=rule, given=one, wanted="the same", fit=Fit.FITS)
    if sizes is Fit.FITS:
        fit, text = Fit.DOUBTFUL, "The base pitches agree, so it may run; gears made for each other are not like that."
    else:
        fit, text = Fit.NEAR_MISS, "Such teeth look alike, turn, and run on their tips."
    return FitRow(
        stage=stage, rule=rule, given=f"{one} with {other}", wanted="the same", fit=fit, text=text,
        mend=f"take both of {one}",
    )  # fmt: skip


def helix_row(stage: str, first: Gear, second: Gear, suffix: str = "") -> FitRow | None:
    """Equal helix angles, of opposite hand side by side and of one hand in a ring; None for straight teeth."""
    if not first.helix_angle and not second.helix_angle:
        return None
    wanted_hand = first.hand if second.internal else -first.hand
    wanted = f"{_helix_words(first.helix_angle, wanted_hand)} on the second"
    given = f"{_helix_words(first.helix_angle, first.hand)} with {_helix_words(second.helix_angle, second.hand)}"
    angles = abs(first.helix_angle - second.helix_angle) <= SAME_ANGLE
    text = ""
    if not angles:
        text = "On parallel shafts both have one helix angle."
    elif second.hand != wanted_hand:
        text = (
            "In a ring both are of one hand." if second.internal else "Gears of one hand mesh on crossed shafts only."
        )
    fit = Fit.WRONG if text else Fit.FITS
    mend = f"take {wanted}" if text else ""
    return FitRow(stage=stage, rule=f"helix{suffix}", given=given, wanted=wanted, fit=fit, text=text, mend=mend)


def _helix_words(angle: float, hand: int) -> str:
    return f"{number(math.degrees(angle))} deg {'right' if hand > 0 else 'left'}" if angle else "straight"


def centre_rows(stage: str, first: Gear, second: Gear, centre: float | None, suffix: str = "") -> Iterator[FitRow]:
    """The centre distance, and the contact ratio there."""
    closed = centre_distance(first, second)
    if first.module is not None:
        if closed is None:
            yield FitRow(
                stage=stage, rule=f"centre distance{suffix}", given="these profile shifts", wanted="gears that mesh",
                fit=Fit.WRONG, text="No centre distance lets them touch without play.", mend="smaller profile shifts",
            )  # fmt: skip
            return
        yield centre_row(stage, first, second, closed, centre, suffix)
    angle = working_angle(first, second, centre)
    if angle is not None:
        yield contact_row(stage, first, second, angle, suffix)


def centre_row(stage: str, first: Gear, second: Gear, closed: float, centre: float | None, suffix: str) -> FitRow:
    """A given centre distance against that of flanks that touch without play [m]."""
    rule, wanted = f"centre distance{suffix}", millimetres(closed, 5)
    if centre is None:
        mend = "give centre_distance where the shafts have their places already"
        return FitRow(stage=stage, rule=rule, given="not given", wanted=wanted, fit=Fit.UNKNOWN, mend=mend)
    assert first.module is not None
    given, apart = millimetres(centre, 5), f"{millimetres(abs(centre - closed), 3)} too "
    looser = sign_of(second) * (centre - closed) / first.module
    if -TIGHT <= looser <= LOOSE:
        return FitRow(stage=stage, rule=rule, given=given, wanted=wanted, fit=Fit.FITS)
    apart += "far apart" if centre > closed else "close"
    mend = f"set the shafts {wanted} apart, or shift the profiles"
    angle, play = working_angle(first, second, centre), added_backlash(first, second, centre)
    if looser < 0.0 or angle is None or play is None:
        text = f"The shafts are {apart}: the teeth bind."
        return FitRow(stage=stage, rule=rule, given=given, wanted=wanted, fit=Fit.WRONG, text=text, mend=mend)
    text = f"The shafts are {apart}: it runs at {number(math.degrees(angle), 4)} deg and adds {millimetres(play, 3)} "
    text += "of backlash."
    return FitRow(stage=stage, rule=rule, given=given, wanted=wanted, fit=Fit.DOUBTFUL, text=text, mend=mend)


def contact_row(stage: str, first: Gear, second: Gear, angle: float, suffix: str = "") -> FitRow:
    """Pairs of teeth that carry on average; helical teeth add their overlap."""
    found, helical = contact_ratio(first, second, angle), bool(first.helix_angle)
    given = number(found)
    if helical:
        width = engaged_width(first, second)
        extra = 0.0 if width is None or first.module is None else overlap_ratio(first, width)
        given += f" and {number(extra)} of overlap" if extra else ", overlap not known"
        found += extra
    rule, wanted = f"contact ratio{suffix}", f"{number(GOOD_CONTACT, 2)} or more"
    if found >= GOOD_CONTACT:
        return FitRow(stage=stage, rule=rule, given=given, wanted=wanted, fit=Fit.FITS)
    if found >= LEAST_CONTACT:
        text, fit = "It runs roughly: one pair of teeth barely takes over before the other lets go.", Fit.DOUBTFUL
    else:
        text, fit = "A pair of teeth lets go before the next one meets.", Fit.WRONG
    mend = "closer centres, more teeth, or a smaller pressure angle"
    return FitRow(stage=stage, rule=rule, given=given, wanted=wanted, fit=fit, text=text, mend=mend)


def engaged_width(first: Gear, second: Gear) -> float | None:
    """Over which two gears touch; None where neither width is known. [m]"""
    return min((gear.face_width for gear in (first, second) if gear.face_width is not None), default=None)


def ring_row(stage: str, pinion: Gear, ring: Gear, suffix: str = "") -> FitRow:
    """Tips of a ring: clear of the pinion's tips, and of its flanks below the base circle."""
    rule, more = f"tip interference{suffix}", round(ring.teeth - pinion.teeth)
    given, wanted = f"ring with {more} teeth more", f"{RING_ROOM} or more"
    if more < RING_ROOM:
        stub = more >= RING_LEAST
        text = "Only stub teeth clear each other." if stub else "The tips of ring and pinion strike each other."
        return FitRow(
            stage=stage, rule=rule, given=given, wanted=wanted, fit=Fit.DOUBTFUL if stub else Fit.WRONG, text=text,
            mend=f"a pinion of {round(ring.teeth) - RING_ROOM} teeth or fewer",
        )  # fmt: skip
    angle = working_angle(pinion, ring) or transverse_angle(pinion)
    reach = contact_parts(pinion, ring, angle)[1] * base_pitch(pinion)
    if reach > base_radius(pinion) * math.tan(angle) * (1.0 + 1e-9):
        least = _pinion_clear_of_tips(ring, angle)
        text = "The ring's tips reach below the base circle of so small a pinion; makers shorten them."
        return FitRow(
            stage=stage, rule=rule, given=given, wanted=f"a pinion of {least} teeth or more", fit=Fit.DOUBTFUL,
            text=text, mend="a larger pinion, or a ring with shortened teeth",
        )  # fmt: skip
    return FitRow(stage=stage, rule=rule, given=given, wanted=wanted, fit=Fit.FITS)


def _pinion_clear_of_tips(ring: Gear, angle: float) -> int:
    """Teeth from which on a ring's tips stay on the pinion's involute, z1/z2 >= 1 - tan(a_a2)/tan(a_w)."""
    tips = math.sqrt(max(tip_radius(ring) ** 2 - base_radius(ring) ** 2, 0.0)) / base_radius(ring)
    return math.ceil(ring.teeth * (1.0 - tips / math.tan(angle)) - 1e-9)


def common_factor_row(stage: str, first: Gear, second: Gear, suffix: str = "") -> FitRow:
    """Whether each tooth meets every other; advice only."""
    one, other = round(first.teeth), round(second.teeth)
    shared = math.gcd(one, other)
    text = "" if shared == 1 else f"The same teeth meet every {other // shared} turns; without one all wear alike."
    return FitRow(
        stage=stage, rule=f"common factor{suffix}", given=f"{one} and {other}: {shared}", wanted="1, for even wear",
        fit=Fit.FITS, text=text,
    )  # fmt: skip
