"""What a comparison prints: the conclusion, the table in as many blocks as the terminal is wide, what differs."""

import textwrap
from collections.abc import Sequence

from armsim.report.compare_table import Line, difference_lines, labels, measure_lines
from armsim.report.compare_words import conclusion
from armsim.report.numbers import one_line
from armsim.studies.compare import Comparison

NARROWEST = 60  #: below which nothing is laid out
MOST_DIFFERENCES = 20
LONGEST_CELL = 28  #: of an input as typed


def comparison_text(comparison: Comparison, width: int) -> str:
    """The text of a finished comparison, in plain ASCII."""
    width = max(width, NARROWEST)
    parts = ["Conclusion\n" + "\n".join(_wrapped(line, width) for line in conclusion(comparison))]
    names = labels(comparison)
    if names:
        parts += _tables("Measures", measure_lines(comparison), names, width)
    differences = difference_lines(comparison)
    if differences:
        shown = [Line(x.name, tuple(_short(c) for c in x.cells)) for x in differences[:MOST_DIFFERENCES]]
        parts += _tables("What differs between the inputs", shown, names, width)
        if len(differences) > len(shown):
            parts.append(f"  ... and {len(differences) - len(shown)} more, which --output and --json have")
    elif len(names) > 1:
        parts.append("The inputs do not differ.")
    return "\n\n".join(parts)


def _wrapped(text: str, width: int) -> str:
    return textwrap.fill(one_line(text), width, initial_indent="  ", subsequent_indent="    ", break_on_hyphens=False)


def _short(cell: str) -> str:
    plain = one_line(cell)
    return plain if len(plain) <= LONGEST_CELL else f"{plain[: LONGEST_CELL - 3]}..."


def _tables(title: str, lines: Sequence[Line], names: Sequence[str], width: int) -> list[str]:
    """Blocks of as many columns as go into the width; each column as wide as its widest cell."""
    head = max(len(line.name) for line in lines)
    widths = [max(len(name), *(len(line.cells[k]) for line in lines)) for k, name in enumerate(names)]
    texts = []
    for columns in _blocks(widths, width - head - 2):
        rows = [("", *(names[k] for k in columns)), *((x.name, *(x.cells[k] for k in columns)) for x in lines)]
        wide = [head, *(widths[k] for k in columns)]
        body = "\n".join(
            "  " + "   ".join(cell.ljust(w) for cell, w in zip(row, wide, strict=True)).rstrip() for row in rows
        )
        texts.append(f"{title}{which(columns, len(names))}\n{body}")
    return texts


def which(columns: Sequence[int], count: int) -> str:
    """Which scenarios a block shows, to follow its title; empty where it shows all."""
    if len(columns) == count:
        return ""
    first, last = columns[0] + 1, columns[-1] + 1
    return f", scenario {first} of {count}" if first == last else f", scenarios {first} to {last} of {count}"


def _blocks(widths: Sequence[int], room: int) -> list[list[int]]:
    """Column numbers by block; a column that is too wide by itself has a block to itself."""
    found: list[list[int]] = []
    used = 0
    for k, width in enumerate(widths):
        if not found or used + 3 + width > room:
            found.append([])
            used = 0
        found[-1].append(k)
        used += 3 + width
    return found
