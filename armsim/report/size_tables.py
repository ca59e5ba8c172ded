"""Sizing and limits as cells and sentences that terminal, report and CSV share."""

from collections.abc import Iterable, Sequence

from armsim.checks.phrases import told_of
from armsim.report.numbers import figure, of, show
from armsim.report.rows import Row
from armsim.studies.limits import Limit, MotorTried
from armsim.studies.size import Fit, Sizing, Working

HEAD = (
    "motor", "power", "reductions", "quickest at", "lifts in", "peak", "rms", "bears",
    "slowest at", "peak", "rms", "price",
)  # fmt: skip
LIMIT_HEAD = ("", "key", "what binds", "now", "holds to", "fails from")
TRIED_HEAD = ("motor", "verdict", "what binds", "power", "price")
WORDS = 3  #: columns of either that are words
NONE = "-"
OVER = 1.15  #: of the voltage of its figures, from which on a motor is said to run above it


def demand_rows(sizing: Sizing) -> list[Row]:
    """What the lift asks, at the arm."""
    demand, kind = sizing.demand, sizing.load.kind
    effort, place, rate = of(kind, "torque"), of(kind, "angle"), of(kind, "angular_speed")
    course, level = demand.trapezoid, demand.level
    noun = {"torque": "torque", "force": "force"}[effort]
    worst = f"at {show(demand.worst_angle, place)}"
    rows = [
        Row(
            "lift", f"{show(demand.task.start, place)} to {show(demand.task.to, place)} in {show(demand.time, 'time')}"
        ),
        Row("torque needed, raised slowly", f"{show(float(demand.steady.max()), effort)} {worst}"),
        Row("of it friction", show(demand.friction, effort)),
        Row("mass moved" if kind == "carriage" else "inertia, loaded", show(demand.inertia, of(kind, "inertia"))),
        Row("work in thirds", f"{show(demand.work, 'energy')}, a mean of {show(demand.work / demand.time, 'power')}"),
        Row(
            "in thirds (up to speed, run, slow down)",
            f"speed {show(course.peak_speed, rate)}, {noun} {show(course.peak_torque, effort)}, "
            f"rms {show(course.rms_torque, effort)}, power {show(course.peak_power, 'power')}",
        ),
    ]
    if level is not None:
        text = f"{noun} {show(level.peak_torque, effort)}, rms {show(level.rms_torque, effort)}, "
        rows.append(Row("at the least level of power", text + f"power {show(level.peak_power, 'power')}"))
    return [Row(told_of(kind, row.name), row.value) for row in rows]


def fit_cells(sizing: Sizing) -> list[tuple[str, ...]]:
    """A row for each motor, heads first."""
    return [HEAD, *(_fit(fit) for fit in sizing.fits)]


def _fit(fit: Fit) -> tuple[str, ...]:
    window = NONE if fit.window is None else " to ".join(figure(end, 4) for end in fit.window)
    return (
        fit.name,
        show(fit.greatest_power, "power", 3),
        window,
        *_working(fit.quickest, time=True),
        NONE if fit.bearable_current is None else show(fit.bearable_current, "current", 3),
        *_working(fit.coolest, time=False),
        NONE if fit.price is None else figure(fit.price),
    )


def _working(working: Working | None, *, time: bool) -> tuple[str, ...]:
    if working is None:
        return (NONE,) * (4 if time else 3)
    taken = (show(working.time, "time", 3),) if time else ()
    currents = (show(working.motor_current, "current", 3), show(working.cycle_current, "current", 3))
    return (figure(working.reduction, 4), *taken, *currents)


def fit_notes(sizing: Sizing) -> list[str]:
    """What the table cannot say: what is lacking, what gets too hot, what runs above its voltage."""
    notes = []
    for fit in sizing.fits:
        if fit.lacking:
            notes.append(f"{fit.name}: {fit.lacking}{_power(fit, sizing)}")
        hot = [
            f"{when} the rms current of the cycle is {figure(one.cycle_current / fit.bearable_current, 3)} times what "
            "the winding bears for good"
            for when, one in (("at its quickest", fit.quickest), ("at its slowest", fit.coolest))
            if one is not None and fit.bearable_current and one.cycle_current > fit.bearable_current
        ]
        if hot:
            notes.append(f"{fit.name}: {'; '.join(hot)}")
        if overdriven(fit):
            text = f"its figures hold at {show(fit.nominal_voltage, 'voltage')}, the source has"
            notes.append(f"{fit.name}: {text} {show(fit.voltage, 'voltage')}")
    return notes + [f"{name}: not looked at: {why}" for name, why in sizing.refused]


def _power(fit: Fit, sizing: Sizing) -> str:
    """What power it has against what is asked, where it has less."""
    mean = sizing.demand.work / sizing.demand.time
    if fit.greatest_power is None or mean <= 0.0:
        return ""
    gives = sizing.efficiency * fit.greatest_power
    words = "short of" if gives < mean else "against"
    return f" (it gives {show(gives, 'power', 3)} at most at the arm, {words} a mean of {show(mean, 'power', 3)})"


def conclusion(sizing: Sizing) -> str:
    """The answer in a sentence."""
    able = [fit for fit in sizing.fits if fit.window is not None]
    time = show(sizing.demand.time, "time")
    if not sizing.fits:
        return "No motor to look at: give a stock list with --stock, or the file a motor."
    if not able:
        best = min((f for f in sizing.fits if f.quickest), key=lambda f: _time(f), default=None)
        text = f"None of {len(sizing.fits)} motors lifts within {time}"
        return f"{text}; the quickest is {best.name} in {show(_time(best), 'time', 3)}." if best else f"{text}."
    text = f"{len(able)} of {len(sizing.fits)} motors lift within {time}"
    fair = [fit for fit in able if not overdriven(fit)]
    if not fair:
        return f"{text}, all of them above the voltage of their figures."
    if len(fair) < len(able):
        text += f", {len(able) - len(fair)} of them above the voltage of their figures"
    first = min(fair, key=lambda fit: (fit.price is None, fit.price or 0.0, fit.greatest_power or 0.0))
    window = " to ".join(f"{figure(end, 4)}:1" for end in first.window or ())
    what = "the cheapest" if first.price is not None else "the first"
    rest = " of the others" if len(fair) < len(able) else ""
    return f"{text}; {what}{rest}, {first.name}, geared {window}."


def overdriven(fit: Fit) -> bool:
    """Whether the source's voltage is well above that of the motor's figures."""
    return fit.nominal_voltage is not None and fit.voltage > OVER * fit.nominal_voltage


def _time(fit: Fit) -> float:
    return float("inf") if fit.quickest is None else fit.quickest.time


def premise(sizing: Sizing) -> str:
    """What the table rests on."""
    return (
        f"Reductions beside what a motor has inside, of efficiency {figure(sizing.efficiency, 3)} "
        f"({sizing.efficiency_from}); static margin of {figure(sizing.margin, 3)} at least; full drive from rest, by "
        "exact runs. Currents are of each motor: the largest of the lift, and rms over the whole cycle."
    ) + (
        "" if sizing.has_supply else " The file has no supply: each motor has its own voltage, which nothing makes sag."
    )


def limit_cells(limits: Iterable[Limit]) -> list[tuple[str, ...]]:
    """A row for each limit, heads first."""
    return [LIMIT_HEAD, *(_limit(limit) for limit in limits)]


def _limit(limit: Limit) -> tuple[str, ...]:
    def value(one: float | None) -> str:
        return NONE if one is None else show(one, limit.dimension)

    what = (limit.what, limit.key, said(limit.binding) or NONE)
    return (*what, value(limit.now), value(limit.passes), value(limit.fails))


def said(binding: Sequence[str]) -> str:
    """What binds, as words."""
    return ", ".join(name.replace("_", " ") for name in binding)


def limits_told(limits: Iterable[Limit]) -> list[str]:
    """Each limit that was found in a sentence."""
    return [
        f"{limit.what}: at {show(limit.passes, limit.dimension)} everything holds, at "
        f"{show(limit.fails, limit.dimension)} it does not: {said(limit.binding)}"
        for limit in limits
        if limit.passes is not None and limit.fails is not None
    ]


def limit_notes(limits: Iterable[Limit]) -> list[str]:
    """Where a limit is not the whole truth."""
    notes = []
    for limit in limits:
        if limit.passes is None:
            notes.append(f"{limit.what}: no value was found with which everything asked for holds")
        elif limit.fails is None:
            notes.append(
                f"{limit.what}: everything still holds at {show(limit.passes, limit.dimension)}, the end of the search"
            )
        for value, binding in limit.exceptions:
            shown = show(value, limit.dimension)
            why = f"does not do either ({said(binding)})" if binding else "does again"
            notes.append(f"{limit.what}: {shown} {why}: the limit is not the only one")
    return notes


def tried_cells(tried: Iterable[MotorTried]) -> list[tuple[str, ...]]:
    """A row for each motor of the stock in the file's machine, the smallest first, heads before them."""
    rows = [
        (
            one.name,
            one.verdict,
            said(one.binding) or NONE,
            show(one.power, "power", 3),
            NONE if one.price is None else figure(one.price),
        )
        for one in tried
    ]
    return [TRIED_HEAD, *rows]
