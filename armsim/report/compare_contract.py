"""A comparison as one JSON object, and as a table of comma-separated values with a row a scenario.

As in the result of a run every key is always there, units stand in the names, and what is not known is null.
"""

import csv
from io import StringIO
from typing import Any

from armsim import __version__
from armsim.checks.requirements import Value
from armsim.report.compare_words import conclusion
from armsim.report.contract import clean, finding_json, requirement_json
from armsim.scenario.records import Entry
from armsim.studies.compare import Comparison, Difference
from armsim.studies.proposal import Failure, Proposal

SCHEMA_VERSION = 1
KEYS = {
    "lift_time": "lift_time_s",
    "motor_current_peak": "motor_peak_a",
    "motor_current_rms": "motor_rms_a",
    "supply_current_peak": "supply_peak_a",
    "supply_current_rms": "supply_rms_a",
    "breaker_trips": "breaker_trips",
    "bus_voltage_min": "bus_voltage_min_v",
    "winding_peak": "winding_peak_c",
    "holds_unpowered": "unpowered_holds",
    "static_margin": "static_margin",
    "weakest_part_safety": "weakest_part_safety",
    "energy_per_cycle": "energy_per_cycle_j",
    "mass": "mass_kg",
    "price": "price",
    "parts": "parts",
}
PROBLEM = ("file", "line", "column", "code", "key", "text", "hint")


def comparison_json(comparison: Comparison) -> dict[str, Any]:
    """The result contract of a comparison, ready for json.dumps(..., allow_nan=False)."""
    ranking = comparison.ranking
    cleaned: dict[str, Any] = clean(
        {
            "schema_version": SCHEMA_VERSION,
            "armsim": __version__,
            "conclusion": conclusion(comparison),
            "scenarios": [_scenario(outcome) for outcome in comparison.outcomes],
            "not_done": list(comparison.left),
            "counted": ["verdict", *(KEYS[name] for name in ranking.counted)],
            "not_counted": [KEYS[name] for name in ranking.left_out],
            "choice": list(ranking.choice),
            "beaten": [
                {"label": b.label, "by": b.by, "worse_in": [KEYS.get(name, name) for name in b.worse_in]}
                for b in ranking.beaten
            ],
            "best": {
                KEYS[name]: [p.label for p in comparison.proposals if p.label in names]
                for name, names in ranking.best.items()
            },
            "asked_apart": list(comparison.asked_apart),
            "differences": [_difference(d) for d in comparison.differences],
        }
    )
    return cleaned


def _scenario(outcome: Proposal | Failure) -> dict[str, Any]:
    failed = isinstance(outcome, Failure)
    row: dict[str, Any] = {
        "label": outcome.label,
        "file": outcome.path.name if outcome.path else None,
        "error": _error(outcome) if isinstance(outcome, Failure) else None,
    }
    if failed:
        empty = dict.fromkeys(("title", "inputs_sha256", "verdict", "headline"))
        return row | empty | {"measures": None, "weakest_part": None, "requirements": [], "findings": []}
    return row | _judged(outcome)  # type: ignore[arg-type]  # what did not fail was judged


def _judged(p: Proposal) -> dict[str, Any]:
    weak = p.weakest
    return {
        "title": p.inputs.title,
        "inputs_sha256": p.inputs.sha256,
        "verdict": p.verdict,
        "headline": p.headline,
        "measures": {KEYS[name]: value for name, value in p.values.items()},
        "weakest_part": None
        if weak is None
        else {"stage": weak.stage, "part": weak.part, "check": weak.check, "case": weak.case},
        "requirements": [requirement_json(r) for r in p.requirements],
        "findings": [finding_json(f) for f in p.findings],
    }


def _error(failure: Failure) -> dict[str, Any]:
    problems = [{name: getattr(problem, name) for name in PROBLEM} for problem in failure.problems]
    return {"status": failure.status, "text": failure.text, "problems": problems}


def _difference(difference: Difference) -> dict[str, Any]:
    return {"key": difference.key, "values": {label: _typed(e) for label, e in difference.entries.items()}}


def _typed(entry: Entry | None) -> dict[str, Any] | None:
    if entry is None:
        return None
    return {"typed": entry.typed, "understood": entry.understood, "file": entry.place.file, "line": entry.place.line}


def comparison_csv(comparison: Comparison) -> str:
    """A row a scenario, a column a measure, units in the heads, empty where not known or not run."""
    head, rows = comparison_rows(comparison)
    text = StringIO()
    written = csv.writer(text, lineterminator="\n")
    written.writerow(head)
    written.writerows([_plain(cell) for cell in row] for row in rows)
    return text.getvalue()


def comparison_rows(comparison: Comparison) -> tuple[list[str], list[list[Value]]]:
    """Heads with units, and a row a scenario; None where not known or not run."""
    asked = dict.fromkeys(r.name for p in comparison.proposals for r in p.requirements)
    head = ["label", "verdict", *KEYS.values(), *(f"{name}_met" for name in asked), "beaten_by", "error"]
    beaten = {b.label: b.by for b in comparison.ranking.beaten}
    rows: list[list[Value]] = []
    for outcome in comparison.outcomes:
        if isinstance(outcome, Failure):
            error = outcome.text.strip().splitlines()[0]
            rows.append([outcome.label, None, *(None for _ in (*KEYS, *asked)), None, error])
            continue
        met = {r.name: r.met for r in outcome.requirements}
        cells = [*(outcome.values[name] for name in KEYS), *(met.get(name) for name in asked)]
        rows.append([outcome.label, outcome.verdict, *map(clean, cells), beaten.get(outcome.label), None])
    return head, rows


def _plain(value: float | bool | str | None) -> str | float:
    if value is None:
        return ""
    return ("yes" if value else "no") if isinstance(value, bool) else value
