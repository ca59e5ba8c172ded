"""What transmission, arm and moves must agree on."""

from armsim.scenario import dimensions as d
from armsim.scenario.carriage_keys import Carriage, Drum, Rack
from armsim.scenario.carriage_stages import travel_stage_faults
from armsim.scenario.coordinates import place_dimension
from armsim.scenario.dimensions import understood
from armsim.scenario.faults import Faults, below, given, no_fall
from armsim.scenario.flexible_agreement import flexible_faults
from armsim.scenario.gear_agreement import gear_faults
from armsim.scenario.gear_keys import Bevel, Gears, Planetary, ToothKeys
from armsim.scenario.numbers import shown
from armsim.scenario.problems import Misreading
from armsim.scenario.schema import Arm, Move, Stage, Travel
from armsim.scenario.shaft_stages import shaft_faults
from armsim.scenario.stage_keys import StageKeys
from armsim.scenario.stages import pitch_radius
from armsim.scenario.stops import stop_faults
from armsim.scenario.validate import Path
from armsim.scenario.worm_keys import Worm
from armsim.scenario.worm_stages import worm_faults


def stage_faults(stage: Stage, path: Path) -> Faults:
    """One kind a stage, and each kind whole."""
    kinds = given(stage, tuple(Stage.model_fields))
    if len(kinds) != 1:
        text = f"{' and '.join(kinds)} in one stage" if kinds else "an empty stage"
        yield (*path, *kinds[1:2]), Misreading("SCN122", text, "each stage is a list item of its own: - gears: {...}")
        return
    kind = kinds[0]
    part = getattr(stage, kind)
    inner: Path = (*path, kind)
    reverse, forward = getattr(part, "reverse_efficiency", None), getattr(part, "efficiency", None)
    if reverse is not None and forward is not None and not isinstance(part, Gears | Planetary) and reverse > forward:
        yield (
            (*inner, "reverse_efficiency"),
            Misreading(
                "SCN121",
                f"{shown(reverse)} is above the forward efficiency {shown(forward)}",
                "driven from the arm a stage loses no less",
            ),
        )
    if isinstance(part, Rack | Drum):
        yield from travel_stage_faults(part, inner)
        yield from shaft_faults(part, inner, first=path[-1] == 0)
        return
    by_length = part.backlash is not None and part.backlash.length is not None
    if by_length and pitch_radius(part) is None:
        yield (*inner, "backlash"), _without_pitch_circle(part)
    yield from flexible_faults(part, inner)
    if isinstance(part, ToothKeys):
        yield from gear_faults(part, inner)
    if isinstance(part, Worm):
        yield from worm_faults(part, inner)
    yield from shaft_faults(part, inner, first=path[-1] == 0)


def _without_pitch_circle(part: StageKeys) -> Misreading:
    size = {
        Gears: "give module too, or ",
        Bevel: "give module too, or ",
        Worm: "give module or diameter too, or ",
    }.get(type(part), "")
    hint = f"{size}write it as an angle at the output shaft, such as 0.4 deg"
    return Misreading("SCN121", "is a length along a pitch circle of unknown size", hint)


def arm_faults(arm: Arm) -> Faults:
    """Masses given one way, an inertia they allow, stops in order."""
    if arm.masses is not None and (arm.mass is not None or arm.centre_of_mass is not None):
        key = "mass" if arm.mass is not None else "centre_of_mass"
        yield ("arm", key), Misreading("SCN122", "masses is given too", "keep mass and centre_of_mass, or masses")
    elif arm.masses is None and arm.mass is None:
        yield (
            ("arm", "mass"),
            Misreading("SCN103", "is missing", "write mass: 2.4 kg, and centre_of_mass: 0.28 m if it is not half way"),
        )
    elif arm.masses == []:
        yield ("arm", "masses"), Misreading("SCN108", "is empty", "such as masses: [{mass: 1.2 kg, at: 0.3 m}]")
    else:
        yield from _inertia_faults(arm)
    yield from _beyond_tip(arm)
    friction = arm.pivot_friction
    if friction and friction.breakaway is not None and friction.breakaway < friction.coulomb:
        yield ("arm", "pivot_friction", "breakaway"), below("breakaway friction", "coulomb")
    if friction and friction.stribeck_speed is not None and friction.breakaway is None:
        yield ("arm", "pivot_friction", "stribeck_speed"), no_fall()
    if arm.stops:
        yield from stop_faults(arm.stops)


def mass_points(arm: Arm) -> tuple[tuple[float, float], ...]:
    """Masses [kg] of the bare arm and their distances [m]; one at the centre of mass if no more is known."""
    if arm.masses:
        return tuple((point.mass, point.at) for point in arm.masses)
    centre = arm.length / 2.0 if arm.centre_of_mass is None else arm.centre_of_mass
    return ((arm.mass or 0.0, centre),)


def _inertia_faults(arm: Arm) -> Faults:
    points = mass_points(arm)
    total, moment = sum(m for m, _ in points), sum(m * at for m, at in points)
    least = moment * moment / total
    if arm.inertia is not None and arm.inertia < least * 0.999:
        one_point = understood(least, d.INERTIA)
        yield (
            ("arm", "inertia"),
            Misreading(
                "SCN121",
                f"{understood(arm.inertia, d.INERTIA)} is less than the {one_point} of all the mass in one point",
                "it is wanted about the pivot, not about the centre of mass",
            ),
        )


def _beyond_tip(arm: Arm) -> Faults:
    spots: list[tuple[Path, float | None]] = [(("arm", "centre_of_mass"), arm.centre_of_mass)]
    spots += [(("arm", "masses", k, "at"), point.at) for k, point in enumerate(arm.masses or ())]
    if arm.payload:
        spots.append((("arm", "payload", "at"), arm.payload.at))
    if arm.stops:
        spots.append((("arm", "stops", "at"), arm.stops.at))
    if arm.counterbalance:
        spots.append((("arm", "counterbalance", "on_arm"), arm.counterbalance.on_arm))
    for path, at in spots:
        if at is not None and at > arm.length * (1.0 + 1e-9):
            yield (
                path,
                Misreading(
                    "SCN133",
                    f"{understood(at, d.LENGTH)} is beyond the tip at {understood(arm.length, d.LENGTH)}",
                    "distances count from the pivot",
                ),
            )


MOVES = ("lift", "lower", "hold", "rest", "take_up", "put_down")


def handover_faults(moves: list[Move], arm: Arm | Carriage, repeat: int) -> Faults:
    """Nothing is put down that is not carried, and repeated moves end with the payload they begin with."""
    first = arm.payload.mass if arm.payload else 0.0
    carried = first
    for k, move in enumerate(moves):
        if move.take_up:
            carried += move.take_up.mass
        if move.put_down:
            if move.put_down.mass > carried * (1.0 + 1e-9):
                text = (
                    f"{understood(move.put_down.mass, d.MASS)} is more than the {understood(carried, d.MASS)} carried"
                )
                yield ("moves", k, "put_down", "mass"), Misreading("SCN121", text)
                return
            carried = max(0.0, carried - move.put_down.mass)
    if repeat > 1 and abs(carried - first) > 1e-9 * max(carried, first):
        text = f"the moves begin with {understood(first, d.MASS)} of payload and end with {understood(carried, d.MASS)}"
        short, surplus = first - carried, carried - first
        mend = f"put_down: {{mass: {surplus:.9g} kg}}" if surplus > 0.0 else f"take_up: {{mass: {short:.9g} kg}}"
        yield ("repeat",), Misreading("SCN121", text, f"to repeat them, end with - {mend}")


def profile_faults(moves: list[Move]) -> Faults:
    """A travel has a duty or a profile."""
    for k, move in enumerate(moves):
        kind = "lift" if move.lift else "lower"
        travel = move.lift or move.lower
        if travel and travel.profile and "duty" in travel.model_fields_set:
            text = "has a profile and a duty: the position loop finds the duty itself"
            yield ("moves", k, kind, "duty"), Misreading("SCN122", text, "leave out one of them")


def move_shape_faults(moves: list[Move | None]) -> Faults:
    """One thing a move, and at least one move; None stands for one that could not be read."""
    if not moves:
        yield ("moves",), Misreading("SCN108", "is empty", "write moves: [{lift: {to: 70 deg}}]")
    for k, move in enumerate(moves):
        if move is None:
            continue
        kinds = given(move, MOVES)
        if len(kinds) != 1:
            text = f"{' and '.join(kinds)} in one move" if kinds else "an empty move"
            yield (
                ("moves", k, *kinds[1:2]),
                Misreading("SCN122", text, "each move is a list item of its own: - lift: {to: 70 deg}"),
            )


def travel_faults(moves: list[Move], start: float, arm: Arm | Carriage, repeat: int) -> Faults:
    """Start and targets between the stops, each lift upward from where the arm is by then, each lower downward."""
    yield from _within_stops(start, ("start",), arm)
    at, told = start, False
    for cycle in range(min(repeat, 2)):
        for k, move in enumerate(moves):
            kind, travel = ("lift", move.lift) if move.lift else ("lower", move.lower)
            if travel is None:
                continue
            path: Path = ("moves", k, kind, "to")
            if cycle == 0:
                yield from _within_stops(travel.to, path, arm)
            if not told and (travel.to <= at if kind == "lift" else travel.to >= at):
                told = True
                yield path, _wrong_way(kind, travel, at, cycle, isinstance(arm, Carriage))
            at = travel.to


def _wrong_way(kind: str, travel: Travel, at: float, cycle: int, carriage: bool) -> Misreading:
    dimension = place_dimension(carriage)
    there, here, what = understood(travel.to, dimension), understood(at, dimension), "carriage" if carriage else "arm"
    way, other, opposite = ("up", "down", "lower") if kind == "lift" else ("down", "up", "lift")
    text = f"a {kind} to {there} does not go {way} from {here}, where the {what} is"
    if cycle:
        return Misreading(
            "SCN121", f"{text} when the moves repeat", f"end the moves with a `{opposite}` to where they start"
        )
    count = "places count up the guide" if carriage else "angles count up from the horizontal"
    return Misreading("SCN121", text, f"{count}; going {other} is `{opposite}`")


def _within_stops(angle: float, path: Path, arm: Arm | Carriage) -> Faults:
    if not arm.stops:
        return
    lower, upper, dimension = arm.stops.lower, arm.stops.upper, place_dimension(isinstance(arm, Carriage))
    here = understood(angle, dimension)
    if lower is not None and angle < lower:
        yield path, Misreading("SCN121", f"{here} is below the lower stop, {understood(lower, dimension)}")
    if upper is not None and angle > upper:
        yield path, Misreading("SCN121", f"{here} is above the upper stop, {understood(upper, dimension)}")
