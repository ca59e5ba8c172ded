"""What stands between battery and motor: protection, controller."""

import math
from collections.abc import Iterator
from dataclasses import replace

from armsim.parts.bridge import Controller
from armsim.parts.protection import Protection, kept_to
from armsim.scenario import dimensions as d
from armsim.scenario import schema
from armsim.scenario.dimensions import understood
from armsim.scenario.notes import Notes
from armsim.scenario.problems import Misreading
from armsim.scenario.tables import OWN_CURVE, ambient_factor, trip_families
from armsim.scenario.validate import Path, dotted


def protections(given: list[schema.Protection], ambient: float, notes: Notes) -> Iterator[Protection]:
    """The devices in series, each at its own ambient [degC] or the machine's."""
    for k, device in enumerate(given):
        path: Path = ("supply", "protection", k)
        if "opens_at" not in device.model_fields_set:
            notes.default(
                f"{dotted(path)}.opens_at", "in the run it opens at the latest edge of its band; the verdict uses both"
            )
        built = _own_curve(device, path, notes) if device.kind == OWN_CURVE else _known_kind(device, path, notes)
        yield _in_warmth(built, device, ambient, path, notes)


def _in_warmth(built: Protection, given: schema.Protection, around: float, path: Path, notes: Notes) -> Protection:
    """A device with what the warmth around it makes of its rating."""
    effect, key = given.ambient_effect, dotted((*path, "ambient"))
    if effect is None and given.kind == OWN_CURVE:
        notes.default(key, "what warmth does to it is not known (ambient_effect): its curve holds as given")
    if effect is None:
        effect = "none" if given.kind == OWN_CURVE else trip_families()[given.kind].ambient
    at = around if given.ambient is None else given.ambient
    factor = ambient_factor(effect, at)
    if factor == 1.0:
        return built
    worth = replace(built, factor=factor)
    text = f"at {understood(at, d.TEMPERATURE)} it is worth {worth.in_force:.4g} A: a rating must be {factor:.4g} times"
    notes.derived(key, f"{text} what carries the same at 23 degC ({effect})")
    return worth


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
        branch=device.line == "branch",
    )


def _own_curve(device: schema.Protection, path: Path, notes: Notes) -> Protection:
    from armsim.parts.trip_fit import fit_band  # brings in SciPy

    assert device.curve is not None
    rows = [(multiple, earliest, latest) for multiple, earliest, latest in device.curve]
    try:
        earliest, latest = fit_band(rows)
        earliest = kept_to(earliest, [(m, early) for m, early, late in rows if math.isfinite(late)])
        latest = kept_to(latest, [(m, late) for m, _, late in rows])
    except (ValueError, ArithmeticError) as error:
        notes.faults.append(((*path, "curve"), Misreading("SCN121", f"no band fits this curve: {error}")))
        family = next(iter(trip_families().values()))
        earliest, latest = family.earliest, family.latest
    notes.fitted(f"{dotted((*path, 'curve'))}", "thermal states fitted to enclose every row of the curve")
    if device.resets is None:
        notes.default(f"{dotted(path)}.resets", "stays open until reset by hand")
    return Protection(
        kind=device.kind,
        rating=device.rating,
        earliest=earliest,
        latest=latest,
        resets_itself=device.resets == "automatic",
        opens_at_earliest=device.opens_at == "earliest",
        branch=device.line == "branch",
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
        pwm_frequency=given.pwm_frequency,
        ramp=given.ramp,
        shorted_when_off=given.when_off == "shorted",
        resistance=given.bridge_resistance,
        undervoltage=supply.undervoltage,
        overvoltage=supply.overvoltage,
        restart=given.restart_time,
    )
