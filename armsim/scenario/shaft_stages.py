"""Shafts of the stages from their sections, what they must agree on, and the room that wheels take between them."""

from typing import Any

from armsim.parts.chain import ChainDrive, outside_diameter
from armsim.parts.gear_mesh import centre_distance, tip_radius
from armsim.parts.gears import GearPath
from armsim.parts.shaft import Key, SetScrew, Shaft, in_series
from armsim.parts.stage import Footprint, Hardware, Stage
from armsim.scenario import dimensions as d
from armsim.scenario import shaft_keys
from armsim.scenario.dimensions import understood
from armsim.scenario.faults import Faults, given
from armsim.scenario.notes import Note
from armsim.scenario.numbers import shown
from armsim.scenario.problems import Misreading
from armsim.scenario.stage_keys import StageKeys
from armsim.scenario.tables import (
    hexagon_stress,
    key_size,
    key_stresses,
    screw_rows,
    shaft_rows,
)
from armsim.scenario.validate import Path

SHAFTS = ("input_shaft", "output_shaft")


def with_shafts(stage: Stage, part: StageKeys, path: str, default: Note, derived: Note) -> dict[str, Any]:
    """What the sections of its shafts add to a stage: shafts, their stiffness where none is given, room."""
    first, last = (_shaft(getattr(part, name), f"{path}.{name}", default, derived) for name in SHAFTS)
    stiffness = part.stiffness
    if stiffness is None:
        stiffness = _stiffness(stage, first, last)
        if stiffness is not None:
            both = "its two shafts" if first and last and first.stiffness and last.stiffness else "its shaft"
            derived(
                f"{path}.stiffness", f"{understood(stiffness, d.TORSION_RATE)}, of {both} alone; teeth taken as rigid"
            )
    return {
        "input_shaft": first,
        "output_shaft": last,
        "stiffness": stiffness,
        "footprint": footprint(stage.hardware),
    }


def _stiffness(stage: Stage, first: Shaft | None, last: Shaft | None) -> float | None:
    """At the output shaft, where the input shaft's counts by the square of the reduction. [N*m/rad]"""
    before = None if first is None or first.stiffness is None else first.stiffness * stage.reduction**2
    return in_series(before, None if last is None else last.stiffness)


def _shaft(part: shaft_keys.Shaft | None, path: str, default: Note, derived: Note) -> Shaft | None:
    if part is None:
        return None
    row = shaft_rows()[part.material]
    if "material" not in part.model_fields_set:
        default(f"{path}.material", f"steel, {row.state}")
    return Shaft(
        diameter=part.diameter,
        hexagon=part.hex,
        length=part.length,
        material=part.material,
        shear_modulus=row.shear_modulus,
        shear_stress=row.shear_stress,
        allowable_shear=part.allowable_shear,
        bore=part.bore,
        key=None if part.key is None else _key(part.key, part, path, derived),
        set_screw=None if part.set_screw is None else _screw(part.set_screw),
        hub_length=part.hub_length,
        hub_stress=hexagon_stress(part.hub_material) if part.hex is not None else None,
    )


def _key(key: shaft_keys.Key, part: shaft_keys.Shaft, path: str, derived: Note) -> Key:
    assert part.diameter is not None  # a key on a hexagon is refused before
    standard = key_size(part.diameter)
    width = key.width if key.width is not None else standard[0] if standard else None
    height = key.height if key.height is not None else standard[1] if standard else None
    assert width is not None  # a key without a size on a shaft without a standard one is refused before
    assert height is not None
    if key.width is None or key.height is None:
        size = f"{_mm(width)} wide and {_mm(height)} high"
        derived(f"{path}.key", f"{size}, the standard key (DIN 6885) for {_mm(part.diameter)}")
    shear, bearing = key_stresses(part.hub_material)
    return Key(width=width, height=height, length=key.length, shear_stress=shear, bearing_stress=bearing)


def _screw(part: shaft_keys.SetScrews) -> SetScrew:
    row = screw_rows()[part.size]
    return SetScrew(
        size=part.size,
        diameter=row.diameter,
        holding=row.holding,
        other_holding=row.other_holding,
        count=part.count,
    )


def _mm(length: float) -> str:
    return f"{shown(length * 1e3)} mm"


def footprint(hardware: Hardware | None) -> Footprint | None:
    """Of two gears in touch, or of a chain whose centre distance is given; None where it is not known."""
    if isinstance(hardware, GearPath):
        return _gears_room(hardware)
    if isinstance(hardware, ChainDrive) and hardware.centre_distance is not None:
        pitch = hardware.size.pitch
        return Footprint(
            centre_distance=hardware.centre_distance,
            driver_tip=float(outside_diameter(pitch, hardware.driver.teeth)) / 2.0,
            driven_tip=float(outside_diameter(pitch, hardware.driven.teeth)) / 2.0,
        )
    return None


def _gears_room(path: GearPath) -> Footprint | None:
    (driver, driven, given), *more = path.meshes()
    centre = given if given is not None else centre_distance(driver, driven)
    if more or driven.internal or driver.module is None or driven.module is None or centre is None:
        return None
    return Footprint(
        centre_distance=centre,
        driver_tip=tip_radius(driver) * driver.module,
        driven_tip=tip_radius(driven) * driven.module,
    )


def shaft_faults(part: StageKeys, path: Path, first: bool) -> Faults:
    """One shape a shaft, one fastening, and no shaft told twice."""
    if part.input_shaft is not None and not first:
        text = "is the output shaft of the stage before"
        yield (*path, "input_shaft"), Misreading("SCN122", text, "write it there as output_shaft")
    for name in SHAFTS:
        shaft = getattr(part, name)
        if shaft is not None:
            yield from _one_shaft(shaft, (*path, name))


def _one_shaft(shaft: shaft_keys.Shaft, path: Path) -> Faults:
    shapes, fastenings = given(shaft, ("diameter", "hex")), given(shaft, ("key", "set_screw"))
    if not shapes:
        yield path, Misreading("SCN122", "has neither diameter nor hex", "such as diameter: 10 mm, or hex: 1/2 in")
        return
    if len(shapes) > 1:
        yield (*path, "hex"), Misreading("SCN122", "diameter is given too", "keep one of the two")
        return
    if len(fastenings) > 1:
        yield (*path, "set_screw"), Misreading("SCN122", "key is given too", "keep the one that carries the torque")
    if shaft.hex is not None:
        for name in fastenings:
            yield (*path, name), Misreading("SCN122", "is for a round shaft", "the flats of a hexagon carry the torque")
    elif shaft.key is not None:
        yield from _key_faults(shaft.key, shaft.diameter or 0.0, (*path, "key"))


def _key_faults(key: shaft_keys.Key, diameter: float, path: Path) -> Faults:
    if key_size(diameter) is None and (key.width is None or key.height is None):
        text = f"no standard key for {_mm(diameter)} is known here"
        yield path, Misreading("SCN103", text, "give its width and height")
    if key.width is not None and key.width >= diameter / 2.0:
        text = f"{_mm(key.width)} is half of the shaft or more"
        yield (*path, "width"), Misreading("SCN121", text, "a key is about a quarter as wide as its shaft")
