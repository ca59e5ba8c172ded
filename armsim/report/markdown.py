"""report.md: the answer first, then what it rests on; plain Markdown that any viewer renders alike."""

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from armsim.checks.assessment import Assessment, Level
from armsim.checks.phrases import told_of
from armsim.report.battery import battery_rows
from armsim.report.cautions import CAUTIONS, not_modelled
from armsim.report.cycles import cycles_section
from armsim.report.duty import duty_section
from armsim.report.holding import holding_rows
from armsim.report.loop import loop_section
from armsim.report.marking import alternative, bullets, code, escape, paragraphs, prose, table
from armsim.report.motors import motors_section
from armsim.report.numbers import figure, of, show
from armsim.report.operating import operating_table
from armsim.report.parts import parts_sections
from armsim.report.picture import Picture
from armsim.report.rows import Row
from armsim.report.shocks import shock_cells, shock_text
from armsim.report.side_loads import side_loads_section
from armsim.report.sizes import sizes_section
from armsim.report.stays import stays_section
from armsim.report.tables import (
    REQUIREMENT_HEAD,
    detail_text,
    number_rows,
    requirement_cells,
    shaft_cells,
    stage_cells,
    torque_cells,
)
from armsim.report.trip_table import trip_section
from armsim.report.turning import views_text
from armsim.report.versions import SAME_FILES, version_rows
from armsim.report.view import kept_cycles
from armsim.report.wiring import wiring_section
from armsim.report.wording import EVENT_LABELS, plain

if TYPE_CHECKING:
    from armsim.scenario import Scenario


VERDICTS = {
    "pass": "PASS: every requirement is met",
    "fail": "FAIL",
    "none": "NONE: not everything asked could be judged, or nothing was asked",
}
THEIRS = ("Parts list", "Assumptions", "How to reproduce")  #: sections that quote the scenario
LONG = 60  #: characters of a text beyond which it is not printed twice
MOST_EVENTS = 50  #: rows of the event list


def report(scenario: "Scenario", assessment: Assessment, pictures: Sequence[Picture]) -> str:
    """The whole document."""
    shown = {picture.name: picture for picture in pictures}

    def picture(name: str) -> str:
        return _picture(shown[name]) if name in shown else ""

    run = assessment.run
    sections: list[tuple[str, list[str]]] = [
        ("Verdict", [_verdict(assessment)]),
        ("Numbers that matter", [_rows(number_rows(assessment))]),
        ("What happened", [_events(assessment)]),
        ("Angle and speed", [picture("motion")]),
        *_where_any("Position loop", loop_section(run)),
        (
            "Currents and bus voltage",
            [picture("currents"), picture("trips"), *trip_section(assessment.protection, run is not None)],
        ),
        *_where_any("Battery", [_rows(battery_rows(assessment.battery))] if assessment.battery else []),
        *_where_any("Wiring", wiring_section(assessment.wiring)),
        *_where_any("Holds and rests", stays_section(assessment.stays, assessment.load)),
        ("Temperatures", [picture("temperatures") or _no_heat(assessment)]),
        *_where_any("Duty and what the motor bears", duty_section(assessment)),
        *_where_any("Cycles", cycles_section(scenario, run, picture("cycles"))),
        ("Torque needed and available", [picture("torques"), _cells(torque_cells(assessment))]),
        ("Motor", [picture("motor"), operating_table(assessment.operating)]),
        ("Drivetrain", [picture("schematic"), *_drivetrain(assessment)]),
        ("Holding and power loss", [picture("power-loss"), _rows(holding_rows(assessment))]),
        ("Energy", [picture("energy"), _energy(assessment)]),
        ("Findings", [_mends(assessment), _findings(scenario, assessment)]),
        ("Parts list", [_parts(scenario)]),
        ("Assumptions", _assumptions(scenario)),
        ("What is not modelled", [bullets(not_modelled(assessment.load))]),
        ("Cautions", [bullets(CAUTIONS)]),
        ("How to reproduce", [_reproduction(scenario, assessment)]),
    ]
    parts = [f"# {escape(scenario.title)}", f"**{prose(assessment.headline)}**", paragraphs(scenario.about)]
    parts.append("An estimate for comparing designs, not a safety assessment: read [Cautions](#cautions).")
    for title, told in sections:
        ours = title not in THEIRS
        heading, *body = (told_of(assessment.load, text) if ours else text for text in (title, *told))
        parts += [f"## {heading}", *(body if any(body) else ["Not part of this run."])]
    return "\n\n".join(part for part in parts if part) + "\n"


def _where_any(heading: str, body: list[str]) -> list[tuple[str, list[str]]]:
    """A section that not every run has."""
    return [(heading, body)] if body else []


def _picture(picture: Picture) -> str:
    return f"![{alternative(picture.text)}]({picture.name}.png)\n\n{prose(picture.text)}"


def _rows(rows: Sequence[Row]) -> str:
    if not rows:
        return ""
    return table(("", "value"), [(prose(row.name), prose(row.value)) for row in rows], numeric=False)


def _cells(cells: Sequence[Sequence[str]]) -> str:
    head, *rows = ([prose(cell) for cell in row] for row in cells)
    return table(head, rows)


def _verdict(assessment: Assessment) -> str:
    missed = [plain(r.name) for r in assessment.requirements if r.met is False]
    line = f"Verdict: **{VERDICTS[assessment.verdict]}**"
    if assessment.verdict == "fail":
        line += f" (not met: {', '.join(missed)})" if missed else " (the moves asked for are not completed)"
    if not assessment.requirements:
        return f"{line}.\n\nThe scenario states no requirements."
    cells = [[prose(c) for c in requirement_cells(r)] for r in assessment.requirements]
    for row in cells:
        row[-1] = row[-1].removeprefix("margin ")
    return f"{line}.\n\n" + table(REQUIREMENT_HEAD, [(r[0], r[1], r[2], r[3], r[4]) for r in cells], numeric=False)


def _events(assessment: Assessment) -> str:
    run = assessment.run
    if run is None:
        return "Nothing was simulated: these are static judgements."
    rows = [
        (
            figure(e.time),
            prose(show(e.angle, of(assessment.load, "angle"))),
            prose(show(e.speed, of(assessment.load, "angular_speed"))),
            EVENT_LABELS[e.kind],
            prose(e.text),
        )
        for e in run.events[:MOST_EVENTS]
    ]
    kept = kept_cycles(run)
    text = f"{len(run.events)} events{f' of {kept}' if kept else ''}, with the speed just before each."
    if len(run.events) > MOST_EVENTS:
        text += f" The first {MOST_EVENTS} are listed; result.json has all."
    return f"{text}\n\n" + table(("time (s)", "angle", "speed", "event", "what"), rows, numeric=False)


def _no_heat(assessment: Assessment) -> str:
    if assessment.run is None:
        return ""
    return "Not known: the scenario gives the motor no thermal data, so its winding stays at ambient in the run."


def _drivetrain(assessment: Assessment) -> list[str]:
    train = assessment.transmission
    if assessment.load == "carriage":
        way, force = show(math.tau / train.reduction, "length"), show(train.torque_ratio, "force")
        told = f"The carriage travels {way} a motor turn. Lifting steadily, each N*m of the motor makes {force} at the "
        told += "carriage"
    else:
        told = f"{figure(train.reduction)} motor turns per arm turn. Lifting steadily at the worst angle, arm torque "
        told += f"is {figure(train.torque_ratio)} times motor torque"
    inertia = f"{'mass' if assessment.load == 'carriage' else 'inertia'} of "
    inertia += show(train.reflected_inertia, of(assessment.load, "inertia"))
    text = (
        f"{told} (efficiency {show(train.efficiency_forward, 'share', 3)}). The rotor is "
        f"{show(train.rotor_share, 'share', 3)} of the {inertia} seen at the arm."
    )
    parts = [prose(f"{text} {views_text(train.shafts, train.motor.seen)}")]
    parts.append(_cells(shaft_cells(train.shafts, assessment.load)))
    parts += side_loads_section(train.side_loads, assessment.energy)
    parts += motors_section(assessment.motors, assessment.run, assessment.load)
    if train.stages:
        parts.append("Stage by stage; contact force is at the driver, and what is not known was not given.")
        parts.append(_cells(stage_cells(train.stages)))
        details = [(s.name, detail_text(s)) for s in train.stages if s.details or s.backlash is not None]
        if details:
            parts.append("Geometry:")
            parts.append("\n".join(f"- {prose(name)}: {prose(text)}" for name, text in details))
        parts += [
            prose(shock_text(assessment.shocks, assessment.load)),
            _cells(shock_cells(assessment.shocks, assessment.load)),
        ]
        parts += parts_sections(assessment)
    return parts + sizes_section(assessment.sizes)


def _energy(assessment: Assessment) -> str:
    account = assessment.energy
    if account is None:
        return ""
    rows = [
        ("supplied", account.supplied),
        ("payload lifted", account.payload_lifted),
        ("stored at the end", account.stored),
        *((plain(name), value) for name, value in account.losses.items()),
    ]
    cells = [(prose(name), show(value, "energy")) for name, value in rows]
    share = account.residual / account.throughput if account.throughput else 0.0
    closing = f"The account closes to {figure(abs(share), 2)} of the throughput."
    return table(("where", "energy"), cells) + f"\n\n{closing}"


def _findings(scenario: "Scenario", assessment: Assessment) -> str:
    rows = [("warning", code(w.code), code(w.key), prose(w.text), prose(w.hint)) for w in scenario.warnings]
    rows += [
        (str(f.level), code(f.code), code(f.where), prose(f.text), prose(f.mend))
        for level in Level
        for f in assessment.findings
        if f.level is level
    ]
    if not rows:
        return "None."
    return table(("level", "code", "where", "finding", "what would mend it"), rows, numeric=False)


def _mends(assessment: Assessment) -> str:
    mends = assessment.lift.mends
    if not mends:
        return ""
    rows = [
        (
            prose(m.what),
            prose(show(m.now, m.dimension)),
            "does not help" if m.needed is None else prose(show(m.needed, m.dimension)),
            prose(m.text),
        )
        for m in mends
    ]
    head = table(("change", "now", "needed", "in words"), rows, numeric=False)
    return f"What would make it lift, each alone, found by asking the machine again:\n\n{head}"


def _parts(scenario: "Scenario") -> str:
    from armsim.scenario.records import mass_of, price_of

    if not scenario.parts_list:
        return "The scenario has none."

    rows = [
        (
            escape(p.item),
            figure(p.quantity),
            figure(p.unit_price, 6),
            figure(p.mass),
            escape(p.source),
        )
        for p in scenario.parts_list
    ]
    rows.append(("total", "", figure(price_of(scenario.parts_list), 6), figure(mass_of(scenario.parts_list)), ""))
    return table(("item", "quantity", "unit price", "mass (kg)", "source"), rows, numeric=False)


_ORIGINS: Mapping[str, str] = {
    "derived": "Derived from what was given:",
    "fitted": "Fitted to measurements:",
    "default": "Shipped defaults, taken because nothing was given; replace them with your own figures:",
}


def _assumptions(scenario: "Scenario") -> list[str]:
    parts = []
    for origin in ("default", "derived", "fitted"):
        rows = [(code(a.key), prose(a.text)) for a in scenario.assumptions if a.origin == origin]
        if rows:
            parts += [_ORIGINS[origin], table(("key", "assumed"), rows, numeric=False)]
    return parts + (_given(scenario) if scenario.entries else [])


def _given(scenario: "Scenario") -> list[str]:
    """What was typed; the file that most of it stands in is named once."""
    (home, count), *_ = Counter(e.place.file for e in scenario.entries).most_common(1)
    rows = [
        (
            code(e.key),
            escape(e.typed),
            prose("as typed" if e.understood == e.typed and len(e.typed) > LONG else e.understood),
            f"line {e.place.line}" + (f" of {escape(e.place.file)}" if e.place.file != home else ""),
            prose(e.note),
        )
        for e in scenario.entries
    ]
    other = "" if count == len(rows) else " where no other file is named"
    head = f"Given in {escape(home)}{other}, as typed and as understood:"
    return [head, table(("key", "typed", "understood", "place", "note"), rows, numeric=False)]


def _reproduction(scenario: "Scenario", assessment: Assessment) -> str:
    from armsim.dynamics.segment import Tolerances

    file = scenario.path.name if scenario.path else "scenario.yaml"
    rows = [
        ("command", code(f"armsim run {file} --output DIR")),
        ("SHA-256 of the input", code(scenario.sha256)),
        *version_rows(),
    ]
    if assessment.run is not None:
        limits, costs = Tolerances(), assessment.run.costs
        rows.append(("solver", f"LSODA, stepped event by event; relative tolerance {limits.relative:.0e}"))
        rows.append(("cost", f"{costs.segments} segments, {costs.steps} steps, {costs.evaluations} evaluations"))
    return table(("", ""), rows, numeric=False) + f"\n\n{SAME_FILES}"
