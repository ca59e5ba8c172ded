"""Do the parts of the transmission fit, do they survive, how far do they give way: tables and sentences."""

from collections.abc import Sequence
from typing import Any

from armsim.checks.assessment import Assessment
from armsim.checks.judged_parts import Fit, FitRow, PlayResult, StrengthRow
from armsim.checks.shocks import NAMES
from armsim.report.marking import prose, table
from armsim.report.numbers import degrees, millimetres, of, show

ORDER = (Fit.WRONG, Fit.NEAR_MISS, Fit.DOUBTFUL, Fit.UNKNOWN, Fit.FITS)
Cells = list[tuple[str, ...]]


def case_word(case: str) -> str:
    """A load case in words."""
    return NAMES.get(case, "in a steady lift")


def fit_cells(rows: Sequence[FitRow]) -> Cells:
    """Head and rows of what does not simply fit, gravest first."""
    cells: Cells = [("verdict", "stage", "rule", "given", "wanted")]
    ranked = sorted((row for row in rows if row.fit is not Fit.FITS), key=lambda row: ORDER.index(row.fit))
    return [*cells, *((str(row.fit).upper(), row.stage, row.rule, row.given, row.wanted) for row in ranked)]


def fitting(rows: Sequence[FitRow]) -> list[str]:
    """One line a stage of the rules that are kept."""
    stages = dict.fromkeys(row.stage for row in rows)
    kept = {stage: [row.rule for row in rows if row.stage == stage and row.fit is Fit.FITS] for stage in stages}
    return [f"{stage}: {'; '.join(dict.fromkeys(rules))}" for stage, rules in kept.items() if rules]


def fit_remarks(rows: Sequence[FitRow]) -> list[str]:
    """Why it matters, and what would mend it."""
    told = [row for row in rows if row.fit not in (Fit.FITS, Fit.UNKNOWN) and (row.text or row.mend)]
    lines = []
    for row in told:
        mend = f" To mend: {row.mend}." if row.mend else ""
        lines.append(f"{row.stage}, {row.rule}: {row.text}{mend}")
    return lines


def gravest(rows: Sequence[StrengthRow]) -> list[StrengthRow]:
    """Of each check of each part the case with the least safety, weakest first."""
    found: dict[tuple[str, str, str], StrengthRow] = {}
    for row in rows:
        key = (row.stage, row.part, row.check)
        if key not in found or row.safety < found[key].safety:
            found[key] = row
    return sorted(found.values(), key=lambda row: row.safety)


def weakest(rows: Sequence[StrengthRow]) -> StrengthRow | None:
    """The row with the least safety, None without any."""
    return min(rows, key=lambda row: row.safety, default=None)


def weakest_text(rows: Sequence[StrengthRow]) -> str:
    """The weakest part in a sentence."""
    row = weakest(rows)
    if row is None:
        return "No stage tells enough of its parts for a check."
    return (
        f"The weakest by these checks is the {row.part} of {row.stage}: {row.check} {case_word(row.case)}, "
        f"safety {show(row.safety, 'ratio', 3)}."
    )


def strength_cells(rows: Sequence[StrengthRow]) -> Cells:
    """Head and rows, weakest first; what wears or tires rather than breaks is marked."""
    cells: Cells = [("stage", "part", "check", "hardest", "load", "bears", "safety")]
    for row in gravest(rows):
        check = f"{row.check} (lasting)" if row.lasting else row.check
        cells.append(
            (
                row.stage,
                row.part,
                check,
                case_word(row.case),
                show(row.load, row.dimension, 3),
                show(row.allowable, row.dimension, 3),
                show(row.safety, "ratio", 3),
            )
        )
    return cells


def sources(rows: Sequence[StrengthRow]) -> list[str]:
    """What each check rests on, once."""
    resting: dict[str, list[str]] = {}
    for row in gravest(rows):
        resting.setdefault(row.source, []).append(f"{row.check} of the {row.part} of {row.stage}")
    return [f"{'; '.join(dict.fromkeys(checks))}: {source}" for source, checks in resting.items()]


def play_cells(play: PlayResult, load: str = "arm") -> Cells:
    """Head and rows: backlash and wind-up of each stage at the load, then of all."""
    shown = of(load, "angle")
    cells: Cells = [("stage", "backlash at the load", "wind-up, steady lift", "wind-up, stalled")]
    for row in play.stages:
        stiff = "taken as rigid" if row.stiffness is None else None
        cells.append(
            (
                row.stage,
                show(row.backlash_at_arm, shown, 3),
                stiff or show(row.wind_up, shown, 3),
                stiff or show(row.wind_up_stalled, shown, 3),
            )
        )
    cells.append(
        (
            "in all",
            show(play.backlash, shown, 3),
            show(play.wind_up, shown, 3),
            show(play.wind_up_stalled, shown, 3),
        )
    )
    return cells


def play_text(play: PlayResult, load: str = "arm") -> str:
    """The whole in millimetres at the arm's tip, or of the carriage."""
    what = "the tip" if load == "arm" else "the carriage"
    if play.backlash is None:
        text = f"Free play is not known: no backlash is given for {', '.join(play.missing)}."
    else:
        likely = show(play.tip(play.likely_backlash), "length", 3)
        text = f"Free play moves {what} by up to {show(play.tip(play.backlash), 'length', 3)}, likely by {likely}."
    if play.wind_up is not None:
        text += f" Under the steady load the train winds up by {show(play.tip(play.wind_up), 'length', 3)} there"
        text += f", stalled by {show(play.tip(play.wind_up_stalled), 'length', 3)}." if play.wind_up_stalled else "."
    return text


def contract(assessment: Assessment) -> dict[str, Any]:
    """The same for programs."""
    weak = weakest(assessment.strength)
    return {
        "fit": [
            {
                "stage": row.stage,
                "rule": row.rule,
                "given": row.given,
                "wanted": row.wanted,
                "fit": str(row.fit),
                "text": row.text or None,
                "mend": row.mend or None,
            }
            for row in assessment.fit
        ],
        "strength": [_strength(row) for row in assessment.strength],
        "weakest": None if weak is None else _strength(weak),
        "play": _play(assessment.play, assessment.load),
    }


def parts_sections(assessment: Assessment) -> list[str]:
    """Fit, strength and play for the report, as blocks; none where no stage tells of its parts."""
    blocks: list[str] = []
    if assessment.fit:
        blocks += _fit_blocks(assessment.fit)
    if assessment.strength:
        blocks += _strength_blocks(assessment.strength)
    if assessment.play is not None:
        play = assessment.play
        blocks += [
            "### Play and wind-up",
            prose(play_text(play, assessment.load)),
            _table(play_cells(play, assessment.load)),
        ]
    return blocks


def _fit_blocks(rows: Sequence[FitRow]) -> list[str]:
    blocks = ["### Do the parts fit", "Every rule of fit for what was given."]
    cells = fit_cells(rows)
    if len(cells) > 1:
        blocks.append(_table(cells, numeric=False))
    remarks, kept = fit_remarks(rows), fitting(rows)
    if remarks:
        blocks.append(_listed(remarks))
    if kept:
        blocks += ["What fits, by stage:", _listed(kept)]
    return blocks


def _strength_blocks(rows: Sequence[StrengthRow]) -> list[str]:
    text = (
        "First-pass checks that compare designs and find the weak place; they do not replace a rating by the standard. "
        "Loads are those of the table above, in the hardest case of each; lasting marks limits of wear and fatigue. "
    )
    return [
        "### Do the parts survive",
        prose(text + weakest_text(rows)),
        _table(strength_cells(rows)),
        "What the checks rest on:",
        _listed(sources(rows)),
    ]


def _table(cells: Cells, *, numeric: bool = True) -> str:
    head, *rows = ([prose(cell) for cell in row] for row in cells)
    return table(head, rows, numeric=numeric)


def _listed(lines: Sequence[str]) -> str:
    return "\n".join(f"- {prose(line)}" for line in lines)


UNITS = {"stress": ("MPa", 1e-6), "force": ("N", 1.0), "torque": ("N*m", 1.0)}


def _strength(row: StrengthRow) -> dict[str, Any]:
    unit, factor = UNITS[row.dimension]
    return {
        "stage": row.stage,
        "part": row.part,
        "check": row.check,
        "case": row.case,
        "load": row.load * factor,
        "allowable": row.allowable * factor,
        "unit": unit,
        "safety": row.safety if row.load > 0.0 else None,
        "lasting": row.lasting,
        "source": row.source,
    }


def _play(play: PlayResult | None, load: str) -> dict[str, Any] | None:
    """Degrees are of an arm alone; what a carriage gives way is in the millimetres."""
    if play is None:
        return None

    def turn(angle: float | None) -> float | None:
        return degrees(angle) if load == "arm" else None

    return {
        "backlash_deg": turn(play.backlash),
        "likely_backlash_deg": turn(play.likely_backlash),
        "backlash_tip_mm": millimetres(play.tip(play.backlash)),
        "wind_up_deg": turn(play.wind_up),
        "wind_up_stalled_deg": turn(play.wind_up_stalled),
        "wind_up_tip_mm": millimetres(play.tip(play.wind_up)),
        "missing": list(play.missing),
        "rigid": list(play.rigid),
        "stages": [
            {
                "stage": row.stage,
                "backlash_deg": turn(row.backlash),
                "backlash_at_arm_deg": turn(row.backlash_at_arm),
                "stiffness_nm_per_rad": row.stiffness,
                "wind_up_deg": turn(row.wind_up),
                "wind_up_stalled_deg": turn(row.wind_up_stalled),
            }
            for row in play.stages
        ],
    }
