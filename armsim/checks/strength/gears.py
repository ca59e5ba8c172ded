"""Whether gear teeth survive: bending at the root, pressure of the flanks."""

from collections.abc import Iterator
from dataclasses import dataclass

from armsim.checks.fit.gears import engaged_width
from armsim.checks.fit.teeth import WIDEST
from armsim.checks.judged_parts import Loads, StrengthRow
from armsim.checks.phrases import millimetres, rounded_up
from armsim.parts.bevel import BevelPair, mean_radius, virtual_pair
from armsim.parts.gear_mesh import Gear
from armsim.parts.gears import GearPath, gear_names
from armsim.parts.planetary import CARRIER, PlanetarySet, speeds, torques
from armsim.parts.stage import Stage
from armsim.parts.teeth_strength import flank_pressure, lewis_stress

REVERSED = 0.7  #: share of the allowable where each turn bends a tooth both ways [-]
LASTING = ("steady", "run")
LEWIS = "Lewis, one tooth at its tip, cut teeth, no stress concentration; "
HERTZ = "Hertz at the pitch point, one pair; "
GIVEN = "the allowable_"


@dataclass(frozen=True, kw_only=True)
class MeshLoad:
    """What one mesh carries in one case."""

    stage: str
    case: str
    force: float  #: along the pitch circle [N]
    speed: float  #: of the pitch circle [m/s]
    widest: float = WIDEST  #: face width that bears, in modules [-]


def path_rows(stage: Stage, path: GearPath, loads: Loads) -> Iterator[StrengthRow]:
    """Every gear of a path and every mesh. The force of the first mesh counts for all: losses would lighten them."""
    radius = stage.driver_radius
    if radius is None:
        return
    names, meshes = [name.replace("_", " ") for name in gear_names(path)], path.meshes()
    load = MeshLoad(
        stage=stage.name, case=loads.case, force=loads.driver_torque / radius, speed=loads.driver_speed * radius
    )
    for k, gear in enumerate(path.gears):
        mates = path.gears[max(k - 1, 0) : k] + path.gears[k + 1 : k + 2]
        width = min((w for mate in mates if (w := engaged_width(gear, mate)) is not None), default=None)
        yield from bending_rows(load, names[k], gear, width, reversed_load=0 < k < len(path.gears) - 1)
    for k, (first, second, _) in enumerate(meshes):
        yield from contact_rows(load, f"{names[k]} with {names[k + 1]}", first, second)


def pair_rows(stage: Stage, pair: BevelPair, loads: Loads) -> Iterator[StrengthRow]:
    """Both bevel gears by the spur gears that stand for them half way along their teeth."""
    radius = mean_radius(pair)
    if radius is None:
        return
    load = MeshLoad(
        stage=stage.name, case=loads.case, force=loads.driver_torque / radius, speed=loads.driver_speed * radius
    )
    first, second = virtual_pair(pair)
    width = engaged_width(first, second)
    for name, gear in (("driver", first), ("driven", second)):
        yield from bending_rows(load, name, gear, width)
    yield from contact_rows(load, "driver with driven", first, second)


def set_rows(stage: Stage, parts: PlanetarySet, loads: Loads) -> Iterator[StrengthRow]:
    """Sun and planets, the load shared equally by the planets, which bend both ways; rings are stronger."""
    meshes, turning = parts.meshes(), speeds(parts.meshes(), parts.fixed, parts.input)
    _, first = torques(meshes, (1.0,) * len(meshes), (1,) * len(meshes), (parts.input, parts.output, parts.fixed))
    input_torque = max(loads.driver_torque, loads.output_torque / stage.reduction)
    pairs = [("sun", "planet", parts.sun, parts.planet), ("planet", "ring", parts.planet, parts.ring)]
    if parts.second is not None:
        pairs.append(("second planet", "second ring", *parts.second))
    for (name, mate, gear, other), mesh, torque in zip(pairs, meshes, first, strict=True):
        diameter = gear.pitch_diameter
        if diameter is None:
            continue
        rolling = abs(turning[mesh.first] - turning[CARRIER]) * loads.driver_speed
        load = MeshLoad(
            stage=stage.name,
            case=loads.case,
            force=abs(torque) * input_torque * 2.0 / diameter / parts.planets,
            speed=rolling * diameter / 2.0,
        )
        width = engaged_width(gear, other)
        for part, member in ((name, gear), (mate, other)):
            if not (part == "planet" and mate == "ring"):  # told with the sun: the same force
                yield from bending_rows(load, part, member, width, reversed_load=part == "planet")
        yield from contact_rows(load, f"{name} with {mate}", gear, other)


def bending_rows(
    load: MeshLoad, part: str, gear: Gear, width: float | None, *, reversed_load: bool = False
) -> Iterator[StrengthRow]:
    """Bending at the root of an external gear whose form factor and material are known."""
    own = gear.allowable_bending
    allowable = gear.material.bending if own is None else own
    if gear.internal or gear.form_factor is None or gear.module is None or width is None or allowable is None:
        return
    bears = min(width, load.widest * gear.module)
    stress = float(lewis_stress(load.force, bears, gear.module, gear.form_factor, load.speed))
    allowable *= REVERSED if reversed_load else 1.0
    source = f"{LEWIS}safe long-life stress of {gear.material.name}" if own is None else f"{LEWIS}{GIVEN}bending given"
    source += ", less 30 % as it bends both ways" if reversed_load else ""
    yield StrengthRow(
        stage=load.stage, part=part, check="tooth bending", case=load.case, load=stress, allowable=allowable,
        dimension="stress", source=source, mend=_mend(stress / allowable, width, gear, load.widest),
    )  # fmt: skip


def _mend(over: float, width: float, gear: Gear, widest: float) -> str:
    """The width that would do where one module does, else a module."""
    assert gear.module is not None
    if over <= 1.0:
        return ""
    needed = rounded_up(width * over * 1e3) * 1e-3
    if needed <= widest * gear.module:
        return f"a face width of {millimetres(needed, 3)}, a stronger material, or larger teeth"
    return "larger teeth, a stronger material, or less torque"


def contact_rows(load: MeshLoad, part: str, first: Gear, second: Gear) -> Iterator[StrengthRow]:
    """Pressure of the flanks against the softer of two known materials, in cases that come often enough to pit them."""
    if load.case not in LASTING:
        return
    width, limits = engaged_width(first, second), [g for g in (first, second) if contact_limit(g) is not None]
    if width is None or len(limits) < 2 or first.module is None:
        return
    pressure = flank_pressure(load.force, min(width, load.widest * first.module), first, second)
    weaker = min(limits, key=lambda gear: contact_limit(gear) or 0.0)
    allowable = contact_limit(weaker)
    if pressure is None or allowable is None:
        return
    own = weaker.allowable_contact is not None
    limit = f"{GIVEN}contact given" if own else f"long-life flank pressure of {weaker.material.name}"
    yield StrengthRow(
        stage=load.stage, part=part, check="contact pressure", case=load.case, load=pressure, allowable=allowable,
        dimension="stress", source=f"{HERTZ}{limit}; it grows with the root of the load",
        lasting=True, mend="harder flanks or larger gears" if pressure > allowable else "",
    )  # fmt: skip


def contact_limit(gear: Gear) -> float | None:
    """Pressure that its flanks bear for long: given, else of its material; None: not known. [Pa]"""
    return gear.material.contact if gear.allowable_contact is None else gear.allowable_contact
