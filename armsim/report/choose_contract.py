"""A choice as one JSON object and as CSV: units in the names, null or empty where not known."""

import csv
import io
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from armsim import __version__
from armsim.report.contract import SCHEMA_VERSION, clean
from armsim.report.numbers import degrees
from armsim.studies.choice import Choosing, Simulated
from armsim.studies.chosen import Chosen

if TYPE_CHECKING:
    from armsim.scenario.stock import Stock
    from armsim.scenario.tasks import Task

HEADS = (
    "place", "motor", "stages", "reduction", "efficiency_forward", "lift_time_s", "motor_current_peak_a",
    "supply_current_peak_a", "static_margin", "price", "mass_kg", "backlash_deg", "weakest_part", "safety", "verdict",
)  # fmt: skip


def choose_json(task: "Task", stock: "Stock", found: Choosing) -> dict[str, Any]:
    """The object."""
    counts = found.counts
    result: dict[str, Any] = {
        "schema_version": SCHEMA_VERSION,
        "armsim": __version__,
        "scenario": {"title": task.title, "file": task.path.name if task.path else None},
        "inputs_sha256": task.sha256,
        "stock": {"title": stock.title, "file": stock.path.name if stock.path else None, "sha256": stock.sha256},
        "for": found.order.value,
        "proven": counts.complete,
        "interrupted": found.interrupted,
        "best": [chosen_json(one) for one in found.top],
        "today": None if found.today is None else chosen_json(found.today),
        "same_reduction": [chosen_json(one) for one in found.ladder],
        "non_dominated": [_simulated(one) for one in found.unbeaten],
        "nearest": None if found.nearest is None else chosen_json(found.nearest),
        "nearest_misses": found.nearest_misses or None,
        "combinations": {
            "considered": counts.considered,
            "stopped": counts.stopped,
            "left": counts.left,
            "stopped_by_bounds": counts.bounded,
            "calculated_for_bounds": counts.gridded,
            "simulated": counts.simulated,
            "simulated_different": counts.different,
            "passed": counts.passed,
            "missed": counts.missed,
            "exact_runs": counts.exact,
            "exact_runs_not_passed": counts.fell,
        },
    }
    cleaned: dict[str, Any] = clean(result)
    return cleaned


def chosen_json(one: Chosen) -> dict[str, Any]:
    """One combination."""
    return {
        "name": one.name,
        "motor": None if one.motor is None else one.motor.name,
        "stages": [choice.name for choice in one.choices],
        "reduction": one.reduction,
        "efficiency_forward": one.efficiency,
        "lift_time_s": one.lift_time,
        "motor_current_peak_a": one.motor_current,
        "supply_current_peak_a": one.supply_current,
        "static_margin": one.static_margin,
        "price": one.price,
        "mass_kg": one.mass,
        "backlash_deg": degrees(one.backlash),
        "weakest_part": None
        if one.weakest is None
        else {
            "stage": one.weakest.stage,
            "part": one.weakest.part,
            "check": one.weakest.check,
            "case": one.weakest.case,
            "safety": one.weakest.safety,
        },
        "verdict": one.verdict,
        "passes": one.passes,
        "stands_against": one.stands_against or None,
    }


def _simulated(one: Simulated) -> dict[str, Any]:
    return {
        "name": one.name,
        "reduction": one.reduction,
        "lift_time_s": one.lift_time,
        "supply_current_peak_a": one.supply_current,
        "price": one.price,
        "mass_kg": one.mass,
    }


def choose_csv(found: Choosing) -> str:
    """The best, a row each; what the file has comes last."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(HEADS)
    for place, one in enumerate(found.top, 1):
        writer.writerow(_row(str(place), one))
    if found.today is not None:
        writer.writerow(_row("today", found.today))
    return text.getvalue()


def _row(place: str, one: Chosen) -> Sequence[str]:
    record, weak = chosen_json(one), one.weakest
    named = {"place": place, "stages": "; ".join(record["stages"])}
    if weak is not None:
        named |= {"weakest_part": f"{weak.part} of {weak.stage}: {weak.check}", "safety": f"{weak.safety:.6g}"}
    cells = []
    for head in HEADS:
        value = named.get(head, "" if head in ("weakest_part", "safety") else record.get(head))
        cells.append("" if value is None else f"{value:.6g}" if isinstance(value, float) else str(value))
    return cells
