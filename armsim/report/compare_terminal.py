"""What a comparison prints: the conclusion, the table in as many blocks as the terminal is wide, what differs."""

import textwrap
from collections.abc import Iterable, Sequence
from itertools import zip_longest

from armsim.report.compare_table import Line, difference_lines, labels, measure_lines, short_lines
from armsim.report.compare_words import conclusion
from armsim.report.numbers import one_line
from armsim.studies.compare import Comparison

NARROWEST = 60  #: below which nothing is laid out
MOST_BLOCKS = 3  #: of columns; with more a row a scenario reads better
MOST_DIFFERENCES = 20
WIDEST = 24  #: of a column before its cells are folded
WIDEST_NAME, WIDEST_HEAD = 36, 10  #: likewise of the first column, and of the heads
LONGEST_CELL = 48  #: of an input as typed
GAP = 3


def comparison_text(comparison: Comparison, width: int) -> str:
    """The text of a finished comparison, in plain ASCII."""
    width = max(width, NARROWEST)
    parts = ["Conclusion\n" + "\n".join(_wrapped(line, width) for line in conclusion(comparison))]
    names = labels(comparison)
    measures = measure_lines(comparison)
    if not names:
        return parts[0]
    if len(_blocks(measures, names, width)) > MOST_BLOCKS:
        short = short_lines(comparison)
        parts += _tables("Measures", _turned(short, names), [line.name for line in short], width, "measure")
        return "\n\n".join([*parts, _wrapped(_elsewhere(comparison), width)])
    parts += _tables("Measures", measures, names, width)
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


def _elsewhere(comparison: Comparison) -> str:
    keys = [line.name for line in difference_lines(comparison)]
    told = f"{len(keys)} keys of the inputs differ" if len(keys) != 1 else f"{keys[0]} differs"
    return f"{told}. --output, --csv and --json have all measures."


def _turned(lines: Sequence[Line], names: Sequence[str]) -> list[Line]:
    """A line a scenario, a cell a measure."""
    return [Line(name, tuple(line.cells[k] for line in lines)) for k, name in enumerate(names)]


def _tables(title: str, lines: Sequence[Line], names: Sequence[str], width: int, what: str = "scenario") -> list[str]:
    """Blocks of as many columns, each a `what`, as go into the width."""
    texts = []
    for columns in _blocks(lines, names, width):
        rows = [[[""], *(_folded(names[k], WIDEST_HEAD) for k in columns)]]
        rows += [[_folded(x.name, WIDEST_NAME), *(_folded(x.cells[k]) for k in columns)] for x in lines]
        texts.append(f"{title}{which(columns, len(names), what)}\n{_laid_out(rows)}")
    return texts


def _folded(cell: str, width: int = WIDEST) -> list[str]:
    return textwrap.wrap(cell, width, subsequent_indent="  ", break_long_words=False, break_on_hyphens=False) or [""]


def _laid_out(rows: Sequence[Sequence[Sequence[str]]]) -> str:
    """Columns as wide as their widest cell; cells that are folded go on below."""
    widths = [_wide(column) for column in zip(*rows, strict=True)]
    lines = []
    for row in rows:
        for texts in zip_longest(*row, fillvalue=""):
            line = (" " * GAP).join(text.ljust(w) for text, w in zip(texts, widths, strict=True))
            lines.append(f"  {line}".rstrip())
    return "\n".join(lines)


def _wide(cells: Iterable[Sequence[str]]) -> int:
    return max(len(text) for cell in cells for text in cell)


def which(columns: Sequence[int], count: int, what: str) -> str:
    """Which ones of what a block shows, to follow its title; empty where it shows all."""
    if len(columns) == count:
        return ""
    first, last = columns[0] + 1, columns[-1] + 1
    return f", {what} {first} of {count}" if first == last else f", {what}s {first} to {last} of {count}"


def _blocks(lines: Sequence[Line], names: Sequence[str], width: int) -> list[list[int]]:
    """Column numbers by block; a column that is too wide by itself has a block to itself."""
    room = width - 2 - _wide(_folded(line.name, WIDEST_NAME) for line in lines)
    found: list[list[int]] = []
    used = 0
    for k, name in enumerate(names):
        own = GAP + _wide([_folded(name, WIDEST_HEAD), *(_folded(line.cells[k]) for line in lines)])
        if not found or used + own > room:
            found.append([])
            used = 0
        found[-1].append(k)
        used += own
    return found
