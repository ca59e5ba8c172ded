"""The tables of shipped parts as people read them, and as one JSON object."""

import math
import textwrap
from collections.abc import Sequence
from typing import Any

from armsim import __version__
from armsim.data.catalogue import Table, Value

TEXT_WIDTH = 112
_PROSE = "evidence"  #: a column of sentences, told below the table
_SUFFIXES = {"degC": "c", "lbf/in^2": "lbf_per_in2", "lbf*in": "lbf_in", "ohm*A*h": "ohm_ah"}


def overview(tables: Sequence[Table]) -> str:
    """Every kind on a line."""
    rows = [["kind", "rows", "what", "standard"]]
    rows += [[table.kind, str(len(table.rows)), table.title, table.standard] for table in tables]
    return _aligned(rows, [False, True, False, False])


def text(table: Table) -> str:
    """One table with units in its heads."""
    shown = [name for name in table.columns if name != _PROSE]
    heads = [name.replace("_", " ") + (f" ({unit})" if (unit := table.columns[name]) else "") for name in shown]
    cells = [[_cell(row[name]) for name in shown] for row in table.rows]
    right = [all(not isinstance(row[name], str) for row in table.rows) for name in shown]
    standard = "" if table.standard == "none" or "standard" in shown else f" ({table.standard})"
    blocks = [f"{table.title}{standard}", _aligned([heads, *cells], right), *_prose(table)]
    return "\n\n".join(blocks)


def _prose(table: Table) -> list[str]:
    """What stands behind the rows, each sentence once."""
    said: dict[str, list[str]] = {}
    for row in table.rows:
        if row.get(_PROSE):
            said.setdefault(str(row[_PROSE]), []).append(str(next(iter(row.values()))))
    told = [f"{', '.join(names)}: {words}" for words, names in said.items()]
    return [_wrapped(words) for words in [*([table.evidence] if table.evidence else []), *told]]


def _wrapped(words: str) -> str:
    return textwrap.fill(words, TEXT_WIDTH, break_on_hyphens=False, subsequent_indent="  ")


def _cell(value: Value) -> str:
    if isinstance(value, tuple):
        return f"{value[0]:g} to {value[1]:g}"
    if isinstance(value, float):
        return f"{value:.6g}" if math.isfinite(value) else "never" if value > 0.0 else "any"
    return "-" if value is None else str(value)


def _aligned(rows: Sequence[Sequence[str]], right: Sequence[bool]) -> str:
    widths = [max(len(row[k]) for row in rows) for k in range(len(right))]
    lines = (
        "   ".join(
            cell.rjust(width) if to_right else cell.ljust(width)
            for cell, width, to_right in zip(row, widths, right, strict=True)
        ).rstrip()
        for row in rows
    )
    return "\n".join(lines)


def overview_json(tables: Sequence[Table]) -> dict[str, Any]:
    """The kinds."""
    kinds = [
        {"kind": table.kind, "rows": len(table.rows), "title": table.title, "standard": _standard(table)}
        for table in tables
    ]
    return {"armsim": __version__, "kinds": kinds}


def table_json(table: Table) -> dict[str, Any]:
    """One table; names carry units, what is not known is null."""
    names = {name: f"{name}_{_suffix(unit)}" if unit else name for name, unit in table.columns.items()}
    rows = [{names[name]: _known(value) for name, value in row.items()} for row in table.rows]
    return {
        "armsim": __version__,
        "kind": table.kind,
        "title": table.title,
        "standard": _standard(table),
        "evidence": table.evidence or None,
        "rows": rows,
    }


def _known(value: Value) -> Value:
    """JSON has no word for what has no end."""
    return None if isinstance(value, float) and math.isinf(value) else value


def _standard(table: Table) -> str | None:
    return None if table.standard == "none" else table.standard


def _suffix(unit: str) -> str:
    return _SUFFIXES.get(unit) or unit.lower().replace("/", "_per_").replace("^", "")
