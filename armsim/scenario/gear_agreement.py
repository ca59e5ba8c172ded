"""What the keys of gears, bevel gears and planetary sets must agree on."""

from armsim.scenario.faults import Faults
from armsim.scenario.gear_keys import Bevel, Gear, Gears, Planetary, ToothKeys, members, module_of, planet_of
from armsim.scenario.problems import Misreading
from armsim.scenario.validate import Path


def gear_faults(part: ToothKeys, path: Path) -> Faults:
    """Sizes given once, bores inside their gears, and what each kind needs."""
    yield from _sizes(part, path)
    for name, gear in members(part):
        yield from _sizes(gear, (*path, *name))
        module = module_of(gear) or module_of(part)
        yield from bore_faults(gear.bore, gear.teeth + 2.0 * gear.profile_shift, module, (*path, *name))
    if isinstance(part, Gears):
        yield from _path_faults(part, path)
        yield from _friction_faults(part, path)
        yield from _hands(part, path)
    if isinstance(part, Planetary):
        yield from _set_faults(part, path)
    if isinstance(part, Bevel):
        for name, gear in members(part):
            for key in ("helix_angle", "hand"):
                if getattr(gear, key) is not None:
                    text = "is given for a bevel gear: only straight bevel teeth are modelled"
                    yield (*path, *name, key), Misreading("SCN121", text, "leave it out, and give an efficiency")


def _sizes(part: ToothKeys | Gear, path: Path) -> Faults:
    if part.module is not None and part.diametral_pitch is not None:
        yield (*path, "diametral_pitch"), Misreading("SCN122", "module is given too", "keep one of the two")


def bore_faults(bore: float | None, teeth: float, module: float | None, path: Path) -> Faults:
    """A bore [m] that leaves nothing of the teeth, shifted ones counted as 2 x more, of a module [m]."""
    if bore is None or module is None:
        return
    root = module * (teeth - 2.5)
    if bore >= root:
        text = f"{bore * 1e3:.4g} mm leaves no gear: the roots of the teeth are at {root * 1e3:.4g} mm"
        yield (*path, "bore"), Misreading("SCN121", text, "a bore is a diameter")


def _path_faults(part: Gears, path: Path) -> Faults:
    count, given = len(part.idlers) + 1, part.centre_distance
    if given is not None and len(given) != count:
        text = f"{len(given)} given for {count} mesh{'es' if count > 1 else ''}"
        yield (*path, "centre_distance"), Misreading("SCN121", text, "give one for each mesh, driver first")
    pinion = (part.idlers or [part.driver])[-1]
    if part.internal and part.driven.teeth <= pinion.teeth:
        text = f"a ring of {part.driven.teeth} teeth does not go around {pinion.teeth}"
        yield (*path, "driven"), Misreading("SCN121", text, "with internal: yes the driven gear is the ring")
    sized = any(one.module is not None or one.diametral_pitch is not None for one in (part, part.driver))
    if given is not None and part.friction is not None and not sized:
        text = "is given, and the size of the teeth is not: how they slide is not known"
        yield (*path, "centre_distance"), Misreading("SCN121", text, "give module too")


def _friction_faults(part: Gears, path: Path) -> Faults:
    """Friction told once, and what its fit needs."""
    if part.lubricant is None:
        if part.roughness is not None:
            yield (*path, "roughness"), Misreading("SCN121", "says nothing without lubricant", "give lubricant too")
        return
    if part.friction is not None:
        yield (*path, "friction"), Misreading("SCN122", "lubricant is given too", "keep one of the two")
    if any(module_of(gear) is None and module_of(part) is None for _, gear in members(part)):
        yield (*path, "module"), Misreading("SCN103", "is missing", "the friction of lubricated teeth needs it")


def _set_faults(part: Planetary, path: Path) -> Faults:
    space = part.ring.teeth - part.sun.teeth
    if part.planet is None and (space <= 0 or space % 2):
        text = f"a ring of {part.ring.teeth} around a sun of {part.sun.teeth} teeth leaves no whole planet between them"
        yield (*path, "ring"), Misreading("SCN121", text, "ring = sun + 2 planet, or give the planet that is there")
        return
    planet = planet_of(part)
    if part.ring.teeth <= planet.teeth:
        text = f"a ring of {part.ring.teeth} teeth does not go around planets of {planet.teeth}"
        yield (*path, "ring"), Misreading("SCN121", text, "ring = sun + 2 planet")
    if part.fixed is not None and part.fixed == part.input:
        text = f"the {part.input} is fixed"
        yield (*path, "input"), Misreading("SCN121", text, "drive another member, or fix another")
    second = (part.second_planet, part.second_ring)
    if (second[0] is None) != (second[1] is None):
        missing = "second_ring" if second[1] is None else "second_planet"
        yield path, Misreading("SCN103", f"{missing} is missing", "a second planet and its ring go together")
    if second[1] is not None and (part.fixed not in (None, "ring") or part.input not in (None, "sun")):
        key = "fixed" if part.fixed not in (None, "ring") else "input"
        text = "with a second ring the ring is fixed, the sun drives and the second ring is driven"
        yield (*path, key), Misreading("SCN121", text, "leave fixed and input out")
    if second[0] is not None and second[1] is not None and second[1].teeth <= second[0].teeth:
        text = f"a ring of {second[1].teeth} teeth does not go around planets of {second[0].teeth}"
        yield (*path, "second_ring"), Misreading("SCN121", text, "the ring has the larger number")
    both = part.sun_planet_efficiency is not None and part.planet_ring_efficiency is not None
    if both and part.efficiency is not None:
        text = "both meshes have theirs already"
        yield (*path, "efficiency"), Misreading("SCN122", text, "keep one efficiency for all meshes, or one each")


def _hands(part: Gears, path: Path) -> Faults:
    """A hand belongs to helical teeth."""
    hint = "give helix_angle too"
    if part.hand is not None and not part.helix_angle and not any(gear.helix_angle for _, gear in members(part)):
        yield (*path, "hand"), Misreading("SCN121", "straight teeth have no hand", hint)
    if part.hand is not None and part.driver.hand not in (None, part.hand):
        text = f"the stage's hand, which is the driver's, is {part.hand}"
        yield (*path, "driver", "hand"), Misreading("SCN121", text, "keep one of the two")
    for name, gear in members(part):
        straight = not (part.helix_angle if gear.helix_angle is None else gear.helix_angle)
        if gear.hand is not None and straight:
            yield (*path, *name, "hand"), Misreading("SCN121", "straight teeth have no hand", hint)
