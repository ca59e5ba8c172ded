"""What a comparison comes to, in sentences: which to take and why, which not and why not."""

from collections.abc import Iterable, Sequence

from armsim.checks.assessment import Level
from armsim.report.compare_table import misses, name_of
from armsim.report.numbers import show
from armsim.studies.compare import MEASURES, Comparison, cost
from armsim.studies.proposal import Failure, Proposal


def conclusion(comparison: Comparison) -> list[str]:
    """The whole of it, the answer first."""
    lines = [passing(comparison), *choosing(comparison), *heeding(comparison), *prices(comparison)]
    lines += [*beaten(comparison), *failing(comparison)]
    lines += [failed_text(failure) for failure in comparison.failures]
    if comparison.left:
        lines.append(f"Interrupted: {listed(comparison.left)} not done.")
    if len(comparison.proposals) > 1:
        lines.append(counting(comparison))
    return lines


def passing(comparison: Comparison) -> str:
    """Who meets every requirement."""
    names = [p.label for p in comparison.proposals if p.verdict == "pass"]
    count = len(comparison.proposals)
    if not count:
        return "None could be judged."
    if not names:
        return f"None of {count} meets every requirement." if count > 1 else "The only one judged does not pass."
    if len(names) == count:
        return f"All {count} meet every requirement: {listed(names)}." if count > 1 else f"{names[0]} passes."
    return f"{len(names)} of {count} {'meets' if len(names) == 1 else 'meet'} every requirement: {listed(names)}."


def choosing(comparison: Comparison) -> list[str]:
    """Which to take, or between which, and what speaks for each."""
    choice = [p for p in comparison.proposals if p.label in comparison.ranking.choice]
    passed = sum(p.verdict == "pass" for p in comparison.proposals)
    if len(comparison.proposals) < 2 or not choice:
        return []
    if len(choice) == 1:
        why = "it is the only one that passes"
        if passed > 1:
            why = "of those that pass, no other is better in anything that counts"
        return [f"Take {choice[0].label}: {why}."]
    strengths = [_strengths(p, choice, comparison.ranking.counted) for p in choice]
    told = [f"{p.label} has {listed(own)}" for p, own in zip(choice, strengths, strict=True) if own]
    rest = [p.label for p, own in zip(choice, strengths, strict=True) if not own]
    told += [f"{listed(rest)} {'lies' if len(rest) == 1 else 'lie'} between"] if rest else []
    return [f"Take {listed([p.label for p in choice], 'or')}: {'; '.join(told)}."]


def _strengths(proposal: Proposal, choice: Sequence[Proposal], counted: Iterable[str]) -> list[str]:
    """What it alone is best at among those to choose from."""
    found = []
    for measure in MEASURES:
        if measure.name not in counted:
            continue
        own, others = cost(proposal, measure), [cost(p, measure) for p in choice if p is not proposal]
        if own is not None and all(other is not None and own < other for other in others):
            value = show(proposal.values[measure.name], measure.dimension)
            found.append(f"the {'highest' if measure.better > 0 else 'least'} {name_of(measure.name)} ({value})")
    return found


def heeding(comparison: Comparison) -> list[str]:
    """What the findings say against those to choose from: a verdict judges only what was asked."""
    lines = []
    for p in comparison.proposals:
        graves = list(dict.fromkeys(f.code for f in p.findings if f.level is Level.ERROR))
        warned = list(dict.fromkeys(f.code for f in p.findings if f.level is Level.WARNING))
        told = [f"error {listed(graves)}"] if graves else []
        told += [f"warning {listed(warned)}"] if warned else []
        if p.label in comparison.ranking.choice and told:
            lines.append(f"Before you take {p.label}, read its findings: {'; '.join(told)}.")
    return lines


def prices(comparison: Comparison) -> list[str]:
    """What each costs against the cheapest that passes; of all, where none does."""
    known = {p.label: p.values["price"] for p in comparison.proposals if isinstance(p.values["price"], (int, float))}
    passed = [p.label for p in comparison.proposals if p.verdict == "pass" and p.label in known]
    if len(known) < 2:
        return []
    cheapest = min(passed or known, key=lambda label: known[label])
    base = float(known[cheapest] or 0.0)
    told = []
    for label, value in known.items():
        more = float(value or 0.0) - base
        if label == cheapest:
            continue
        share = f" ({show(abs(more) / base, 'share', 2)})" if base and more else ""
        word = f"{show(abs(more), 'number')} {'more' if more > 0 else 'less'}{share}" if more else "the same"
        told.append(f"{label} costs {word}")
    which = "cheapest that passes" if passed else "cheapest"
    return [f"The {which} is {cheapest} at {show(base, 'number', 6)}; {'; '.join(told)}."]


def beaten(comparison: Comparison) -> list[str]:
    """Who is beaten, by whom, in what."""
    return [
        f"{one.label} is beaten by {one.by}: better in nothing that counts, worse in "
        f"{listed([name_of(name) for name in one.worse_in])}."
        for one in comparison.ranking.beaten
    ]


def failing(comparison: Comparison) -> list[str]:
    """Who fails, and in what; who could not be judged on everything."""
    lines = []
    for p in comparison.proposals:
        if p.verdict == "fail":
            missed = misses(p)
            what = f"misses {listed(missed)}" if missed else "does not complete its moves"
            ending = "" if p.arrives else f". {p.headline.split(';')[0]}"  # without what would mend it
            lines.append(f"{p.label} fails: {what}{ending}.")
        elif p.verdict == "none":
            unknown = "nothing was asked of it" if not p.requirements else "not everything asked can be judged"
            lines.append(f"{p.label} has no verdict: {unknown}.")
    return lines


def failed_text(failure: Failure) -> str:
    """One that gave no answer, in a line."""
    first = failure.problems[0] if failure.problems else None
    if first is None:
        return f"{failure.label} could not be run: {failure.text}."
    more = f" (and {len(failure.problems) - 1} more)" if len(failure.problems) > 1 else ""
    where = f"line {first.line}, " if first.line else ""
    subject = f"{first.key}: " if first.key else ""
    return f"{failure.label} could not be run: {where}{subject}{first.text}{more}."


def counting(comparison: Comparison) -> str:
    """By what one beats another."""
    ranking = comparison.ranking
    text = f"What counts: {listed(['verdict', *map(name_of, ranking.counted)])}, to the digits shown"
    if ranking.left_out:
        are = "are" if len(ranking.left_out) > 1 else "is"
        text += f"; {listed([name_of(name) for name in ranking.left_out])} {are} not known of all and left out"
    return f"{text}."


def listed(names: Sequence[str], word: str = "and") -> str:
    """Names as a sentence has them."""
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} {word} {names[-1]}"
