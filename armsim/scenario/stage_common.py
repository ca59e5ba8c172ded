"""What the builders of all kinds of stage share."""

from collections.abc import Callable
from typing import Any

from armsim.parts.stage import play_angle
from armsim.scenario.numbers import shown
from armsim.scenario.stage_keys import StageKeys

Note = Callable[[str, str], None]  #: key, text


def common(part: StageKeys, name: str, radius: float | None = None, meshes: int = 1) -> dict[str, Any]:
    """The arguments of every stage; `radius` is the pitch radius of its output wheel [m]."""
    return {
        "name": part.name or name,
        "drag": part.drag,
        "viscous_drag": part.viscous_drag,
        "input_inertia": part.input_inertia,
        "output_inertia": part.output_inertia,
        "backlash": backlash(part, radius, meshes),
    }


def backlash(part: StageKeys, radius: float | None = None, meshes: int = 1) -> float | None:
    """At the output shaft; None where it is not given. [rad]"""
    given = part.backlash
    if given is None or given.length is None:
        return None if given is None else given.angle
    assert radius is not None  # a length without a pitch circle is refused before
    return float(play_angle(given.length, radius, meshes))


def efficiency(given: float | None, fallback: float, key: str, what: str, default: Note) -> float:
    """The given one, or a usual one that is noted."""
    if given is None:
        default(f"{key}.efficiency", f"{shown(fallback)} {what}")
        return fallback
    return given
