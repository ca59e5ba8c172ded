"""A sweep as one JSON object, and as a table of comma-separated values with a row for every choice.

As in the result of a run every key is always there, units stand in the names, and what is not known is null.
"""

import csv
from collections.abc import Mapping
from io import StringIO
from typing import Any

from armsim import __version__
from armsim.report.contract import clean
from armsim.report.numbers import degrees, millimetres
from armsim.report.sweep_words import conclusion
from armsim.scenario.vary_options import Variation
from armsim.studies.sweep import End, Sweep, ordered
from armsim.studies.sweep_rows import Row
from armsim.studies.sweep_search import Edge

SCHEMA_VERSION = 1


def row_values(found: Sweep, row: Row) -> dict[str, Any]:
    """A row's results by name; the coordinate in deg, or of a carriage in mm and m/s."""
    travels = found.scenario.machine.arm.kind == "carriage"
    place, speed = (
        (millimetres(row.final_angle), row.speed) if travels else (degrees(row.final_angle), degrees(row.speed))
    )
    return {
        "reached": row.reached,
        "lift_time_s": row.lift_time,
        "final_position_mm" if travels else "final_angle_deg": place,
        "speed_peak_m_per_s" if travels else "speed_peak_deg_per_s": speed,
        "motor_peak_a": row.motor_current,
        "supply_peak_a": row.supply_current,
        "supply_rms_a": row.supply_rms,
        "energy_taken_j": row.energy,
        "bus_voltage_min_v": row.bus_voltage,
        "winding_peak_c": row.winding,
        "breaker_trips": row.trips,
        "breaker_heat_peak": row.heat_peak,
        "static_margin": row.static_margin,
        "verdict": row.verdict,
        "meets_all": None if row.failed else row.feasible,
        "missed": ordered(row.missed),
        "exact": row.exact,
        "error": row.failed or None,
    }


def sweep_json(found: Sweep) -> dict[str, Any]:
    """The result contract of a sweep, ready for json.dumps(..., allow_nan=False)."""
    cleaned: dict[str, Any] = clean(
        {
            "schema_version": SCHEMA_VERSION,
            "armsim": __version__,
            "scenario": found.scenario.title,
            "inputs_sha256": found.scenario.sha256,
            "conclusion": conclusion(found),
            "varied": [_varied(variation) for variation in found.variations],
            "windows": [{"from": _end(w.low), "to": _end(w.high)} for w in found.windows],
            "edges": [_edge(edge) for edge in found.edges],
            "fastest": _chosen(found, found.fastest),
            "least_current": _chosen(found, found.least_current),
            "undominated": [_chosen(found, row) for row in found.best],
            "rows": [_chosen(found, row) for row in found.rows],
        }
    )
    return cleaned


def _varied(variation: Variation) -> dict[str, Any]:
    return {
        "key": variation.key,
        "unit": variation.unit or None,
        "spaced": "listed" if variation.numbers is None else "by ratio" if variation.log else "evenly",
        "values": list(variation.texts if variation.numbers is None else variation.numbers),
    }


def _end(end: End) -> dict[str, Any]:
    return {"value": end.number, "binds": list(end.binds)}


def _edge(edge: Edge) -> dict[str, Any]:
    return {"condition": edge.condition, "met_at": edge.met, "missed_at": edge.missed, "refined": edge.refined}


def _chosen(found: Sweep, row: Row | None) -> dict[str, Any] | None:
    if row is None:
        return None
    values = [text if number is None else number for text, number in zip(row.texts, row.numbers, strict=True)]
    return {"values": dict(zip(found.keys, values, strict=True)), **row_values(found, row)}


def sweep_rows(found: Sweep) -> tuple[list[str], list[list[Any]]]:
    """Heads with units, and every row of the grid in order; None where not known."""
    heads = [f"{v.key} ({v.unit})" if v.unit else v.key for v in found.variations]
    names = list(row_values(found, found.rows[0]))
    rows = []
    for row in found.rows:
        own = [text if number is None else number for text, number in zip(row.texts, row.numbers, strict=True)]
        values: Mapping[str, Any] = clean(row_values(found, row))
        rows.append([*own, *(values[name] for name in names)])
    return [*heads, *names], rows


def sweep_csv(found: Sweep) -> str:
    """The same as text, empty where not known."""
    heads, rows = sweep_rows(found)
    keys, text = len(found.variations), StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(heads)
    for row in rows:
        own = [one if isinstance(one, str) else _cell(one) for one in row[:keys]]
        writer.writerow([*own, *map(_cell, row[keys:])])
    return text.getvalue()


def _cell(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return " ".join(value)
    if isinstance(value, float):
        return f"{value:.9g}"
    text = str(value)
    return f"'{text}" if text[:1] in "=+-@" else text  # no spreadsheet is to take it for a formula
