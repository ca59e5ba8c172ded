"""What a spread study prints: the answer, then tables."""

import textwrap
from collections.abc import Sequence

from armsim.report.numbers import one_line
from armsim.report.spread_words import assumption_rows, conclusion, input_rows, measure_rows, requirement_rows
from armsim.scenario.uncertainty import section_of
from armsim.studies.spread import SpreadStudy

WIDTH = 112


def spread_text(study: SpreadStudy) -> str:
    """The text of a finished study, in plain ASCII."""
    head, *rest = conclusion(study)
    file = f" ({study.scenario.path.name})" if study.scenario.path else ""
    sample = f"{study.sampling.count} machines, seed {study.sampling.seed}; the first lift of the moves is followed"
    blocks = [
        "\n".join(
            [
                textwrap.fill(head, WIDTH, break_on_hyphens=False),
                *(textwrap.fill(line, WIDTH, break_on_hyphens=False) for line in rest),
                f"{one_line(study.scenario.title)}{file}: {sample}",
            ]
        ),
        f"Requirements\n{_columns(requirement_rows(study))}",
        f"Numbers\n{_columns(measure_rows(study))}",
        f"Inputs, those that matter most first\n{_columns(input_rows(study))}",
        f"How they scatter\n{_columns(assumption_rows(study), 3)}",
    ]
    if study.customary:
        blocks.append(f"To say it yourself, put this into the scenario and change it:\n{section_of(study.inputs)}")
    return "\n\n".join(blocks)


def _columns(rows: Sequence[Sequence[str]], words: int = 1) -> str:
    widths = [max(len(row[k]) for row in rows) for k in range(len(rows[0]))]
    lines = []
    for row in rows:
        cells = (
            cell.ljust(width) if k < words else cell.rjust(width)
            for k, (cell, width) in enumerate(zip(row, widths, strict=True))
        )
        lines.append("  " + "   ".join(cells).rstrip())
    return "\n".join(lines)
