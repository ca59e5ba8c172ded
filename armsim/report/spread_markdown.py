"""The report of a spread study."""

from collections.abc import Sequence

from armsim.report.marking import alternative, bullets, code, escape, paragraphs, prose, table
from armsim.report.picture import Picture
from armsim.report.spread_words import (
    MEASURES,
    assumption_rows,
    conclusion,
    input_rows,
    main_influence,
    measure_rows,
    requirement_rows,
    worst_rows,
)
from armsim.scenario.uncertainty import section_of
from armsim.studies.shares import CONFIDENCE
from armsim.studies.spread import SpreadStudy

WORST_FILE = "worst.yaml"


def spread_report(study: SpreadStudy, pictures: Sequence[Picture]) -> str:
    """report.md, figures beside it."""
    head, *rest = conclusion(study)
    figures = {picture.name: picture for picture in pictures}

    def drawn(*names: str) -> list[str]:
        return [
            f"![{alternative(picture.text)}]({picture.name}.png)\n\n{prose(picture.text)}"
            for name in names
            if (picture := figures.get(name)) is not None
        ]

    main = main_influence(study)
    measured = "" if main is None else f" Variance is that of {MEASURES[main.name].name}."
    parts = [
        f"# {escape(study.scenario.title)}: how sure is it",
        f"**{prose(head)}**",
        bullets(rest),
        paragraphs(study.scenario.about),
        "## Requirements",
        _cells(requirement_rows(study)),
        prose(
            f"Of {study.sampling.count} machines sampled. Intervals hold the true share with {CONFIDENCE:.0%} "
            "confidence (Clopper and Pearson, as for independent machines; the points are spread more evenly than "
            "those, so the intervals are rather too wide than too narrow)."
        ),
        "## How long the lift takes",
        *drawn("lift-times"),
        _cells(measure_rows(study)),
        "## What matters",
        prose(
            f"The inputs, the one that matters most first, with what the lift takes at the values below and above "
            f"which 5 % of all lie, the others as drawn.{measured}"
        ),
        _cells(input_rows(study)),
        *drawn("what-matters", "each-alone-lift-time", "each-alone-supply-current"),
        "## Which machines fail",
        *drawn("which-fail"),
        "## The worst machine",
        prose(
            f"The machine of the sample with the smallest margin, each over its limit, is number {study.worst.number}. "
            "It stands beside this report as a scenario of its own"
        )
        + f": [{WORST_FILE}]({WORST_FILE}).",
        _cells(worst_rows(study)),
        "## Assumptions",
        *_assumed(study),
        "## What is not covered",
        bullets(
            [
                "Only the first lift of the moves is followed, from rest with everything at ambient: not holds, "
                "lowering, repetition or power cuts.",
                "Inputs scatter independently of each other; a factor is the same for all parts that it holds for.",
                "A share is one of the machines described here. What no input tells of, wear or a wrong part, is not "
                "in it.",
            ]
        ),
        "## How to reproduce",
        _reproduction(study),
    ]
    return "\n\n".join(part for part in parts if part) + "\n"


def _cells(rows: Sequence[Sequence[str]]) -> str:
    head, *body = ([prose(cell) for cell in row] for row in rows)
    return table(head, body, numeric=False)


def _assumed(study: SpreadStudy) -> list[str]:
    parts = []
    if study.customary:
        parts.append(
            "The scenario does not say what is uncertain. These tolerances are usual for such parts; they come from no "
            "standard and no maker. Put your own into the scenario:"
        )
        parts.append(f"```yaml\n{section_of(study.inputs)}\n```")
    parts.append(_cells(assumption_rows(study)))
    return parts


def _reproduction(study: SpreadStudy) -> str:
    sampling = study.sampling
    file = study.scenario.path.name if study.scenario.path else "scenario.yaml"
    options = f"--count {sampling.count} --seed {sampling.seed}"
    points = f"scrambled Sobol sequence, {sampling.count} points; {sampling.base} of them also for shares of variance"
    rows = [
        ("command", code(f"armsim spread {file} {options} --output DIR")),
        ("SHA-256 of the input", code(study.scenario.sha256)),
        ("points", prose(points)),
    ]
    text = "The same input, count and seed give the same machines, in whatever portions they are evaluated."
    return table(("", ""), rows, numeric=False) + f"\n\n{text}"
