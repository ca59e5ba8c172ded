"""A spread study as JSON and CSV: units in the names, null or empty where not known."""

from collections.abc import Iterator
from typing import Any

import numpy as np

from armsim import __version__
from armsim.report.contract import SCHEMA_VERSION, clean
from armsim.report.numbers import DISPLAY
from armsim.report.spread_words import MEASURES, conclusion, in_unit, met_rows, unit_of
from armsim.scenario.records import Uncertain
from armsim.studies.lifts import MEASURES as MEASURED
from armsim.studies.sampling import cut_off
from armsim.studies.shares import CONFIDENCE, Chance
from armsim.studies.spread import HIGH, LOW, SpreadStudy

UNITS = {
    "time": "_s",
    "current": "_a",
    "voltage": "_v",
    "velocity": "_m_per_s",
    "temperature": "_c",
    "energy": "_j",
    "ratio": "",
    "number": "_per_s",
}


def head_of(name: str) -> str:
    """A measure's key, with its unit."""
    return f"{name}{UNITS[MEASURES[name].dimension]}"


def spread_json(study: SpreadStudy) -> dict[str, Any]:
    """The result, ready for json.dumps(..., allow_nan=False)."""
    sampling = study.sampling
    result = {
        "schema_version": SCHEMA_VERSION,
        "armsim": __version__,
        "scenario": {
            "title": study.scenario.title,
            "file": study.scenario.path.name if study.scenario.path else None,
        },
        "inputs_sha256": study.scenario.sha256,
        "conclusion": conclusion(study),
        "sample": {
            "count": sampling.count,
            "seed": sampling.seed,
            "also_for_variance": sampling.base * (len(study.inputs) + 1),
            "failed": study.failed,
            "confidence": CONFIDENCE,
        },
        "together": _chance(study.together),
        "arrives": _chance(study.lifting),
        "requirements": [_chance(one) for one in study.single],
        "percentiles": [
            {
                "name": head_of(row.name),
                "count": row.count,
                "as_drawn": in_unit(row.name, study.drawn[row.name]),
                **{key: in_unit(row.name, value) for key, value in zip(("p05", "p50", "p95"), row.values, strict=True)},
            }
            for row in study.percentiles
        ],
        "customary_tolerances": study.customary,
        "inputs": [_input(study, k) for k in range(len(study.inputs))],
        "worst": {
            "number": study.worst.number,
            "inputs": {
                one.name: value / unit_of(one).size for one, value in zip(study.inputs, study.worst.values, strict=True)
            },
            **{head_of(name): in_unit(name, study.worst.row[name]) for name in MEASURED},
            "reached": bool(study.worst.row["reached"]),
        },
    }
    cleaned: dict[str, Any] = clean(result)
    return cleaned


def _chance(chance: Chance) -> dict[str, Any]:
    judged = chance.count > 0
    return {
        "name": chance.name,
        "judged": chance.count,
        "met": chance.met if judged else None,
        "share": chance.share if judged else None,
        "low": chance.low if judged else None,
        "high": chance.high if judged else None,
    }


def _input(study: SpreadStudy, k: int) -> dict[str, Any]:
    one, turn = study.inputs[k], study.turns[k]
    unit = unit_of(one)

    def end(value: float, row: dict[str, float]) -> dict[str, Any]:
        measures = {head_of(name): in_unit(name, row[name]) for name in MEASURED}
        return {"value": value / unit.size, "reached": bool(row["reached"]), **measures}

    spread = one.spread
    return {
        "name": one.name,
        "key": one.key,
        "unit": unit.name or None,
        "as_drawn": one.nominal / unit.size,
        "as_given": one.typed,
        "law": spread.law,
        "cut_off": cut_off(spread),
        f"at_{LOW:.0%}".replace("%", "_percent"): end(turn.low, turn.at_low),
        f"at_{HIGH:.0%}".replace("%", "_percent"): end(turn.high, turn.at_high),
        "variance": [
            {"of": head_of(i.name), "alone": i.first[k], "with_others": i.total[k], "standard_error": i.error[k]}
            for i in study.influences
        ],
    }


def _column_head(one: Uncertain) -> str:
    unit = unit_of(one).name
    return f"{one.name} ({unit or 1})"


def spread_csv(study: SpreadStudy) -> Iterator[str]:
    """Every point a line: its inputs, its measures, whether it arrives and meets all that is asked."""
    columns = {"number": np.arange(study.sampling.count, dtype=float)}
    for k, one in enumerate(study.inputs):
        columns[_column_head(one)] = study.columns[f"input {k}"] / unit_of(one).size
    for name in MEASURED:
        told = MEASURES[name]
        columns[f"{told.name.replace(',', '')} ({DISPLAY[told.dimension].unit or 1})"] = in_units(study, name)
    columns["arrives (1)"] = study.columns["reached"]
    columns["meets all (1)"] = met_rows(study).astype(float)
    yield ",".join(columns) + "\n"
    template = ",".join(["%d", *["%.7g"] * (len(columns) - 1)]) + "\n"
    for first in range(0, study.sampling.count, 4096):
        part = np.column_stack([column[first : first + 4096] for column in columns.values()])
        for row in part.tolist():
            yield (template % tuple(row)).replace("nan", "")


def in_units(study: SpreadStudy, name: str) -> "np.ndarray":
    """A measure of all points in the unit it is shown in."""
    return study.columns[name] / DISPLAY[MEASURES[name].dimension].scale
