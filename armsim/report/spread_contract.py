"""A spread study as JSON and CSV: units in the names, null or empty where not known."""

from collections.abc import Iterator
from typing import Any

import numpy as np

from armsim import __version__
from armsim.report.contract import SCHEMA_VERSION, clean
from armsim.report.numbers import DISPLAY
from armsim.report.spread_words import MEASURES, conclusion, in_unit, unit_of
from armsim.scenario.records import Uncertain
from armsim.studies.lifts import MEASURES as MEASURED
from armsim.studies.lifts import Columns
from armsim.studies.sampling import cut_off
from armsim.studies.shares import CONFIDENCE, Chance
from armsim.studies.spread import HIGH, LOW, SpreadStudy, inputs_of
from armsim.studies.spread_rows import meeting_all

PORTION = 4096  #: lines made at a time
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
    """Every point a line, written as they are read."""
    template = ""
    for columns in spread_table(study):
        if not template:
            yield ",".join(columns) + "\n"
            template = ",".join(["%d", *["%.7g"] * (len(columns) - 1)]) + "\n"
        for row in np.column_stack(list(columns.values())).tolist():
            yield (template % tuple(row)).replace("nan", "")


def spread_table(study: SpreadStudy) -> Iterator[dict[str, "np.ndarray"]]:
    """All points in portions: number, inputs, measures, whether it arrives and meets all that is asked."""
    for first, columns in study.points.numbered():
        for start in range(first, first + len(columns["reached"]), PORTION):
            part = {name: column[start - first : start - first + PORTION] for name, column in columns.items()}
            yield _told(study, start, part)


def _told(study: SpreadStudy, first: int, columns: Columns) -> dict[str, "np.ndarray"]:
    count = len(columns["reached"])
    told = {"number": np.arange(first, first + count, dtype=float)}
    inputs = inputs_of(study.sampling, first, first + count)
    for k, one in enumerate(study.inputs):
        told[_column_head(one)] = inputs[f"input {k}"] / unit_of(one).size
    for name in MEASURED:
        measure = MEASURES[name]
        head = f"{measure.name.replace(',', '')} ({DISPLAY[measure.dimension].unit or 1})"
        told[head] = columns[name] / DISPLAY[measure.dimension].scale
    told["arrives (1)"] = columns["reached"]
    told["meets all (1)"] = meeting_all(columns, study.judged).astype(float)
    return told


def in_units(study: SpreadStudy, name: str) -> "np.ndarray":
    """A measure of the points shown in the unit it is shown in."""
    return study.columns[name] / DISPLAY[MEASURES[name].dimension].scale
