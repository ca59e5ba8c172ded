"""What a comparison comes to, in sentences: which to take and why, which not and why not."""

from collections.abc import Iterable, Sequence
from typing import TypeGuard

from armsim.checks.assessment import Level
from armsim.checks.requirements import Value
from armsim.report.compare_table import misses, name_of
from armsim.report.numbers import show
from armsim.report.wording import plain
from armsim.studies.compare import MEASURES, Comparison, cost
from armsim.studies.proposal import Failure, Proposal

MANY = 6  #: of a kind that are told one by one; the tables have all of them


def conclusion(comparison: Comparison) -> list[str]:
    """The whole of it, the answer first."""
    lines = [passing(comparison), *choosing(comparison), *asking(comparison)]
    lines += [*heeding(comparison), *prices(comparison)]
    lines += [*beaten(comparison), *failing(comparison)]
    lines += [failed_text(failure) for failure in comparison.failures]
    if comparison.left:
        lines.append(f"Interrupted: {few(comparison.left)} not done.")
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
        return f"All {count} meet every requirement: {few(names)}." if count > 1 else f"{names[0]} passes."
    return f"{len(names)} of {count} {'meets' if len(names) == 1 else 'meet'} every requirement: {few(names)}."


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
    told += [f"{few(rest)} {'lies' if len(rest) == 1 else 'lie'} between"] if rest else []
    return [f"Take {few([p.label for p in choice], 'or')}: {'; '.join(told)}."]


def asking(comparison: Comparison) -> list[str]:
    """Where they are not put to the same task, which makes better and worse doubtful."""
    apart = comparison.asked_apart
    if not apart:
        return []
    told = listed([plain(name).replace(".", " ") for name in apart])
    verb = "differ" if len(apart) > 1 or apart[0].endswith("s") else "differs"
    return [f"They are not put to the same task: {told} {verb}. Weigh that before one is called better than another."]


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
    return lines if len(lines) <= MANY else [f"{len(lines)} of these have errors or warnings: read them first."]


def prices(comparison: Comparison) -> list[str]:
    """What each costs against the cheapest that passes; of all, where none does."""
    known = {p.label: float(p.values["price"]) for p in comparison.proposals if _is_number(p.values["price"])}
    passed = [p.label for p in comparison.proposals if p.verdict == "pass" and p.label in known]
    if len(known) < 2:
        return []
    cheapest = min(passed or known, key=lambda label: known[label])
    base = known[cheapest]
    more = {label: value - base for label, value in known.items() if label != cheapest}
    if not any(more.values()):
        return [f"All whose price is known cost the same: {show(base, 'number', 6)}."]
    told = "; ".join(f"{label} costs {_against(value, base)}" for label, value in more.items())
    if len(more) > MANY:
        ends = [_against(end(more.values()), base) for end in (min, max)]
        told = f"the others cost from {ends[0]} to {ends[1]}"
    which = "cheapest that passes" if passed else "cheapest"
    return [f"The {which} is {cheapest} at {show(base, 'number', 6)}; {told}."]


def _is_number(value: Value) -> TypeGuard[float]:
    return isinstance(value, (int, float)) and not isinstance(value, bool)


def _against(more: float, base: float) -> str:
    """A difference of price in words."""
    if not more:
        return "the same"
    share = f" ({show(abs(more) / base, 'share', 2)})" if base else ""
    return f"{show(abs(more), 'number')} {'more' if more > 0 else 'less'}{share}"


def beaten(comparison: Comparison) -> list[str]:
    """Who is beaten, by whom, in what."""
    ones = comparison.ranking.beaten
    if len(ones) > MANY:
        by = {winner: [one.label for one in ones if one.by == winner] for winner in dict.fromkeys(o.by for o in ones)}
        return [
            f"{few(losers)} {'is' if len(losers) == 1 else 'are'} beaten by {winner}: better in nothing that counts, "
            "worse in something."
            for winner, losers in by.items()
        ]
    return [
        f"{one.label} is beaten by {one.by}: better in nothing that counts, worse in "
        f"{listed([name_of(name) for name in one.worse_in])}."
        for one in ones
    ]


def failing(comparison: Comparison) -> list[str]:
    """Who fails, and in what; who could not be judged on everything."""
    failed = [p for p in comparison.proposals if p.verdict == "fail"]
    open_ones = [p for p in comparison.proposals if p.verdict == "none"]
    lines = [_failed(p) for p in failed]
    if len(failed) > MANY:
        kinds = dict.fromkeys(r.name for p in failed for r in p.requirements if r.met is False)
        counts = {
            name: sum(any(r.name == name and r.met is False for r in p.requirements) for p in failed) for name in kinds
        }
        what = listed([f"{plain(name)} ({count} of them)" for name, count in counts.items()])
        lines = [f"{few([p.label for p in failed])} fail: they miss {what or 'the end of their moves'}."]
    unasked = [p.label for p in open_ones if not p.requirements]
    unknown = [p.label for p in open_ones if p.requirements]
    lines += [f"No verdict of {few(unasked)}: nothing was asked."] if unasked else []
    lines += [f"No verdict of {few(unknown)}: not everything asked can be judged."] if unknown else []
    return lines


def _failed(p: Proposal) -> str:
    missed = misses(p)
    what = f"misses {listed(missed)}" if missed else "does not complete its moves"
    ending = "" if p.arrives else f". {p.headline.split(';')[0]}"  # without what would mend it
    return f"{p.label} fails: {what}{ending}."


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
    unknown = [m.name for m in MEASURES if m.counts and m.name not in (*ranking.counted, *ranking.left_out)]
    for names, ending in ((ranking.left_out, "not known of all and left out"), (unknown, "known of none")):
        if names:
            text += f"; {listed([name_of(name) for name in names])} {'are' if len(names) > 1 else 'is'} {ending}"
    return f"{text}."


def few(names: Sequence[str], word: str = "and") -> str:
    """The first of many names, and how many more there are."""
    return listed(names, word) if len(names) <= MANY + 2 else f"{', '.join(names[:MANY])} and {len(names) - MANY} more"


def listed(names: Sequence[str], word: str = "and") -> str:
    """Names as a sentence has them."""
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} {word} {names[-1]}"
