"""Whether the teeth of a pinion bear the pull of its rack."""

from collections.abc import Iterator

from armsim.checks.judged_parts import Loads, StrengthRow
from armsim.checks.strength.gears import MeshLoad, bending_rows
from armsim.parts.rack import Rack, pinion_radius
from armsim.parts.stage import Stage


def rack_strength(stage: Stage, rack: Rack, loads: Loads) -> Iterator[StrengthRow]:
    """Bending of the pinion under the force that comes out of the stage; a rack's own teeth are the stronger."""
    if rack.pinion is None:
        return
    radius = float(pinion_radius(rack.teeth, rack.module, rack.helix_angle))
    load = MeshLoad(
        stage=stage.name,
        case=loads.case,
        force=max(abs(loads.output_torque), loads.driver_torque / radius),
        speed=loads.driver_speed * radius,
    )
    yield from bending_rows(load, "pinion", rack.pinion, rack.face_width)
