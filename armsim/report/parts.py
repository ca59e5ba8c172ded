"""Do the parts of the transmission fit, do they survive, how far do they give way: tables and sentences."""

from collections.abc import Sequence

from armsim.checks.assessment import Assessment
from armsim.checks.judged_parts import Fit, FitRow, PlayResult, StrengthRow
from armsim.checks.shocks import NAMES
from armsim.checks.strength import weakest
from armsim.report.marking import prose, table
from armsim.report.numbers import of, show
from armsim.report.rows import Row

ORDER = (Fit.WRONG, Fit.NEAR_MISS, Fit.DOUBTFUL, Fit.UNKNOWN, Fit.FITS)
LIKELY = "At worst all backlash adds up; likely is the root of the sum of its squares."
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


def wanting(rows: Sequence[FitRow]) -> dict[str, list[str]]:
    """What to give so that the rules that are not known can be judged, and which stages lack it."""
    lacking: dict[str, list[str]] = {}
    for row in rows:
        if row.fit is Fit.UNKNOWN:
            lacking.setdefault(row.mend or row.text or f"{row.rule} cannot be judged", []).append(row.stage)
    return {what: list(dict.fromkeys(stages)) for what, stages in lacking.items()}


def fit_text(rows: Sequence[FitRow]) -> str:
    """How many rules are kept and how many are not, in a line."""
    count = {fit: sum(row.fit is fit for row in rows) for fit in ORDER}
    wrong = count[Fit.WRONG] + count[Fit.NEAR_MISS]
    kept = [f"yes, by {_rules(count[Fit.FITS])}"] if count[Fit.FITS] else []
    words = [f"NO, by {wrong} of {_rules(len(rows))}"] if wrong else kept
    words += [f"{count[fit]} {fit}" for fit in (Fit.DOUBTFUL, Fit.UNKNOWN) if count[fit]]
    return "; ".join(words)


def _rules(count: int) -> str:
    return f"{count} rule{'' if count == 1 else 's'}"


def gravest(rows: Sequence[StrengthRow]) -> list[StrengthRow]:
    """Of each check of each part the case with the least safety, weakest first."""
    found: dict[tuple[str, str, str], StrengthRow] = {}
    for row in rows:
        key = (row.stage, row.part, row.check)
        if key not in found or row.safety < found[key].safety:
            found[key] = row
    return sorted(found.values(), key=lambda row: row.safety)


def weakest_text(rows: Sequence[StrengthRow]) -> str:
    """The weakest part in a sentence."""
    row = weakest(rows)
    return f"The weakest part is the {_weakness(row)}." if row else "No stage tells enough of its parts for a check."


def _weakness(row: StrengthRow) -> str:
    return f"{row.part} of {row.stage}: {_check(row)} {case_word(row.case)}, safety {show(row.safety, 'ratio', 3)}"


def _check(row: StrengthRow) -> str:
    return f"{row.check} (lasting)" if row.lasting else row.check


def part_rows(assessment: Assessment) -> list[Row]:
    """Fit and strength in a line each, where stages tell of their parts."""
    rows = [Row("parts fit", fit_text(assessment.fit))] if assessment.fit else []
    row = weakest(assessment.strength)
    return rows if row is None else [*rows, Row("weakest part", _weakness(row))]


def strength_cells(rows: Sequence[StrengthRow]) -> Cells:
    """Head and rows, weakest first; what wears or tires rather than breaks is marked."""
    cells: Cells = [("stage", "part", "check", "hardest", "load", "bears", "safety")]
    for row in gravest(rows):
        cells.append(
            (
                row.stage,
                row.part,
                _check(row),
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
    wound = (show(play.wind_up, shown, 3), show(play.wind_up_stalled, shown, 3))
    cells.append(("in all, at worst", show(play.backlash, shown, 3), *wound))
    cells.append(("in all, likely", show(play.likely_backlash, shown, 3), *wound))
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
        text += f" Taken as rigid: {', '.join(play.rigid)}." if play.rigid else ""
    return text


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
            prose(f"{play_text(play, assessment.load)} {LIKELY}"),
            _table(play_cells(play, assessment.load)),
        ]
    return blocks


def _fit_blocks(rows: Sequence[FitRow]) -> list[str]:
    blocks = ["### Do the parts fit", "Every rule of fit for what was given."]
    cells = fit_cells(rows)
    if len(cells) > 1:
        blocks.append(_table(cells, words=len(cells[0])))
    remarks, kept = fit_remarks(rows), fitting(rows)
    if remarks:
        blocks.append(_listed(remarks))
    if kept:
        blocks += ["What fits, by stage:", _listed(kept)]
    if wanted := wanting(rows):
        blocks += [
            "What is not known, and what would settle it:",
            _listed([f"{what} ({'; '.join(stages)})" for what, stages in wanted.items()]),
        ]
    return blocks


def _strength_blocks(rows: Sequence[StrengthRow]) -> list[str]:
    text = (
        "First-pass checks that compare designs and find the weak place; they do not replace a rating by the standard. "
        "Loads are those of the table above, in the hardest case of each; lasting marks limits of wear and fatigue. "
    )
    return [
        "### Do the parts survive",
        prose(text + weakest_text(rows)),
        _table(strength_cells(rows), words=4),
        "What the checks rest on:",
        _listed(sources(rows)),
    ]


def _table(cells: Cells, words: int = 1) -> str:
    head, *rows = ([prose(cell) for cell in row] for row in cells)
    return table(head, rows, words=words)


def _listed(lines: Sequence[str]) -> str:
    return "\n".join(f"- {prose(line)}" for line in lines)
