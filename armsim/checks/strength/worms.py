"""What a worm wheel's teeth bear: bending, wear, and a rating of bronze on hardened steel."""

from collections.abc import Iterator

from armsim.checks.judged_parts import Loads, StrengthRow
from armsim.checks.phrases import number
from armsim.parts.stage import Stage
from armsim.parts.worm import sliding_radius
from armsim.parts.worm_pair import WormPair, bending_force, form_factor, rated_force, wear_force

FACE = "face counted up to 0.67 of the worm's diameter"


def worm_strength(stage: Stage, pair: WormPair, loads: Loads) -> Iterator[StrengthRow]:
    """Bending in every case; wear and rating, which are for running for long, in a steady lift."""
    face = pair.working_face
    if face is None or pair.module is None or pair.diameter is None:
        return
    wheel_diameter = pair.module * pair.wheel
    force = 2.0 * loads.output_torque / wheel_diameter
    own = pair.allowable_bending
    stress = pair.bending_stress if own is None else own
    limit = f"low trade value for {pair.wheel_material}" if own is None else "the allowable_bending given"
    bears = bending_force(stress, face, pair.module, pair.lead_angle, pair.pressure_angle)
    yield StrengthRow(
        stage=stage.name,
        part="wheel",
        check="tooth bending",
        case=loads.case,
        load=stress * force / bears,
        allowable=stress,
        dimension="stress",
        source=f"Buckingham's form of Lewis, Y {number(form_factor(pair.pressure_angle))}, {limit}; {FACE}",
        mend="a wider wheel or a larger module",
    )
    if loads.case == "steady":
        yield from _lasting(stage, pair, loads, force, face, wheel_diameter, pair.diameter)


def _lasting(
    stage: Stage, pair: WormPair, loads: Loads, force: float, face: float, wheel_diameter: float, diameter: float
) -> Iterator[StrengthRow]:
    if pair.wear_stress is not None:
        yield StrengthRow(
            stage=stage.name,
            part="wheel",
            check="wear",
            case=loads.case,
            load=force,
            allowable=float(wear_force(wheel_diameter, face, pair.wear_stress)),
            dimension="force",
            source=f"Buckingham's wear limit, {pair.worm_material} on lubricated {pair.wheel_material}: for running "
            "on and on, a pair seldom used lasts above it",
            lasting=True,
            mend="a hardened-steel worm" if pair.worm_material == "steel" else "a wider or larger wheel",
        )
    if pair.worm_material != "hardened-steel" or "bronze" not in pair.wheel_material:
        return
    sliding = loads.driver_speed * float(sliding_radius(diameter, pair.lead_angle))
    centres = pair.centre_distance or (diameter + wheel_diameter) / 2.0
    rated = rated_force(wheel_diameter, face, stage.reduction, centres, sliding)
    if rated is None:
        return
    used, lower = rated
    other = f"; another print of its materials factor allows {number(lower)} N" if lower < used else ""
    yield StrengthRow(
        stage=stage.name,
        part="wheel",
        check="rated load",
        case=loads.case,
        load=force,
        allowable=used,
        dimension="force",
        source=f"ANSI/AGMA 6034-B92 at {number(sliding)} m/s of sliding{other}; small worms lie below its scope",
        lasting=True,
        mend="a wider or larger wheel",
    )
