"""Friction in the teeth of a stage: given, or from its lubricant at a speed that is told."""

from armsim.parts.gears import GearPath
from armsim.parts.mesh_friction import Lubrication, lubricated_friction
from armsim.scenario import dimensions as d
from armsim.scenario import gear_keys as keys
from armsim.scenario.dimensions import understood
from armsim.scenario.notes import Note

ROUGHNESS = 1.6e-6  #: Ra of cut teeth, where none is given [m]
OILS = {"mineral": 1.0, "polyalphaolefin": 0.8, "polyglycol": 0.75}  #: friction against mineral oil [-]


def mesh_frictions(
    part: keys.Gears, path: GearPath, no_load_speed: float, key: str, default: Note, derived: Note
) -> tuple[float, ...] | None:
    """Of each mesh, driver first; None where nothing tells it. [-]

    `no_load_speed` is the driver's with the motor at its no-load speed [rad/s], for a lubricant without a speed.
    Raises ValueError where a pair does not run at its centre distance.
    """
    if part.lubricant is None:
        return None if part.friction is None else (part.friction,) * len(path.meshes())
    speed = part.lubricant.speed
    if speed is None:
        speed = no_load_speed
        text = f"{understood(speed, d.SPEED)}, the driver's with the motor at its no-load speed; slower teeth rub more"
        default(f"{key}.lubricant.speed", text)
    if part.roughness is None:
        default(f"{key}.roughness", f"{understood(ROUGHNESS, d.ROUGHNESS)} Ra, usual of cut teeth")
    if "kind" not in part.lubricant.model_fields_set:
        default(f"{key}.lubricant.kind", part.lubricant.kind)
    lubrication = Lubrication(
        viscosity=part.lubricant.viscosity,
        roughness=ROUGHNESS if part.roughness is None else part.roughness,
        oil=OILS[part.lubricant.kind],
    )
    found = []
    for first, second, centre in path.meshes():
        here = speed * path.gears[0].teeth / first.teeth
        friction = lubricated_friction(first, second, lubrication, pinion_speed=here, centre=centre)
        if friction is None:
            raise ValueError("at this centre distance the gears do not run, so lubrication tells no friction")
        found.append(friction)
    told = " and ".join(f"{friction:.4g}" for friction in found)
    derived(f"{key}.friction", f"{told} by Schlenk's fit (ISO/TR 14179-2), loaded 150 N/mm or less; kept in the run")
    return tuple(found)
