"""The counterbalance: which keys each kind wants, and the part that is built of them."""

from armsim.parts import counterbalance as part
from armsim.scenario.faults import Faults
from armsim.scenario.notes import Notes
from armsim.scenario.problems import Misreading
from armsim.scenario.schema import Counterbalance
from armsim.scenario.validate import Path

SPAN = ("on_arm", "anchor")
#: keys that a kind cannot do without, and those it may have
KEYS = {
    "torsion-spring": (("torsion_rate", "relaxed_at"), ()),
    "extension-spring": (("rate", "free_length", *SPAN), ("initial_tension",)),
    "gas-spring": (("force", "extended_length", *SPAN), ("rate", "damping")),
    "constant-force": (("force", "drum_radius"), ()),
    "mass": (("mass", "at"), ()),
}
LIKELY = {
    "torsion_rate": "torsion_rate: 0.3 N*m/deg",
    "relaxed_at": "relaxed_at: 110 deg, the arm angle at which it gives nothing",
    "rate": "rate: 1.2 N/mm",
    "free_length": "free_length: 180 mm, between its hooks unloaded",
    "extended_length": "extended_length: 420 mm",
    "force": "force: 150 N",
    "on_arm": "on_arm: 200 mm, its place on the arm from the pivot",
    "anchor": "anchor: {x: -80 mm, y: 300 mm}, its other end seen from the pivot",
    "drum_radius": "drum_radius: 40 mm",
    "mass": "mass: 6 kg",
    "at": "at: 250 mm, its distance on the far side of the pivot",
}


def counterbalance_faults(given: Counterbalance) -> Faults:
    """Every key that the kind needs, and none of another kind's."""
    path: Path = ("arm", "counterbalance")
    needed, allowed = KEYS[given.kind]
    for key in needed:
        if getattr(given, key) is None:
            yield (*path, key), Misreading("SCN103", f"is missing for a {given.kind}", f"such as {LIKELY[key]}")
    for key in LIKELY | {"initial_tension": "", "damping": ""}:
        if getattr(given, key) is not None and key not in (*needed, *allowed):
            text = f"a {given.kind} has none"
            yield (*path, key), Misreading("SCN121", text, f"its keys are {', '.join((*needed, *allowed))}")


def counterbalances(given: Counterbalance | None, notes: Notes) -> tuple[part.Counterbalance, ...]:
    """Springs of the arm; a counterweight is mass of the arm and built with it."""
    if given is None:
        notes.default("arm.counterbalance", "none")
        return ()
    if given.kind == "mass":
        return ()
    if given.kind == "torsion-spring":
        assert given.torsion_rate is not None
        assert given.relaxed_at is not None
        return (part.TorsionSpring(rate=given.torsion_rate, relaxed_at=given.relaxed_at),)
    if given.kind == "constant-force":
        assert given.force is not None
        assert given.drum_radius is not None
        return (part.ConstantForceSpring(force=given.force, radius=given.drum_radius),)
    assert given.on_arm is not None
    assert given.anchor is not None
    span = part.Span(on_arm=given.on_arm, anchor_x=given.anchor.x, anchor_y=given.anchor.y)
    if given.kind == "extension-spring":
        if given.initial_tension is None:
            notes.default("arm.counterbalance.initial_tension", "none")
        assert given.rate is not None
        assert given.free_length is not None
        return (
            part.ExtensionSpring(
                span=span,
                rate=given.rate,
                free_length=given.free_length,
                initial_tension=given.initial_tension or 0.0,
            ),
        )
    assert given.force is not None
    assert given.extended_length is not None
    for key, absent in (("rate", "none: the same force all the way"), ("damping", "none")):
        if getattr(given, key) is None:
            notes.default(f"arm.counterbalance.{key}", absent)
    return (
        part.GasSpring(
            span=span,
            force=given.force,
            rate=given.rate or 0.0,
            extended_length=given.extended_length,
            resistance=given.damping or 0.0,
        ),
    )


def counterweight(given: Counterbalance | None) -> tuple[float, float]:
    """Mass [kg] on the far side of the pivot and its distance [m]; nothing where there is none."""
    if given is None or given.kind != "mass" or given.mass is None or given.at is None:
        return 0.0, 0.0
    return given.mass, given.at
