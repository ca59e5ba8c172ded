"""Whether a wheel's bore is that of its shaft, and whether enough is left of the wheel around it."""

import math
from collections.abc import Iterator

from armsim.checks.judged_parts import Fit, FitRow
from armsim.checks.phrases import millimetres, number
from armsim.drivetrain.machine import Machine
from armsim.drivetrain.shafts import shaft_before
from armsim.parts.belt import BeltDrive
from armsim.parts.bevel import BevelPair
from armsim.parts.chain import ChainDrive, Sprocket, largest_hub, least_hub, root_diameter
from armsim.parts.chain_size import ChainSize
from armsim.parts.gear_mesh import ADDENDUM, DEDENDUM, Gear, root_radius
from armsim.parts.gears import GearPath
from armsim.parts.planetary import PlanetarySet
from armsim.parts.rack import Rack
from armsim.parts.shaft import Shaft
from armsim.parts.stage import Hardware, Stage

PRESSED = 0.03e-3  #: by which a bore may be smaller than its shaft [m]
SLIDING = 0.05e-3  #: by which it may be larger without rocking [m]
LOOSE = 0.15e-3  #: by which it may be larger and still be used [m]
LIKE = 1e-3  #: within which bore and shaft look alike [m]
INCH, SIXTEENTHS, HALF_MM = 0.0254, 16, 0.5e-3
EXACT = 5e-6  #: within which a size is one of a series [m]
Wheel = tuple[str, float | None]  #: its name and its bore, None where it tells none [m]
STIFF_RIM, LEAST_RIM = 1.2, 0.5  #: metal under the tooth root over the height of a tooth, ISO 6336-3 [-]


def bore_verdict(bore: float, size: float) -> tuple[Fit, str]:
    """A bore against the size of its shaft [m], and how it is off."""
    gap, tiny = bore - size, 1e-9
    if -PRESSED - tiny <= gap <= SLIDING + tiny:
        return Fit.FITS, ""
    names = trade_size(bore), trade_size(size)
    two_systems = names[0] is not None and names[1] is not None and names[0].endswith("in") != names[1].endswith("in")
    alike = f" {names[0]} and {names[1]} look alike." if two_systems and abs(gap) <= LIKE + tiny else ""
    if SLIDING < gap <= LOOSE + tiny:
        text = f"{millimetres(gap, 3)} of clearance: the wheel sits off centre and works loose."
        return (Fit.NEAR_MISS if alike else Fit.DOUBTFUL), text + alike
    like = Fit.NEAR_MISS if abs(gap) <= LIKE + tiny else Fit.WRONG
    how = "wide: the wheel wobbles" if gap > 0.0 else "narrow: it does not go on"
    return like, f"{millimetres(abs(gap), 3)} too {how}.{alike}"


def trade_size(length: float) -> str | None:
    """A size as shops call it, in sixteenths of an inch or half millimetres; None where it is neither."""
    parts = round(length / INCH * SIXTEENTHS)
    if parts > 0 and abs(parts * INCH / SIXTEENTHS - length) <= EXACT:
        shared = math.gcd(parts, SIXTEENTHS)
        above, below = parts // shared, SIXTEENTHS // shared
        whole, rest = divmod(above, below)
        fraction = f"{rest}/{below}" if rest else ""
        return "-".join(part for part in (str(whole) if whole else "", fraction) if part) + " in"
    halves = round(length / HALF_MM)
    return f"{halves / 2:g} mm" if halves > 0 and abs(halves * HALF_MM - length) <= EXACT else None


def wheels(hardware: Hardware | None) -> tuple[Wheel | None, Wheel | None]:
    """What a stage has on the shaft before it and on the one behind; None where no bore of a wheel is told of."""
    if isinstance(hardware, GearPath):
        first, last = hardware.gears[0], hardware.gears[-1]
        return ("driver", first.bore or None), None if last.internal else ("driven", last.bore or None)
    if isinstance(hardware, BevelPair):
        return ("driver", hardware.driver.bore or None), ("driven", hardware.driven.bore or None)
    if isinstance(hardware, PlanetarySet):
        return ("sun", hardware.sun.bore or None) if hardware.input == "sun" else None, None
    if isinstance(hardware, ChainDrive | BeltDrive):
        return ("driver", hardware.driver.bore), ("driven", hardware.driven.bore)
    if isinstance(hardware, Rack):
        return None if hardware.pinion is None else ("pinion", hardware.pinion.bore or None), None
    return None, None


def wheels_on(machine: Machine, k: int, part: str) -> list[Wheel]:
    """Wheels on the input or output shaft of a stage."""
    before, behind = wheels(machine.stages[k].hardware)
    if part == "input shaft":
        return [before] if before is not None else []
    next_one = wheels(machine.stages[k + 1].hardware)[0] if k + 1 < len(machine.stages) else None
    return [wheel for wheel in (behind, next_one) if wheel is not None]


def judge_bores(machine: Machine) -> Iterator[FitRow]:
    """Every wheel that tells its bore, against its shaft and its own teeth; of others on such a shaft it is asked."""
    for k, stage in enumerate(machine.stages):
        shafts = shaft_before(machine, k), stage.output_shaft
        before = (k, "input shaft") if k == 0 or stage.input_shaft is not None else (k - 1, "output shaft")
        for wheel, shaft, place in zip(wheels(stage.hardware), shafts, (before, (k, "output shaft")), strict=True):
            if wheel is None:
                continue
            if wheel[1] is not None:
                yield _seat(stage.name, wheel[0], wheel[1], shaft)
            elif shaft is not None and shaft.bore is None and any(bore for _, bore in wheels_on(machine, *place)):
                yield FitRow(
                    stage=stage.name, rule=f"bore of the {wheel[0]} on its shaft", given="not given",
                    wanted=_size(shaft), fit=Fit.UNKNOWN, mend=f"give bore of the {wheel[0]}",
                )  # fmt: skip
        yield from _walls(stage, *shafts)


def _size(shaft: Shaft) -> str:
    return f"{millimetres(shaft.size, 5)}{' across flats' if shaft.hexagon is not None else ''}"


def _seat(stage: str, part: str, bore: float, shaft: Shaft | None) -> FitRow:
    rule, given = f"bore of the {part} on its shaft", millimetres(bore, 5)
    if shaft is None:
        end = "output_shaft" if part == "driven" else "input_shaft, or output_shaft of the stage before"
        return FitRow(
            stage=stage, rule=rule, given=given, wanted="shaft not given", fit=Fit.UNKNOWN, mend=f"give {end}"
        )
    fit, text = bore_verdict(bore, shaft.size)
    return FitRow(
        stage=stage, rule=rule, given=given, wanted=_size(shaft), fit=fit, text=text,
        mend="" if fit is Fit.FITS else f"a bore of {millimetres(shaft.size, 5)}",
    )  # fmt: skip


def _walls(stage: Stage, first: Shaft | None, last: Shaft | None) -> Iterator[FitRow]:
    """Metal left in spur and helical gears, in the pinion of a rack and in sprockets."""
    hardware = stage.hardware
    if isinstance(hardware, GearPath):
        ends = {0: ("driver", first), len(hardware.gears) - 1: ("driven", last)}
        for k, gear in enumerate(hardware.gears):
            part, shaft = ends.get(k, (f"idler {k}", None))
            if gear.bore and gear.module is not None and not gear.internal:
                yield _rim(stage.name, part, gear, gear.module, shaft)
    if isinstance(hardware, Rack) and hardware.pinion is not None and hardware.pinion.bore:
        yield _rim(stage.name, "pinion", hardware.pinion, hardware.module, first)
    if isinstance(hardware, ChainDrive):
        for part, sprocket in (("driver", hardware.driver), ("driven", hardware.driven)):
            if sprocket.bore is not None and sprocket.bore < root_diameter(hardware.size, sprocket.teeth):
                yield _hub(stage.name, part, sprocket, sprocket.bore, hardware.size)


def _rim(stage: str, part: str, gear: Gear, module: float, shaft: Shaft | None) -> FitRow:
    """ISO 6336-3: a rim of 1.2 tooth heights bears like a solid gear, one under half a height is not to be used."""
    key = None if shaft is None else shaft.key
    left = root_radius(gear) * module - gear.bore / 2.0 - (0.0 if key is None else key.height / 2.0)
    height = (ADDENDUM + DEDENDUM) * module
    share = left / height
    rule, given = f"wall of the {part}", f"{millimetres(left, 3)} under its teeth"
    given += "" if key is None else ", keyway taken off"
    wanted = f"{millimetres(STIFF_RIM * height, 3)} or more, 1.2 tooth heights (ISO 6336-3)"
    if share >= STIFF_RIM * (1.0 - 1e-9):
        return FitRow(stage=stage, rule=rule, given=given, wanted=wanted, fit=Fit.FITS)
    mend = "a thinner shaft, more teeth, or the gear cut on its shaft"
    if share <= LEAST_RIM:
        text = "So thin a rim breaks through into its bore or keyway."
        return FitRow(stage=stage, rule=rule, given=given, wanted=wanted, fit=Fit.WRONG, text=text, mend=mend)
    more = 100.0 * (rim_factor(share) - 1.0)
    text = f"Its rim bends with the teeth: {number(more, 2)} % more stress at their roots, not counted in strength."
    return FitRow(stage=stage, rule=rule, given=given, wanted=wanted, fit=Fit.DOUBTFUL, text=text, mend=mend)


def rim_factor(share: float) -> float:
    """What a thin rim adds to root stress, 1.6 ln(2.242 h_t/s_R) for 0.5 < s_R/h_t < 1.2 (ISO 6336-3). [-]"""
    return max(1.6 * math.log(2.242 / share), 1.0)


def _hub(stage: str, part: str, sprocket: Sprocket, bore: float, size: ChainSize) -> FitRow:
    """Handbook proportions of sprockets: a hub thick enough for its bore still has to lie inside the chain."""
    needed, room = least_hub(bore, size.pitch, sprocket.teeth), largest_hub(size.pitch, sprocket.teeth)
    fits = needed <= room
    return FitRow(
        stage=stage, rule=f"wall of the {part}", given=f"hub of {millimetres(needed, 3)} around its bore",
        wanted=f"at most {millimetres(room, 3)}, inside the chain", fit=Fit.FITS if fits else Fit.DOUBTFUL,
        text="" if fits else "A hub with a wall and keyway by handbook proportions touches the chain.",
        mend="" if fits else "more teeth, a thinner shaft, or a hub without keyway",
    )  # fmt: skip
