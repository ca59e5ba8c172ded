"""What stands between battery and motor: wiring, protection, controller."""

from typing import Any

from armsim.parts.bridge import Controller
from armsim.parts.protection import Protection
from armsim.parts.wiring import round_trip_resistance
from armsim.scenario import dimensions as d
from armsim.scenario import schema
from armsim.scenario.dimensions import understood
from armsim.scenario.electrical_agreement import OWN_CURVE
from armsim.scenario.notes import Notes
from armsim.scenario.problems import Misreading
from armsim.scenario.tables import trip_families
from armsim.scenario.validate import Path, dotted


def wiring(given: schema.Wiring | None, notes: Notes) -> float:
    """Resistance of the run there and back. [ohm]"""
    if given is None:
        notes.default("supply.wiring", "not given: no resistance between battery and controller")
        return 0.0
    if given.resistance is not None:
        return given.resistance
    area = given.gauge if given.gauge is not None else given.area
    assert area is not None
    assert given.length is not None
    if "temperature" not in given.model_fields_set:
        notes.default("supply.wiring.temperature", "copper at 20 degC")
    resistance = float(
        round_trip_resistance(
            area, given.length, temperature=given.temperature, stranding=given.stranding, joints=given.joints
        )
    )
    length = understood(given.length, d.LENGTH)
    text = f"{understood(resistance, d.RESISTANCE)} there and back: the length of {length} is one way"
    notes.derived("supply.wiring.resistance", text)
    return resistance


def conductor_area(given: schema.Wiring | None) -> float | None:
    """Cross-section of the run, None where only its resistance is known. [m2]"""
    if given is None:
        return None
    return given.gauge if given.gauge is not None else given.area


def protections(given: list[schema.Protection], notes: Notes) -> Any:
    for k, device in enumerate(given):
        path: Path = ("supply", "protection", k)
        if "opens_at" not in device.model_fields_set:
            notes.default(
                f"{dotted(path)}.opens_at", "in the run it opens at the latest edge of its band; the verdict uses both"
            )
        yield _own_curve(device, path, notes) if device.kind == OWN_CURVE else _known_kind(device, path, notes)


def _known_kind(device: schema.Protection, path: Path, notes: Notes) -> Protection:
    family = trip_families()[device.kind]
    if device.resets is None:
        text = "closes again by itself" if family.resets_itself else "stays open until reset by hand"
        notes.default(f"{dotted(path)}.resets", f"{text}, as its kind does")
    text = f"band of its kind ({family.title}); replace it with the maker's curve where there is one"
    notes.default(f"{dotted(path)}.kind", text)
    return Protection(
        kind=device.kind,
        rating=device.rating,
        earliest=family.earliest,
        latest=family.latest,
        resets_itself=family.resets_itself if device.resets is None else device.resets == "automatic",
        reset_share=family.reset_share,
        opens_at_earliest=device.opens_at == "earliest",
    )


def _own_curve(device: schema.Protection, path: Path, notes: Notes) -> Protection:
    from armsim.parts.protection import fit_band  # brings in SciPy

    assert device.curve is not None
    rows = [(multiple, earliest, latest) for multiple, earliest, latest in device.curve]
    try:
        earliest, latest = fit_band(rows)
    except (ValueError, ArithmeticError) as error:
        notes.faults.append(((*path, "curve"), Misreading("SCN121", f"no band fits this curve: {error}")))
        family = next(iter(trip_families().values()))
        earliest, latest = family.earliest, family.latest
    notes.fitted(
        f"{dotted((*path, 'curve'))}", "thermal states fitted to the curve, moved outwards to enclose every row"
    )
    if device.resets is None:
        notes.default(f"{dotted(path)}.resets", "stays open until reset by hand")
    return Protection(
        kind=device.kind,
        rating=device.rating,
        earliest=earliest,
        latest=latest,
        resets_itself=device.resets == "automatic",
        opens_at_earliest=device.opens_at == "earliest",
    )


def controller(given: schema.Controller, supply: schema.Supply, notes: Notes) -> Controller:
    """The controller, without limit or ramp unless told."""
    defaults = {
        "current_limit": "none: the current is limited by resistance alone",
        "ramp": "none: full duty at once",
        "when_off": "open: the motor coasts when the drive is off",
        "bridge_resistance": "none",
    }
    for key, text in defaults.items():
        if key not in given.model_fields_set:
            notes.default(f"controller.{key}", text)
    if supply.undervoltage is None:
        notes.default("supply.undervoltage", "not given: the controller works at any voltage")
    elif "restart_time" not in given.model_fields_set:
        notes.default("controller.restart_time", "0.5 s from a reset until it drives again")
    return Controller(
        current_limit=given.current_limit,
        supply_current_limit=given.supply_current_limit,
        minimum_duty=given.minimum_duty,
        ramp=given.ramp,
        shorted_when_off=given.when_off == "shorted",
        resistance=given.bridge_resistance,
        undervoltage=supply.undervoltage,
        overvoltage=supply.overvoltage,
        restart=given.restart_time,
    )
