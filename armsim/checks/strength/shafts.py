"""What shafts bear, and what holds wheels on them: torsion, keys, set screws, hexagonal hubs."""

from collections.abc import Iterator

from armsim.checks.judged_parts import Loads, StrengthRow
from armsim.checks.phrases import number
from armsim.parts.shaft import Key, SetScrew, Shaft, hub_torque, key_torques, screw_torque
from armsim.parts.stage import Stage

KEYWAY = 0.75  #: of the allowable stress that a keyway leaves, the old code for transmission shafting [-]
STANDING, WORKING = 2.0, 4.0  #: factors on the force at which a set screw slips: 1.5 to 2 at rest, 4 to 8 moving [-]


def shaft_strength(stage: Stage, loads: Loads) -> Iterator[StrengthRow]:
    """Every check of the shafts told of at a stage, in one case."""
    for part, shaft, torque in (
        ("input shaft", stage.input_shaft, loads.driver_torque),
        ("output shaft", stage.output_shaft, loads.output_torque),
    ):
        if shaft is not None:
            for check, load, allowable, dimension, source, mend in _checks(shaft, abs(torque), loads.case):
                yield StrengthRow(
                    stage=stage.name,
                    part=part,
                    check=check,
                    case=loads.case,
                    load=load,
                    allowable=allowable,
                    dimension=dimension,
                    source=source,
                    mend=mend,
                )


Check = tuple[str, float, float, str, str, str]  #: name, load, allowable, dimension, source, mend


def _checks(shaft: Shaft, torque: float, case: str) -> Iterator[Check]:
    own = shaft.allowable_shear
    allowable = (shaft.shear_stress if own is None else own) * (KEYWAY if shaft.key is not None else 1.0)
    keyway = ", 3/4 of that for the keyway" if shaft.key is not None else ""
    limit = f"half of the shear yield strength of {shaft.material}" if own is None else "the allowable_shear given"
    source = f"{limit}{keyway}; torsion alone, bending is not counted"
    yield "torsion", shaft.stress(torque), allowable, "stress", source, "a thicker or stronger shaft"
    if shaft.key is not None and shaft.diameter is not None:
        yield from _key_checks(shaft.key, shaft.diameter, torque)
    if shaft.set_screw is not None:
        yield _screw_check(shaft.set_screw, shaft.size, torque, case)
    if shaft.hexagon is not None and shaft.hub_length is not None and shaft.hub_stress is not None:
        bears = hub_torque(shaft.hub_stress, shaft.hub_length, shaft.hexagon)
        source = "bearing of half the flats, a trade estimate: no standard rates hexagons"
        yield "hexagon in the hub", torque, bears, "torque", source, "a longer hub"


def _key_checks(key: Key, diameter: float, torque: float) -> Iterator[Check]:
    shear, bearing = key_torques(key, diameter)
    allowed = f"{number(key.shear_stress / 1e6)} MPa, a trade value for steel keys"
    yield "key in shear", torque, shear, "torque", allowed, "a longer key"
    allowed = f"{number(key.bearing_stress / 1e6)} MPa over half its height, a trade value"
    yield "key in bearing", torque, bearing, "torque", allowed, "a longer key"


def _screw_check(screw: SetScrew, diameter: float, torque: float, case: str) -> Check:
    factor = STANDING if case == "stall" else WORKING
    bears = screw_torque(screw.holding, diameter) / factor
    source = f"{number(screw.holding)} N at which a cup point slips on a shaft of up to 15 HRC, over {factor:g}"
    if screw.other_holding is not None:
        source += f"; another chart says {number(screw.other_holding)} N"
    if screw.count > 1:
        source += "; further screws do not add up and are not counted"
    return "set screw", torque, bears, "torque", source, "a key, a hexagon, or a flat on the shaft"
